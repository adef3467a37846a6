//! Tables of text: CSV in its many forms.

use csv::ByteRecord;

use crate::channel::Column;
use crate::columns::{Columns, Meaning, TimeUnit, folded};
use crate::error::{Error, Notes, Place};
use crate::header::Guess;
use crate::input::Input;
use crate::layout::{has_decimal_comma, layout};
use crate::log::Row;
use crate::time::{Moment, moment};
use crate::track::Clock;
use crate::unit::Conversion;

/// Rows of a table, one after the other.
pub(crate) struct Table<'a> {
    reader: csv::Reader<Input<'a>>,
    record: ByteRecord,
    /// The record after it, where it was looked at already.
    ahead: Option<ByteRecord>,
    /// Lines before the first row.
    line_offset: u64,
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
    rows: u64,
    unreadable: u64,
}

impl<'a> Table<'a> {
    pub fn new(mut input: Input<'a>, columns: &Columns, notes: &mut Notes) -> Result<Self, Error> {
        let layout = layout(input.head(), columns)?;
        let line_offset = layout.lines_before;
        let decimal_comma = match columns.decimal_comma {
            Some(comma) => comma,
            None => {
                layout.separator != b',' && has_decimal_comma(&input.head()[layout.bytes_before..], layout.separator)
            }
        };
        input.skip(layout.bytes_before);
        let reader = csv::ReaderBuilder::new()
            .delimiter(layout.separator)
            .has_headers(false)
            .flexible(true)
            .buffer_capacity(1 << 17)
            .from_reader(input);
        let mut table = Self {
            reader,
            record: ByteRecord::new(),
            ahead: None,
            line_offset,
            width: layout.header.len(),
            decimal_comma,
            columns: Vec::new(),
            kept: Vec::new(),
            time: None,
            date: None,
            clock: Clock::None,
            midnight: (0.0, f64::NEG_INFINITY),
            rows: 0,
            unreadable: 0,
        };
        let place = Place::Line(line_offset);
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
            Guess::NoUnit(_) => notes.add(place, "column-without-unit", name),
            Guess::Ambiguous(_) => notes.add(place, "column-ambiguous", name),
            Guess::Unknown if name.trim().is_empty() => {}
            Guess::Unknown => notes.add(place, "column-unknown", name),
        }
    }

    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    pub fn clock(&self) -> Clock {
        self.clock
    }

    /// The next record; false at the end.
    fn advance(&mut self) -> Result<bool, Error> {
        if let Some(ahead) = self.ahead.take() {
            self.record = ahead;
            return Ok(!self.record.is_empty());
        }
        self.reader.read_byte_record(&mut self.record).map_err(|error| {
            let line = self.reader.position().line() + self.line_offset;
            Error::new(Place::Line(line), "broken-table", &[("why", &error.to_string())])
        })
    }

    /// The next row; false at the end.
    pub fn next(&mut self, row: &mut Row, notes: &mut Notes) -> Result<bool, Error> {
        loop {
            if !self.advance()? {
                return self.finish();
            }
            let line = self.record.position().map_or(0, csv::Position::line) + self.line_offset;
            let place = Place::Line(line);
            if self.record.len() == 1 && self.record[0].trim_ascii().is_empty() {
                continue;
            }
            if self.record.len() < self.width {
                // The last row of a log that was switched off.
                let row = self.record.clone();
                if !self.advance()? && self.rows > 0 {
                    notes.add(place, "cut-row", "");
                    return self.finish();
                }
                self.ahead = Some(std::mem::replace(&mut self.record, row));
                notes.add(place, "short-row", "");
            }
            self.rows += 1;
            row.place = place;
            row.segment = 0;
            row.time_s = self.read_time(place, notes);
            row.values.clear();
            let mut readable = self.kept.is_empty();
            for (column, (at, conversion)) in self.kept.iter().enumerate() {
                let cell = self.record.get(*at).unwrap_or_default();
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
                if self.unreadable == self.rows && self.rows >= 100 {
                    return self.nothing_readable(place);
                }
            }
            return Ok(true);
        }
    }

    fn finish(&self) -> Result<bool, Error> {
        match self.rows {
            0 => Err(Error::new(Place::Line(self.line_offset), "no-row", &[])),
            rows if self.unreadable == rows => self.nothing_readable(Place::Line(self.line_offset + 1)),
            _ => Ok(false),
        }
    }

    fn nothing_readable(&self, place: Place) -> Result<bool, Error> {
        Err(Error::new(place, "no-numbers", &[]))
    }

    fn read_time(&mut self, place: Place, notes: &mut Notes) -> f64 {
        let Some((at, unit)) = self.time else {
            let Some(Moment::Utc(day) | Moment::Local(day)) = self.date.and_then(|at| moment(self.record.get(at)?))
            else {
                return f64::NAN;
            };
            self.clock = Clock::Local;
            return day;
        };
        let unit = if unit == TimeUnit::Unknown { self.settle_time_unit(at, notes, place) } else { unit };
        let (time_s, clock) = match unit {
            TimeUnit::Relative(seconds) | TimeUnit::Unix(seconds) => {
                match number(self.record.get(at).unwrap_or_default(), self.decimal_comma) {
                    Cell::Number(value) if matches!(unit, TimeUnit::Unix(_)) => (value * seconds, Clock::Utc),
                    Cell::Number(value) => (if seconds == 1.0 { value } else { value * seconds }, Clock::Relative),
                    _ => (f64::NAN, self.clock),
                }
            }
            TimeUnit::Text | TimeUnit::Unknown => match moment(self.record.get(at).unwrap_or_default()) {
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
        if let Some(Moment::Utc(day) | Moment::Local(day)) = self.date.and_then(|at| moment(self.record.get(at)?)) {
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
        let cell = self.record.get(at).unwrap_or_default();
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
    if !decimal_comma && let Ok(value) = fast_float2::parse::<f64, _>(cell) {
        return if value.is_finite() { Cell::Number(value) } else { Cell::Missing };
    }
    awkward_number(cell, decimal_comma)
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
    fn quantities_have_columns() {
        let mut notes = Notes::default();
        let input = Input::new(&b"time_s,speed_kmh\n0,36\n"[..]).unwrap();
        let table = Table::new(input, &Columns::default(), &mut notes).unwrap();
        assert_eq!(table.columns(), [Column { name: "speed_kmh".to_owned(), quantity: Quantity::Speed }]);
    }
}
