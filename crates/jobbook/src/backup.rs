//! Backup and restore. A backup is a book in one file, read back before it is called one.

use crate::documents::{By, stamp};
use crate::edit::Edit;
use crate::error::Error;
use crate::store::{self, Book};
use crate::verify::{Verified, verified};
use crate::{erase, migrate};
use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags, backup};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The document that says when the last backup was made.
const LAST: &str = "backup";
/// How often and how long restoring waits for other programs to finish a write.
const TRIES: u32 = 100;
const PAUSE: Duration = Duration::from_millis(100);

/// What restoring did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// What the book holds now.
    pub now: Verified,
    /// Where the book of before is kept; `None` if there was nothing in it.
    pub before: Option<PathBuf>,
    /// Jobs whose rider's data had been erased since the backup, and were erased again.
    pub erased_again: Vec<String>,
}

impl Book {
    /// Writes the whole book, as it is at this moment, into one new file, and reads that back. Others may write meanwhile.
    /// The shop's document `backup` says when and where the last one was made (`last_at`, `last_file`).
    ///
    /// # Errors
    /// If there is a file already, no room, or the book itself is damaged; then no file is left.
    pub fn backup(&self, to: &Path, by: &By) -> Result<Verified, Error> {
        let made = into_place(to, |part| {
            let text = part.to_str().ok_or_else(|| Error::BadName(part.display().to_string()))?;
            // The copy is written outside of any transaction of the book.
            let conn = store::connect(self.path()).map_err(|e| self.sqlite(&e))?;
            conn.execute("VACUUM INTO ?1", [text]).map_err(|e| Error::from_sqlite(text, &e))?;
            sound(part)
        })?;
        let edits = [Edit::put("last_at", stamp(by)), Edit::put("last_file", to.display().to_string())];
        let from = self.document(LAST)?.map_or(0, |last| last.revision);
        // The backup is there, whether or not this can be noted; without the note the book asks for one again.
        let _ = self.set_values(LAST, &edits, from, by);
        Ok(made)
    }

    /// Puts a backup in place of the book at `path`, which is kept beside it. Programs that have the book open see the
    /// restored one; a book that cannot be read is moved aside, and they must be started again. Riders whose data were
    /// erased since the backup are erased again.
    ///
    /// # Errors
    /// If the backup is not sound, or there is no room; then the book stays as it was.
    pub fn restore(path: &Path, from: &Path, by: &By) -> Result<Restored, Error> {
        sound(from)?;
        let now = Timestamp::now().strftime("%Y%m%dT%H%M%S%.3fZ");
        let beside = |why: &str| with_ending(path, &format!("{why}-{now}"));
        let (book, before) = match Self::open(path).and_then(|book| {
            let some = !book.jobs()?.is_empty() || !book.document_names("")?.is_empty();
            let before = some.then(|| beside("before-restore"));
            before.as_deref().map(|to| book.backup(to, by)).transpose()?;
            Ok((book, before))
        }) {
            Err(Error::Damaged { .. } | Error::NotABook(_)) => {
                let aside = beside("damaged");
                move_aside(path, &aside)?;
                (Self::open(path)?, Some(aside))
            }
            other => other?,
        };
        let gone = erase::gone(&book)?;
        let mut erased_again = Vec::new();
        if gone.is_empty() {
            book.load(from)?;
        } else {
            // In a copy, so that what was erased is at no moment in the book again.
            let copied = Scratch::beside(path, "incoming")?;
            fs::copy(from, &copied.0).map_err(|e| store::outside(&copied.0, &e))?;
            let copy = Self::open_existing(&copied.0)?;
            erased_again = erase::again(&copy, &gone, by)?;
            copy.close()?;
            book.load(&copied.0)?;
        }
        Ok(Restored { now: book.verify()?, before, erased_again })
    }

