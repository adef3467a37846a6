//! Erasing a rider's personal data: out of every document and its whole history, while the technical record, and who
//! changed it when, stay.

use crate::documents::{self, By, Want, replay, stored};
use crate::edit::{self, Edit};
use crate::error::Error;
use crate::files::in_list;
use crate::jobs::{self, part};
use crate::splice;
use crate::store::{Book, Failed};
use rusqlite::{Connection, params};
use std::collections::{BTreeMap, BTreeSet};
use toml_edit::Key;
use workbench::words;

/// Keys of the rider's document whose values are taken out of the other documents too.
pub const IDENTIFYING: [&str; 6] = ["name", "phone", "email", "address", "quote_signer", "consent_signer"];
/// Those that are names, whose parts are taken out too.
const NAMES: [&str; 3] = ["name", "quote_signer", "consent_signer"];
/// Shorter words are not searched for: they would hit too much else.
const SHORTEST_WORD: usize = 3;
/// Where the card says so.
const ERASED_AT: &str = "rider_erased_at";

/// What was erased.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Erased {
    /// Documents in which something was taken out, now or in their history.
    pub documents: Vec<String>,
    /// Photos and logs that were personal.
    pub files: Vec<String>,
    /// Whether the log file beside the book has been emptied too; if another program was reading, the next start does it.
    pub log_emptied: bool,
}

impl Book {
    /// Erases the personal data of a job's rider: the rider's document, personal files, and the rider's name, phone, mail
    /// and address (and the words `also`) wherever else they stand in the job, in every earlier revision too.
    ///
    /// # Errors
    /// [`Error::NoJob`], or [`Error::WouldHarm`] if a word to be taken out is part of a measured value.
    pub fn erase_rider(&self, number: &str, also: &[&str], by: &By) -> Result<Erased, Error> {
        let mut erased = self.write(|tx| {
            stored(tx, &part(number, "job")).map_err(|_| Error::NoJob(number.to_owned()))?;
            let rider = part(number, "rider");
            let mut hidden: BTreeSet<String> = also.iter().map(|w| w.trim().to_owned()).collect();
            for text in replay(tx, &rider)? {
                hidden.extend(identifying(&text));
            }
            hidden.retain(|word| word.chars().count() >= SHORTEST_WORD);
            // The longest first: a name before its parts.
            let mut hidden: Vec<String> = hidden.into_iter().collect();
            hidden.sort_by_key(|word| core::cmp::Reverse(word.len()));

            let mut erased = Erased::default();
            for name in names_of(tx, number)? {
                let changed = if name == rider {
                    rewrite(tx, &name, |_, _| Ok(String::new()))?
                } else if name == part(number, "files") {
                    rewrite(tx, &name, |_, text| {
                        let personal: Vec<String> =
                            in_list(text).into_iter().filter(|f| f.personal).map(|f| f.name).collect();
                        let edits: Vec<Edit> =
                            personal.iter().map(|f| Edit::remove(&Key::new(f).to_string())).collect();
                        let harm = |_| Error::WouldHarm { document: name.clone(), key: String::new() };
                        let kept = edit::apply(text, &edits).map_err(harm)?;
                        erased.files.extend(personal);
                        Ok(hide(&kept, &hidden))
                    })?
                } else {
                    rewrite(tx, &name, |_, text| checked(&name, text, hide(text, &hidden)))?
                };
                if changed {
                    erased.documents.push(name);
                }
            }
            erased.files.sort();
            erased.files.dedup();
            drop_unlisted(tx)?;
            jobs::index(tx, number)?;
            let card = stored(tx, &part(number, "card"))?;
            let edit = Edit::put(ERASED_AT, documents::stamp(by));
            documents::write(tx, &card.name, &Want::Values(&[edit]), card.revision, by)?;
            Ok(erased)
        })?;
        erased.log_emptied = self.empty_log()?;
        Ok(erased)
    }

    /// What is deleted is overwritten with zeros in the book (`secure_delete`); the log beside it still has the old pages.
    fn empty_log(&self) -> Result<bool, Error> {
        let busy: rusqlite::Result<i64> =
            self.writer.alone(|conn| conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0)));
        Ok(busy.map_err(|e| self.sqlite(&e))? == 0)
    }
}

/// A job whose rider's data were erased: when, and every text of every document as it is without them.
pub(crate) struct Gone {
    pub number: String,
    at: String,
    texts: BTreeMap<String, Vec<String>>,
}

/// All such jobs.
pub(crate) fn gone(book: &Book) -> Result<Vec<Gone>, Error> {
    book.read(|tx| {
        let mut rows = tx.prepare("SELECT job, text FROM document WHERE name LIKE '%/card' ORDER BY name")?;
        let cards = rows.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?)))?;
        let mut all = Vec::new();
        for card in cards {
            let (number, text) = card?;
            let Some(at) = edit::parse(&text).ok().and_then(|doc| edit::plain(&doc, ERASED_AT)) else { continue };
            let names = names_of(tx, &number)?;
            let texts = names.into_iter().map(|name| Ok((name.clone(), replay(tx, &name)?)));
            let texts = texts.collect::<Result<_, Failed>>()?;
            all.push(Gone { number, at, texts });
        }
        Ok(all)
    })
}

