//! Tables of text: CSV in its many forms.

use crate::channel::Column;
use crate::columns::{Columns, Meaning, TimeUnit, folded};
use crate::error::{Error, Notes, Place};
use crate::header::Guess;
use crate::input::Input;
use crate::layout::{has_decimal_comma, layout};
use crate::log::Row;
use crate::rows::Rows;
use crate::time::{Moment, moment};
use crate::track::Clock;
use crate::unit::Conversion;

/// Rows of a table, one after the other.
pub(crate) struct Table<'a> {
    rows: Rows<'a>,
    first_line: u64,
    width: usize,
    decimal_comma: bool,
    columns: Vec<Column>,
    /// For each column kept: its place in the record, and its conversion.
    kept: Vec<(usize, Conversion)>,
    time: Option<(usize, TimeUnit)>,
    date: Option<usize>,
    clock: Clock,
    /// Days that passed since a time of day was read first, and the last time of day.
    midnight: (f64, f64),
    read: u64,
    unreadable: u64,
}

impl<'a> Table<'a> {
    pub fn new(mut input: Input<'a>, columns: &Columns, notes: &mut Notes) -> Result<Self, Error> {
        let layout = layout(input.head(), columns)?;
        let decimal_comma = match columns.decimal_comma {
            Some(comma) => comma,
            None => {
                layout.separator != b',' && has_decimal_comma(&input.head()[layout.bytes_before..], layout.separator)
            }
        };
        input.skip(layout.bytes_before);
        let mut table = Self {
            rows: Rows::new(input, layout.separator, layout.terminator, layout.lines_before + 1),
            first_line: layout.lines_before + 1,
            width: layout.header.len(),
            decimal_comma,
            columns: Vec::new(),
            kept: Vec::new(),
            time: None,
            date: None,
            clock: Clock::None,
            midnight: (0.0, f64::NEG_INFINITY),
            read: 0,
            unreadable: 0,
        };
        let place = Place::Line(layout.lines_before);
        for (at, (name, meaning)) in layout.header.iter().zip(&layout.meanings).enumerate() {
            table.take_column(at, name, meaning, place, notes);
        }
        for listed in columns.headers().filter(|listed| !layout.header.iter().any(|name| folded(name) == **listed)) {
            notes.add(place, "column-listed", listed);
        }
        if table.columns.is_empty() {
            let first = layout.header.iter().find(|name| !name.is_empty()).map_or("", String::as_str);
            let name = format!("`{}`", layout.header.join("`, `"));
            return Err(Error::new(place, "no-column", &[("name", &name), ("first", first)]));
        }
        Ok(table)
    }

    fn take_column(&mut self, at: usize, name: &str, meaning: &Guess, place: Place, notes: &mut Notes) {
        match meaning {
            Guess::Known(Meaning::None) => {}
            Guess::Known(Meaning::Date) => self.date = self.date.or(Some(at)),
            Guess::Known(Meaning::Time(unit)) if self.time.is_none() => self.time = Some((at, *unit)),
            Guess::Known(Meaning::Time(_)) => notes.add(place, "time-again", name),
            Guess::Known(Meaning::Value(quantity, conversion)) => {
                self.columns.push(Column { name: name.to_owned(), quantity: *quantity });
                self.kept.push((at, *conversion));
            }
            Guess::Unknown if name.trim().is_empty() => {}
            unused => unused.note(name, place, notes),
        }
    }

    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    pub fn clock(&self) -> Clock {
        self.clock
    }

    /// The next row; false at the end.
    pub fn next(&mut self, row: &mut Row, notes: &mut Notes) -> Result<bool, Error> {
        let more = self.rows.next();
        let place = Place::Line(self.rows.line());
        let broken = |error: std::io::Error| Error::new(place, "broken-table", &[("why", &error.to_string())]);
        if !more.map_err(broken)? {
            return self.finish();
        }
        if self.rows.len() < self.width {
            // The last row of a log that was switched off.
            if self.read > 0 && self.rows.is_last().map_err(broken)? {
                notes.add(place, "cut-row", "");
                return self.finish();
            }
            notes.add(place, "short-row", "");
        }
        self.read += 1;
        row.place = place;
        row.segment = 0;
        row.time_s = self.read_time(place, notes);
        row.values.clear();
        let mut readable = self.kept.is_empty();
        for (column, (at, conversion)) in self.kept.iter().enumerate() {
            let cell = self.rows.cell(*at);
            let value = match number(cell, self.decimal_comma) {
                Cell::Number(value) => {
                    readable = true;
                    conversion.apply(value)
                }
                Cell::Missing => {
                    readable = true;
                    f64::NAN
                }
                Cell::Unreadable => {
                    notes.add(place, "other-cell", &self.columns[column].name);
                    f64::NAN
                }
            };
            row.values.push(value);
        }
        if !readable {
            self.unreadable += 1;
            if self.unreadable == self.read && self.read >= 100 {
                return self.nothing_readable(place);
            }
        }
        Ok(true)
    }

