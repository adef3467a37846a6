//! The same quantities with eight numbers in each, so that one formula is worked out for eight draws at once.
//!
//! Every operation is one of IEEE 754 in each lane, and no lane sees another. What a formula decides by comparing, it
//! decides for all eight: where they do not agree, the answer is the first lane's and [`apart`] tells that the result
//! must be thrown away.

mod eight;

use crate::list::{DEGREE, INCH, POUND_FORCE, list};
pub use eight::{COUNT, Eight, apart, forget_apart, set_apart};

/// What every quantity of eight can do.
pub trait Quantity: Copy {
    /// From the values in the coherent SI unit.
    fn from_si(value_si: Eight) -> Self;
}

macro_rules! like_a_number {
    ($name:ident) => {
        impl PartialEq for $name {
            #[inline]
            fn eq(&self, o: &Self) -> bool {
                self.0 == o.0
            }
        }
        impl PartialOrd for $name {
            #[inline]
            fn partial_cmp(&self, o: &Self) -> Option<core::cmp::Ordering> {
                self.0.partial_cmp(&o.0)
            }
            #[inline]
            fn lt(&self, o: &Self) -> bool {
                self.0 < o.0
            }
            #[inline]
            fn le(&self, o: &Self) -> bool {
                self.0 <= o.0
            }
            #[inline]
            fn gt(&self, o: &Self) -> bool {
                self.0 > o.0
            }
            #[inline]
            fn ge(&self, o: &Self) -> bool {
                self.0 >= o.0
            }
        }
        impl Quantity for $name {
            #[inline]
            fn from_si(value_si: Eight) -> Self {
                Self(value_si)
            }
        }
        impl $name {
            /// The quantity of one lane.
            #[inline]
            pub fn lane(self, i: usize) -> crate::$name {
                crate::Quantity::from_si(self.0.lanes()[i])
            }
        }
        impl From<crate::$name> for $name {
            #[inline]
            fn from(all: crate::$name) -> Self {
                Self(crate::Quantity::si(all).into())
            }
        }
    };
}

macro_rules! quantities {
    ($( $(#[$doc:meta])* $name:ident [$($dim:literal),*] { $( $ctor:ident, $getter:ident, $factor:expr, $unit:literal; )+ } )+) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug)]
        pub struct $name(Eight);
        like_a_number!($name);

        impl $name {
            /// Zero.
            pub const ZERO: Self = Self(Eight::ZERO);
            $(
                #[doc = concat!("From ", $unit, ".")]
                #[inline]
                pub fn $ctor(value: impl Into<Eight>) -> Self { Self(value.into() * $factor) }
                #[doc = concat!("In ", $unit, ".")]
                #[inline]
                pub fn $getter(self) -> Eight { self.0 / $factor }
            )+
            /// The smaller of two.
            #[inline]
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of two.
            #[inline]
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
        }

        impl core::ops::Add for $name { type Output = Self; #[inline] fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl core::ops::Sub for $name { type Output = Self; #[inline] fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl core::ops::Mul<f64> for $name { type Output = Self; #[inline] fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl core::ops::Div<f64> for $name { type Output = Self; #[inline] fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl core::ops::Mul<Eight> for $name { type Output = Self; #[inline] fn mul(self, k: Eight) -> Self { Self(self.0 * k) } }
        impl core::ops::Div<Eight> for $name { type Output = Self; #[inline] fn div(self, k: Eight) -> Self { Self(self.0 / k) } }
        /// How many times the other goes into this one.
        impl core::ops::Div for $name { type Output = Eight; #[inline] fn div(self, o: Self) -> Eight { self.0 / o.0 } }
    )+ };
}

list!(quantities);

/// A temperature. Kelvin inside; people read degrees Celsius.
#[derive(Clone, Copy, Debug)]
pub struct Temperature(Eight);
like_a_number!(Temperature);

impl Temperature {
    /// From degrees Celsius.
    #[inline]
    pub fn celsius(value: impl Into<Eight>) -> Self {
        Self(value.into() + crate::Temperature::ZERO_CELSIUS)
    }
    /// In degrees Celsius.
    #[inline]
    pub fn as_celsius(self) -> Eight {
        self.0 - crate::Temperature::ZERO_CELSIUS
    }
    /// From kelvin.
    #[inline]
    pub fn kelvins(value: impl Into<Eight>) -> Self {
        Self(value.into())
    }
    /// In kelvin.
    #[inline]
    pub const fn as_kelvins(self) -> Eight {
        self.0
    }
}

impl LineResistance {
    /// The resistance of one phase of the star equivalent.
    #[inline]
    pub fn per_phase(self) -> PhaseResistance {
        PhaseResistance(self.0 / 2.0)
    }
}
