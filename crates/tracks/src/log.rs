//! Samples one after the other, whatever the format.

use std::io::Read;

use crate::channel::{Column, Quantity};
use crate::columns::Columns;
use crate::error::{Error, Note, Notes, Place};
use crate::fit::Fit;
use crate::input::Input;
use crate::table::Table;
use crate::track::{Clock, Format, Segment, Track};
use crate::xml::Xml;

/// Time from one sample to the next that is a gap, in seconds.
const GAP_S: f64 = 60.0;

/// One row, as a format fills it.
#[derive(Debug, Default)]
pub(crate) struct Row {
    pub place: Place,
    pub segment: u32,
    /// Whether it belongs to a way as planned.
    pub planned: bool,
    pub time_s: f64,
    pub values: Vec<f64>,
}

/// Reads a log of any format sample by sample, in flat memory however long it is.
pub struct LogReader<'a> {
    source: Source<'a>,
    row: Row,
    notes: Notes,
    last_time_s: f64,
    last_segment: u32,
}

// One a file; the sizes do not matter.
#[allow(clippy::large_enum_variant)]
enum Source<'a> {
    Table(Table<'a>),
    Xml(Xml<'a>),
    Fit(Fit<'a>),
}

/// One sample.
#[derive(Clone, Copy, Debug)]
pub struct Sample<'r> {
    /// Where it stands in the file.
    pub place: Place,
    /// Which segment it belongs to, counted from zero; nothing is known about the way from one to the next.
    pub segment: u32,
    /// Time, in seconds of the file's [`Clock`]; not-a-number where the file has none.
    pub time_s: f64,
    /// One value a column, in [`Quantity::unit`]; not-a-number where the file has none.
    pub values: &'r [f64],
}

impl<'a> LogReader<'a> {
    /// Begins to read; the format is recognised by the content.
    ///
    /// # Errors
    /// What is wrong with the beginning of the file.
    pub fn new(stream: impl Read + 'a, columns: &Columns) -> Result<Self, Error> {
        let input = Input::new(stream)
            .map_err(|error| Error::new(Place::File, "cannot-read", &[("why", &error.to_string())]))?;
        let mut notes = Notes::default();
        let head = input.head();
        let packed = match head {
            [0x1f, 0x8b, ..] => Some("gzip"),
            [b'P', b'K', 3, 4, ..] => Some("zip"),
            _ => None,
        };
        if let Some(name) = packed {
            return Err(Error::new(Place::File, "packed", &[("name", name)]));
        }
        let source = if head.get(8..12) == Some(b".FIT") {
            Source::Fit(Fit::new(input, columns)?)
        } else if head.trim_ascii_start().starts_with(b"<") {
            Source::Xml(Xml::new(input)?)
        } else {
            Source::Table(Table::new(input, columns, &mut notes)?)
        };
        Ok(Self { source, row: Row::default(), notes, last_time_s: f64::NAN, last_segment: 0 })
    }

    /// The format.
    pub fn format(&self) -> Format {
        match &self.source {
            Source::Table(_) => Format::Csv,
            Source::Xml(xml) => xml.format(),
            Source::Fit(_) => Format::Fit,
        }
    }

    /// The columns of [`Sample::values`]. In FIT files later samples may bring more; places do not change.
    pub fn columns(&self) -> &[Column] {
        match &self.source {
            Source::Table(table) => table.columns(),
            Source::Xml(xml) => xml.columns(),
            Source::Fit(fit) => fit.columns(),
        }
    }

    /// The place of the first column of a quantity in [`Sample::values`].
    pub fn place_of(&self, quantity: Quantity) -> Option<usize> {
        self.columns().iter().position(|column| column.quantity == quantity)
    }

    /// What the times count from; known once a sample with a time was read.
    pub fn clock(&self) -> Clock {
        match &self.source {
            Source::Table(table) => table.clock(),
            Source::Xml(xml) => xml.clock(),
            Source::Fit(fit) => fit.clock(),
        }
    }

    /// What the file calls itself, if it does; known after its first sample.
    pub fn name(&self) -> Option<&str> {
        match &self.source {
            Source::Xml(xml) => xml.name(),
            Source::Table(_) | Source::Fit(_) => None,
        }
    }

    /// What the reader should know about the part read so far.
    pub fn notes(&self) -> &[Note] {
        self.notes.as_slice()
    }

    /// The next sample; `None` at the end.
    ///
    /// # Errors
    /// What is wrong with the file at this place. Nothing can be read after it.
    pub fn read_sample(&mut self) -> Result<Option<Sample<'_>>, Error> {
        if !self.read_row()? {
            return Ok(None);
        }
        let Row { place, segment, time_s, values, .. } = &self.row;
        Ok(Some(Sample { place: *place, segment: *segment, time_s: *time_s, values }))
    }

    fn read_row(&mut self) -> Result<bool, Error> {
        let more = match &mut self.source {
            Source::Table(table) => table.next(&mut self.row, &mut self.notes),
            Source::Xml(xml) => xml.next(&mut self.row, &mut self.notes),
            Source::Fit(fit) => fit.next(&mut self.row, &mut self.notes),
        }?;
        if more {
            self.watch_clock();
        }
        Ok(more)
    }

    fn watch_clock(&mut self) {
        let Row { place, segment, time_s, .. } = self.row;
        if time_s.is_nan() {
            return;
        }
        let step_s = time_s - self.last_time_s;
        let odd = match step_s {
            0.0 => Some("time-repeats"),
            ..0.0 => Some("clock-back"),
            GAP_S.. if self.last_segment == segment => Some("clock-forward"),
            _ => None,
        };
        if let Some(odd) = odd {
            self.notes.add(place, odd, "");
        }
        self.last_time_s = time_s;
        self.last_segment = segment;
    }

    /// The rest of the file as a whole.
    pub(crate) fn into_track(mut self) -> Result<Track, Error> {
        let mut segments: Vec<Segment> = Vec::new();
        let mut number = None;
        while self.read_row()? {
            let row = &self.row;
            if number != Some(row.segment) {
                number = Some(row.segment);
                segments.push(Segment { planned: row.planned, ..Segment::default() });
            }
            let Some(segment) = segments.last_mut() else { continue };
            // A column that comes later has nothing before.
            let length = segment.time_s.len();
            if segment.values.len() < row.values.len() {
                segment.values.resize_with(row.values.len(), || vec![f64::NAN; length]);
            }
            for (column, value) in segment.values.iter_mut().zip(&row.values) {
                column.push(*value);
            }
            segment.time_s.push(row.time_s);
        }
        drop_empty_columns(&mut segments, self.columns());
        Ok(Track {
            format: self.format(),
            clock: self.clock(),
            name: self.name().map(str::to_owned),
            segments,
            notes: self.notes.as_slice().to_vec(),
        })
    }
}

/// Gives all segments the same columns: those in which some point has a value.
fn drop_empty_columns(segments: &mut [Segment], columns: &[Column]) {
    let has_value = |s: &Segment, at: usize| s.values.get(at).is_some_and(|values| values.iter().any(|v| !v.is_nan()));
    let used: Vec<bool> = (0..columns.len()).map(|at| segments.iter().any(|s| has_value(s, at))).collect();
    for segment in segments {
        let length = segment.len();
        segment.values.resize_with(columns.len(), || vec![f64::NAN; length]);
        let mut keep = used.iter();
        segment.values.retain(|_| keep.next() == Some(&true));
        segment.columns = columns.iter().zip(&used).filter(|(_, used)| **used).map(|(c, _)| c.clone()).collect();
    }
}
