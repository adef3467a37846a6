//! Pictures: the load path of a job, charts, and what a measuring card shows, as SVG text.
//!
//! Invariant: a picture is a pure function of what it shows; no file, no clock, no chance, the same bytes each time.
//! What a person reads comes from the workbench's table of words. No meaning lies in a colour alone: a state is told by
//! shape, by line weight and by its word.

pub mod chart;
mod letters;
mod load_path;
pub mod measuring;
mod plate;
pub mod sign;
mod style;
mod svg;

pub use load_path::{Format, Options, load_path};
pub use style::{STYLE, Theme};
