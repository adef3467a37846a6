//! What the beginning of a table of text shows: separator, header, row of units, decimal mark.

use csv::ByteRecord;

use crate::columns::Columns;
use crate::error::{Error, Place};
use crate::header::{Guess, guess};
use crate::input::text;

/// How many lines may stand before the header.
const PREAMBLE: usize = 40;

/// The header and what is known from looking at the beginning of the file.
pub(crate) struct Layout {
    pub separator: u8,
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
    let mut best: Option<(usize, Layout)> = None;
    let mut start = 0;
    let mut lines = Vec::new();
    for line in head.split_inclusive(|byte| *byte == b'\n').take(PREAMBLE) {
        lines.push((start, line));
        start += line.len();
    }
    for separator in candidates {
        for (number, (start, line)) in lines.iter().enumerate() {
            let header = cells(line, separator);
            // A row of units: no numbers, and every cell that has something in it is a unit.
            let below = lines.get(number + 1).map(|(_, line)| cells(line, separator)).filter(|below| {
                below.len() == header.len()
                    && below.iter().any(|cell| !cell.trim().is_empty())
                    && below.iter().all(|cell| fast_float2::parse::<f64, _>(cell.trim()).is_err() && unit_cell(cell))
            });
            let meanings: Vec<Guess> = header
                .iter()
                .enumerate()
                .map(|(at, name)| match columns.meaning(name) {
                    Some(meaning) => Guess::Known(meaning),
                    None => guess(
                        name,
                        below
                            .as_ref()
                            .map(|below| below[at].trim().trim_matches(['[', ']', '(', ')']))
                            .filter(|unit| !unit.is_empty()),
                    ),
                })
                .collect();
            let score: usize = meanings
                .iter()
                .map(|meaning| match meaning {
                    Guess::Known(_) => 4,
                    Guess::NoUnit(_) | Guess::Ambiguous(_) => 2,
                    Guess::Unknown => 0,
                })
                .sum();
            if best.as_ref().is_none_or(|(most, _)| score > *most) {
                let taken =
                    if below.is_some() { lines[number + 1].0 + lines[number + 1].1.len() } else { start + line.len() };
                let lines_before = number as u64 + if below.is_some() { 2 } else { 1 };
                best = Some((score, Layout { separator, header, meanings, lines_before, bytes_before: taken }));
            }
        }
    }
    match best {
        Some((score, layout)) if score > 0 => Ok(layout),
        _ => {
            let first = text(lines.first().map_or(&[][..], |(_, line)| line));
            let first: String = first.trim().chars().take(80).collect();
            Err(Error::new(Place::Line(1), "no-header", &[("name", &first)]))
        }
    }
}

fn unit_cell(cell: &str) -> bool {
    let cell = cell.trim().trim_matches(['[', ']', '(', ')']);
    cell.is_empty() || crate::unit::any_unit(cell).is_some()
}

fn cells(line: &[u8], separator: u8) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new().delimiter(separator).has_headers(false).from_reader(line);
    let mut record = ByteRecord::new();
    match reader.read_byte_record(&mut record) {
        Ok(true) => record.iter().map(|cell| text(cell).trim().trim_start_matches('#').trim().to_owned()).collect(),
        _ => Vec::new(),
    }
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
