//! A file as a whole.

use crate::channel::{Column, Quantity};
use crate::error::Note;

/// The format of a file, recognised by its content.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// GPS exchange format 1.0 or 1.1.
    Gpx,
    /// Training Center XML, version 1 or 2.
    Tcx,
    /// Flexible and interoperable data transfer.
    Fit,
    /// A table of text.
    Csv,
}

/// What the times of a file count from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// Seconds since 1970-01-01 00:00 UTC.
    Utc,
    /// Seconds since 1970-01-01 00:00 on a clock whose zone the file does not say.
    Local,
    /// Seconds since some moment of the file's own.
    Relative,
    /// There are no times.
    None,
}

/// A route, ride or log.
#[derive(Clone, Debug)]
pub struct Track {
    /// Its format.
    pub format: Format,
    /// What its times count from.
    pub clock: Clock,
    /// What it is called in the file.
    pub name: Option<String>,
    /// Its parts, in the order of the file; each has at least one point. Nothing is known about the way from one to
    /// the next.
    pub segments: Vec<Segment>,
    /// What its reader should know.
    pub notes: Vec<Note>,
}

/// Points one after the other without a break, as a table: one row a point.
#[derive(Clone, Debug, Default)]
pub struct Segment {
    /// Whether it is a way as planned (a route of GPX), not one that was ridden.
    pub planned: bool,
    /// Time of each point, in seconds; not-a-number where the file has none.
    pub time_s: Vec<f64>,
    /// The columns, the same in all segments of a track.
    pub columns: Vec<Column>,
    /// The values of each column, in [`Quantity::unit`]; not-a-number where the file has none.
    pub values: Vec<Vec<f64>>,
}

impl Segment {
    /// Number of points.
    pub fn len(&self) -> usize {
        self.time_s.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.time_s.is_empty()
    }

    /// The first column of a quantity.
    pub fn column(&self, quantity: Quantity) -> Option<&[f64]> {
        let place = self.columns.iter().position(|column| column.quantity == quantity)?;
        Some(&self.values[place])
    }
}

impl Track {
    /// Number of points in all segments.
    pub fn points(&self) -> usize {
        self.segments.iter().map(Segment::len).sum()
    }

    /// Whether some point has a value of that quantity.
    pub fn has(&self, quantity: Quantity) -> bool {
        self.segments.iter().any(|s| s.column(quantity).is_some_and(|values| values.iter().any(|v| v.is_finite())))
    }
}
