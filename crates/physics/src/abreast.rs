//! The formulas once more, for eight bikes at a time: the same files, compiled for eight numbers in place of one.
//!
//! A result is good if [`quantity::abreast::apart`] says no after it: then it is that of each lane alone, to the bit. Names
//! (which part is the weakest) and the numbers in an error are the first lane's.

#![allow(clippy::duplicate_mod, reason = "each formula is written once and compiled for one number and for eight")]
#![allow(dead_code, reason = "what is asked of one bike only")]

pub use quantity::abreast as si;
pub use si::Eight as Number;

/// Functions of a number, lane by lane: those of [`crate::one::math`].
#[allow(missing_docs, reason = "as for one number")]
pub mod math {
    use super::Number;

    macro_rules! functions {
        ($($name:ident)+) => { $(
            #[inline]
            pub fn $name(x: Number) -> Number { x.map(libm::$name) }
        )+ };
    }
    functions! { acos asin cbrt cos exp expm1 log sin tan }

    #[inline]
    pub fn pow(x: Number, exponent: f64) -> Number {
        x.map(|x| libm::pow(x, exponent))
    }
    #[inline]
    pub fn atan2(y: Number, x: Number) -> Number {
        y.with(x, libm::atan2)
    }
    /// The first lane's.
    #[inline]
    pub fn shown(x: Number) -> f64 {
        x.first()
    }
    /// That of all lanes, if it is the same.
    #[inline]
    pub fn whole(x: Number) -> u32 {
        let first = x.first();
        // Comparing tells whether it is.
        if x == first { first as u32 } else { 0 }
    }
    #[inline]
    pub fn if_above(
        x: impl Into<Number>,
        limit: impl Into<Number>,
        yes: impl Into<Number>,
        no: impl Into<Number>,
    ) -> Number {
        choose([x.into(), limit.into(), yes.into(), no.into()], |x, limit| x > limit)
    }
    #[inline]
    pub fn if_same(
        x: impl Into<Number>,
        y: impl Into<Number>,
        yes: impl Into<Number>,
        no: impl Into<Number>,
    ) -> Number {
        choose([x.into(), y.into(), yes.into(), no.into()], |x, y| x == y)
    }
    #[inline]
    pub fn between(x: Number, low: Number, high: Number) -> bool {
        x.between(low, high)
    }
    /// In no lane: where it does not change, a further step leaves it.
    #[inline]
    pub fn settled(before: Number, now: Number) -> bool {
        before.lanes() == now.lanes()
    }
    #[inline]
    pub fn names_above(x: Number, y: Number) -> bool {
        x.first() > y.first()
    }
    #[inline]
    pub fn if_up_to(
        x: impl Into<Number>,
        limit: impl Into<Number>,
        yes: impl Into<Number>,
        no: impl Into<Number>,
    ) -> Number {
        choose([x.into(), limit.into(), yes.into(), no.into()], |x, limit| x <= limit)
    }
    #[inline]
    fn choose([x, y, yes, no]: [Number; 4], is: impl Fn(f64, f64) -> bool) -> Number {
        let [x, y, yes, no] = [x.lanes(), y.lanes(), yes.lanes(), no.lanes()];
        Number::of(core::array::from_fn(|i| if is(x[i], y[i]) { yes[i] } else { no[i] }))
    }
    #[inline]
    pub fn each(x: Number, f: impl Fn(f64) -> f64) -> Number {
        x.map(f)
    }
}

#[path = "anchor.rs"]
pub mod anchor;
#[path = "axle_section.rs"]
pub mod axle_section;
#[path = "axle_state.rs"]
pub mod axle_state;
#[path = "battery.rs"]
pub mod battery;
#[path = "checked.rs"]
mod checked;
#[path = "dump.rs"]
pub mod dump;
#[path = "faces.rs"]
pub mod faces;
#[path = "flats.rs"]
pub mod flats;
#[path = "gears.rs"]
pub mod gears;
#[path = "grip.rs"]
pub mod grip;
#[path = "heat.rs"]
pub mod heat;
#[path = "hold.rs"]
pub mod hold;
#[path = "lock.rs"]
pub mod lock;
#[path = "motor.rs"]
pub mod motor;
#[path = "pinch.rs"]
pub mod pinch;
#[path = "rectifier.rs"]
pub mod rectifier;
#[path = "road.rs"]
pub mod road;
#[path = "short.rs"]
pub mod short;
#[path = "supply.rs"]
pub mod supply;
#[path = "thread.rs"]
pub mod thread;
#[path = "tightening.rs"]
pub mod tightening;
#[path = "voltage.rs"]
pub mod voltage;
#[path = "wheel.rs"]
pub mod wheel;