    fn finish(&self) -> Result<bool, Error> {
        match self.read {
            0 => Err(Error::new(Place::Line(self.first_line - 1), "no-row", &[])),
            rows if self.unreadable == rows => self.nothing_readable(Place::Line(self.first_line)),
            _ => Ok(false),
        }
    }

    fn nothing_readable(&self, place: Place) -> Result<bool, Error> {
        Err(Error::new(place, "no-numbers", &[]))
    }

    fn read_time(&mut self, place: Place, notes: &mut Notes) -> f64 {
        let Some((at, unit)) = self.time else {
            let Some(Moment::Utc(day) | Moment::Local(day)) = self.date.and_then(|at| moment(self.rows.cell(at)))
            else {
                return f64::NAN;
            };
            self.clock = Clock::Local;
            return day;
        };
        let unit = if unit == TimeUnit::Unknown { self.settle_time_unit(at, notes, place) } else { unit };
        let (time_s, clock) = match unit {
            TimeUnit::Relative(seconds) | TimeUnit::Unix(seconds) => {
                match number(self.rows.cell(at), self.decimal_comma) {
                    Cell::Number(value) if matches!(unit, TimeUnit::Unix(_)) => (value * seconds, Clock::Utc),
                    Cell::Number(value) => (if seconds == 1.0 { value } else { value * seconds }, Clock::Relative),
                    _ => (f64::NAN, self.clock),
                }
            }
            TimeUnit::Text | TimeUnit::Unknown => match moment(self.rows.cell(at)) {
                Some(Moment::Utc(time_s)) => (time_s, Clock::Utc),
                Some(Moment::Local(time_s)) => (time_s, Clock::Local),
                Some(Moment::OfDay(of_day)) => self.with_date(of_day),
                None => (f64::NAN, self.clock),
            },
        };
        if time_s.is_nan() {
            notes.add(place, "no-time", "");
        } else if self.clock == Clock::None {
            self.clock = clock;
        } else if self.clock != clock {
            notes.add(place, "other-time", "");
            return f64::NAN;
        }
        time_s
    }

    /// A time of day with the date beside it, or counted on over midnight.
    fn with_date(&mut self, of_day: f64) -> (f64, Clock) {
        if let Some(Moment::Utc(day) | Moment::Local(day)) = self.date.and_then(|at| moment(self.rows.cell(at))) {
            return (day + of_day, Clock::Local);
        }
        // Only a step back of more than half a day is a midnight; a smaller one is a clock that was set.
        if of_day < self.midnight.1 - 43_200.0 {
            self.midnight.0 += 86_400.0;
        }
        self.midnight.1 = of_day;
        (self.midnight.0 + of_day, Clock::Relative)
    }

    /// Looks at the first value of a time without a unit.
    fn settle_time_unit(&mut self, at: usize, notes: &mut Notes, place: Place) -> TimeUnit {
        let cell = self.rows.cell(at);
        let unit = match number(cell, self.decimal_comma) {
            // 1973 to 5138 in seconds, milliseconds or microseconds since 1970.
            Cell::Number(value) if (1e8..1e11).contains(&value) => TimeUnit::Unix(1.0),
            Cell::Number(value) if (1e11..1e14).contains(&value) => TimeUnit::Unix(1e-3),
            Cell::Number(value) if (1e14..1e17).contains(&value) => TimeUnit::Unix(1e-6),
            Cell::Number(_) => {
                notes.add(place, "time-in-seconds", "");
                TimeUnit::Relative(1.0)
            }
            Cell::Missing => return TimeUnit::Unknown,
            Cell::Unreadable => TimeUnit::Text,
        };
        self.time = Some((at, unit));
        unit
    }
}

enum Cell {
    Number(f64),
    Missing,
    Unreadable,
}

