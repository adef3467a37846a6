//! What a formula reckons with: one number.

/// A number of a formula.
pub type Number = f64;
pub use quantity as si;

/// Functions of a number.
pub mod math {
    pub use libm::{acos, asin, atan2, cbrt, cos, exp, expm1, log, pow, sin, tan};

    /// The first of two results where a number lies above a limit, else the second.
    pub fn if_above(x: f64, limit: f64, yes: f64, no: f64) -> f64 {
        if x > limit { yes } else { no }
    }
    /// The first of two results where a number does not lie above a limit, else the second.
    pub fn if_up_to(x: f64, limit: f64, yes: f64, no: f64) -> f64 {
        if x <= limit { yes } else { no }
    }
    /// The first of two results where two numbers are the same, else the second.
    pub fn if_same(x: f64, y: f64, yes: f64, no: f64) -> f64 {
        if x == y { yes } else { no }
    }
    /// Whether a number lies neither below the one limit nor above the other; not-a-number does not.
    pub fn between(x: f64, low: f64, high: f64) -> bool {
        x >= low && x <= high
    }
    /// Whether a number that is worked out step by step no longer changes.
    pub fn settled(before: f64, now: f64) -> bool {
        before == now
    }
    /// Whether a number lies above another, where that only gives a name to what has been worked out.
    pub fn names_above(x: f64, y: f64) -> bool {
        x > y
    }
    /// What is shown to people of a number: never what is decided by.
    pub fn shown(x: f64) -> f64 {
        x
    }
    /// The whole part of a count.
    pub fn whole(x: f64) -> u32 {
        x as u32
    }
    /// A function that is worked out number by number.
    pub fn each(x: f64, f: impl Fn(f64) -> f64) -> f64 {
        f(x)
    }
}
