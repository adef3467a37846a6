//! Jobs on their way to another book and back, whole: documents, history, photos. The file in between is a book.

use crate::backup::{Scratch, into_place, sound};
use crate::documents::{self, By, Want, stored};
use crate::edit::Edit;
use crate::error::Error;
use crate::jobs::{self, checked_number, part};
use crate::store::{self, Book, Failed};
use rusqlite::{Connection, OptionalExtension, params};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// One job of an imported file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Imported {
    /// Its number in this book.
    pub number: String,
    /// Whether it was there already, with all of its history; then nothing was done.
    pub was_there: bool,
}

impl Book {
    /// Writes jobs into a new book of their own; without the riders' personal data if `riders` is false.
    ///
    /// # Errors
    /// [`Error::NoJob`], [`Error::Taken`] if there is such a file.
    pub fn export(&self, numbers: &[&str], riders: bool, to: &Path, by: &By) -> Result<(), Error> {
        into_place(to, |part| {
            let other = Self::open_existing(part)?;
            self.read(|from| {
                other.write(|tx| numbers.iter().try_for_each(|number| copy(from, tx, number, number, by).map(drop)))?;
                Ok(())
            })?;
            if !riders {
                numbers.iter().try_for_each(|number| other.erase_rider(number, &[], by).map(drop))?;
            }
            other.close()?;
            sound(part).map(drop)
        })
    }

    /// Takes the jobs of an exported file (or of a backup) into this book: all of them, or none. `number` gives a single
    /// job a new number.
    ///
    /// # Errors
    /// [`Error::NumberTaken`] where another job has that number; [`Error::Damaged`].
    pub fn import(&self, from: &Path, number: Option<&str>, by: &By) -> Result<Vec<Imported>, Error> {
        sound(from)?;
        // The file stays as it is; an older one is brought up to date in a copy.
        let copied = Scratch::beside(self.path(), "incoming")?;
        std::fs::copy(from, &copied.0).map_err(|e| store::outside(&copied.0, &e))?;
        let other = Self::open_existing(&copied.0)?;
        let mut found = other.jobs()?;
        found.sort_by(|a, b| a.number.cmp(&b.number));
        let wanted: Vec<(String, String)> = match (number, found.as_slice()) {
            (None, _) => found.iter().map(|j| (j.number.clone(), j.number.clone())).collect(),
            (Some(new), [one]) => vec![(one.number.clone(), checked_number(new)?.to_owned())],
            (Some(_), many) => return Err(Error::NotOneJob(many.len())),
        };
        other.read(|from| Ok(self.write(|tx| wanted.iter().map(|(old, new)| copy(from, tx, old, new, by)).collect())?))
    }
}

/// A job's documents: name without number, revision, text.
fn documents_of(tx: &Connection, number: &str) -> rusqlite::Result<Vec<(String, i64, String)>> {
    tx.prepare_cached(
        "SELECT substr(name, length(job) + 2), revision, text FROM document WHERE job = ?1 ORDER BY name",
    )?
    .query_map([number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
    .collect()
}

/// Whether every document of `from` stands in `to` too, at least as far, with the same steps.
fn same(from: &Connection, to: &Connection, number: &str) -> rusqlite::Result<bool> {
    let steps = |tx: &Connection| -> rusqlite::Result<Vec<String>> {
        tx.prepare_cached(
            "SELECT c.document || ' ' || c.revision || ' ' || c.at || quote(c.removed) || quote(c.inserted) \
             FROM change c JOIN document d ON d.name = c.document WHERE d.job = ?1",
        )?
        .query_map([number], |row| row.get(0))?
        .collect()
    };
    let there: BTreeSet<String> = steps(to)?.into_iter().collect();
    Ok(steps(from)?.iter().all(|step| there.contains(step)))
}

fn copy(from: &Connection, to: &Connection, old: &str, new: &str, by: &By) -> Result<Imported, Failed> {
    let times: Option<(String, String)> = from
        .query_row("SELECT started_at, changed_at FROM job WHERE number = ?1", [old], |r| Ok((r.get(0)?, r.get(1)?)))
        .optional()?;
    let (started, changed) = times.ok_or_else(|| Error::NoJob(old.to_owned()))?;
    if to.prepare_cached("SELECT 1 FROM job WHERE number = ?1")?.exists([new])? {
        return if old == new && same(from, to, new)? {
            Ok(Imported { number: new.to_owned(), was_there: true })
        } else {
            Err(Error::NumberTaken(new.to_owned()).into())
        };
    }
    to.execute(
        "INSERT INTO job (number, title, kind, stage, other_job, started_at, changed_at) \
         VALUES (?1, '', '', '', NULL, ?2, ?3)",
        (new, started, changed),
    )?;
    for (name, revision, text) in documents_of(from, old)? {
        to.prepare_cached("INSERT INTO document (name, job, revision, text) VALUES (?1, ?2, ?3, ?4)")?.execute((
            part(new, &name),
            new,
            revision,
            text,
        ))?;
    }
    let mut ids: BTreeMap<i64, i64> = BTreeMap::new();
    let mut rows = from.prepare(
        "SELECT c.id, substr(c.document, length(d.job) + 2), c.revision, c.sent_as, c.who, c.device, c.at, c.undoes, \
         c.at_byte, c.removed, c.inserted FROM change c JOIN document d ON d.name = c.document WHERE d.job = ?1 ORDER BY c.id",
    )?;
    let mut rows = rows.query([old])?;
    while let Some(row) = rows.next()? {
        let (id, name): (i64, String) = (row.get(0)?, row.get(1)?);
        let undoes = row.get::<_, Option<i64>>(7)?.and_then(|id| ids.get(&id).copied());
        // The sender's id stays with the first book that has it.
        to.prepare_cached(
            "INSERT INTO change (document, revision, sent_as, who, device, at, undoes, at_byte, removed, inserted) \
             VALUES (?1, ?2, (SELECT ?3 WHERE NOT EXISTS (SELECT 1 FROM change WHERE sent_as = ?3)), ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        )?
        .execute(params![
            part(new, &name),
            row.get::<_, i64>(2)?,
            row.get::<_, Option<String>>(3)?,
            row.get::<_, String>(4)?,
            row.get::<_, String>(5)?,
            row.get::<_, String>(6)?,
            undoes,
            row.get::<_, i64>(8)?,
            row.get::<_, String>(9)?,
            row.get::<_, String>(10)?,
        ])?;
        ids.insert(id, to.last_insert_rowid());
    }
    let list = part(old, "files");
    if from.prepare_cached("SELECT 1 FROM document WHERE name = ?1")?.exists([&list])? {
        let mut content = from.prepare("SELECT size_bytes, content FROM file WHERE sha256 = ?1")?;
        for file in documents::replay(from, &list)?.iter().flat_map(|text| crate::files::in_list(text)) {
            let found = content.query_row([&file.sha256], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, Vec<u8>>(1)?)));
            if let Some((size, bytes)) = found.optional()? {
                to.prepare_cached("INSERT OR IGNORE INTO file (sha256, size_bytes, content) VALUES (?1, ?2, ?3)")?
                    .execute((&file.sha256, size, bytes))?;
            }
        }
    }
    if old != new {
        let job = stored(to, &part(new, "job"))?;
        documents::write(to, &job.name, &Want::Values(&[Edit::put("number", new)]), job.revision, by)?;
    }
    jobs::index(to, new)?;
    Ok(Imported { number: new.to_owned(), was_there: false })
}
