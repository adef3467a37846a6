//! Single sums: one question of the workshop each, with named inputs, units, ranges and sources.
//!
//! One registry, [`SUMS`], feeds the command line, the generated reference and any page. A sum only puts formulas of
//! [`physics`] together; what a person reads about it stands in `words/en/sums.toml` under `sum.NAME.…`.
//!
//! Invariant: no text of a person panics; all that is wrong with the inputs is said at once.

mod answer;
mod axle;
mod battery;
mod error;
mod fastener;
mod given;
mod heat;
mod input;
mod machine;
mod motor;
mod reference;
mod road;
mod workshop;

pub use answer::{Answer, Entry};
pub use error::{InputError, InputProblem, SumError};
pub use given::{Class, Given, Value};
pub use input::{Input, Need, Shape};
pub use reference::{reference, sum_reference};

use physics::Formula;
use quantity::units::{Unit, find_unit};

/// One question with its inputs and answer.
#[derive(Debug)]
pub struct Sum {
    /// Its name in kebab case: `tightening-torque`.
    pub name: &'static str,
    /// The inputs, in the order in which they are shown.
    pub inputs: &'static [Input],
    /// The keys of the answer, in order.
    pub outputs: &'static [Output],
    /// What it computes with.
    pub formulas: &'static [&'static Formula],
    /// The measuring card that helps most with its inputs, such as `m20`.
    pub recipe: Option<&'static str>,
    /// Inputs that give an answer.
    pub example: &'static [(&'static str, &'static str)],
    /// The sum itself.
    pub run: fn(&Given) -> Result<Answer, SumError>,
}

/// One number of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Output {
    /// Its key; the unit is its end: `preload_n`.
    pub key: &'static str,
    /// Whether it may be left out, when optional inputs are.
    pub optional: bool,
}

impl Output {
    const fn new(key: &'static str) -> Self {
        Self { key, optional: false }
    }
    const fn optional(key: &'static str) -> Self {
        Self { key, optional: true }
    }

    /// The unit that the key's end names; a pure number where it names none.
    pub fn unit(&self) -> &'static Unit {
        let symbol = ENDS.iter().find(|(end, _)| self.key.ends_with(end)).map_or("", |(_, symbol)| symbol);
        find_unit(symbol).unwrap_or(Unit::one())
    }
}

/// Ends of keys and the units they name; a longer end stands before a shorter one that it ends with.
const ENDS: [(&str, &str); 19] = [
    ("_kg_m3", "kg/m³"),
    ("_m_s2", "m/s²"),
    ("_km_h", "km/h"),
    ("_percent", "%"),
    ("_rpm", "rpm"),
    ("_deg", "°"),
    ("_mpa", "MPa"),
    ("_nm", "N·m"),
    ("_mm", "mm"),
    ("_kg", "kg"),
    ("_ah", "Ah"),
    ("_c", "°C"),
    ("_m", "m"),
    ("_n", "N"),
    ("_w", "W"),
    ("_v", "V"),
    ("_a", "A"),
    ("_s", "s"),
    ("_j", "J"),
];

/// All sums.
pub static SUMS: &[&Sum] = &[
    &fastener::PRELOAD,
    &fastener::TIGHTENING_TORQUE,
    &fastener::FACE_HOLD,
    &fastener::OUTER_HOLD,
    &fastener::THREAD_STRIP,
    &fastener::ANCHOR_SLIP,
    &axle::FLATS,
    &axle::PINCH,
    &axle::WELD,
    &axle::SHAFT_TORSION,
    &axle::SPOKE_LOAD,
    &motor::MOTOR_POINT,
    &motor::REGEN_CURRENT,
    &motor::FADE_OUT,
    &motor::OVERSPEED,
    &motor::SHORTED_WIRES,
    &motor::LOAD_DUMP,
    &battery::CHARGE_LIMIT,
    &battery::BATTERY_OUT_SPEED,
    &road::ROAD_FORCE,
    &road::GRIP,
    &road::DESCENT_HOLD,
    &road::AIR_DENSITY,
    &heat::TWO_NODE_HEAT,
    &workshop::HOLD_TEST,
    &workshop::STACK,
    &workshop::CENTRE_OF_MASS,
    &workshop::THREE_CLAMP,
];

/// The sum of that name.
///
/// # Errors
/// [`UnknownSum`] with the nearest name.
pub fn find(name: &str) -> Result<&'static Sum, UnknownSum> {
    let wanted = name.trim();
    let found = SUMS.iter().find(|sum| sum.name.eq_ignore_ascii_case(wanted)).copied();
    found.ok_or_else(|| UnknownSum {
        name: wanted.to_owned(),
        nearest: error::nearest(wanted, SUMS.iter().map(|sum| sum.name)),
    })
}

/// No sum has that name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownSum {
    /// What was asked for.
    pub name: String,
    /// The name spelled most like it.
    pub nearest: Option<&'static str>,
}

impl core::fmt::Display for UnknownSum {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let key = if self.nearest.is_some() { "sum-error.unknown-sum-near" } else { "sum-error.unknown-sum" };
        let nearest = self.nearest.unwrap_or_default();
        f.write_str(&crate::words::fill(key, &[("name", &self.name), ("nearest", nearest)]))
    }
}

impl core::error::Error for UnknownSum {}

impl Sum {
    /// Reads the inputs and answers.
    ///
    /// # Errors
    /// All that is wrong with the inputs at once, or the one value that a formula cannot be used with.
    pub fn answer(&'static self, inputs: &[(&str, &str)], decimal: quantity::text::Decimal) -> Result<Answer, Failure> {
        let given = Given::parse(self, inputs, decimal).map_err(Failure::Inputs)?;
        let mut answer = (self.run)(&given).map_err(Failure::Sum)?;
        answer.finish(&given).map_err(Failure::Sum)?;
        Ok(answer)
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Failure {
    /// What is wrong with the inputs, all of it.
    Inputs(Vec<InputError>),
    /// What a formula cannot be used with.
    Sum(SumError),
}

impl core::fmt::Display for Failure {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Inputs(errors) => {
                let lines: Vec<String> = errors.iter().map(ToString::to_string).collect();
                f.write_str(&lines.join("\n"))
            }
            Self::Sum(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for Failure {}