/// Erases again what a restored backup has brought back. The texts without the rider's data are known from before.
pub(crate) fn again(book: &Book, gone: &[Gone], by: &By) -> Result<Vec<String>, Error> {
    let mut done = Vec::new();
    let known: BTreeSet<(String, String)> = self::gone(book)?.into_iter().map(|g| (g.number, g.at)).collect();
    for job in gone.iter().filter(|job| !known.contains(&(job.number.clone(), job.at.clone()))) {
        match book.erase_rider(&job.number, &[], by) {
            Err(Error::NoJob(_)) => continue,
            other => other?,
        };
        book.write(|tx| {
            for (name, texts) in job.texts.iter().filter(|(name, _)| !name.ends_with("/card")) {
                if tx.prepare_cached("SELECT 1 FROM document WHERE name = ?1")?.exists([name])? {
                    rewrite(tx, name, |revision, text| {
                        Ok(texts.get(revision).map_or_else(|| text.to_owned(), Clone::clone))
                    })?;
                }
            }
            drop_unlisted(tx)?;
            jobs::index(tx, &job.number)
        })?;
        done.push(job.number.clone());
    }
    Ok(done)
}

fn names_of(tx: &Connection, number: &str) -> rusqlite::Result<Vec<String>> {
    let mut names = tx.prepare_cached("SELECT name FROM document WHERE job = ?1 ORDER BY name")?;
    names.query_map([number], |row| row.get(0))?.collect()
}

fn identifying(rider: &str) -> Vec<String> {
    let Ok(doc) = edit::parse(rider) else { return Vec::new() };
    let mut all = Vec::new();
    for key in IDENTIFYING {
        let Some(value) = edit::plain(&doc, key) else { continue };
        if NAMES.contains(&key) {
            all.extend(value.split_whitespace().map(str::to_owned));
        }
        all.push(value.trim().to_owned());
    }
    all
}

/// The text without these words, where they stand as whole words.
fn hide(text: &str, hidden: &[String]) -> String {
    let gone = words::text("book.erased-word");
    let mut text = text.to_owned();
    for word in hidden {
        let mut out = String::with_capacity(text.len());
        let mut rest = text.as_str();
        while let Some(at) = rest.find(word.as_str()) {
            let (before, after) = (&rest[..at], &rest[at + word.len()..]);
            let part = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
            let inside =
                part(before.chars().next_back().or_else(|| out.chars().next_back())) || part(after.chars().next());
            out.push_str(before);
            out.push_str(if inside { word } else { &gone });
            rest = after;
        }
        out.push_str(rest);
        text = out;
    }
    text
}

/// Only the bike's name and remarks may change: a measured value must not.
fn checked(name: &str, before: &str, after: String) -> Result<String, Error> {
    let (Ok(was), Ok(is)) = (edit::parse(before), edit::parse(&after)) else {
        let harm = edit::parse(before).is_ok();
        return if harm { Err(Error::WouldHarm { document: name.to_owned(), key: String::new() }) } else { Ok(after) };
    };
    if !name.ends_with("/job") {
        return Ok(after);
    }
    let free = |key: &str| key == "name" || key == "notes";
    let (was, is) = (edit::leaves(&was), edit::leaves(&is));
    let keys: BTreeSet<&String> = was.keys().chain(is.keys()).collect();
    match keys.into_iter().find(|key| !free(key) && was.get(*key) != is.get(*key)) {
        Some(key) => Err(Error::WouldHarm { document: name.to_owned(), key: key.clone() }),
        None => Ok(after),
    }
}

/// Changes every revision of a document, and the steps between them.
fn rewrite(
    tx: &Connection,
    name: &str,
    mut change: impl FnMut(usize, &str) -> Result<String, Error>,
) -> Result<bool, Failed> {
    let texts = replay(tx, name)?;
    let mut before = String::new();
    let mut any = false;
    for (revision, text) in texts.iter().enumerate().skip(1) {
        let after = change(revision, text)?;
        any |= after != *text;
        let step = splice::between(&before, &after);
        tx.prepare_cached(
            "UPDATE change SET at_byte = ?3, removed = ?4, inserted = ?5 WHERE document = ?1 AND revision = ?2",
        )?
        .execute(params![name, revision as i64, step.at_byte as i64, step.removed, step.inserted])?;
        before = after;
    }
    tx.prepare_cached("UPDATE document SET text = ?2 WHERE name = ?1")?.execute((name, &before))?;
    Ok(any)
}

/// Deletes the bytes of files that no revision of any list names.
fn drop_unlisted(tx: &Connection) -> Result<(), Failed> {
    let mut listed = BTreeSet::new();
    let mut lists = tx.prepare("SELECT name FROM document WHERE name LIKE '%/files'")?;
    for name in lists.query_map([], |row| row.get::<_, String>(0))?.collect::<rusqlite::Result<Vec<_>>>()? {
        listed.extend(replay(tx, &name)?.iter().flat_map(|text| in_list(text)).map(|f| f.sha256));
    }
    let mut kept = tx.prepare("SELECT sha256 FROM file")?;
    for sha256 in kept.query_map([], |row| row.get::<_, String>(0))?.collect::<rusqlite::Result<Vec<_>>>()? {
        if !listed.contains(&sha256) {
            tx.execute("DELETE FROM file WHERE sha256 = ?1", [sha256])?;
        }
    }
    Ok(())
}
