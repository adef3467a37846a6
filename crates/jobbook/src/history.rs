//! Who changed what, when, and taking it back.

use crate::documents::{self, By, Revision, Want, splice, stored, text_at, time};
use crate::edit;
use crate::error::Error;
use crate::store::{Book, Failed};
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension};
use std::collections::{BTreeMap, BTreeSet};

/// One value before and after.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueChange {
    /// Dotted path in the document.
    pub key: String,
    /// Before; `None` where there was nothing.
    pub before: Option<String>,
    /// After; `None` where it was taken out.
    pub after: Option<String>,
}

/// One entry of history.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Its number in the whole book.
    pub id: i64,
    /// The document.
    pub document: String,
    /// The document's revision after it.
    pub revision: Revision,
    /// Who.
    pub who: String,
    /// On which device.
    pub device: String,
    /// When.
    pub at: Timestamp,
    /// What changed; empty where only comments did, or where the document is not TOML.
    pub values: Vec<ValueChange>,
    /// The change that this one takes back.
    pub undoes: Option<i64>,
    /// The newest change that takes this one back.
    pub undone_by: Option<i64>,
}

const COLUMNS: &str = "SELECT c.at_byte, c.removed, c.inserted, c.id, c.document, c.revision, c.who, c.device, c.at, c.undoes, \
                       (SELECT max(u.id) FROM change u WHERE u.undoes = c.id) FROM change c";

impl Book {
    /// Everything that happened to a job, oldest first.
    ///
    /// # Errors
    /// [`Error::NoJob`].
    pub fn history(&self, number: &str) -> Result<Vec<Change>, Error> {
        self.read(|tx| {
            if !tx.prepare_cached("SELECT 1 FROM job WHERE number = ?1")?.exists([number])? {
                return Err(Error::NoJob(number.to_owned()).into());
            }
            changes(tx, "JOIN document d ON d.name = c.document WHERE d.job = ?1 ORDER BY c.id", number)
        })
    }

    /// Everything that happened to one document, oldest first.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn document_history(&self, name: &str) -> Result<Vec<Change>, Error> {
        self.read(|tx| changes(tx, "WHERE c.document = ?1 ORDER BY c.id", name))
    }

    /// A document's text as it was.
    ///
    /// # Errors
    /// [`Error::NoDocument`], [`Error::NoRevision`].
    pub fn text_at(&self, name: &str, revision: Revision) -> Result<String, Error> {
        self.read(|tx| text_at(tx, &stored(tx, name)?, revision))
    }

    /// Takes a change back, as a new change. What was changed elsewhere since stays.
    ///
    /// # Errors
    /// [`Error::Conflict`] if somebody changed the same since; [`Error::Start`] for the first entry of a job.
    pub fn undo(&self, change: i64, by: &By) -> Result<Revision, Error> {
        self.write(|tx| {
            let sql = "SELECT at_byte, removed, inserted, document, revision FROM change WHERE id = ?1";
            let found = tx
                .prepare_cached(sql)?
                .query_row([change], |row| Ok((splice(row, 0)?, row.get::<_, String>(3)?, row.get::<_, Revision>(4)?)))
                .optional()?;
            let Some((splice, document, revision)) = found else { return Err(Error::NoChange(change).into()) };
            if revision == 1 && (document.ends_with("/job") || document.ends_with("/card")) {
                return Err(Error::Start(documents::job_of(&document).unwrap_or_default().to_owned()).into());
            }
            let after = text_at(tx, &stored(tx, &document)?, revision)?;
            let before = splice.revert(&after).ok_or(Error::NoChange(change))?;
            documents::write(tx, &document, &Want::Undo { change, before: &before }, revision, by)
        })
    }
}

fn changes(tx: &Connection, rest: &str, of: &str) -> Result<Vec<Change>, Failed> {
    let mut rows = tx.prepare_cached(&format!("{COLUMNS} {rest}"))?;
    let mut rows = rows.query([of])?;
    let mut texts: BTreeMap<String, (String, BTreeMap<String, String>)> = BTreeMap::new();
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        let document: String = row.get(4)?;
        let (text, before) = texts.remove(&document).unwrap_or_default();
        let text = splice(row, 0)?.apply(&text).ok_or_else(|| Error::NoChange(row.get(3).unwrap_or_default()))?;
        let after = edit::parse(&text).map(|doc| edit::leaves(&doc)).unwrap_or_default();
        all.push(Change {
            id: row.get(3)?,
            document: document.clone(),
            revision: row.get(5)?,
            who: row.get(6)?,
            device: row.get(7)?,
            at: time(row, 8)?,
            values: differences(&before, &after),
            undoes: row.get(9)?,
            undone_by: row.get(10)?,
        });
        texts.insert(document, (text, after));
    }
    Ok(all)
}

fn differences(before: &BTreeMap<String, String>, after: &BTreeMap<String, String>) -> Vec<ValueChange> {
    let keys: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let plain = |literal: &String| literal.parse().map_or_else(|_| literal.clone(), |v| edit::shown(&v));
    keys.into_iter()
        .filter(|key| before.get(*key) != after.get(*key))
        .map(|key| ValueChange {
            key: key.clone(),
            before: before.get(key).map(plain),
            after: after.get(key).map(plain),
        })
        .collect()
}
