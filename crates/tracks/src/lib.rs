//! Reads routes, rides and logs that other devices wrote: GPX, TCX, FIT and tables of text (CSV), recognised by their
//! content. Beside them the route that a ride is simulated on: even in distance, its heights smoothed.
//!
//! Invariants: any bytes give a track or an error that says where, never a panic; segments are never joined by a
//! straight line; nothing is guessed (a column without a unit is left out and noted).

mod channel;
mod columns;
mod error;
mod fit;
mod fit_base;
mod header;
mod input;
mod layout;
mod line;
mod log;
mod route;
mod rows;
mod smooth;
mod table;
mod time;
mod track;
mod unit;
mod words;
mod xml;

pub use channel::{Column, Quantity};
pub use columns::Columns;
pub use error::{Error, Note, Place};
pub use log::{LogReader, Sample};
pub use route::{Ascents, Route, Smoothing, Stop, Stretch, Wish, ascents};
pub use track::{Clock, Format, Segment, Track};

/// Reads a whole file; the format is recognised by the content. `columns` says what the headers of a table mean where
/// their words do not.
///
/// # Errors
/// What is wrong with the file, where, and what to do.
pub fn read(bytes: &[u8], columns: &Columns) -> Result<Track, Error> {
    LogReader::new(bytes, columns)?.into_track()
}
