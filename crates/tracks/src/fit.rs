//! FIT: binary records, one after the other.
//!
//! Read: record, event (timer), session and field description messages, both byte orders, compressed times, developer
//! fields, several files one after the other. Field numbers, scales and invalid values are those of the public FIT
//! profile; a test compares them with an independent reader.

use std::collections::BTreeMap;
use std::io::{BufReader, Read};

use crate::channel::{Column, Quantity};
use crate::columns::{Columns, Meaning};
use crate::error::{Error, Notes, Place};
use crate::fit_base::{Base, crc, text_of, value_of};
use crate::header::{Guess, guess};
use crate::input::Input;
use crate::log::Row;
use crate::track::Clock;
use crate::unit::Conversion;

/// Seconds from 1970-01-01 to 1989-12-31, where FIT begins to count.
const EPOCH_S: f64 = 631_065_600.0;
/// Smaller times count from when the device was switched on.
const SMALLEST_DATE: u32 = 0x1000_0000;

const RECORD: u16 = 20;
const EVENT: u16 = 21;
const SESSION: u16 = 18;
const FIELD_DESCRIPTION: u16 = 206;
const TIMESTAMP: u8 = 253;

/// A field of the record message.
struct Known {
    number: u8,
    quantity: Quantity,
    /// value = number / scale − offset
    scale: f64,
    offset: f64,
}

const fn known(number: u8, quantity: Quantity, scale: f64, offset: f64) -> Known {
    Known { number, quantity, scale, offset }
}

/// Semicircles per degree.
const SEMICIRCLES: f64 = 2_147_483_648.0 / 180.0;

/// The better of two fields for the same quantity stands first.
const KNOWN: [Known; 14] = [
    known(0, Quantity::Latitude, SEMICIRCLES, 0.0),
    known(1, Quantity::Longitude, SEMICIRCLES, 0.0),
    known(78, Quantity::Height, 5.0, 500.0),
    known(2, Quantity::Height, 5.0, 500.0),
    known(5, Quantity::Distance, 100.0, 0.0),
    known(73, Quantity::Speed, 1000.0, 0.0),
    known(6, Quantity::Speed, 1000.0, 0.0),
    known(52, Quantity::Cadence, 256.0, 0.0),
    known(4, Quantity::Cadence, 1.0, 0.0),
    known(7, Quantity::RiderPower, 1.0, 0.0),
    known(13, Quantity::AirTemperature, 1.0, 0.0),
    known(82, Quantity::MotorPower, 1.0, 0.0),
    known(81, Quantity::ChargeLevel, 200.0, 0.0),
    known(118, Quantity::ChargeLevel, 100.0, 0.0),
];
const SPEED_AND_DISTANCE: u8 = 8;
const FRACTIONAL_CADENCE: u8 = 53;

/// How one kind of message is laid out.
struct Definition {
    message: u16,
    big_endian: bool,
    length: usize,
    fields: Vec<Field>,
}

struct Field {
    number: u8,
    /// The index of the developer, for a developer field.
    developer: Option<u8>,
    at: usize,
    size: usize,
    base: Base,
}

/// Where a developer field goes.
#[derive(Clone, Copy)]
struct Described {
    place: usize,
    base: Base,
    scale: f64,
    offset: f64,
    conversion: Conversion,
}

/// Points of a FIT file, one after the other.
pub(crate) struct Fit<'a> {
    bytes: Bytes<'a>,
    /// Bytes of records left in this file; `None` if its header does not say.
    left: Option<u64>,
    definitions: [Option<Definition>; 16],
    described: BTreeMap<(u8, u8), Described>,
    headers: Columns,
    columns: Vec<Column>,
    clock: Clock,
    last_time: u32,
    distance_16: (u16, f64),
    segment: u32,
    breaks: bool,
    points: u64,
    record: Vec<u8>,
}

impl<'a> Fit<'a> {
    pub fn new(input: Input<'a>, headers: &Columns) -> Result<Self, Error> {
        let mut columns: Vec<Column> = Vec::new();
        for field in &KNOWN {
            if columns.iter().all(|column| column.quantity != field.quantity) {
                columns.push(Column { name: field.quantity.name().to_owned(), quantity: field.quantity });
            }
        }
        let mut fit = Self {
            bytes: Bytes { source: BufReader::with_capacity(1 << 16, input), at: 0, crc: 0 },
            left: Some(0),
            definitions: [const { None }; 16],
            described: BTreeMap::new(),
            headers: headers.clone(),
            columns,
            clock: Clock::None,
            last_time: 0,
            distance_16: (0, 0.0),
            segment: 0,
            breaks: false,
            points: 0,
            record: Vec::new(),
        };
        let mut size = [0];
        fit.bytes.take(&mut size)?;
        fit.header(size[0])?;
        Ok(fit)
    }

    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    pub fn clock(&self) -> Clock {
        self.clock
    }

