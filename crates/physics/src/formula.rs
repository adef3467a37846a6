//! What a formula says about itself, and the one error that it can give.

use core::fmt;

/// What stands behind a number: the book's equation and where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Formula {
    /// Short name in kebab case, unique among all formulas.
    pub name: &'static str,
    /// The equation as a book would print it.
    pub equation: &'static str,
    /// Published source with its place; "own derivation" or "common practice" where that is the truth; says
    /// "from memory" where the source was not at hand.
    pub source: &'static str,
    /// Where it holds.
    pub valid: &'static str,
    /// What it leaves out, and on which side that errs.
    pub left_out: &'static str,
    /// The test or table that checks it.
    pub checked_by: &'static str,
}

/// A value with which a formula cannot be used. All in the unit named.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// What was out of range, in kebab case: `slot-width`.
    pub what: &'static str,
    /// The value that was given.
    pub value: f64,
    /// Smallest allowed.
    pub low: f64,
    /// Largest allowed.
    pub high: f64,
    /// Unit of the three numbers.
    pub unit: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { what, value, low, high, unit } = self;
        write!(f, "{what} is {value} {unit}; allowed: {low} to {high} {unit}")
    }
}

impl core::error::Error for OutOfRange {}
