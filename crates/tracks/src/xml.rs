//! GPX 1.0 and 1.1 and TCX 1 and 2: points in XML, one after the other.
//!
//! Elements are known by their local names, whatever prefix or namespace they have, inside extensions too.

use std::io::{BufRead, Read};

use encoding_rs::Encoding;
use encoding_rs_io::DecodeReaderBytesBuilder;
use memchr::memchr_iter;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::channel::{Column, Quantity};
use crate::error::{Error, Notes, Place};
use crate::input::Input;
use crate::log::Row;
use crate::time::{Moment, moment};
use crate::track::{Clock, Format};

/// What points in these files can hold.
const COLUMNS: [Quantity; 8] = [
    Quantity::Latitude,
    Quantity::Longitude,
    Quantity::Height,
    Quantity::Distance,
    Quantity::Speed,
    Quantity::Cadence,
    Quantity::RiderPower,
    Quantity::AirTemperature,
];
const LATITUDE: usize = 0;
const LONGITUDE: usize = 1;

/// What an element inside a point holds.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Leaf {
    Time,
    Value(usize),
}

fn leaf(name: &str) -> Option<Leaf> {
    Some(match name {
        "time" | "Time" => Leaf::Time,
        "LatitudeDegrees" => Leaf::Value(LATITUDE),
        "LongitudeDegrees" => Leaf::Value(LONGITUDE),
        "ele" | "AltitudeMeters" => Leaf::Value(2),
        "DistanceMeters" | "distance" => Leaf::Value(3),
        "speed" | "Speed" => Leaf::Value(4),
        "cad" | "cadence" | "Cadence" => Leaf::Value(5),
        "power" | "PowerInWatts" | "watts" | "Watts" => Leaf::Value(6),
        "atemp" | "temp" => Leaf::Value(7),
        _ => return None,
    })
}

/// Points of an XML file, one after the other.
pub(crate) struct Xml<'a> {
    reader: Reader<Lines<'a>>,
    buffer: Vec<u8>,
    format: Format,
    columns: Vec<Column>,
    name: Option<String>,
    clock: Clock,
    /// Number of open elements.
    depth: usize,
    segment: u32,
    segment_has_points: bool,
    /// Whether the points of now are a way as planned.
    planned: bool,
    /// A lap of a TCX file goes on where the last one ended; only a second track in one lap begins a segment.
    lap_began: bool,
    points: u64,
}

impl<'a> Xml<'a> {
    /// Begins to read; the root element is the first thing asked for.
    pub fn new(input: Input<'a>) -> Result<Self, Error> {
        let encoding = declared_encoding(input.head());
        let text = DecodeReaderBytesBuilder::new().encoding(Some(encoding)).build(input);
        let mut xml = Self {
            reader: Reader::from_reader(Lines::new(text)),
            buffer: Vec::new(),
            format: Format::Gpx,
            columns: COLUMNS.iter().map(|q| Column { name: q.name().to_owned(), quantity: *q }).collect(),
            name: None,
            clock: Clock::None,
            depth: 0,
            segment: 0,
            segment_has_points: false,
            planned: false,
            lap_began: false,
            points: 0,
        };
        xml.format = xml.root()?;
        Ok(xml)
    }

    pub fn format(&self) -> Format {
        self.format
    }

    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    pub fn clock(&self) -> Clock {
        self.clock
    }

    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    fn root(&mut self) -> Result<Format, Error> {
        loop {
            self.buffer.clear();
            let name = match self.reader.read_event_into(&mut self.buffer) {
                Ok(Event::Start(start) | Event::Empty(start)) => start.local_name().as_ref().to_owned(),
                Ok(Event::Eof) => return Err(Error::new(Place::File, "no-root", &[])),
                Ok(_) => continue,
                Err(error) => return Err(broken(&error, self.reader.get_mut())),
            };
            self.depth = 1;
            return match name.as_str() {
                "gpx" => Ok(Format::Gpx),
                "TrainingCenterDatabase" => Ok(Format::Tcx),
                _ => {
                    let name: String = name.chars().take(40).collect();
                    Err(Error::new(Place::Line(self.reader.get_mut().line()), "other-xml", &[("name", &name)]))
                }
            };
        }
    }

