//! Reads the whole book and says what is wrong with it.

use crate::documents::{Revision, replay, time};
use crate::error::Error;
use crate::files::{digest, in_list};
use crate::store::{Book, Failed};
use crate::{jobs, migrate};
use rusqlite::Connection;
use workbench::words;

/// What was read, and what is wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// Jobs.
    pub jobs: usize,
    /// Changes, all replayed.
    pub changes: usize,
    /// Photos and logs, all digests worked out again.
    pub files: usize,
    /// Their bytes.
    pub file_bytes: u64,
    /// Faults, one a line; empty for a sound book.
    pub faults: Vec<String>,
}

impl Book {
    /// Checks the file's structure, replays every document's history, and works out every digest again.
    ///
    /// # Errors
    /// If the book cannot be read at all; what is found wrong in it stands in [`Verified::faults`].
    pub fn verify(&self) -> Result<Verified, Error> {
        self.read(read)
    }
}

/// The same for a book that is only read.
pub(crate) fn verified(conn: &mut Connection, name: &str) -> Result<Verified, Error> {
    let run = |conn: &mut Connection| {
        let tx = conn.transaction()?;
        read(&tx)
    };
    run(conn).map_err(|failed| failed.or(|e| Error::from_sqlite(name, e)))
}

fn read(tx: &Connection) -> Result<Verified, Failed> {
    let mut found = Verified::default();
    structure(tx, &mut found)?;
    documents(tx, &mut found)?;
    changes(tx)?;
    index(tx, &mut found)?;
    files(tx, &mut found)?;
    Ok(found)
}

fn names(tx: &Connection, sql: &str) -> rusqlite::Result<Vec<String>> {
    tx.prepare(sql)?.query_map([], |row| row.get(0))?.collect()
}

fn structure(tx: &Connection, found: &mut Verified) -> Result<(), Failed> {
    found.faults.extend(names(tx, "PRAGMA integrity_check")?.into_iter().filter(|line| line != "ok"));
    for (table, row, parent) in tx
        .prepare("SELECT \"table\", CAST(coalesce(rowid, 0) AS TEXT), parent FROM pragma_foreign_key_check")?
        .query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?)))?
        .collect::<rusqlite::Result<Vec<_>>>()?
    {
        let values = [("table", table.as_str()), ("row", &row), ("parent", &parent)];
        found.faults.push(words::fill("book.verify.orphan", &values));
    }
    if !migrate::is_current(tx)? {
        found.faults.push(words::text("book.verify.schema"));
    }
    Ok(())
}

fn documents(tx: &Connection, found: &mut Verified) -> Result<(), Failed> {
    for name in names(tx, "SELECT name FROM document ORDER BY name")? {
        let (revision, text): (Revision, String) =
            tx.query_row("SELECT revision, text FROM document WHERE name = ?1", [&name], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })?;
        match replay(tx, &name) {
            Ok(texts) => {
                found.changes += texts.len() - 1;
                if texts.len() as Revision - 1 != revision || texts.last() != Some(&text) {
                    found.faults.push(words::fill("book.verify.history", &[("what", &name)]));
                }
            }
            Err(Failed::Ours(e)) => found.faults.push(e.to_string()),
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// Reads who, where and when of every change and job, which no replay does. What cannot be read at all ends the reading.
fn changes(tx: &Connection) -> Result<(), Failed> {
    let mut rows = tx.prepare(
        "SELECT who, device, at, sent_as FROM change UNION ALL SELECT title, kind, started_at, other_job FROM job \
         UNION ALL SELECT title, stage, changed_at, number FROM job",
    )?;
    let mut rows = rows.query([])?;
    while let Some(row) = rows.next()? {
        let _: (String, String, _, Option<String>) = (row.get(0)?, row.get(1)?, time(row, 2)?, row.get(3)?);
    }
    Ok(())
}

fn index(tx: &Connection, found: &mut Verified) -> Result<(), Failed> {
    let rows = tx
        .prepare("SELECT number, title, kind, stage, other_job FROM job ORDER BY number")?
        .query_map([], |row| Ok((row.get::<_, String>(0)?, (row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?))))?
        .collect::<rusqlite::Result<Vec<_>>>()?;
    found.jobs = rows.len();
    for (number, row) in rows {
        if jobs::shown(tx, &number)? != row {
            found.faults.push(words::fill("book.verify.index", &[("what", &number)]));
        }
    }
    Ok(())
}

fn files(tx: &Connection, found: &mut Verified) -> Result<(), Failed> {
    let mut rows = tx.prepare("SELECT sha256, size_bytes, content FROM file ORDER BY sha256")?;
    let mut rows = rows.query([])?;
    while let Some(row) = rows.next()? {
        let sha256: String = row.get(0)?;
        let size: i64 = row.get(1)?;
        let content = row.get_ref(2)?.as_blob().unwrap_or_default();
        found.files += 1;
        found.file_bytes += content.len() as u64;
        if content.len() as i64 != size || digest(content) != sha256 {
            found.faults.push(words::fill("book.verify.digest", &[("what", &sha256)]));
        }
    }
    for name in names(tx, "SELECT name FROM document WHERE name LIKE '%/files' ORDER BY name")? {
        let text: String = tx.query_row("SELECT text FROM document WHERE name = ?1", [&name], |row| row.get(0))?;
        for file in in_list(&text) {
            if !tx.prepare_cached("SELECT 1 FROM file WHERE sha256 = ?1")?.exists([&file.sha256])? {
                found.faults.push(words::fill("book.verify.no-content", &[("what", &name), ("file", &file.name)]));
            }
        }
    }
    Ok(())
}
