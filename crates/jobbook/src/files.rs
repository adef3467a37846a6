//! Photos and logs. A file's bytes are stored once, under their digest; that a job has it is a line of `0117/files`,
//! with history and undo like any other.

use crate::documents::{self, By, Revision, Want};
use crate::edit::{self, Edit};
use crate::error::Error;
use crate::jobs::part;
use crate::store::{Book, Failed};
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};
use toml_edit::{InlineTable, Key, Value};

/// Largest photo or log, in bytes.
pub const LARGEST_FILE: usize = 64 << 20;
const LONGEST_NAME: usize = 120;

/// A file to keep with a job.
#[derive(Clone, Copy, Debug)]
pub struct NewFile<'a> {
    /// Its name in the job: `15-left-stack.jpg`.
    pub name: &'a str,
    /// What it is: `image/jpeg`.
    pub media_type: &'a str,
    /// Where it belongs, such as a photo slot; may be empty.
    pub slot: &'a str,
    /// Whether it is the rider's personal data (a signature, a face) and goes when those are erased.
    pub personal: bool,
    /// The file itself.
    pub bytes: &'a [u8],
}

/// A file that a job has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// Its name in the job.
    pub name: String,
    /// What it is.
    pub media_type: String,
    /// Where it belongs; may be empty.
    pub slot: String,
    /// Whether it is the rider's personal data.
    pub personal: bool,
    /// Its size.
    pub size_bytes: u64,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

impl Book {
    /// Keeps a file with a job. The same file under the same name again changes nothing.
    ///
    /// # Errors
    /// [`Error::TooLarge`], [`Error::BadName`], [`Error::NameTaken`] for another file of that name.
    pub fn attach(&self, number: &str, file: &NewFile<'_>, by: &By) -> Result<File, Error> {
        let name = file.name;
        let bad = |s: &str| s.len() > LONGEST_NAME || s.chars().any(|c| c.is_control() || c == '"');
        let bad_name = name.is_empty() || name.starts_with('.') || name.contains(['/', '\\']);
        if bad_name || [name, file.media_type, file.slot].into_iter().any(bad) {
            return Err(Error::BadName(name.to_owned()));
        }
        let size_bytes = file.bytes.len();
        if size_bytes > LARGEST_FILE {
            return Err(Error::TooLarge { what: name.to_owned(), size_bytes, most_bytes: LARGEST_FILE });
        }
        let kept = File {
            name: name.to_owned(),
            media_type: file.media_type.to_owned(),
            slot: file.slot.to_owned(),
            personal: file.personal,
            size_bytes: size_bytes as u64,
            sha256: digest(file.bytes),
        };
        self.write(|tx| {
            let list = part(number, "files");
            let (revision, there) = listed(tx, number)?;
            match there.into_iter().find(|f| f.name == name) {
                Some(there) if there == kept => return Ok(kept),
                Some(_) => return Err(Error::NameTaken { job: number.to_owned(), name: name.to_owned() }.into()),
                None => {}
            }
            tx.prepare_cached("INSERT OR IGNORE INTO file (sha256, size_bytes, content) VALUES (?1, ?2, ?3)")?
                .execute((&kept.sha256, size_bytes as i64, file.bytes))?;
            let edit = Edit { key: Key::new(name).to_string(), value: Some(line(&kept)) };
            documents::write(tx, &list, &Want::Values(&[edit]), revision, by)?;
            Ok(kept)
        })
    }

    /// Takes a file out of the job's list; undo brings it back.
    ///
    /// # Errors
    /// [`Error::NoFile`].
    pub fn detach(&self, number: &str, name: &str, by: &By) -> Result<Revision, Error> {
        self.write(|tx| {
            if let Some((_, revision)) = documents::sent_before(tx, Some(&part(number, "files")), by)? {
                return Ok(revision);
            }
            let (revision, there) = listed(tx, number)?;
            if !there.iter().any(|f| f.name == name) {
                return Err(Error::NoFile { job: number.to_owned(), name: name.to_owned() }.into());
            }
            let edit = Edit::remove(&Key::new(name).to_string());
            documents::write(tx, &part(number, "files"), &Want::Values(&[edit]), revision, by)
        })
    }

    /// The files of a job, by name.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn attachments(&self, number: &str) -> Result<Vec<File>, Error> {
        self.read(|tx| Ok(listed(tx, number)?.1))
    }

    /// One file with its bytes, whose digest is checked.
    ///
    /// # Errors
    /// [`Error::NoFile`], [`Error::Damaged`].
    pub fn attachment(&self, number: &str, name: &str) -> Result<(File, Vec<u8>), Error> {
        self.read(|tx| {
            let file = listed(tx, number)?.1.into_iter().find(|f| f.name == name);
            let missing = || Error::NoFile { job: number.to_owned(), name: name.to_owned() };
            let file = file.ok_or_else(missing)?;
            let content: Option<Vec<u8>> = tx
                .prepare_cached("SELECT content FROM file WHERE sha256 = ?1")?
                .query_row([&file.sha256], |row| row.get(0))
                .optional()?;
            let content = content.ok_or_else(missing)?;
            if digest(&content) != file.sha256 {
                let why = workbench::words::text("book.error.digest");
                return Err(Error::Damaged { what: format!("{number}: {name}"), why }.into());
            }
            Ok((file, content))
        })
    }
}

/// SHA-256 in hexadecimal.
pub(crate) fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

fn line(file: &File) -> Value {
    let mut line = InlineTable::new();
    line.insert("media_type", file.media_type.as_str().into());
    line.insert("slot", file.slot.as_str().into());
    line.insert("personal", file.personal.into());
    line.insert("size_bytes", (file.size_bytes as i64).into());
    line.insert("sha256", file.sha256.as_str().into());
    line.into()
}

/// The list of a job's files, with its revision.
pub(crate) fn listed(tx: &Connection, number: &str) -> Result<(Revision, Vec<File>), Failed> {
    let found: Option<(Revision, String)> = tx
        .prepare_cached("SELECT revision, text FROM document WHERE name = ?1")?
        .query_row([part(number, "files")], |row| Ok((row.get(0)?, row.get(1)?)))
        .optional()?;
    let Some((revision, text)) = found else { return Ok((0, Vec::new())) };
    Ok((revision, in_list(&text)))
}

/// The files that a list names.
pub(crate) fn in_list(text: &str) -> Vec<File> {
    let Ok(doc) = edit::parse(text) else { return Vec::new() };
    let entry = |name: &str, item: &toml_edit::Item| {
        let word = |key: &str| item.get(key).and_then(|i| i.as_str()).unwrap_or_default().to_owned();
        File {
            name: name.to_owned(),
            media_type: word("media_type"),
            slot: word("slot"),
            personal: item.get("personal").and_then(toml_edit::Item::as_bool).unwrap_or_default(),
            size_bytes: item.get("size_bytes").and_then(toml_edit::Item::as_integer).unwrap_or_default().unsigned_abs(),
            sha256: word("sha256"),
        }
    };
    doc.iter().map(|(name, item)| entry(name, item)).collect()
}
