//! Rows and cells of a table of text (RFC 4180), found in place: nothing is copied but the bytes that are read.
//!
//! The general CSV library costs as much for its cells as all the rest does; `cargo bench -p tracks` shows both. A
//! property test holds this splitter against it.

use std::io::{self, Read};
use std::ops::Range;

use memchr::{memchr, memchr_iter};

use crate::input::Input;

/// Read at once, in bytes.
const BUFFER: usize = 1 << 17;
/// A longer row is none: a quote was opened and never closed, in bytes.
const LONGEST_ROW: usize = 1 << 24;

/// Rows, one after the other.
pub(crate) struct Rows<'a> {
    input: Input<'a>,
    buffer: Vec<u8>,
    /// What was read and not yet handed out.
    unread: Range<usize>,
    at_end: bool,
    separator: u8,
    terminator: u8,
    /// Where this row begins in the buffer, and its cells from there.
    row: usize,
    cells: Vec<Range<usize>>,
    /// Line of this row and of the next one, counted from one.
    line: u64,
    next_line: u64,
}

impl<'a> Rows<'a> {
    pub fn new(input: Input<'a>, separator: u8, terminator: u8, first_line: u64) -> Self {
        Self {
            input,
            buffer: vec![0; BUFFER],
            unread: 0..0,
            at_end: false,
            separator,
            terminator,
            row: 0,
            cells: Vec::new(),
            line: first_line,
            next_line: first_line,
        }
    }

    /// Goes to the next row that is not blank; false at the end.
    pub fn next(&mut self) -> io::Result<bool> {
        loop {
            self.line = self.next_line;
            let Some(length) = self.take_row()? else { return Ok(false) };
            if !self.buffer[self.row..self.row + length].trim_ascii().is_empty() {
                return Ok(true);
            }
        }
    }

    pub fn line(&self) -> u64 {
        self.line
    }

    /// Number of cells in this row.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// A cell of this row, without its quotes; empty where there is none. Doubled quotes inside stay doubled.
    #[inline]
    pub fn cell(&self, at: usize) -> &[u8] {
        self.cells.get(at).map_or(&[], |cell| &self.buffer[self.row + cell.start..self.row + cell.end])
    }

    /// Whether nothing follows this row.
    pub fn is_last(&mut self) -> io::Result<bool> {
        // The cells stay where they are: the buffer only grows.
        while self.unread.is_empty() && !self.at_end {
            self.read_more()?;
        }
        Ok(self.unread.is_empty())
    }

    /// Finds the end of the next row and its cells; its length.
    fn take_row(&mut self) -> io::Result<Option<usize>> {
        let mut searched = 0;
        let mut open = None;
        self.cells.clear();
        loop {
            let rest = &self.buffer[self.unread.start + searched..self.unread.end];
            let length = match memchr(self.terminator, rest) {
                Some(at) => searched + at + 1,
                None if self.at_end => self.unread.len(),
                None => {
                    searched = self.unread.len();
                    self.make_room()?;
                    continue;
                }
            };
            if length == 0 {
                return Ok(None);
            }
            self.row = self.unread.start;
            let mut row = &self.buffer[self.row..self.row + length];
            for mark in [self.terminator, b'\r'] {
                row = row.strip_suffix(&[mark]).unwrap_or(row);
            }
            self.next_line += 1;
            open = split(row, self.separator, &mut self.cells, open);
            // A quote that is still open goes on in the next line.
            if open.is_none() || (self.at_end && length == self.unread.len()) {
                let length_of_row = row.len();
                self.unread.start += length;
                return Ok(Some(length_of_row));
            }
            searched = length;
        }
    }

    /// Moves what is unread to the front of the buffer and reads on.
    fn make_room(&mut self) -> io::Result<()> {
        if self.unread.start > 0 {
            self.buffer.copy_within(self.unread.clone(), 0);
            self.unread = 0..self.unread.len();
            self.buffer.truncate(self.unread.end.max(BUFFER));
        }
        self.read_more()
    }

    fn read_more(&mut self) -> io::Result<()> {
        if self.unread.len() > LONGEST_ROW {
            return Err(io::Error::new(io::ErrorKind::InvalidData, "a row longer than 16 MiB"));
        }
        if self.unread.end == self.buffer.len() {
            self.buffer.resize(self.buffer.len() * 2, 0);
        }
        let length = self.input.read(&mut self.buffer[self.unread.end..])?;
        self.unread.end += length;
        self.at_end = length == 0;
        Ok(())
    }
}

