//! The open file: one connection that writes, some that read.

use crate::error::Error;
use crate::migrate;
use crate::writer::Writer;
use rusqlite::{Connection, OpenFlags};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use workbench::words;

/// How long a write waits for another program's.
const PATIENCE: Duration = Duration::from_secs(10);
/// Connections kept for reading.
const READERS: usize = 8;

/// The job book. Share it between threads as it is; reads do not wait for writes.
pub struct Book {
    path: PathBuf,
    pub(crate) writer: Writer,
    readers: Mutex<Vec<Connection>>,
}

pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A thread that panicked has left no half of a change: its transaction was rolled back.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Book {
    /// Opens the book, makes it if there is none, and brings an older one up to date.
    ///
    /// # Errors
    /// If it is no book, a newer one, or cannot be written.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, Error> {
        let path = path.as_ref();
        let outside = |e: std::io::Error| outside(path, &e);
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(outside)?;
        }
        create(path).map_err(outside)?;
        Self::open_existing(path)
    }

    /// Opens a book that must be there.
    ///
    /// # Errors
    /// As [`Book::open`], and [`Error::Missing`].
    pub fn open_existing(path: impl AsRef<Path>) -> Result<Self, Error> {
        let path = path.as_ref();
        if !path.is_file() {
            return Err(Error::Missing(path.display().to_string()));
        }
        let name = path.display().to_string();
        let mut writer = connect(path).map_err(|e| Error::from_sqlite(&name, &e))?;
        // Where several make the same new book, SQLite refuses some of them at once instead of letting them wait.
        let until = Instant::now() + PATIENCE;
        loop {
            match prepare(&mut writer, &name) {
                Err(Error::Busy { .. }) if Instant::now() < until => std::thread::sleep(Duration::from_millis(5)),
                prepared => break prepared?,
            }
        }
        Ok(Self { path: path.to_owned(), writer: Writer::new(writer, &name), readers: Mutex::new(Vec::new()) })
    }

    /// Closes the book so that it is one file, with nothing beside it.
    pub(crate) fn close(self) -> Result<(), Error> {
        lock(&self.readers).clear();
        let closed = self
            .writer
            .alone(|conn| conn.pragma_update_and_check(None, "journal_mode", "delete", |row| row.get::<_, String>(0)));
        closed.map(drop).map_err(|e| self.sqlite(&e))
    }

    /// Where it stands.
    pub fn path(&self) -> &Path {
        &self.path
    }

    pub(crate) fn sqlite(&self, e: &rusqlite::Error) -> Error {
        Error::from_sqlite(&self.path.display().to_string(), e)
    }

    /// One transaction that writes: all of it or nothing, on the disk when this returns.
    pub(crate) fn write<T>(&self, work: impl FnOnce(&Connection) -> Result<T, Failed>) -> Result<T, Error> {
        self.writer.write(work)
    }

    /// Reads that see one state of the book.
    pub(crate) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, Failed>) -> Result<T, Error> {
        let kept = lock(&self.readers).pop();
        let run = |kept: Option<Connection>| -> Result<T, Failed> {
            let mut conn = match kept {
                Some(conn) => conn,
                None => {
                    let conn = connect(&self.path)?;
                    conn.pragma_update(None, "query_only", true)?;
                    conn
                }
            };
            let tx = conn.transaction()?;
            let done = work(&tx)?;
            tx.finish()?;
            let mut readers = lock(&self.readers);
            if readers.len() < READERS {
                readers.push(conn);
            }
            Ok(done)
        };
        run(kept).map_err(|failed| failed.or(|e| self.sqlite(e)))
    }
}

/// Turns the log on and brings the book up to date, if it is one.
pub(crate) fn prepare(conn: &mut Connection, name: &str) -> Result<(), Error> {
    let sqlite = |e| Error::from_sqlite(name, &e);
    migrate::version(conn, name)?;
    // Two programs that make the same new book at once wait for each other here.
    let mode: String = conn.pragma_update_and_check(None, "journal_mode", "wal", |row| row.get(0)).map_err(sqlite)?;
    if mode != "wal" {
        let why = words::fill("book.error.no-log", &[("mode", &mode)]);
        return Err(Error::Outside { path: name.to_owned(), why });
    }
    migrate::migrate(conn, name)
}

/// What the system said about a file, in our words.
pub(crate) fn outside(path: &Path, e: &std::io::Error) -> Error {
    let name = path.display().to_string();
    match e.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => Error::Full { path: name },
        _ => Error::Outside { path: name, why: e.to_string() },
    }
}

/// Makes an empty file that only its owner may read: a book holds personal data.
pub(crate) fn create(path: &Path) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.append(true).create(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).map(drop)
}

pub(crate) fn connect(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(path, flags)?;
    conn.busy_timeout(PATIENCE)?;
    conn.execute_batch(
        "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON; PRAGMA trusted_schema = OFF;",
    )?;
    Ok(conn)
}

/// SQLite's errors and ours on their way out of a transaction.
pub(crate) enum Failed {
    Sqlite(rusqlite::Error),
    Ours(Error),
}

impl Failed {
    pub(crate) fn or(self, sqlite: impl FnOnce(&rusqlite::Error) -> Error) -> Error {
        match self {
            Self::Sqlite(e) => sqlite(&e),
            Self::Ours(e) => e,
        }
    }
}

impl From<rusqlite::Error> for Failed {
    fn from(e: rusqlite::Error) -> Self {
        Self::Sqlite(e)
    }
}

impl From<Error> for Failed {
    fn from(e: Error) -> Self {
        Self::Ours(e)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::types::Value;

    /// A killed process cannot show that a write has reached the disk, only the settings can: 2 is FULL.
    #[test]
    fn every_confirmed_write_is_on_the_disk() {
        let folder = tempfile::TempDir::new().unwrap();
        let book = Book::open(folder.path().join("a.sqlite")).unwrap();
        let pragma = |name: &str| {
            book.writer.alone(|conn| conn.pragma_query_value(None, name, |row| row.get::<_, Value>(0)).unwrap())
        };
        assert_eq!(pragma("synchronous"), 2.into());
        assert_eq!(pragma("journal_mode"), "wal".to_owned().into());
        assert_eq!(pragma("foreign_keys"), 1.into());
    }
}
