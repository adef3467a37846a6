//! Jobs: the list for the stand, a job with all its documents, and the calls a page makes.

use crate::documents::{self, By, Document, Revision, Want, stored, time};
use crate::edit::{self, Edit};
use crate::error::Error;
use crate::store::{Book, Failed};
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension};

/// Stages of a job, in their order.
pub const STAGES: [&str; 12] = [
    "talk",
    "survey",
    "check",
    "quote",
    "baseline",
    "build",
    "settings",
    "ride",
    "proof",
    "hand-over",
    "come-back",
    "closed",
];
const LONGEST_NUMBER: usize = 20;

/// Why the bike is here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A free clutch that shall be locked.
    Convert,
    /// It came with a locked hub.
    FoundLocked,
    /// Built like another job's bike.
    Sister,
    /// A free clutch shall be put back.
    Undo,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Convert, Self::FoundLocked, Self::Sister, Self::Undo];
    /// Its short name.
    pub fn token(self) -> &'static str {
        match self {
            Self::Convert => "convert",
            Self::FoundLocked => "found-locked",
            Self::Sister => "sister",
            Self::Undo => "undo",
        }
    }
    /// The kind of that name.
    ///
    /// # Errors
    /// [`Error::BadKind`].
    pub fn read(token: &str) -> Result<Self, Error> {
        Self::ALL.into_iter().find(|k| k.token() == token).ok_or_else(|| Error::BadKind(token.to_owned()))
    }
}

/// A job in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// The shop's number: `0117`.
    pub number: String,
    /// What the bike is called.
    pub title: String,
    /// Why it is here.
    pub kind: Kind,
    /// Where it stands, one of [`STAGES`].
    pub stage: String,
    /// The other job that it is a sister of, or undoes.
    pub of: Option<String>,
    /// First entry.
    pub started_at: Timestamp,
    /// Newest entry.
    pub changed_at: Timestamp,
}

/// A job with its documents.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Number, title, kind, stage, times.
    pub summary: Summary,
    /// Revision of the job file: give it back when you write a fact.
    pub revision: Revision,
    /// The job file (TOML): the technical record.
    pub text: String,
    /// Revision of the card (kind and stage).
    pub card_revision: Revision,
    /// The rider's personal data (TOML: `name`, `phone`, …); revision 0 and no text where there are none.
    pub rider: (Revision, String),
}

/// A job to begin.
#[derive(Clone, Debug)]
pub struct NewJob<'a> {
    /// Why the bike is here.
    pub kind: Kind,
    /// The job that it is a sister of, or undoes.
    pub of: Option<&'a str>,
    /// Its job file. Its `number` is used if it has one that is not `0000`, else the next free one is put in.
    pub text: &'a str,
}

