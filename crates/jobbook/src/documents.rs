//! Documents: a text, its revision, every change of it. Everything else in the book is made of them.

use crate::edit::{self, Edit, Wrong};
use crate::error::{Clash, Conflict, Error};
use crate::merge;
use crate::splice::{self, Splice};
use crate::store::{Book, Failed};
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, named_params};
use toml_edit::DocumentMut;

/// Counts the changes of a document from 1; 0 is the document that is not there yet.
pub type Revision = i64;

/// Largest text of a document, in bytes, as for a job file.
pub const LARGEST_TEXT: usize = 1 << 20;
const LONGEST_NAME: usize = 120;

/// Who makes a change, where, and how the sender names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct By {
    /// The person.
    pub who: String,
    /// The device: `bench 2`.
    pub device: String,
    /// The sender's own id of this change, if it may be sent twice; any text that is never used again.
    pub sent_as: Option<String>,
    /// When it was typed, if that was not now.
    pub at: Option<Timestamp>,
}

impl By {
    /// This person on this device, now.
    pub fn new(who: &str, device: &str) -> Self {
        Self { who: who.to_owned(), device: device.to_owned(), sent_as: None, at: None }
    }
    /// With the sender's id.
    #[must_use]
    pub fn sent_as(mut self, id: &str) -> Self {
        self.sent_as = Some(id.to_owned());
        self
    }
    /// At that time.
    #[must_use]
    pub fn at(mut self, at: Timestamp) -> Self {
        self.at = Some(at);
        self
    }
}

/// A document as it stands now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Document {
    /// Its name: `rack`, `0117/job`.
    pub name: String,
    /// Number of its newest change.
    pub revision: Revision,
    /// Its text.
    pub text: String,
    /// Who made the newest change.
    pub who: String,
    /// On which device.
    pub device: String,
    /// When.
    pub at: Timestamp,
}

/// What a call wants to write.
pub(crate) enum Want<'a> {
    /// These values, the rest as it is.
    Values(&'a [Edit]),
    /// This whole text.
    Text(&'a str),
    /// Back to the text before that change.
    Undo { change: i64, before: &'a str },
}

impl Book {
    /// A document, if there is one.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn document(&self, name: &str) -> Result<Option<Document>, Error> {
        self.read(|tx| Ok(load(tx, name)?))
    }

    /// The shop's own documents, and those of jobs, whose names start so.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn document_names(&self, start: &str) -> Result<Vec<String>, Error> {
        self.read(|tx| {
            let mut rows =
                tx.prepare_cached("SELECT name FROM document WHERE substr(name, 1, ?2) = ?1 ORDER BY name")?;
            let names = rows.query_map((start, start.chars().count() as i64), |row| row.get(0))?;
            Ok(names.collect::<rusqlite::Result<Vec<String>>>()?)
        })
    }

    /// Writes a whole text, made from revision `from` (0 for a new document). Others' changes since are merged.
    ///
    /// # Errors
    /// [`Error::Conflict`] if both changed the same.
    pub fn set_document(&self, name: &str, text: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.write(|tx| write(tx, name, &Want::Text(text), from, by))
    }

    /// Writes single values of a TOML document, as they were seen in revision `from`; all of them or none.
    ///
    /// # Errors
    /// [`Error::Conflict`] if somebody else, or the same person on another device, changed one of them since.
    pub fn set_values(&self, name: &str, edits: &[Edit], from: Revision, by: &By) -> Result<Revision, Error> {
        self.write(|tx| write(tx, name, &Want::Values(edits), from, by))
    }
}

/// The job to which a document belongs: `0117` for `0117/job`.
pub(crate) fn job_of(name: &str) -> Option<&str> {
    name.split_once('/').map(|(job, _)| job)
}

/// Letters, digits and hyphens, with at most one slash.
fn checked_name(name: &str) -> Result<(), Error> {
    let part = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    let fine = name.len() <= LONGEST_NAME && name.split('/').count() <= 2 && name.split('/').all(part);
    if fine { Ok(()) } else { Err(Error::BadName(name.to_owned())) }
}

