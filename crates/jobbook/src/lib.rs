//! The job book: every job of the shop in one SQLite file.
//!
//! A job is a few documents: its job file (`0117/job`, the technical record), its card (`0117/card`: kind and stage), the rider's
//! personal data (`0117/rider`) and the list of its photos and logs (`0117/files`). The shop has documents too
//! (`rack`, `rules`, …). One mechanism serves all of them: a text, its revision, and every change with who and when.
//!
//! - A change says which revision it was made on. What others changed in the meantime is merged; where both changed the
//!   same fact, nothing is written and [`Error::Conflict`] has both values.
//! - A change may carry the sender's own id; sending it again does nothing a second time.
//! - What a call has confirmed is on the disk: `synchronous = FULL`, all of a call or nothing of it.
//! - Undo is a new change.
//!
//! Never here: units, facts, verdicts; whether a job file makes sense is for `intake` to say.

mod backup;
mod carry;
mod documents;
pub mod edit;
mod erase;
mod error;
mod files;
mod find;
mod history;
mod jobs;
mod merge;
mod migrate;
pub mod splice;
mod store;
mod verify;
mod writer;

pub use backup::{Restored, inspect, sound};
pub use carry::Imported;
pub use documents::{By, Document, LARGEST_TEXT, Revision};
pub use edit::Edit;
pub use erase::{Erased, IDENTIFYING};
pub use error::{Clash, Conflict, Error};
pub use files::{File, LARGEST_FILE, NewFile};
pub use find::Hit;
pub use history::{Change, ValueChange};
pub use jiff::Timestamp;
pub use jobs::{Job, Kind, NewJob, STAGES, Summary};
pub use migrate::VERSION;
pub use store::Book;
pub use toml_edit::Value;
pub use verify::Verified;
