//! The equations of a hub motor that drives and brakes.
//!
//! Invariants: pure functions of quantities; this crate knows no file, clock, thread, randomness, serialisation or
//! table. A formula returns its value or [`OutOfRange`]; nothing is clamped. Transcendental functions come from `libm`,
//! so that every machine gives the same bits (`clippy.toml` bans the others).
//!
//! Each formula has a [`Formula`] beside it with its equation, source, valid range, what is left out and what checks
//! it; [`formulas`] lists them all.
//!
//! A formula that a link uses is written once, over `Number`, `math` and `si`, and compiled twice: here for one number
//! ([`one`]), in [`abreast`] for eight. There comparisons that lanes answer differently set a flag of the thread, and nothing
//! else; what only rides, sums and readings use is compiled once.

#![allow(clippy::useless_conversion, reason = "what makes eight numbers of one makes nothing of one")]

pub mod abreast;
mod checked;
mod formula;
pub mod one;

pub mod anchor;
pub mod axle_section;
pub mod axle_state;
pub mod battery;
pub mod cell;
pub mod dump;
pub mod faces;
pub mod flats;
pub mod fork;
pub mod gears;
pub mod grip;
pub mod heat;
pub mod hold;
pub mod lock;
pub mod motor;
pub mod pinch;
pub mod readings;
pub mod rectifier;
pub mod road;
pub mod short;
pub mod supply;
pub mod thread;
pub mod tightening;
pub mod transient;
pub mod travel;
pub mod voltage;
pub mod wheel;

pub use formula::{Formula, OutOfRange};
use one::{Number, math, si};

/// All formulas, module by module.
pub fn formulas() -> impl Iterator<Item = &'static Formula> {
    let modules: [&[&Formula]; 27] = [
        anchor::FORMULAS,
        axle_section::FORMULAS,
        axle_state::FORMULAS,
        battery::FORMULAS,
        cell::FORMULAS,
        dump::FORMULAS,
        faces::FORMULAS,
        flats::FORMULAS,
        fork::FORMULAS,
        gears::FORMULAS,
        grip::FORMULAS,
        heat::FORMULAS,
        hold::FORMULAS,
        lock::FORMULAS,
        motor::FORMULAS,
        pinch::FORMULAS,
        readings::FORMULAS,
        rectifier::FORMULAS,
        road::FORMULAS,
        short::FORMULAS,
        supply::FORMULAS,
        thread::FORMULAS,
        tightening::FORMULAS,
        transient::FORMULAS,
        travel::FORMULAS,
        voltage::FORMULAS,
        wheel::FORMULAS,
    ];
    modules.into_iter().flatten().copied()
}