fn checked_by(by: &By) -> Result<(), Error> {
    let fine = |s: &str| s.len() <= LONGEST_NAME && !s.chars().any(char::is_control);
    if by.who.trim().is_empty() || !fine(&by.who) || !fine(&by.device) {
        return Err(Error::BadPerson(by.who.clone()));
    }
    match &by.sent_as {
        Some(id) if id.is_empty() || !fine(id) => Err(Error::BadName(id.clone())),
        _ => Ok(()),
    }
}

fn load(tx: &Connection, name: &str) -> rusqlite::Result<Option<Document>> {
    let sql = "SELECT d.name, d.revision, d.text, c.who, c.device, c.at FROM document d \
               JOIN change c ON c.document = d.name AND c.revision = d.revision WHERE d.name = ?1";
    tx.prepare_cached(sql)?
        .query_row([name], |row| {
            Ok(Document {
                name: row.get(0)?,
                revision: row.get(1)?,
                text: row.get(2)?,
                who: row.get(3)?,
                device: row.get(4)?,
                at: time(row, 5)?,
            })
        })
        .optional()
}

/// A document that must be there.
pub(crate) fn stored(tx: &Connection, name: &str) -> Result<Document, Failed> {
    load(tx, name)?.ok_or_else(|| Error::NoDocument(name.to_owned()).into())
}

pub(crate) fn time(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<Timestamp> {
    let text: String = row.get(column)?;
    text.parse().map_err(|e: jiff::Error| {
        rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, Box::new(e))
    })
}

pub(crate) fn splice(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<Splice> {
    let at: i64 = row.get(column)?;
    let at_byte = usize::try_from(at).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, at))?;
    Ok(Splice { at_byte, removed: row.get(column + 1)?, inserted: row.get(column + 2)? })
}

fn damaged(name: &str, revision: Revision) -> Error {
    let why = workbench::words::fill("book.error.no-replay", &[("revision", &revision.to_string())]);
    Error::Damaged { what: name.to_owned(), why }
}

/// A document's text in an earlier revision, from the newest one backwards.
pub(crate) fn text_at(tx: &Connection, now: &Document, revision: Revision) -> Result<String, Failed> {
    if revision < 0 || revision > now.revision {
        let (document, newest) = (now.name.clone(), now.revision);
        return Err(Error::NoRevision { document, asked: revision, newest }.into());
    }
    let mut rows = tx.prepare_cached(
        "SELECT at_byte, removed, inserted, revision FROM change WHERE document = ?1 AND revision > ?2 ORDER BY revision DESC",
    )?;
    let mut rows = rows.query((&now.name, revision))?;
    let mut text = now.text.clone();
    while let Some(row) = rows.next()? {
        text = splice(row, 0)?.revert(&text).ok_or_else(|| damaged(&now.name, row.get(3).unwrap_or_default()))?;
    }
    Ok(text)
}

/// A document's text after its first `revision` changes, from nothing forwards.
pub(crate) fn replay(tx: &Connection, name: &str) -> Result<Vec<String>, Failed> {
    let mut rows = tx.prepare_cached(
        "SELECT at_byte, removed, inserted, revision FROM change WHERE document = ?1 ORDER BY revision",
    )?;
    let mut rows = rows.query([name])?;
    let mut texts = vec![String::new()];
    while let Some(row) = rows.next()? {
        let revision: Revision = row.get(3)?;
        let next = splice(row, 0)?.apply(texts.last().map_or("", String::as_str));
        match next {
            Some(next) if revision == texts.len() as Revision => texts.push(next),
            _ => return Err(damaged(name, revision).into()),
        }
    }
    Ok(texts)
}