    /// The header of a file, after its first byte.
    fn header(&mut self, size: u8) -> Result<(), Error> {
        let place = Place::Byte(self.bytes.at - 1);
        if size < 12 {
            return Err(Error::new(place, "fit-header", &[]));
        }
        let mut header = vec![0; usize::from(size) - 1];
        self.bytes.take(&mut header)?;
        if &header[7..11] != b".FIT" {
            return Err(Error::new(place, "fit-header", &[]));
        }
        let length = u32::from_le_bytes([header[3], header[4], header[5], header[6]]);
        // Recordings that were never finished say nothing or all ones.
        self.left = (length != 0 && length != u32::MAX).then_some(u64::from(length));
        self.definitions = [const { None }; 16];
        Ok(())
    }

    /// The next point; false at the end.
    pub fn next(&mut self, row: &mut Row, notes: &mut Notes) -> Result<bool, Error> {
        loop {
            if self.left == Some(0) && !self.next_file(notes)? {
                return if self.points > 0 { Ok(false) } else { Err(Error::new(Place::File, "no-points", &[])) };
            }
            let start = self.bytes.at;
            let mut head = [0];
            if self.left.is_none() && !self.bytes.take_or_end(&mut head)? {
                notes.add(Place::Byte(start), "fit-unfinished", "");
                self.left = Some(0);
                return if self.points > 0 { Ok(false) } else { Err(Error::new(Place::File, "no-points", &[])) };
            }
            if self.left.is_some() {
                self.bytes.take(&mut head)?;
            }
            let head = head[0];
            let found = if head & 0x80 != 0 {
                self.data(head >> 5 & 3, Some(u32::from(head & 31)), start, row, notes)?
            } else if head & 0x40 != 0 {
                self.definition(head & 15, head & 0x20 != 0, start)?;
                false
            } else {
                self.data(head & 15, None, start, row, notes)?
            };
            if let Some(left) = &mut self.left {
                *left = left
                    .checked_sub(self.bytes.at - start)
                    .ok_or_else(|| Error::new(Place::Byte(start), "fit-beyond", &[]))?;
            }
            if found {
                return Ok(true);
            }
        }
    }

    /// Ends a file with its check sum; whether another follows.
    fn next_file(&mut self, notes: &mut Notes) -> Result<bool, Error> {
        // Also the state before the first file is read; that one has `left` above zero.
        let wanted = self.bytes.crc;
        let place = Place::Byte(self.bytes.at);
        let mut sum = [0; 2];
        if !self.bytes.take_or_end(&mut sum)? {
            notes.add(place, "fit-no-sum", "");
            return Ok(false);
        }
        let sum = u16::from_le_bytes(sum);
        if sum != wanted {
            return Err(Error::new(place, "fit-sum", &[]));
        }
        self.bytes.crc = 0;
        let start = Place::Byte(self.bytes.at);
        let mut size = [0];
        if !self.bytes.take_or_end(&mut size)? {
            return Ok(false);
        }
        if self.header(size[0]).is_err() {
            notes.add(start, "fit-after-end", "");
            self.left = Some(0);
            return Ok(false);
        }
        self.breaks = true;
        self.distance_16 = (0, 0.0);
        if self.left == Some(0) { self.next_file(notes) } else { Ok(true) }
    }

    fn definition(&mut self, local: u8, developer_fields: bool, start: u64) -> Result<(), Error> {
        let mut head = [0; 5];
        self.bytes.take(&mut head)?;
        let big_endian = head[1] == 1;
        let message =
            if big_endian { u16::from_be_bytes([head[2], head[3]]) } else { u16::from_le_bytes([head[2], head[3]]) };
        let mut definition = Definition { message, big_endian, length: 0, fields: Vec::new() };
        for _ in 0..head[4] {
            let mut field = [0; 3];
            self.bytes.take(&mut field)?;
            definition.add(field[0], None, field[1], Base(field[2]));
        }
        if developer_fields {
            let mut count = [0];
            self.bytes.take(&mut count)?;
            for _ in 0..count[0] {
                let mut field = [0; 3];
                self.bytes.take(&mut field)?;
                definition.add(field[0], Some(field[2]), field[1], Base(0x0d));
            }
        }
        match self.definitions.get_mut(usize::from(local)) {
            Some(place) => *place = Some(definition),
            None => return Err(Error::new(Place::Byte(start), "fit-header", &[])),
        }
        Ok(())
    }