    /// The next point; false at the end.
    pub fn next(&mut self, row: &mut Row, notes: &mut Notes) -> Result<bool, Error> {
        let mut in_point = false;
        let mut reading: Option<Leaf> = None;
        // A name outside points and extensions: of the file, the track or the route.
        let mut reading_name = false;
        loop {
            self.buffer.clear();
            let event = match self.reader.read_event_into(&mut self.buffer) {
                Ok(event) => event,
                Err(error) => return Err(broken(&error, self.reader.get_mut())),
            };
            match event {
                Event::Start(start) => {
                    self.depth += 1;
                    let local = start.local_name();
                    let name = local.as_ref();
                    if in_point {
                        reading = leaf(name);
                        continue;
                    }
                    match name {
                        "trkpt" | "rtept" | "Trackpoint" => {
                            in_point = true;
                            row.time_s = f64::NAN;
                            row.values.clear();
                            row.values.resize(COLUMNS.len(), f64::NAN);
                            take_position(&start, row);
                            row.place = Place::Line(self.reader.get_mut().line());
                        }
                        "trkseg" | "rte" => {
                            self.planned = name == "rte";
                            self.begin_segment();
                        }
                        "Lap" => self.lap_began = true,
                        "Track" if std::mem::take(&mut self.lap_began) => {}
                        "Track" | "Activity" | "Course" => self.begin_segment(),
                        "wpt" => notes.add(Place::Line(self.reader.get_mut().line()), "waypoint", ""),
                        "name" | "Id" | "Name" => reading_name = self.name.is_none(),
                        _ => {}
                    }
                }
                Event::Empty(start) if !in_point => {
                    let local = start.local_name();
                    match local.as_ref() {
                        "trkpt" | "rtept" => {
                            row.time_s = f64::NAN;
                            row.values.clear();
                            row.values.resize(COLUMNS.len(), f64::NAN);
                            take_position(&start, row);
                            row.place = Place::Line(self.reader.get_mut().line());
                            self.finish_point(row, notes);
                            return Ok(true);
                        }
                        "wpt" => notes.add(Place::Line(self.reader.get_mut().line()), "waypoint", ""),
                        _ => {}
                    }
                }
                Event::Text(text) => {
                    if let Some(leaf) = reading {
                        take_leaf(leaf, &text, row, &mut self.clock, notes);
                    } else if reading_name && !text.trim().is_empty() {
                        self.name.get_or_insert_default().push_str(text.trim());
                    }
                }
                Event::CData(text) => {
                    if let Some(leaf) = reading {
                        take_leaf(leaf, &text, row, &mut self.clock, notes);
                    } else if reading_name && !text.trim().is_empty() {
                        self.name.get_or_insert_default().push_str(text.trim());
                    }
                }
                Event::End(end) => {
                    self.depth = self.depth.saturating_sub(1);
                    reading = None;
                    reading_name = false;
                    if in_point && matches!(end.local_name().as_ref(), "trkpt" | "rtept" | "Trackpoint") {
                        self.finish_point(row, notes);
                        return Ok(true);
                    }
                }
                Event::Eof => return self.finish(),
                _ => {}
            }
        }
    }

    fn begin_segment(&mut self) {
        if std::mem::take(&mut self.segment_has_points) {
            self.segment += 1;
        }
    }

    fn finish_point(&mut self, row: &mut Row, notes: &mut Notes) {
        self.points += 1;
        self.segment_has_points = true;
        row.segment = self.segment;
        row.planned = self.planned;
        let (latitude, longitude) = (row.values[LATITUDE], row.values[LONGITUDE]);
        let fits = latitude.abs() <= 90.0 && longitude.abs() <= 360.0;
        // Zero, zero is what receivers write that know no position.
        if !fits || (latitude == 0.0 && longitude == 0.0) {
            row.values[LATITUDE] = f64::NAN;
            row.values[LONGITUDE] = f64::NAN;
            notes.add(row.place, "point-without-position", "");
        }
    }

