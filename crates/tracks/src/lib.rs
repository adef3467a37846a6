//! Recorded rides, planned routes and logs: GPX, TCX, FIT and CSV, read as they are met.
//!
//! A crate of its own beside the reader of job files, because its parsers are heavy (XML, binary messages, geodesics,
//! character encodings) and its inputs are other people's: who reads a job need not build it, and whoever fuzzes it
//! fuzzes nothing else. It knows quantities, but no job, no motor and no physics.
//!
//! [`read`] gives a [`Track`]: what the file says, point by point, with what is missing left missing. What else there is
//! to know (pauses, gaps, repeated times, missing heights, odd encodings) stands in its [notes](Note). A [`Route`] is
//! built from a track that knows where, or how far, and how high: distance, smoothed height, grade.
//!
//! Invariants: no bytes cause a panic; segments are never bridged; nothing is clamped; an error says where and what next.

mod builder;
mod error;
mod gpx;
mod position;
mod tcx;
mod text;
mod track;
mod xml;

pub use error::{Place, ReadError};
pub use position::Position;
pub use text::LARGEST_FILE;
pub use track::{Channel, Extra, Finding, Format, Note, Segment, Track};
/// t
pub fn t(x: &str) -> Result<Track, ReadError> { gpx::read_gpx(x).or_else(|_| tcx::read_tcx(x)) }
/// u
pub fn u(x: &[u8]) -> Result<(), ReadError> { text::decode_xml(x)?; Ok(()) }