/// A number with a point or a comma; nothing, a dash or a word for nothing is missing.
#[inline]
fn number(cell: &[u8], decimal_comma: bool) -> Cell {
    match short_number(cell, if decimal_comma { b',' } else { b'.' }) {
        Some(value) => Cell::Number(value),
        None => awkward_number(cell, decimal_comma),
    }
}

/// Up to fifteen digits with a mark: their whole number and the power of ten are exact, so that one division rounds
/// correctly (W. D. Clinger, "How to read floating point numbers accurately", 1990). Anything else is left to the
/// library, which gives the same bits; a test compares them.
#[inline]
fn short_number(cell: &[u8], mark: u8) -> Option<f64> {
    const POWERS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    let (negative, digits) = match cell {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    if digits.is_empty() || digits.len() > 15 {
        return None;
    }
    let mut whole: u64 = 0;
    let mut marked = usize::MAX;
    for (at, byte) in digits.iter().enumerate() {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            whole = whole * 10 + u64::from(digit);
        } else if *byte == mark && marked == usize::MAX {
            marked = at;
        } else {
            return None;
        }
    }
    let places = if marked == usize::MAX { 0 } else { digits.len() - 1 - marked };
    if marked == 0 && places == 0 {
        return None;
    }
    let value = whole as f64 / POWERS[places];
    Some(if negative { -value } else { value })
}

fn awkward_number(cell: &[u8], decimal_comma: bool) -> Cell {
    let cell = cell.trim_ascii();
    let mut buffer = [0; 40];
    let plain = match buffer.get_mut(..cell.len()) {
        Some(plain) if decimal_comma => {
            plain.copy_from_slice(cell);
            plain.iter_mut().filter(|byte| **byte == b',').for_each(|byte| *byte = b'.');
            &*plain
        }
        _ => cell,
    };
    match fast_float2::parse::<f64, _>(plain) {
        Ok(value) if value.is_finite() => return Cell::Number(value),
        Ok(_) => return Cell::Missing,
        Err(_) => {}
    }
    match cell.to_ascii_lowercase().as_slice() {
        b"" | b"-" | b"--" | b"---" | b"n/a" | b"na" | b"null" | b"none" | b"?" => Cell::Missing,
        b"true" | b"on" => Cell::Number(1.0),
        b"false" | b"off" => Cell::Number(0.0),
        _ => Cell::Unreadable,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::channel::Quantity;

    #[test]
    fn cells_are_numbers_missing_or_neither() {
        let read = |text: &str, comma| match number(text.as_bytes(), comma) {
            Cell::Number(value) => Some(Ok(value)),
            Cell::Missing => None,
            Cell::Unreadable => Some(Err(())),
        };
        assert_eq!(read("1.5", false), Some(Ok(1.5)));
        assert_eq!(read(" -1,5 ", true), Some(Ok(-1.5)));
        assert_eq!(read("1,5", false), Some(Err(())));
        assert_eq!(read("", false), None);
        assert_eq!(read("NaN", false), None);
        assert_eq!(read("inf", false), None);
        assert_eq!(read("abc", true), Some(Err(())));
    }

    #[test]
    fn short_numbers_are_those_of_the_library() {
        let mut state: u32 = 7;
        let mut next = |below: u32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) % below
        };
        let mut read = 0;
        for _ in 0..200_000 {
            let length = 1 + next(16);
            let text: Vec<u8> =
                (0..length).map(|_| b"0123456789012345678901234567890123456789.-e"[next(43) as usize]).collect();
            if let Some(value) = short_number(&text, b'.') {
                read += 1;
                let library: f64 = fast_float2::parse(&text).unwrap_or(f64::NAN);
                assert_eq!(value.to_bits(), library.to_bits(), "{}", String::from_utf8_lossy(&text));
            }
        }
        assert!(read > 50_000, "{read}");
        for none in ["", ".", "-", "-.", "1.2.3", "1234567890123456"] {
            assert_eq!(short_number(none.as_bytes(), b'.'), None, "{none}");
        }
        assert_eq!(short_number(b"-1,5", b','), Some(-1.5));
    }

    #[test]
    fn quantities_have_columns() {
        let mut notes = Notes::default();
        let input = Input::new(&b"time_s,speed_kmh\n0,36\n"[..]).unwrap();
        let table = Table::new(input, &Columns::default(), &mut notes).unwrap();
        assert_eq!(table.columns(), [Column { name: "speed_kmh".to_owned(), quantity: Quantity::Speed }]);
    }
}
