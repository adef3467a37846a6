//! The quantities that hold one number.

use crate::list::{DEGREE, INCH, POUND_FORCE, list};
use crate::{Dimension, Quantity};

macro_rules! quantities {
    ($( $(#[$doc:meta])* $name:ident [$($dim:literal),*] { $( $ctor:ident, $getter:ident, $factor:expr, $unit:literal; )+ } )+) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Zero.
            pub const ZERO: Self = Self(0.0);
            $(
                #[doc = concat!("From ", $unit, ".")]
                #[inline]
                pub const fn $ctor(value: f64) -> Self { Self(value * $factor) }
                #[doc = concat!("In ", $unit, ".")]
                #[inline]
                pub const fn $getter(self) -> f64 { self.0 / $factor }
            )+
            /// The smaller of two.
            #[inline]
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of two.
            #[inline]
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
            /// Neither infinite nor not-a-number.
            #[inline]
            pub fn is_finite(self) -> bool { self.0.is_finite() }
        }

        impl Quantity for $name {
            const DIMENSION: Dimension = Dimension::new($($dim),*);
            type Abreast = crate::abreast::$name;
            #[inline]
            fn from_si(value_si: f64) -> Self { Self(value_si) }
            #[inline]
            fn si(self) -> f64 { self.0 }
        }

        impl core::ops::Add for $name { type Output = Self; #[inline] fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl core::ops::Sub for $name { type Output = Self; #[inline] fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl core::ops::Mul<f64> for $name { type Output = Self; #[inline] fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl core::ops::Div<f64> for $name { type Output = Self; #[inline] fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        /// How many times the other goes into this one.
        impl core::ops::Div for $name { type Output = f64; #[inline] fn div(self, o: Self) -> f64 { self.0 / o.0 } }
    )+ };
}

list!(quantities);

/// A temperature. Kelvin inside; people read degrees Celsius.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    pub(crate) const ZERO_CELSIUS: f64 = 273.15;
    /// From degrees Celsius.
    #[inline]
    pub const fn celsius(value: f64) -> Self {
        Self(value + Self::ZERO_CELSIUS)
    }
    /// In degrees Celsius.
    #[inline]
    pub const fn as_celsius(self) -> f64 {
        self.0 - Self::ZERO_CELSIUS
    }
    /// From kelvin.
    #[inline]
    pub const fn kelvins(value: f64) -> Self {
        Self(value)
    }
    /// In kelvin.
    #[inline]
    pub const fn as_kelvins(self) -> f64 {
        self.0
    }
}

impl Quantity for Temperature {
    const DIMENSION: Dimension = Dimension::new(0, 0, 0, 0, 1);
    type Abreast = crate::abreast::Temperature;
    #[inline]
    fn from_si(value_si: f64) -> Self {
        Self(value_si)
    }
    #[inline]
    fn si(self) -> f64 {
        self.0
    }
}

impl LineResistance {
    /// The resistance of one phase of the star equivalent.
    #[inline]
    pub const fn per_phase(self) -> PhaseResistance {
        PhaseResistance(self.0 / 2.0)
    }
}

impl PhaseResistance {
    /// The resistance between two motor wires.
    #[inline]
    pub const fn between_wires(self) -> LineResistance {
        LineResistance(self.0 * 2.0)
    }
}
