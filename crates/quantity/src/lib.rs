//! Physical quantities as types: a private `f64` in SI, with the unit in every constructor and getter.
//!
//! Different meanings are different types even where the unit is the same: a torque at the wheel is not a torque
//! at the rotor, a motor (phase) current is not a battery current, the resistance between two motor wires is not that
//! of one phase. Magnitudes are positive; where a direction is meant, a word gives it.
//!
//! Invariant: this crate has no dependency, and no public number without a unit in its name.

pub mod abreast;
mod list;
pub mod text;
mod types;
pub mod units;

pub use types::*;

/// What every quantity can do; used by the registries, which handle facts of any kind.
pub trait Quantity: Copy + PartialOrd + core::fmt::Debug + 'static {
    /// The physical dimension.
    const DIMENSION: Dimension;
    /// The same with eight numbers.
    type Abreast: abreast::Quantity;
    /// From the value in the coherent SI unit (kelvin for temperature, radian for angle).
    fn from_si(value_si: f64) -> Self;
    /// The value in the coherent SI unit.
    fn si(self) -> f64;
}

/// Exponents of kilogram, metre, second, ampere and kelvin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Dimension {
    /// Kilogram.
    pub kg: i8,
    /// Metre.
    pub m: i8,
    /// Second.
    pub s: i8,
    /// Ampere.
    pub a: i8,
    /// Kelvin.
    pub k: i8,
}

impl Dimension {
    /// From the five exponents, in the order kilogram, metre, second, ampere, kelvin.
    pub const fn new(kg: i8, m: i8, s: i8, a: i8, k: i8) -> Self {
        Self { kg, m, s, a, k }
    }
}
