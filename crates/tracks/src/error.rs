//! What can be wrong with a file: where, what, and what to do next.

use core::fmt::{Display, Formatter, Result};

/// A place in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line, the first one being 1; none in a file that has no lines.
    pub line: Option<u64>,
    /// Byte from the start, the first one being 0. In a file that is not UTF-8, of its text as UTF-8.
    pub byte: u64,
}

impl Place {
    pub(crate) fn of_byte(byte: usize) -> Self {
        Self { line: None, byte: byte as u64 }
    }

    /// The line is counted here, so that reading need not.
    pub(crate) fn in_text(text: &str, byte: usize) -> Self {
        let byte = byte.min(text.len());
        let line = 1 + text.as_bytes()[..byte].iter().filter(|&&b| b == b'\n').count() as u64;
        Self { line: Some(line), byte: byte as u64 }
    }
}

impl Display for Place {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        match self.line {
            Some(line) => write!(f, "line {line} (byte {})", self.byte),
            None => write!(f, "byte {}", self.byte),
        }
    }
}

/// A file that could not be read. Nothing of it is used.
///
/// Displays as `line 12 (byte 340): latitude "abc" is not a number`; what to do is [`next`](ReadError::next).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadError {
    /// Where; none where it concerns the file as a whole.
    pub place: Option<Place>,
    /// What is wrong, a lower-case fragment.
    pub what: String,
    /// What to do next.
    pub next: String,
}

impl ReadError {
    pub(crate) fn whole(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { place: None, what: what.into(), next: next.into() }
    }

    pub(crate) fn at(place: Place, what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { place: Some(place), what: what.into(), next: next.into() }
    }
}

impl Display for ReadError {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        if let Some(place) = self.place {
            write!(f, "{place}: ")?;
        }
        f.write_str(&self.what)
    }
}

impl std::error::Error for ReadError {}

/// A piece of the file for a message: at most 40 characters, control characters escaped.
pub(crate) fn quoted(text: &str) -> String {
    let mut short: String = text.chars().take(40).flat_map(char::escape_debug).collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    format!("\"{short}\"")
}