    fn finish(&mut self) -> Result<bool, Error> {
        let line = Place::Line(self.reader.get_mut().line());
        if self.depth > 0 {
            return Err(Error::new(line, "cut-off", &[("count", &self.depth.to_string())]));
        }
        if self.points == 0 {
            return Err(Error::new(Place::File, "no-points", &[]));
        }
        Ok(false)
    }
}

/// Latitude and longitude as attributes.
fn take_position(start: &BytesStart, row: &mut Row) {
    for attribute in start.attributes().with_checks(false).flatten() {
        let place = match attribute.key.local_name().as_ref() {
            "lat" => LATITUDE,
            "lon" => LONGITUDE,
            _ => continue,
        };
        row.values[place] = fast_float2::parse(attribute.value.trim()).unwrap_or(f64::NAN);
    }
}

fn take_leaf(leaf: Leaf, text: &str, row: &mut Row, clock: &mut Clock, notes: &mut Notes) {
    let text = text.trim();
    if text.is_empty() {
        return;
    }
    match leaf {
        Leaf::Time => {
            let (time_s, read) = match moment(text.as_bytes()) {
                Some(Moment::Utc(time_s)) => (time_s, Clock::Utc),
                Some(Moment::Local(time_s)) => (time_s, Clock::Local),
                _ => return notes.add(row.place, "no-time", ""),
            };
            if *clock == Clock::None {
                *clock = read;
            }
            // Files that leave out the zone now and then mean the same one.
            row.time_s = time_s;
        }
        Leaf::Value(place) => match fast_float2::parse::<f64, _>(text) {
            Ok(value) if value.is_finite() => row.values[place] = value,
            _ => notes.add(row.place, "no-number", COLUMNS[place].name()),
        },
    }
}

/// The encoding that the first line declares; UTF-8 where it declares none or one that it cannot be in.
fn declared_encoding(head: &[u8]) -> &'static Encoding {
    let first = &head[..head.iter().position(|byte| *byte == b'>').unwrap_or(head.len().min(200))];
    let label = memchr::memmem::find(first, b"encoding").and_then(|at| {
        let value = &first[at + 8..];
        let open = value.iter().position(|byte| matches!(byte, b'"' | b'\''))?;
        let rest = &value[open + 1..];
        let close = rest.iter().position(|byte| *byte == value[open])?;
        Encoding::for_label(&rest[..close])
    });
    label.filter(|encoding| encoding.is_ascii_compatible()).unwrap_or(encoding_rs::UTF_8)
}

fn broken(error: &quick_xml::Error, lines: &mut Lines) -> Error {
    let why = error.to_string();
    Error::new(Place::Line(lines.line()), "broken-xml", &[("why", why.trim_end_matches('.'))])
}

/// A buffer that knows its line.
struct Lines<'a> {
    source: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    filled: usize,
    at: usize,
    /// Up to where lines were counted, and their number.
    counted: usize,
    lines: u64,
}

impl<'a> Lines<'a> {
    fn new(source: impl Read + 'a) -> Self {
        Self { source: Box::new(source), buffer: vec![0; 1 << 16], filled: 0, at: 0, counted: 0, lines: 0 }
    }

    /// The line that is read now, counted from one.
    fn line(&mut self) -> u64 {
        self.lines += memchr_iter(b'\n', &self.buffer[self.counted..self.at]).count() as u64;
        self.counted = self.at;
        self.lines + 1
    }
}

impl Read for Lines<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let length = self.fill_buf()?.read(into)?;
        self.consume(length);
        Ok(length)
    }
}

impl BufRead for Lines<'_> {
    #[inline]
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if self.at == self.filled {
            self.line();
            self.filled = self.source.read(&mut self.buffer)?;
            (self.at, self.counted) = (0, 0);
        }
        Ok(&self.buffer[self.at..self.filled])
    }

    #[inline]
    fn consume(&mut self, bytes: usize) {
        self.at = (self.at + bytes).min(self.filled);
    }
}
