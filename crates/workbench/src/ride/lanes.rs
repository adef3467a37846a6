//! Several rides side by side: the stepper's formulas are written once, over a number for each lane.
//!
//! One ride is one lane, a plain `f64`; variants go eight abreast through the vector units that the machine has. Every operation
//! is one of IEEE 754 in each lane and no lane sees another, so that a ride has the same bits alone and in company, on any
//! machine. What branches for one ride is a choice by mask for eight; [`Lanes::any`] passes over what no lane needs.

use core::fmt::Debug;
use core::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, Neg, Not, Sub, SubAssign};
use fearless_simd::{Select as _, Simd, SimdBase as _, SimdFloat as _, SimdMask as _, f64x8, mask64x8};

/// A number for each lane.
pub trait Lanes:
    Copy
    + Debug
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + AddAssign
    + SubAssign
    + ByLane<One = f64>
{
    /// Yes or no for each lane.
    type Mask: Copy + BitAnd<Output = Self::Mask> + BitOr<Output = Self::Mask> + Not<Output = Self::Mask>;
    /// Proof that the machine has the vector units.
    type Unit: Copy;
    /// How many.
    const COUNT: usize;

    /// The same number in all lanes.
    fn all(unit: Self::Unit, x: f64) -> Self;
    /// The same number in all lanes of one like this.
    fn like(self, x: f64) -> Self;
    /// Square root.
    fn root(self) -> Self;
    /// Whole part of what is not negative.
    fn whole(self) -> Self;
    /// Whether smaller.
    fn below(self, other: Self) -> Self::Mask;
    /// Whether smaller or the same.
    fn up_to(self, other: Self) -> Self::Mask;
    /// Whether the same.
    fn same(self, other: Self) -> Self::Mask;
    /// The first where the mask says yes, else the second.
    fn pick(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Whether any lane says yes.
    fn any(mask: Self::Mask) -> bool;
    /// A bit for each lane.
    fn bits(mask: Self::Mask) -> u64;
    /// Adds to that row of a table which stands in each lane.
    fn add_at<const K: usize>(table: &mut [Self; K], row: Self, x: Self);

    /// The smaller.
    #[inline(always)]
    fn least(self, other: Self) -> Self {
        Self::pick(self.below(other), self, other)
    }
    /// The larger.
    #[inline(always)]
    fn most(self, other: Self) -> Self {
        Self::pick(other.below(self), self, other)
    }
    /// The number, but not below nothing.
    #[inline(always)]
    fn or_zero(self) -> Self {
        self.most(self.like(0.0))
    }
}

/// What can be taken apart by lanes.
pub trait ByLane {
    /// The same for one lane.
    type One;
    /// One lane of it.
    fn lane(&self, i: usize) -> Self::One;
    /// Replaces one lane.
    fn put(&mut self, i: usize, one: &Self::One);
}

impl ByLane for f64 {
    type One = Self;
    #[inline(always)]
    fn lane(&self, _: usize) -> Self {
        *self
    }
    #[inline(always)]
    fn put(&mut self, _: usize, one: &Self) {
        *self = *one;
    }
}

impl<S: Simd> ByLane for f64x8<S> {
    type One = f64;
    #[inline(always)]
    fn lane(&self, i: usize) -> f64 {
        self.as_slice()[i]
    }
    #[inline(always)]
    fn put(&mut self, i: usize, one: &f64) {
        self.as_mut_slice()[i] = *one;
    }
}

impl<L: Lanes, const K: usize> ByLane for [L; K] {
    type One = [f64; K];
    #[inline(always)]
    fn lane(&self, i: usize) -> [f64; K] {
        self.map(|x| x.lane(i))
    }
    #[inline(always)]
    fn put(&mut self, i: usize, one: &[f64; K]) {
        for (x, o) in self.iter_mut().zip(one) {
            x.put(i, o);
        }
    }
}

impl Lanes for f64 {
    type Mask = bool;
    type Unit = ();
    const COUNT: usize = 1;

    #[inline(always)]
    fn all((): (), x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn like(self, x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn root(self) -> Self {
        self.sqrt()
    }
    #[inline(always)]
    fn whole(self) -> Self {
        self as i64 as Self
    }
    #[inline(always)]
    fn below(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn up_to(self, other: Self) -> bool {
        self <= other
    }
    #[inline(always)]
    fn same(self, other: Self) -> bool {
        self == other
    }
    #[inline(always)]
    fn pick(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn any(mask: bool) -> bool {
        mask
    }
    #[inline(always)]
    fn bits(mask: bool) -> u64 {
        u64::from(mask)
    }
    #[inline(always)]
    fn add_at<const K: usize>(table: &mut [Self; K], row: Self, x: Self) {
        table[row as usize] += x;
    }
}

impl<S: Simd> Lanes for f64x8<S> {
    type Mask = mask64x8<S>;
    type Unit = S;
    const COUNT: usize = 8;

    #[inline(always)]
    fn all(unit: S, x: f64) -> Self {
        Self::splat(unit, x)
    }
    #[inline(always)]
    fn like(self, x: f64) -> Self {
        Self::splat(self.simd, x)
    }
    #[inline(always)]
    fn root(self) -> Self {
        self.sqrt()
    }
    #[inline(always)]
    fn whole(self) -> Self {
        self.floor()
    }
    #[inline(always)]
    fn below(self, other: Self) -> mask64x8<S> {
        self.simd_lt(other)
    }
    #[inline(always)]
    fn up_to(self, other: Self) -> mask64x8<S> {
        self.simd_le(other)
    }
    #[inline(always)]
    fn same(self, other: Self) -> mask64x8<S> {
        self.simd_eq(other)
    }
    #[inline(always)]
    fn pick(mask: mask64x8<S>, yes: Self, no: Self) -> Self {
        mask.select(yes, no)
    }
    #[inline(always)]
    fn any(mask: mask64x8<S>) -> bool {
        mask.any_true()
    }
    #[inline(always)]
    fn bits(mask: mask64x8<S>) -> u64 {
        mask.to_bitmask()
    }
    #[inline(always)]
    fn add_at<const K: usize>(table: &mut [Self; K], row: Self, x: Self) {
        let zero = row.like(0.0);
        table[0] += Self::pick(row.same(zero), x, zero);
        if Self::any(zero.below(row)) {
            for (k, sum) in table.iter_mut().enumerate().skip(1) {
                *sum += Self::pick(row.same(row.like(k as f64)), x, zero);
            }
        }
    }
}

/// The lanes of a mask's bits that are set.
#[inline(always)]
pub(super) fn each(mut bits: u64, mut f: impl FnMut(usize)) {
    while bits != 0 {
        f(bits.trailing_zeros() as usize);
        bits &= bits - 1;
    }
}

/// A structure of numbers of which there is one for each lane; `f64` where nothing else is said.
macro_rules! by_lane {
    ($(#[$meta:meta])* $vis:vis struct $name:ident { $( $(#[$fmeta:meta])* $fvis:vis $field:ident: $kind:ty ),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        $vis struct $name<L = f64> { $( $(#[$fmeta])* $fvis $field: $kind ),+ }

        impl<L: $crate::ride::lanes::Lanes> $crate::ride::lanes::ByLane for $name<L> {
            type One = $name;
            #[inline(always)]
            fn lane(&self, i: usize) -> $name {
                $name { $( $field: self.$field.lane(i) ),+ }
            }
            #[inline(always)]
            fn put(&mut self, i: usize, one: &$name) {
                $( self.$field.put(i, &one.$field); )+
            }
        }

        impl<L: $crate::ride::lanes::Lanes> $name<L> {
            /// The same in all lanes.
            #[allow(dead_code)]
            #[inline(always)]
            pub(super) fn alike(unit: L::Unit, one: &$name) -> Self {
                $( let $field = <$kind as $crate::ride::lanes::Alike<L>>::alike(unit, &one.$field); )+
                Self { $( $field ),+ }
            }
        }

        impl<L: $crate::ride::lanes::Lanes> $crate::ride::lanes::Alike<L> for $name<L> {
            #[inline(always)]
            fn alike(unit: L::Unit, one: &$name) -> Self {
                Self::alike(unit, one)
            }
        }
    };
}
pub(super) use by_lane;

/// What can be made of one lane's value.
pub trait Alike<L: Lanes>: ByLane {
    /// The same in all lanes.
    fn alike(unit: L::Unit, one: &Self::One) -> Self;
}
impl<L: Lanes> Alike<L> for L {
    #[inline(always)]
    fn alike(unit: L::Unit, one: &f64) -> Self {
        L::all(unit, *one)
    }
}
impl<L: Lanes, const K: usize> Alike<L> for [L; K] {
    #[inline(always)]
    fn alike(unit: L::Unit, one: &[f64; K]) -> Self {
        one.map(|x| L::all(unit, x))
    }
}

/// Rows of a table for each lane, read anew only where a lane has come to another row.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rows<L, const K: usize> {
    at: L,
    values: [L; K],
}

impl<L: Lanes, const K: usize> Rows<L, K> {
    pub(super) fn new(unit: L::Unit) -> Self {
        Self { at: L::all(unit, -1.0), values: [L::all(unit, 0.0); K] }
    }

    /// The lane's table has changed.
    pub(super) fn forget(&mut self, lane: usize) {
        self.at.put(lane, &-1.0);
    }

    /// The row at a place for each lane.
    #[inline(always)]
    pub(super) fn at(&mut self, place: L, row: impl Fn(usize, usize) -> [f64; K]) -> [L; K] {
        let moved = !place.same(self.at);
        if L::any(moved) {
            self.at = place;
            each(L::bits(moved), |i| self.values.put(i, &row(i, place.lane(i) as usize)));
        }
        self.values
    }
}