    /// A message; whether it is a point, which then stands in `row`.
    fn data(
        &mut self,
        local: u8,
        short_time: Option<u32>,
        start: u64,
        row: &mut Row,
        notes: &mut Notes,
    ) -> Result<bool, Error> {
        let place = Place::Byte(start);
        let Some(definition) = self.definitions[usize::from(local)].take() else {
            return Err(Error::new(place, "fit-undefined", &[]));
        };
        self.record.resize(definition.length, 0);
        let mut record = std::mem::take(&mut self.record);
        let taken = self.bytes.take(&mut record);
        let point = taken.is_ok() && self.message(&definition, &record, short_time, place, row, notes);
        self.definitions[usize::from(local)] = Some(definition);
        self.record = record;
        taken.map(|()| point)
    }

    fn message(
        &mut self,
        definition: &Definition,
        record: &[u8],
        short_time: Option<u32>,
        place: Place,
        row: &mut Row,
        notes: &mut Notes,
    ) -> bool {
        let number = |wanted: u8| definition.field(wanted).and_then(|field| field.value(record, definition.big_endian));
        let time = match (number(TIMESTAMP), short_time) {
            (Some(time), _) => Some(time as u32),
            // Five bits that go on from the last whole time.
            (None, Some(short)) => Some(self.last_time.wrapping_add(short.wrapping_sub(self.last_time) & 31)),
            (None, None) => None,
        };
        self.last_time = time.unwrap_or(self.last_time);
        match definition.message {
            RECORD => {}
            // The timer stopped, or a sport ended: what follows is another segment.
            EVENT if number(0) == Some(0.0) && matches!(number(1), Some(1.0 | 4.0 | 8.0 | 9.0)) => {
                self.breaks = true;
                return false;
            }
            SESSION => {
                self.breaks = true;
                return false;
            }
            FIELD_DESCRIPTION => {
                self.describe(definition, record, place, notes);
                return false;
            }
            _ => return false,
        }
        if std::mem::take(&mut self.breaks) && self.points > 0 {
            self.segment += 1;
        }
        self.points += 1;
        row.place = place;
        row.segment = self.segment;
        row.time_s = time.map_or(f64::NAN, |time| self.seconds(time, place, notes));
        row.values.clear();
        row.values.resize(self.columns.len(), f64::NAN);
        self.fill(definition, record, row);
        let position = (row.values[0], row.values[1]);
        if position.0.abs() > 90.0 || position == (0.0, 0.0) {
            row.values[..2].fill(f64::NAN);
            notes.add(place, "point-without-position", "");
        }
        true
    }

    fn seconds(&mut self, time: u32, place: Place, notes: &mut Notes) -> f64 {
        let clock = if time < SMALLEST_DATE { Clock::Relative } else { Clock::Utc };
        if self.clock == Clock::None {
            self.clock = clock;
        }
        if self.clock != clock {
            notes.add(place, "other-time", "");
            return f64::NAN;
        }
        f64::from(time) + if clock == Clock::Utc { EPOCH_S } else { 0.0 }
    }

    fn fill(&mut self, definition: &Definition, record: &[u8], row: &mut Row) {
        let big_endian = definition.big_endian;
        for field in &KNOWN {
            let Some(column) = self.columns.iter().position(|column| column.quantity == field.quantity) else {
                continue;
            };
            let found = definition.field(field.number).and_then(|found| found.value(record, big_endian));
            if let Some(value) = found.filter(|_| row.values[column].is_nan()) {
                let mut value = value / field.scale - field.offset;
                if field.number == 4 {
                    let part = definition.field(FRACTIONAL_CADENCE).and_then(|part| part.value(record, big_endian));
                    value += part.unwrap_or(0.0) / 128.0;
                }
                row.values[column] = value;
            }
        }
        // Twelve bits of speed and twelve of distance, which begins anew every 256 m.
        if let Some(field) = definition.field(SPEED_AND_DISTANCE).filter(|field| field.size == 3) {
            let part = &record[field.at..field.at + 3];
            if part != [0xff; 3] {
                let speed = u16::from(part[0]) | (u16::from(part[1]) & 15) << 8;
                let distance = u16::from(part[1]) >> 4 | u16::from(part[2]) << 4;
                self.distance_16.1 += f64::from(distance.wrapping_sub(self.distance_16.0) & 0xfff) / 16.0;
                self.distance_16.0 = distance;
                let mut set = |quantity, value| {
                    let column = self.columns.iter().position(|column| column.quantity == quantity);
                    if let Some(value_now) = column.and_then(|column| row.values.get_mut(column)).filter(|v| v.is_nan())
                    {
                        *value_now = value;
                    }
                };
                set(Quantity::Speed, f64::from(speed) / 100.0);
                set(Quantity::Distance, self.distance_16.1);
            }
        }
        for field in &definition.fields {
            let Some(described) = field.developer.and_then(|index| self.described.get(&(index, field.number))) else {
                continue;
            };
            let raw = value_of(&record[field.at..field.at + field.size], described.base, big_endian);
            if let Some(raw) = raw.filter(|_| row.values[described.place].is_nan()) {
                row.values[described.place] = described.conversion.apply(raw / described.scale - described.offset);
            }
        }
    }