impl Book {
    /// All jobs, newest change first.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn jobs(&self) -> Result<Vec<Summary>, Error> {
        self.read(|tx| {
            let mut rows = tx.prepare_cached(&summary("ORDER BY changed_at DESC, number"))?;
            let mut rows = rows.query([])?;
            let mut all = Vec::new();
            while let Some(row) = rows.next()? {
                all.push(read_summary(row)?);
            }
            Ok(all)
        })
    }

    /// One job.
    ///
    /// # Errors
    /// [`Error::NoJob`].
    pub fn job(&self, number: &str) -> Result<Job, Error> {
        self.read(|tx| {
            let text = stored(tx, &part(number, "job")).map_err(|_| Error::NoJob(number.to_owned()))?;
            let summary =
                tx.prepare_cached(&summary("WHERE number = ?1"))?.query_row([number], |row| Ok(read_summary(row)))?;
            let card = stored(tx, &part(number, "card"))?;
            let rider = match stored(tx, &part(number, "rider")) {
                Err(Failed::Ours(Error::NoDocument(_))) => (0, String::new()),
                other => other.map(|d| (d.revision, d.text))?,
            };
            let Document { revision, text, .. } = text;
            Ok(Job { summary: summary?, revision, text, card_revision: card.revision, rider })
        })
    }

    /// Begins a job and gives its number.
    ///
    /// # Errors
    /// [`Error::NumberTaken`], [`Error::NotToml`], [`Error::NoJob`] for `of`.
    pub fn new_job(&self, new: &NewJob<'_>, by: &By) -> Result<String, Error> {
        self.write(|tx| {
            if let Some((document, _)) = documents::sent_before(tx, None, by)? {
                let done = document.strip_suffix("/job").map(str::to_owned);
                return done.ok_or_else(|| Error::SentBefore(by.sent_as.clone().unwrap_or_default()).into());
            }
            let doc = edit::parse(new.text).map_err(|e| match e {
                edit::Wrong::NotToml(why) | edit::Wrong::NoPlace(why) => {
                    Error::NotToml { document: "job".to_owned(), why }
                }
            })?;
            let given = edit::plain(&doc, "number").filter(|n| n.chars().any(|c| c != '0'));
            let number = match given {
                Some(number) => checked_number(&number)?.to_owned(),
                None => next_number(tx)?,
            };
            if tx.prepare_cached("SELECT 1 FROM job WHERE number = ?1")?.exists([&number])? {
                return Err(Error::NumberTaken(number).into());
            }
            if let Some(of) = new.of
                && !tx.prepare_cached("SELECT 1 FROM job WHERE number = ?1")?.exists([of])?
            {
                return Err(Error::NoJob(of.to_owned()).into());
            }
            let text = if edit::plain(&doc, "number").as_deref() == Some(&number) {
                new.text.to_owned()
            } else {
                edit::apply(new.text, &[Edit::put("number", number.as_str())])
                    .map_err(|_| Error::NoPlace { document: "job".to_owned(), key: "number".to_owned() })?
            };
            let at = documents::stamp(by);
            tx.execute(
                "INSERT INTO job (number, title, kind, stage, other_job, started_at, changed_at) \
                 VALUES (?1, '', ?2, ?3, ?4, ?5, ?5)",
                (&number, new.kind.token(), STAGES[0], new.of, &at),
            )?;
            let mut card = format!("kind = \"{}\"\nstage = \"{}\"\n", new.kind.token(), STAGES[0]);
            if let Some(of) = new.of {
                card.push_str(&format!("of = \"{of}\"\n"));
            }
            let quiet = By { sent_as: None, ..by.clone() };
            documents::write(tx, &part(&number, "card"), &Want::Text(&card), 0, &quiet)?;
            documents::write(tx, &part(&number, "job"), &Want::Text(&text), 0, by)?;
            Ok(number)
        })
    }

    /// Writes one fact of the job file as a text: `set_fact("0117", "axle.left.nut_torque", "72 N·m, chosen with W2", …)`.
    /// `from` is the revision that the person saw. Comments stay.
    ///
    /// # Errors
    /// [`Error::Conflict`] with both values if somebody else has changed this fact since.
    pub fn set_fact(&self, number: &str, key: &str, value: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_values(&part(number, "job"), &[Edit::put(key, value)], from, by)
    }

    /// Takes a fact out of the job file, so that it is assumed again.
    ///
    /// # Errors
    /// As [`Book::set_fact`].
    pub fn clear_fact(&self, number: &str, key: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_values(&part(number, "job"), &[Edit::remove(key)], from, by)
    }

    /// Writes the whole job file.
    ///
    /// # Errors
    /// As [`Book::set_document`].
    pub fn replace_text(&self, number: &str, text: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_document(&part(number, "job"), text, from, by)
    }

    /// Moves the job to a stage. `from` is the card's revision.
    ///
    /// # Errors
    /// [`Error::BadStage`], or as [`Book::set_values`].
    pub fn set_stage(&self, number: &str, stage: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_values(&part(number, "card"), &[Edit::put("stage", stage)], from, by)
    }

    /// Says that the job is of another kind than was thought. `from` is the card's revision.
    ///
    /// # Errors
    /// As [`Book::set_values`].
    pub fn set_kind(&self, number: &str, kind: Kind, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_values(&part(number, "card"), &[Edit::put("kind", kind.token())], from, by)
    }

    /// Writes one of the rider's personal data (`name`, `phone`, `email`, `address`, …). `from` is the rider's revision.
    ///
    /// # Errors
    /// As [`Book::set_values`].
    pub fn set_rider(&self, number: &str, key: &str, value: &str, from: Revision, by: &By) -> Result<Revision, Error> {
        self.set_values(&part(number, "rider"), &[Edit::put(key, value)], from, by)
    }
}