    /// Takes over another file's whole content in one transaction.
    fn load(&self, from: &Path) -> Result<(), Error> {
        let source = read_only(from)?;
        self.writer.alone(|conn| {
            let copied = backup::Backup::new(&source, conn).and_then(|copy| {
                for _ in 0..TRIES {
                    match copy.step(-1)? {
                        backup::StepResult::Done => return Ok(true),
                        _ => std::thread::sleep(PAUSE),
                    }
                }
                Ok(false)
            });
            let name = self.path().display().to_string();
            if !copied.map_err(|e| self.sqlite(&e))? {
                return Err(Error::Busy { path: name });
            }
            store::prepare(conn, &name)
        })
    }
}

/// Reads a closed book without touching it, and wants it sound.
///
/// # Errors
/// If it is missing, no book, newer, or damaged.
pub fn sound(path: &Path) -> Result<Verified, Error> {
    let found = inspect(path)?;
    match found.faults.first() {
        None => Ok(found),
        Some(why) => Err(Error::Damaged { what: path.display().to_string(), why: why.clone() }),
    }
}

/// Reads a closed book without touching it, and says what is wrong with it.
///
/// # Errors
/// If it is missing, no book, newer, or cannot be read at all.
pub fn inspect(path: &Path) -> Result<Verified, Error> {
    let name = path.display().to_string();
    if !path.is_file() {
        return Err(Error::Missing(name));
    }
    let mut conn = read_only(path)?;
    match migrate::version(&conn, &name)? {
        0 => return Err(Error::NotABook(name)),
        migrate::VERSION => {}
        _ => {
            // An older one is read as it would be after an update: in a copy without a name, on the disk.
            let sqlite = |e: rusqlite::Error| Error::from_sqlite(&name, &e);
            let mut copy = Connection::open("").map_err(sqlite)?;
            backup::Backup::new(&conn, &mut copy).and_then(|b| b.step(-1)).map_err(sqlite)?;
            migrate::migrate(&mut copy, &name)?;
            conn = copy;
        }
    }
    verified(&mut conn, &name)
}

fn read_only(path: &Path) -> Result<Connection, Error> {
    let open = || {
        let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        conn.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;")?;
        Ok(conn)
    };
    open().map_err(|e| Error::from_sqlite(&path.display().to_string(), &e))
}

/// Makes a file under another name first, so that nobody ever sees half of it.
pub(crate) fn into_place<T>(to: &Path, make: impl FnOnce(&Path) -> Result<T, Error>) -> Result<T, Error> {
    let outside = |e: std::io::Error| store::outside(to, &e);
    if to.exists() {
        return Err(Error::Taken(to.display().to_string()));
    }
    let scratch = Scratch::beside(to, "part")?;
    let done = make(&scratch.0)?;
    fs::File::open(&scratch.0).and_then(|file| file.sync_all()).map_err(outside)?;
    // A hard link, unlike a rename, does not replace a file that has come there meanwhile.
    fs::hard_link(&scratch.0, to).or_else(|_| fs::rename(&scratch.0, to)).map_err(outside)?;
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::File::open(folder).and_then(|folder| folder.sync_all()).map_err(outside)?;
    Ok(done)
}

/// A file that is gone when this is dropped, with all that SQLite puts beside it.
pub(crate) struct Scratch(pub PathBuf);

impl Scratch {
    /// An empty file beside another; what an earlier run has left there is removed.
    pub(crate) fn beside(path: &Path, ending: &str) -> Result<Self, Error> {
        let scratch = Self(with_ending(path, ending));
        scratch.remove();
        store::create(&scratch.0).map_err(|e| store::outside(path, &e))?;
        Ok(scratch)
    }
    fn remove(&self) {
        for suffix in ["", "-wal", "-shm", "-journal"] {
            let _ = fs::remove_file(with_suffix(&self.0, suffix));
        }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        self.remove();
    }
}

fn move_aside(path: &Path, aside: &Path) -> Result<(), Error> {
    for ending in ["-wal", "-shm", ""] {
        let from = with_suffix(path, ending);
        if from.exists() {
            fs::rename(&from, with_suffix(aside, ending)).map_err(|e| store::outside(path, &e))?;
        }
    }
    Ok(())
}

fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    with_suffix(path, &format!(".{ending}"))
}
