//! The equations of a hub motor that drives and brakes.
//!
//! Invariants: pure functions of quantities; this crate knows no file, clock, thread, randomness, serialisation or
//! table. A formula returns its value or [`OutOfRange`]; nothing is clamped. Transcendental functions come from `libm`,
//! so that every machine gives the same bits (`clippy.toml` bans the others).
//!
//! Each formula has a [`Formula`] beside it with its equation, source, valid range, what is left out and what checks
//! it; [`formulas`] lists them all.

mod checked;
mod formula;

pub mod anchor;
pub mod axle_section;
pub mod axle_state;
pub mod faces;
pub mod flats;
pub mod gears;
pub mod lock;
pub mod pinch;
pub mod readings;
pub mod thread;
pub mod tightening;
pub mod wheel;

pub use formula::{Formula, OutOfRange};
