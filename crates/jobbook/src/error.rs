//! What can go wrong, in words that name the way out.

use crate::documents::Revision;
use jiff::Timestamp;
use workbench::words;

/// One fact that two people wrote differently.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// Dotted path in the document.
    pub key: String,
    /// What both started from.
    pub before: Option<String>,
    /// What this call wanted to write.
    pub mine: Option<String>,
    /// What stands there now.
    pub theirs: Option<String>,
    /// Who wrote that.
    pub who: String,
    /// On which device.
    pub device: String,
    /// When.
    pub at: Timestamp,
}

/// Both have changed the same; nothing of this call is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Conflict {
    /// The document.
    pub document: String,
    /// Its newest revision: write on this one after both were read.
    pub revision: Revision,
    /// The facts concerned; empty where the texts clash outside any value (in a comment).
    pub clashes: Vec<Clash>,
}

/// Why a call did nothing.
#[derive(Clone, Debug)]
pub enum Error {
    /// Somebody else wrote the same fact.
    Conflict(Box<Conflict>),
    /// There is no such job.
    NoJob(String),
    /// There is no such document.
    NoDocument(String),
    /// There is no such change.
    NoChange(i64),
    /// The job has no such photo or log.
    NoFile {
        /// The job.
        job: String,
        /// The file's name.
        name: String,
    },
    /// The document has no such revision.
    NoRevision {
        /// The document.
        document: String,
        /// What was asked for.
        asked: Revision,
        /// What there is.
        newest: Revision,
    },
    /// That is not a job number.
    BadNumber(String),
    /// That is not a name for a document or file.
    BadName(String),
    /// Nobody is named as the writer, or the name is too long.
    BadPerson(String),
    /// That is no kind of job.
    BadKind(String),
    /// That is no stage.
    BadStage(String),
    /// There is a job with that number.
    NumberTaken(String),
    /// The job has another file of that name.
    NameTaken {
        /// The job.
        job: String,
        /// The file's name.
        name: String,
    },
    /// A new number is for a file with one job.
    NotOneJob(usize),
    /// There is a file already.
    Taken(String),
    /// Erasing would change a measured value.
    WouldHarm {
        /// The document.
        document: String,
        /// The value's key.
        key: String,
    },
    /// The text is not TOML.
    NotToml {
        /// The document.
        document: String,
        /// What the reader says.
        why: String,
    },
    /// The text has no place for that key.
    NoPlace {
        /// The document.
        document: String,
        /// The key.
        key: String,
    },
    /// Too large.
    TooLarge {
        /// What.
        what: String,
        /// Its size.
        size_bytes: usize,
        /// The limit.
        most_bytes: usize,
    },
    /// The sender's id was used for another document before.
    SentBefore(String),
    /// The first entry of a job cannot be undone.
    Start(String),
    /// There is no file there.
    Missing(String),
    /// The file is no job book.
    NotABook(String),
    /// The book was written by a newer program.
    Newer {
        /// The file.
        path: String,
        /// Its version.
        version: i64,
    },
    /// The file is damaged.
    Damaged {
        /// The file, or the part of it.
        what: String,
        /// What was found.
        why: String,
    },
    /// The disk is full, or the file may not grow.
    Full {
        /// The file.
        path: String,
    },
    /// Another program holds the book for too long.
    Busy {
        /// The file.
        path: String,
    },
    /// The file cannot be read or written.
    Outside {
        /// The file.
        path: String,
        /// What the system says.
        why: String,
    },
}

impl Error {
    pub(crate) fn from_sqlite(path: &str, e: &rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as C;
        let path = path.to_owned();
        let why = e.to_string();
        match e.sqlite_error_code() {
            Some(C::DiskFull) => Self::Full { path },
            Some(C::DatabaseBusy | C::DatabaseLocked) => Self::Busy { path },
            Some(C::NotADatabase) => Self::NotABook(path),
            Some(C::DatabaseCorrupt) => Self::Damaged { what: path, why },
            // A file that may not grow further (a quota, a size limit) is reported as a failed write.
            Some(C::SystemIoFailure) if e.sqlite_error().is_some_and(|e| wrote(e.extended_code)) => Self::Full { path },
            // A value that is no text, number or time as it should be.
            _ if is_value(e) => Self::Damaged { what: path, why },
            _ => Self::Outside { path, why },
        }
    }
    /// The short name of this error, as in the table of words.
    pub fn token(&self) -> &'static str {
        match self {
            Self::Conflict(_) => "conflict",
            Self::NoJob(_) => "no-job",
            Self::NoDocument(_) => "no-document",
            Self::NoChange(_) => "no-change",
            Self::NoFile { .. } => "no-file",
            Self::NoRevision { .. } => "no-revision",
            Self::BadNumber(_) => "bad-number",
            Self::BadName(_) => "bad-name",
            Self::BadPerson(_) => "bad-person",
            Self::BadKind(_) => "bad-kind",
            Self::BadStage(_) => "bad-stage",
            Self::NumberTaken(_) => "number-taken",
            Self::NameTaken { .. } => "name-taken",
            Self::NotOneJob(_) => "not-one-job",
            Self::Taken(_) => "taken",
            Self::WouldHarm { .. } => "would-harm",
            Self::NotToml { .. } => "not-toml",
            Self::NoPlace { .. } => "no-place",
            Self::TooLarge { .. } => "too-large",
            Self::SentBefore(_) => "sent-before",
            Self::Start(_) => "start",
            Self::Missing(_) => "missing",
            Self::NotABook(_) => "not-a-book",
            Self::Newer { .. } => "newer",
            Self::Damaged { .. } => "damaged",
            Self::Full { .. } => "full",
            Self::Busy { .. } => "busy",
            Self::Outside { .. } => "outside",
        }
    }
    /// Whether the person can put it right (true), or the machine is at fault (disk, damaged file).
    pub fn is_input(&self) -> bool {
        !matches!(self, Self::Damaged { .. } | Self::Full { .. } | Self::Busy { .. } | Self::Outside { .. })
    }
}

