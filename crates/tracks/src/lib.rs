//! Reads routes, rides and logs that other devices wrote: GPX, TCX, FIT and tables of text (CSV), recognised by their
//! content. Beside them the route that a ride is simulated on: even in distance, its heights smoothed.
//!
//! ```
//! use tracks::{Columns, LogReader, Quantity, Route, Smoothing, read};
//!
//! let log = "time (s),speed (km/h),battery current (A)\n0,36,4.5\n0.1,34.2,-3\n";
//! let mut reader = LogReader::new(log.as_bytes(), &Columns::default())?;
//! let current = reader.place_of(Quantity::BatteryCurrent).expect("the header says it");
//! let mut most_braking_a = 0.0_f64;
//! while let Some(sample) = reader.read_sample()? {
//!     most_braking_a = most_braking_a.max(-sample.values[current]);
//! }
//! assert_eq!(most_braking_a, 3.0);
//!
//! let hill = read(b"distance (km),height (m)\n0,500\n1,560\n", &Columns::default())?;
//! let route = Route::of(&hill, Smoothing::default())?;
//! assert!((route.length_m() - 1000.0).abs() < 1e-9 && (route.grade_at(400.0) - 0.06).abs() < 1e-9);
//! # Ok::<(), tracks::Error>(())
//! ```
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
