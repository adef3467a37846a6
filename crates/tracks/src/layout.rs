//! What the beginning of a table of text shows: separator, header, row of units, decimal mark.

use crate::columns::Columns;
use crate::error::{Error, Place};
use crate::header::{Guess, guess};
use crate::input::text;
use crate::unit::any_unit;

/// How many lines may stand before the header.
const PREAMBLE: usize = 40;
/// A longer line is no header, in bytes.
const LONGEST_HEADER: usize = 1 << 14;

/// The header and what is known from looking at the beginning of the file.
pub(crate) struct Layout {
    pub separator: u8,
    /// The byte that ends a line.
    pub terminator: u8,
    pub header: Vec<String>,
    pub meanings: Vec<Guess>,
    pub lines_before: u64,
    pub bytes_before: usize,
}

/// Finds separator, header and row of units at the beginning of a table.
pub(crate) fn layout(head: &[u8], columns: &Columns) -> Result<Layout, Error> {
    if head.trim_ascii().is_empty() {
        return Err(Error::new(Place::File, "empty", &[]));
    }
    if let Some(at) = memchr::memchr(0, head) {
        return Err(Error::new(Place::Byte(at as u64), "not-text", &[]));
    }
    let candidates: Vec<u8> = columns.separator.map_or_else(|| vec![b',', b';', b'\t', b'|'], |mark| vec![mark]);
    let first_candidate = candidates[0];
    let mut best: Option<(usize, Layout)> = None;
    let mut start = 0;
    // Lines that end in a carriage return alone.
    let old = memchr::memchr(b'\n', head).is_none() && head.contains(&b'\r');
    let terminator = if old { b'\r' } else { b'\n' };
    let mut lines = Vec::new();
    for line in head.split_inclusive(|byte| *byte == terminator).take(PREAMBLE) {
        lines.push((start, line));
        start += line.len();
    }
    for separator in candidates {
        for (number, (start, line)) in lines.iter().enumerate() {
            // Without the separator a line is one cell, whatever the separator is.
            let only_cell = !line.contains(&separator);
            if (only_cell && separator != first_candidate) || line.len() > LONGEST_HEADER {
                continue;
            }
            let header = cells(line, separator);
            let read = |below: Option<&Vec<String>>| -> Vec<Guess> {
                let unit = |at: usize| below.map(|below| unit_in(&below[at])).filter(|unit| !unit.is_empty());
                let meaning = |(at, name): (usize, &String)| match columns.meaning(name) {
                    Some(meaning) => Guess::Known(meaning),
                    None => guess(name, unit(at)),
                };
                header.iter().enumerate().map(meaning).collect()
            };
            let mut meanings = read(None);
            if score(&meanings) == 0 {
                continue;
            }
            let below = lines.get(number + 1).map(|(_, line)| cells(line, separator));
            let below = below.filter(|below| below.len() == header.len() && is_row_of_units(below));
            let mut last = number;
            if below.is_some() {
                meanings = read(below.as_ref());
                last += 1;
            }
            let score = score(&meanings);
            if best.as_ref().is_none_or(|(most, _)| score > *most) {
                let lines_before = last as u64 + 1;
                let bytes_before = lines.get(last + 1).map_or(start + line.len(), |(next, _)| *next);
                best = Some((score, Layout { separator, terminator, header, meanings, lines_before, bytes_before }));
            }
        }
    }
    match best {
        Some((_, layout)) => Ok(layout),
        None => {
            let first = text(lines.first().map_or(&[][..], |(_, line)| line));
            let first: String = first.trim().chars().take(80).collect();
            Err(Error::new(Place::Line(1), "no-header", &[("name", &first)]))
        }
    }
}

/// How much a header says.
fn score(meanings: &[Guess]) -> usize {
    let says = |meaning: &Guess| match meaning {
        Guess::Known(_) => 4,
        Guess::NoUnit(_) | Guess::Ambiguous(_) => 2,
        Guess::Unknown => 0,
    };
    meanings.iter().map(says).sum()
}

/// No numbers, and every cell that has something in it is a unit.
fn is_row_of_units(cells: &[String]) -> bool {
    let is_unit = |cell: &String| {
        let unit = unit_in(cell);
        unit.is_empty() || (fast_float2::parse::<f64, _>(unit).is_err() && any_unit(unit).is_some())
    };
    cells.iter().any(|cell| !unit_in(cell).is_empty()) && cells.iter().all(is_unit)
}

/// What stands in a cell, without brackets.
fn unit_in(cell: &str) -> &str {
    cell.trim().trim_matches(['[', ']', '(', ')'])
}

fn cells(line: &[u8], separator: u8) -> Vec<String> {
    let clean = |cell: &Vec<u8>| text(cell).trim().trim_start_matches('#').trim().replace("\"\"", "\"");
    crate::rows::cells(line, separator).iter().map(clean).collect()
}

/// Whether numbers have a decimal comma: some cell is digits, comma, digits, and none has a point for it.
pub(crate) fn has_decimal_comma(rows: &[u8], separator: u8) -> bool {
    let cells =
        || rows.split(|byte| *byte == separator || matches!(byte, b'\n' | b'\r' | b'"')).map(<[u8]>::trim_ascii);
    let marked = |mark: u8| {
        cells().any(|cell| {
            let mut parts = cell.strip_prefix(b"-").unwrap_or(cell).splitn(2, |byte| *byte == mark);
            let digits =
                |part: Option<&[u8]>| part.is_some_and(|part| !part.is_empty() && part.iter().all(u8::is_ascii_digit));
            digits(parts.next()) && digits(parts.next())
        })
    };
    marked(b',') && !marked(b'.')
}
