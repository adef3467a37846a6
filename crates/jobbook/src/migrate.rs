//! From an older book to this program's schema, one step after the other, in one transaction.

use crate::error::Error;
use rusqlite::{Connection, TransactionBehavior};

const LADDER: [&str; 2] = [include_str!("../migrations/0001.sql"), include_str!("../migrations/0002.sql")];

/// Version of the book that this program writes.
pub const VERSION: i64 = LADDER.len() as i64;

/// `PRAGMA application_id` of a job book.
const APPLICATION: i64 = 1_112_232_523;

/// The version of a book; 0 for an empty file.
///
/// # Errors
/// [`Error::Newer`], or [`Error::NotABook`] for another program's file.
pub fn version(conn: &Connection, path: &str) -> Result<i64, Error> {
    let sqlite = |e| Error::from_sqlite(path, &e);
    // One statement, so that another program that makes the book meanwhile is seen before or after, never in between.
    let one = "SELECT user_version, application_id, (SELECT count(*) FROM sqlite_schema) FROM pragma_user_version, \
               pragma_application_id";
    let (version, application, tables): (i64, i64, i64) =
        conn.query_row(one, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).map_err(sqlite)?;
    match (application, version) {
        (0, 0) if tables == 0 => Ok(0),
        (APPLICATION, v) if v > VERSION => Err(Error::Newer { path: path.to_owned(), version: v }),
        (APPLICATION, v) if v > 0 => Ok(v),
        _ => Err(Error::NotABook(path.to_owned())),
    }
}

/// Brings a book up to [`VERSION`].
///
/// # Errors
/// As [`version`], or if it cannot be written; then it stays as it was.
pub fn migrate(conn: &mut Connection, path: &str) -> Result<(), Error> {
    if version(conn, path)? == VERSION {
        return Ok(());
    }
    let sqlite = |e| Error::from_sqlite(path, &e);
    // A table that others name can only be made anew with this off; it cannot be turned off inside a transaction.
    conn.pragma_update(None, "foreign_keys", false).map_err(sqlite)?;
    let climbed = climb(conn, path);
    conn.pragma_update(None, "foreign_keys", true).map_err(sqlite)?;
    climbed
}

fn climb(conn: &mut Connection, path: &str) -> Result<(), Error> {
    let sqlite = |e| Error::from_sqlite(path, &e);
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(sqlite)?;
    // Another program may have been faster.
    let from = version(&tx, path)?;
    for step in LADDER.iter().skip(usize::try_from(from).unwrap_or_default()) {
        tx.execute_batch(step).map_err(sqlite)?;
    }
    tx.pragma_update(None, "user_version", VERSION).map_err(sqlite)?;
    if tx.prepare("PRAGMA foreign_key_check").and_then(|mut check| check.exists([])).map_err(sqlite)? {
        let why = workbench::words::text("book.error.orphans");
        return Err(Error::Damaged { what: path.to_owned(), why });
    }
    tx.commit().map_err(sqlite)
}

/// All objects of a book and how they were made, spaces and line ends apart.
fn schema(conn: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    let sql = "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' ORDER BY name";
    let squeeze = |sql: String| sql.split_whitespace().collect::<Vec<_>>().join(" ");
    conn.prepare(sql)?.query_map([], |row| Ok((row.get(0)?, squeeze(row.get(1)?))))?.collect()
}

/// Whether a book has exactly the tables of this program's version: nothing missing, nothing slipped in.
pub fn is_current(conn: &Connection) -> rusqlite::Result<bool> {
    let whole = Connection::open_in_memory()?;
    whole.execute_batch(include_str!("../schema.sql"))?;
    Ok(schema(conn)? == schema(&whole)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ladder_arrives_at_the_schema_file() {
        let mut climbed = Connection::open_in_memory().unwrap();
        migrate(&mut climbed, "memory").unwrap();
        let whole = Connection::open_in_memory().unwrap();
        whole.execute_batch(include_str!("../schema.sql")).unwrap();
        assert_eq!(schema(&climbed).unwrap(), schema(&whole).unwrap());
        assert!(schema(&whole).unwrap().len() >= 5);
        assert!(is_current(&climbed).unwrap());
        climbed.execute_batch("CREATE VIEW slipped_in AS SELECT 1").unwrap();
        assert!(!is_current(&climbed).unwrap());
    }
}