    /// What a developer field holds, by its name and unit or by the field of the profile that it stands for.
    fn describe(&mut self, definition: &Definition, record: &[u8], place: Place, notes: &mut Notes) {
        let field = |wanted: u8| definition.field(wanted);
        let number = |wanted: u8| field(wanted).and_then(|field| field.value(record, definition.big_endian));
        let text = |wanted: u8| {
            field(wanted).map(|field| text_of(&record[field.at..field.at + field.size])).unwrap_or_default()
        };
        let (Some(index), Some(id), Some(base)) = (number(0), number(1), number(2)) else { return };
        let (name, unit) = (text(3), text(8));
        let native = number(15).filter(|_| number(14) == Some(f64::from(RECORD)));
        let native = native.and_then(|native| KNOWN.iter().find(|known| f64::from(known.number) == native));
        let meaning = self.headers.meaning(&name).map_or_else(|| guess(&name, Some(&unit)), Guess::Known);
        let (quantity, conversion) = match meaning {
            Guess::Known(Meaning::Value(quantity, conversion)) => (quantity, conversion),
            Guess::Known(_) => return,
            _ if native.is_some() => match native {
                Some(native) => (native.quantity, Conversion::SAME),
                None => return,
            },
            unused => return unused.note(&name, place, notes),
        };
        let known = self.columns.iter().position(|column| column.name == name && column.quantity == quantity);
        let place =
            match native.and_then(|_| self.columns.iter().position(|column| column.quantity == quantity)).or(known) {
                Some(place) => place,
                None => {
                    self.columns.push(Column { name, quantity });
                    self.columns.len() - 1
                }
            };
        let scale = number(6).filter(|scale| *scale != 0.0).unwrap_or(1.0);
        let described =
            Described { place, base: Base(base as u8), scale, offset: number(7).unwrap_or(0.0), conversion };
        self.described.insert((index as u8, id as u8), described);
    }
}

impl Definition {
    fn add(&mut self, number: u8, developer: Option<u8>, size: u8, base: Base) {
        let size = usize::from(size);
        self.fields.push(Field { number, developer, at: self.length, size, base });
        self.length += size;
    }

    fn field(&self, number: u8) -> Option<&Field> {
        self.fields.iter().find(|field| field.number == number && field.developer.is_none())
    }
}

impl Field {
    fn value(&self, record: &[u8], big_endian: bool) -> Option<f64> {
        value_of(record.get(self.at..self.at + self.size)?, self.base, big_endian)
    }
}

/// A stream that counts its bytes and sums them up.
struct Bytes<'a> {
    source: BufReader<Input<'a>>,
    at: u64,
    crc: u16,
}

impl Bytes<'_> {
    fn take(&mut self, into: &mut [u8]) -> Result<(), Error> {
        if self.take_or_end(into)? {
            return Ok(());
        }
        Err(Error::new(Place::Byte(self.at), "fit-cut-off", &[]))
    }

    /// False if the stream ended before all of it was there.
    fn take_or_end(&mut self, into: &mut [u8]) -> Result<bool, Error> {
        match self.source.read_exact(into) {
            Ok(()) => {}
            Err(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => return Ok(false),
            Err(error) => return Err(Error::new(Place::Byte(self.at), "cannot-read", &[("why", &error.to_string())])),
        }
        self.at += into.len() as u64;
        self.crc = crc(self.crc, into);
        Ok(true)
    }
}