fn is_value(e: &rusqlite::Error) -> bool {
    use rusqlite::Error as E;
    matches!(
        e,
        E::FromSqlConversionFailure(..) | E::InvalidColumnType(..) | E::IntegralValueOutOfRange(..) | E::Utf8Error(..)
    )
}

fn wrote(extended: i32) -> bool {
    use rusqlite::ffi;
    [ffi::SQLITE_IOERR_WRITE, ffi::SQLITE_IOERR_FSYNC, ffi::SQLITE_IOERR_TRUNCATE, ffi::SQLITE_IOERR_SHMSIZE]
        .contains(&extended)
}

impl core::fmt::Display for Error {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let key = format!("book.error.{}", self.token());
        let text = match self {
            Self::Conflict(c) => {
                let lines: Vec<String> = c.clashes.iter().map(clash).collect();
                words::fill(&key, &[("what", &c.document)]) + &lines.concat()
            }
            Self::NoJob(what)
            | Self::NoDocument(what)
            | Self::BadNumber(what)
            | Self::BadName(what)
            | Self::BadPerson(what)
            | Self::BadKind(what)
            | Self::NumberTaken(what)
            | Self::SentBefore(what)
            | Self::Start(what)
            | Self::Missing(what)
            | Self::Taken(what)
            | Self::NotABook(what) => words::fill(&key, &[("what", what)]),
            Self::BadStage(what) => words::fill(&key, &[("what", what), ("allowed", &crate::STAGES.join(", "))]),
            Self::NotOneJob(many) => words::fill(&key, &[("n", &many.to_string())]),
            Self::NoChange(id) => words::fill(&key, &[("what", &id.to_string())]),
            Self::NoFile { job, name } | Self::NameTaken { job, name } => {
                words::fill(&key, &[("job", job), ("what", name)])
            }
            Self::NoRevision { document, asked, newest } => {
                words::fill(&key, &[("what", document), ("asked", &asked.to_string()), ("newest", &newest.to_string())])
            }
            Self::NotToml { document, why } => words::fill(&key, &[("what", document), ("why", why)]),
            Self::NoPlace { document, key: place } | Self::WouldHarm { document, key: place } => {
                words::fill(&key, &[("what", document), ("key", place)])
            }
            Self::TooLarge { what, size_bytes, most_bytes } => words::fill(
                &key,
                &[("what", what), ("size", &size_bytes.to_string()), ("most", &most_bytes.to_string())],
            ),
            Self::Newer { path, version } => words::fill(
                &key,
                &[("what", path), ("version", &version.to_string()), ("known", &crate::VERSION.to_string())],
            ),
            Self::Damaged { what, why } | Self::Outside { path: what, why } => {
                words::fill(&key, &[("what", what), ("why", why)])
            }
            Self::Full { path } | Self::Busy { path } => words::fill(&key, &[("what", path)]),
        };
        f.write_str(&text)
    }
}

fn clash(c: &Clash) -> String {
    let value = |v: &Option<String>| v.clone().unwrap_or_else(|| words::text("book.nothing"));
    words::fill(
        "book.error.clash",
        &[
            ("key", &c.key),
            ("who", &c.who),
            ("device", &c.device),
            ("at", &c.at.strftime("%Y-%m-%d %H:%M:%S UTC").to_string()),
            ("theirs", &value(&c.theirs)),
            ("mine", &value(&c.mine)),
        ],
    )
}

impl std::error::Error for Error {}

#[cfg(test)]
mod tests {
    use workbench::words;

    #[test]
    fn every_error_has_words() {
        let source = include_str!("error.rs");
        let from = source.find("fn token").unwrap();
        let tokens = &source[from..from + source[from..].find("fn is_input").unwrap()];
        let tokens: Vec<&str> = tokens.lines().filter_map(|l| l.split("=> \"").nth(1)?.split('"').next()).collect();
        assert!(tokens.len() > 25, "{tokens:?}");
        for token in tokens {
            assert!(words::find(&format!("book.error.{token}")).is_some(), "no words for {token}");
        }
    }

    #[test]
    fn every_key_in_the_code_has_words() {
        let used = [
            include_str!("error.rs").split("mod tests").next().unwrap(),
            include_str!("documents.rs"),
            include_str!("erase.rs"),
            include_str!("files.rs"),
            include_str!("migrate.rs"),
            include_str!("store.rs"),
            include_str!("verify.rs"),
        ]
        .concat();
        let keys: Vec<&str> = used.split("\"book.").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert!(keys.len() > 10, "{keys:?}");
        for key in keys.into_iter().filter(|key| !key.contains('{')) {
            assert!(words::find(&format!("book.{key}")).is_some(), "no words for book.{key}");
        }
    }
}