/// Finds the cells of a row from where an earlier try stopped: the start of an open cell, and how far its end was
/// looked for. That again if the row ends inside a quote.
fn split(
    row: &[u8],
    separator: u8,
    cells: &mut Vec<Range<usize>>,
    open: Option<(usize, usize)>,
) -> Option<(usize, usize)> {
    let (mut start, looked) = open.unwrap_or_default();
    if open.is_none() && memchr(b'"', row).is_none() {
        for at in memchr_iter(separator, row) {
            cells.push(start..at);
            start = at + 1;
        }
        cells.push(start..row.len());
        return None;
    }
    loop {
        let mut end_of_text = None;
        let mut from = start;
        if row.get(start) == Some(&b'"') {
            let mut at = looked.max(start + 1);
            while end_of_text.is_none() {
                let quote = memchr(b'"', row.get(at..).unwrap_or_default()).map(|quote| at + quote);
                match quote {
                    Some(quote) if row.get(quote + 1) == Some(&b'"') => at = quote + 2,
                    Some(quote) => end_of_text = Some(quote),
                    None => return Some((start, row.len())),
                }
            }
            from = end_of_text.map_or(from, |end| end + 1);
        }
        let end = memchr(separator, &row[from..]).map(|at| from + at);
        cells.push(match end_of_text {
            Some(quote) => start + 1..quote,
            None => start..end.unwrap_or(row.len()),
        });
        start = end? + 1;
    }
}

/// All cells of one line as they stand, for a header.
pub(crate) fn cells(line: &[u8], separator: u8) -> Vec<Vec<u8>> {
    let Ok(input) = Input::new(line) else { return Vec::new() };
    let mut rows = Rows::new(input, separator, b'\n', 1);
    match rows.next() {
        Ok(true) => (0..rows.len()).map(|at| rows.cell(at).to_vec()).collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// All rows, with doubled quotes made single as the library does.
    fn ours(text: &str) -> Vec<Vec<String>> {
        let mut rows = Rows::new(Input::new(text.as_bytes()).unwrap(), b',', b'\n', 1);
        let mut found = Vec::new();
        while rows.next().unwrap() {
            let cell = |at| String::from_utf8(rows.cell(at).to_vec()).unwrap().replace("\"\"", "\"");
            found.push((0..rows.len()).map(cell).collect());
        }
        found.retain(|row: &Vec<String>| not_blank(row));
        found
    }

    fn library(text: &str) -> Vec<Vec<String>> {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
        let rows = reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect());
        rows.filter(|row: &Vec<String>| not_blank(row)).collect()
    }

    fn not_blank(row: &[String]) -> bool {
        row.len() > 1 || row.concat().trim() != ""
    }

    proptest! {
        #[test]
        fn cells_are_those_of_the_library(
            rows in proptest::collection::vec(
                proptest::collection::vec("[a-z0-9.]{0,6}|\"([a-z,\n ]|\"\"){0,6}\"", 1..5), 0..40),
            ending in "\n|\r\n",
        ) {
            let text: String = rows.iter().map(|row| row.join(",") + &ending).collect();
            prop_assert_eq!(ours(&text), library(&text));
        }
    }

    #[test]
    fn rows_longer_than_the_buffer_and_lines() {
        let long = format!("a,{}\nb,\"x\ny\"\n\nc,z", "9".repeat(3 * BUFFER));
        let mut rows = Rows::new(Input::new(long.as_bytes()).unwrap(), b',', b'\n', 2);
        let mut seen = Vec::new();
        while rows.next().unwrap() {
            let last = rows.is_last().unwrap();
            seen.push((rows.line(), rows.cell(0).to_vec(), rows.cell(1).len(), rows.cell(7).len(), last));
        }
        let wanted =
            [(2, b"a".to_vec(), 3 * BUFFER, 0, false), (3, b"b".to_vec(), 3, 0, false), (6, b"c".to_vec(), 1, 0, true)];
        assert_eq!(seen, wanted);
    }

    #[test]
    fn a_quote_that_never_ends_is_found() {
        let endless = [&b"1,\""[..], &vec![b'\n'; LONGEST_ROW + 2 * BUFFER]].concat();
        let mut rows = Rows::new(Input::new(endless.as_slice()).unwrap(), b',', b'\n', 1);
        assert!(rows.next().is_err());
        assert_eq!(rows.line(), 1);
    }
}