/// The revision that this sender's change has made before, if it was sent before.
pub(crate) fn sent_before(tx: &Connection, name: Option<&str>, by: &By) -> Result<Option<(String, Revision)>, Failed> {
    let Some(id) = &by.sent_as else { return Ok(None) };
    let mut row = tx.prepare_cached("SELECT document, revision FROM change WHERE sent_as = ?1")?;
    let found: Option<(String, Revision)> = row.query_row([id], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
    match (found, name) {
        (Some((document, _)), Some(name)) if document != name => Err(Error::SentBefore(id.clone()).into()),
        (found, _) => Ok(found),
    }
}

/// The one way in which a document changes.
pub(crate) fn write(tx: &Connection, name: &str, want: &Want<'_>, from: Revision, by: &By) -> Result<Revision, Failed> {
    checked_name(name)?;
    checked_by(by)?;
    if let Some((_, revision)) = sent_before(tx, Some(name), by)? {
        return Ok(revision);
    }
    if let Some(job) = job_of(name)
        && !tx.prepare_cached("SELECT 1 FROM job WHERE number = ?1")?.exists([job])?
    {
        return Err(Error::NoJob(job.to_owned()).into());
    }
    let now = load(tx, name)?.unwrap_or_else(|| Document {
        name: name.to_owned(),
        revision: 0,
        text: String::new(),
        who: String::new(),
        device: String::new(),
        at: Timestamp::UNIX_EPOCH,
    });
    let base = text_at(tx, &now, from)?;
    let undoes = if let Want::Undo { change, .. } = want { Some(*change) } else { None };
    let after = match want {
        Want::Values(edits) => values(tx, &now, from, &base, edits, by)?,
        Want::Text(mine) | Want::Undo { before: mine, .. } => match merge::three_way(&base, mine, &now.text) {
            Some(merged) => merged,
            None => {
                let keys = merge::clashes(&base, mine, &now.text);
                let wanted = edit::parse(mine).ok();
                let mine = |key: &str| wanted.as_ref().and_then(|doc| edit::plain(doc, key));
                return Err(conflict(&now, clashes(tx, &now, from, &base, &keys, mine, by)?).into());
            }
        },
    };
    if after == now.text {
        return Ok(now.revision);
    }
    if after.len() > LARGEST_TEXT {
        let what = name.to_owned();
        return Err(Error::TooLarge { what, size_bytes: after.len(), most_bytes: LARGEST_TEXT }.into());
    }
    if job_of(name).is_some() {
        toml(name, &after)?;
    }
    record(tx, &now, &after, by, undoes)?;
    if let Some(job) = job_of(name) {
        crate::jobs::touch(tx, job, name, &stamp(by))?;
    }
    Ok(now.revision + 1)
}

fn toml(name: &str, text: &str) -> Result<DocumentMut, Error> {
    edit::parse(text).map_err(|e| wrong(name, e))
}

fn wrong(name: &str, e: Wrong) -> Error {
    let document = name.to_owned();
    match e {
        Wrong::NotToml(why) => Error::NotToml { document, why },
        Wrong::NoPlace(key) => Error::NoPlace { document, key },
    }
}

/// The text with these values, unless somebody else changed one of them.
fn values(
    tx: &Connection,
    now: &Document,
    from: Revision,
    base: &str,
    edits: &[Edit],
    by: &By,
) -> Result<String, Failed> {
    let after = edit::apply(&now.text, edits).map_err(|e| wrong(&now.name, e))?;
    if now.revision == from {
        return Ok(after);
    }
    let (was, is) = (toml(&now.name, base)?, toml(&now.name, &now.text)?);
    let clashing = |edit: &&Edit| {
        let (was_there, there) = (edit::literal(&was, &edit.key), edit::literal(&is, &edit.key));
        let mine = edit.value.as_ref().map(edit::bare);
        let moved = edit::lists(&was, &edit.key) != edit::lists(&is, &edit.key);
        moved || (was_there != there && mine != there)
    };
    let keys: Vec<String> = edits.iter().filter(clashing).map(|edit| edit.key.clone()).collect();
    if keys.is_empty() {
        return Ok(after);
    }
    let mine = |key: &str| edits.iter().rfind(|e| e.key == key)?.value.as_ref().map(edit::shown);
    let mut clashes = clashes(tx, now, from, base, &keys, mine, by)?;
    // What I wrote myself on this device since then I know: a tablet sends its line of entries one after the other.
    clashes.retain(|(_, others)| *others);
    if clashes.is_empty() { Ok(after) } else { Err(conflict(now, clashes).into()) }
}

fn conflict(now: &Document, clashes: Vec<(Clash, bool)>) -> Error {
    let clashes = clashes.into_iter().map(|(clash, _)| clash).collect();
    Error::Conflict(Box::new(Conflict { document: now.name.clone(), revision: now.revision, clashes }))
}

/// Both values of each key, who wrote the one that stands, and whether others than `by` have changed it since `from`.
fn clashes(
    tx: &Connection,
    now: &Document,
    from: Revision,
    base: &str,
    keys: &[String],
    mine: impl Fn(&str) -> Option<String>,
    by: &By,
) -> Result<Vec<(Clash, bool)>, Failed> {
    let (was, is) = (edit::parse(base).ok(), edit::parse(&now.text).ok());
    let value = |doc: &Option<DocumentMut>, key: &str| doc.as_ref().and_then(|doc| edit::plain(doc, key));
    let clash = |key: &String| {
        let clash = Clash {
            key: key.clone(),
            before: value(&was, key),
            mine: mine(key),
            theirs: value(&is, key),
            who: now.who.clone(),
            device: now.device.clone(),
            at: now.at,
        };
        (clash, false)
    };
    let mut clashes: Vec<(Clash, bool)> = keys.iter().map(clash).collect();
    // The last change of each key since `from` names the person.
    let mut rows = tx.prepare_cached(
        "SELECT at_byte, removed, inserted, who, device, at FROM change WHERE document = ?1 AND revision > ?2 ORDER BY revision",
    )?;
    let mut rows = rows.query((&now.name, from))?;
    let mut text = base.to_owned();
    while let Some(row) = rows.next()? {
        let next = splice(row, 0)?.apply(&text).ok_or_else(|| damaged(&now.name, from))?;
        let (before, after) = (edit::parse(&text).ok(), edit::parse(&next).ok());
        let place = |doc: &Option<DocumentMut>, key: &str| doc.as_ref().map(|doc| edit::lists(doc, key));
        for (clash, others) in &mut clashes {
            let key = &clash.key;
            if value(&before, key) != value(&after, key) || place(&before, key) != place(&after, key) {
                (clash.who, clash.device, clash.at) = (row.get(3)?, row.get(4)?, time(row, 5)?);
                *others |= clash.who != by.who || clash.device != by.device;
            }
        }
        text = next;
    }
    Ok(clashes)
}

/// Writes the new text and how it came about.
fn record(tx: &Connection, now: &Document, after: &str, by: &By, undoes: Option<i64>) -> rusqlite::Result<()> {
    tx.prepare_cached(
        "INSERT INTO document (name, job, revision, text) VALUES (:name, :job, :revision, :text) \
         ON CONFLICT (name) DO UPDATE SET revision = excluded.revision, text = excluded.text",
    )?
    .execute(named_params! {
        ":name": now.name,
        ":job": job_of(&now.name),
        ":revision": now.revision + 1,
        ":text": after,
    })?;
    let splice = splice::between(&now.text, after);
    tx.prepare_cached(
        "INSERT INTO change (document, revision, sent_as, who, device, at, undoes, at_byte, removed, inserted) \
         VALUES (:document, :revision, :sent_as, :who, :device, :at, :undoes, :at_byte, :removed, :inserted)",
    )?
    .execute(named_params! {
        ":document": now.name,
        ":revision": now.revision + 1,
        ":sent_as": by.sent_as,
        ":who": by.who,
        ":device": by.device,
        ":at": stamp(by),
        ":undoes": undoes,
        ":at_byte": splice.at_byte as i64,
        ":removed": splice.removed,
        ":inserted": splice.inserted,
    })?;
    Ok(())
}

/// The time of a change as it is stored: UTC, to the millisecond.
pub(crate) fn stamp(by: &By) -> String {
    by.at.unwrap_or_else(Timestamp::now).strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string()
}
