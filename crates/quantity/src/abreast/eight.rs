//! Eight numbers that go through the same formula.

use core::cell::Cell;
use core::cmp::Ordering;
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// How many.
pub const COUNT: usize = 8;

/// Eight numbers, one for each lane.
#[derive(Clone, Copy, Debug)]
#[repr(align(16))]
pub struct Eight([f64; COUNT]);

thread_local! {
    static APART: Cell<bool> = const { Cell::new(false) };
}

/// Whether lanes were compared that do not agree, since [`forget_apart`].
#[inline]
pub fn apart() -> bool {
    APART.get()
}

/// Begins anew. Gives what [`apart`] was.
#[inline]
pub fn forget_apart() -> bool {
    APART.replace(false)
}

/// Tells [`apart`] yes, for a result that is used again.
#[inline]
pub fn set_apart(yes: bool) {
    if yes {
        APART.set(true);
    }
}

/// What all lanes say, most often yes; the first lane's where they do not agree.
#[inline]
fn all_or_none(all: bool, any: impl Fn() -> bool, first: impl Fn() -> bool) -> bool {
    if all || !any() {
        return all;
    }
    APART.set(true);
    first()
}

impl Eight {
    /// Zero in all lanes.
    pub const ZERO: Self = Self([0.0; COUNT]);

    /// From one number for each lane.
    #[inline]
    pub const fn of(lanes: [f64; COUNT]) -> Self {
        Self(lanes)
    }
    /// One number for each lane.
    #[inline]
    pub const fn lanes(self) -> [f64; COUNT] {
        self.0
    }
    /// The first lane's.
    #[inline]
    pub const fn first(self) -> f64 {
        self.0[0]
    }
    /// The same function in each lane.
    #[inline]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self(core::array::from_fn(|i| f(self.0[i])))
    }
    /// The same function of two numbers in each lane.
    #[inline]
    pub fn with(self, o: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(core::array::from_fn(|i| f(self.0[i], o.0[i])))
    }
    /// What a comparison says if it says the same in all lanes.
    #[inline]
    fn agreed(self, o: Self, f: impl Fn(f64, f64) -> bool) -> bool {
        let yes = |i: usize| f(self.0[i], o.0[i]);
        all_or_none((0..COUNT).fold(true, |all, i| all & yes(i)), || (0..COUNT).any(yes), || yes(0))
    }
    /// Whether neither below the one nor above the other; not-a-number is not.
    #[inline]
    pub fn between(self, low: impl Into<Self>, high: impl Into<Self>) -> bool {
        let (low, high) = (low.into(), high.into());
        let yes = |i: usize| (self.0[i] >= low.0[i]) & (self.0[i] <= high.0[i]);
        all_or_none((0..COUNT).fold(true, |all, i| all & yes(i)), || (0..COUNT).any(yes), || yes(0))
    }
    /// The larger in each lane; a number rather than none.
    #[inline]
    pub fn max(self, o: impl Into<Self>) -> Self {
        self.with(o.into(), f64::max)
    }
    /// The smaller in each lane; a number rather than none.
    #[inline]
    pub fn min(self, o: impl Into<Self>) -> Self {
        self.with(o.into(), f64::min)
    }
    /// The value inside both limits.
    #[inline]
    pub fn clamp(self, low: f64, high: f64) -> Self {
        self.map(|x| x.clamp(low, high))
    }
    /// Magnitude.
    #[inline]
    pub fn abs(self) -> Self {
        self.map(f64::abs)
    }
    /// Square root.
    #[inline]
    pub fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }
    /// One with the sign of the number.
    #[inline]
    pub fn signum(self) -> Self {
        self.map(f64::signum)
    }
    /// Whether neither infinite nor not-a-number.
    #[inline]
    pub fn is_finite(self) -> bool {
        self.agreed(self, |x, _| x.is_finite())
    }
    /// Whether not-a-number.
    #[inline]
    pub fn is_nan(self) -> bool {
        self.agreed(self, |x, _| x.is_nan())
    }
}

impl From<f64> for Eight {
    #[inline]
    fn from(all: f64) -> Self {
        Self([all; COUNT])
    }
}
impl From<u32> for Eight {
    #[inline]
    fn from(all: u32) -> Self {
        f64::from(all).into()
    }
}

macro_rules! operators {
    ($($trait:ident $method:ident $op:tt;)+) => { $(
        impl $trait for Eight {
            type Output = Self;
            #[inline]
            fn $method(self, o: Self) -> Self { self.with(o, |a, b| a $op b) }
        }
        impl $trait<f64> for Eight {
            type Output = Self;
            #[inline]
            fn $method(self, o: f64) -> Self { self.map(|a| a $op o) }
        }
        impl $trait<Eight> for f64 {
            type Output = Eight;
            #[inline]
            fn $method(self, o: Eight) -> Eight { o.map(|b| self $op b) }
        }
    )+ };
}
operators! { Add add +; Sub sub -; Mul mul *; Div div /; }

impl Neg for Eight {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.map(|x| -x)
    }
}
impl AddAssign for Eight {
    #[inline]
    fn add_assign(&mut self, o: Self) {
        *self = *self + o;
    }
}

impl PartialEq for Eight {
    #[inline]
    fn eq(&self, o: &Self) -> bool {
        self.agreed(*o, |a, b| a == b)
    }
}
impl PartialEq<f64> for Eight {
    #[inline]
    fn eq(&self, o: &f64) -> bool {
        self.agreed((*o).into(), |a, b| a == b)
    }
}

macro_rules! comparisons {
    ($($method:ident $op:tt;)+) => {
        impl PartialOrd for Eight {
            fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
                let order = |a: f64, b: f64| a.partial_cmp(&b);
                let first = order(self.0[0], o.0[0]);
                if (1..COUNT).any(|i| order(self.0[i], o.0[i]) != first) {
                    APART.set(true);
                }
                first
            }
            $( #[inline] fn $method(&self, o: &Self) -> bool { self.agreed(*o, |a, b| a $op b) } )+
        }
        impl PartialOrd<f64> for Eight {
            #[inline]
            fn partial_cmp(&self, o: &f64) -> Option<Ordering> {
                self.partial_cmp(&Self::from(*o))
            }
            $( #[inline] fn $method(&self, o: &f64) -> bool { self.agreed((*o).into(), |a, b| a $op b) } )+
        }
    };
}
comparisons! { lt <; le <=; gt >; ge >=; }