pub(crate) fn part(number: &str, part: &str) -> String {
    format!("{number}/{part}")
}

pub(crate) fn checked_number(number: &str) -> Result<&str, Error> {
    let fine =
        (1..=LONGEST_NUMBER).contains(&number.len()) && number.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if fine { Ok(number) } else { Err(Error::BadNumber(number.to_owned())) }
}

/// One above the highest number that is all digits, with four digits or more.
fn next_number(tx: &Connection) -> rusqlite::Result<String> {
    let sql = "SELECT coalesce(max(CAST(number AS INTEGER)), 0) + 1 FROM job \
               WHERE number NOT GLOB '*[^0-9]*' AND length(number) < 10";
    let next: i64 = tx.query_row(sql, [], |row| row.get(0))?;
    Ok(format!("{next:04}"))
}

fn summary(rest: &str) -> String {
    format!("SELECT number, title, kind, stage, other_job, started_at, changed_at FROM job {rest}")
}

fn read_summary(row: &rusqlite::Row<'_>) -> Result<Summary, Failed> {
    Ok(Summary {
        number: row.get(0)?,
        title: row.get(1)?,
        kind: Kind::read(&row.get::<_, String>(2)?)?,
        stage: row.get(3)?,
        of: row.get(4)?,
        started_at: time(row, 5)?,
        changed_at: time(row, 6)?,
    })
}

/// Keeps the list up to date after a change of one document.
pub(crate) fn touch(tx: &Connection, number: &str, document: &str, at: &str) -> Result<(), Failed> {
    tx.prepare_cached("UPDATE job SET changed_at = max(changed_at, ?2) WHERE number = ?1")?.execute((number, at))?;
    // The other documents do not show in the list.
    if document.ends_with("/job") || document.ends_with("/card") { index(tx, number) } else { Ok(()) }
}

/// What the list shows, from the documents: title from the job file, the rest from the card.
pub(crate) fn index(tx: &Connection, number: &str) -> Result<(), Failed> {
    let (title, kind, stage, of) = shown(tx, number)?;
    Kind::read(&kind)?;
    if !STAGES.contains(&stage.as_str()) {
        return Err(Error::BadStage(stage).into());
    }
    tx.prepare_cached("UPDATE job SET title = ?2, kind = ?3, stage = ?4, other_job = ?5 WHERE number = ?1")?
        .execute((number, title, kind, stage, of))?;
    Ok(())
}

/// Title, kind, stage and other job, as the documents say.
pub(crate) fn shown(tx: &Connection, number: &str) -> Result<(String, String, String, Option<String>), Failed> {
    let text = |name: &str| -> rusqlite::Result<Option<String>> {
        let mut row = tx.prepare_cached("SELECT text FROM document WHERE name = ?1")?;
        row.query_row([part(number, name)], |row| row.get(0)).optional()
    };
    let value = |text: Option<String>, key: &str| {
        text.and_then(|t| edit::parse(&t).ok()).and_then(|doc| edit::plain(&doc, key)).unwrap_or_default()
    };
    let card = text("card")?;
    let of = Some(value(card.clone(), "of")).filter(|of| !of.is_empty());
    Ok((value(text("job")?, "name"), value(card.clone(), "kind"), value(card, "stage"), of))
}
