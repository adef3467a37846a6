//! What is wrong with a file, where, and what to do.

use std::fmt::{Display, Formatter, Result};

use crate::words;

/// A place in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    #[default]
    File,
    /// A line, counted from one.
    Line(u64),
    /// A byte, counted from zero.
    Byte(u64),
    /// A point of the track, counted from one over all segments.
    Point(u64),
}

impl Display for Place {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let number = match self {
            Self::File => String::new(),
            Self::Line(number) | Self::Byte(number) | Self::Point(number) => number.to_string(),
        };
        let key = match self {
            Self::File => "place-file",
            Self::Line(_) => "place-line",
            Self::Byte(_) => "place-byte",
            Self::Point(_) => "place-point",
        };
        f.write_str(&words::fill(key, &[("number", &number)]))
    }
}

/// A file that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Error {
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub what: String,
    /// What to do next.
    pub next: String,
}

impl Error {
    /// The words of `key` and, for the next step, of `key-next`, both with the values put in.
    pub(crate) fn new(place: Place, key: &'static str, values: &[(&str, &str)]) -> Self {
        Self { place, what: words::fill(key, values), next: words::next(key, values) }
    }
}

impl std::error::Error for Error {}

impl Display for Error {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{}: {}; {}", self.place, self.what, self.next)
    }
}

/// Something about a usable file that its reader should know: what was left out, taken for something, or looks odd.
/// One note a kind, however often it occurs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Where it occurs first.
    pub first: Place,
    /// How often it occurs.
    pub count: u64,
    /// What it is, such as `a time that was there before`.
    pub what: String,
}

impl Display for Note {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{}: {}", self.first, self.what)?;
        match self.count {
            1 => Ok(()),
            count => write!(f, " {}", words::fill("note-times", &[("count", &count.to_string())])),
        }
    }
}

/// Notes as they are collected: a handful of kinds, told apart by key and subject.
#[derive(Clone, Debug, Default)]
pub(crate) struct Notes {
    notes: Vec<Note>,
    kinds: Vec<(&'static str, String)>,
}

impl Notes {
    /// Notes the words of `key` with `{name}` replaced by the subject.
    pub fn add(&mut self, first: Place, key: &'static str, subject: &str) {
        self.add_with(first, key, subject, &[]);
    }

    /// Notes the words of `key` with `{name}` replaced by the subject, and other values put in.
    pub fn add_with(&mut self, first: Place, key: &'static str, subject: &str, values: &[(&str, &str)]) {
        match self.kinds.iter().position(|kind| kind.0 == key && kind.1 == subject) {
            Some(known) => self.notes[known].count += 1,
            None => {
                self.kinds.push((key, subject.to_owned()));
                let what = words::fill(key, &[&[("name", subject)], values].concat());
                self.notes.push(Note { first, count: 1, what });
            }
        }
    }

    pub fn as_slice(&self) -> &[Note] {
        &self.notes
    }
}
