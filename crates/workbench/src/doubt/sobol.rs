//! Sobol points with nested (Owen) scrambling.
//!
//! Direction numbers by Joe and Kuo (2008, set D6), from the `sobol` crate. Each coordinate is scrambled by a hash of
//! its bits that leaves the net intact: a bit is flipped by what the bits above it say (Owen 1995; hash-based: Laine and
//! Karras 2011, Burley 2020, "Practical Hash-based Owen Scrambling", JCGT 9(4); constants from memory). Means of smooth
//! functions then come closer by n^-1.5 than the n^-1 of a plain digital shift, and every estimate is unbiased.

use ::sobol::Sobol;
use ::sobol::params::JoeKuoD6;
use std::borrow::Cow;
use std::sync::LazyLock;

/// Bits of a coordinate. A point lies in the middle of its cell, so none is 0 or 1.
const BITS: usize = 32;
const CELLS: f64 = (1_u64 << BITS) as f64;

/// Points worked out side by side by [`Sequence::column`].
pub const LANES: usize = 64;

/// A scrambled sequence that can start anywhere.
#[derive(Clone, Debug)]
pub struct Sequence {
    axes: Vec<Axis>,
}

/// One dimension. All bits stand in reverse order, as the scrambling wants them.
#[derive(Clone, Debug)]
struct Axis {
    directions: [u32; BITS],
    /// The first points: point `first + k` is that of `first` with these flipped, when `first` is a multiple of [`LANES`].
    lanes: [u32; LANES],
    key: u32,
}

impl Axis {
    fn new(directions: &[u32], key: u32) -> Self {
        let mut reversed = [0; BITS];
        for (r, d) in reversed.iter_mut().zip(directions) {
            *r = d.reverse_bits();
        }
        let mut axis = Self { directions: reversed, lanes: [0; LANES], key };
        axis.lanes = core::array::from_fn(|k| axis.at(k));
        axis
    }

    /// The unscrambled coordinate of a point: its directions, by the Gray code of its number.
    fn at(&self, number: usize) -> u32 {
        let mut gray = number ^ (number >> 1);
        let mut x = 0;
        while gray != 0 {
            x ^= self.directions[gray.trailing_zeros() as usize];
            gray &= gray - 1;
        }
        x
    }
}

impl Sequence {
    /// A sequence in so many dimensions; each seed scrambles it another way.
    ///
    /// # Panics
    /// Above 1,000 dimensions, for which there are no direction numbers.
    pub fn new(dimensions: usize, seed: u64) -> Self {
        Self::along(&(0..dimensions).collect::<Vec<usize>>(), seed)
    }

    /// The coordinates of these numbers out of a sequence in many dimensions.
    ///
    /// # Panics
    /// For numbers from 1,000 on.
    pub fn along(axes: &[usize], seed: u64) -> Self {
        let all = directions(axes.iter().max().map_or(0, |most| most + 1));
        let axes = axes.iter().map(|&d| Axis::new(&all[d], (mix(mix(seed) ^ (d as u64 + 1)) >> 32) as u32)).collect();
        Self { axes }
    }

    /// Some of its dimensions.
    pub fn only(&self, dimensions: &[usize]) -> Self {
        Self { axes: dimensions.iter().map(|d| self.axes[*d].clone()).collect() }
    }

    /// Number of dimensions.
    pub const fn dimensions(&self) -> usize {
        self.axes.len()
    }

    /// Points from number `first` on, one after another, as many as `out` has room for.
    pub fn fill(&self, first: usize, out: &mut [f64]) {
        if self.axes.is_empty() {
            return;
        }
        for (k, point) in out.chunks_exact_mut(self.axes.len()).enumerate() {
            for (u, axis) in point.iter_mut().zip(&self.axes) {
                *u = inside(scramble(axis.at(first + k), axis.key));
            }
        }
    }

    /// One coordinate of the points from number `first` on, which is a multiple of [`LANES`].
    #[inline(always)]
    pub fn column(&self, dimension: usize, first: usize, out: &mut [f64; LANES]) {
        debug_assert_eq!(first % LANES, 0);
        let axis = &self.axes[dimension];
        let base = axis.at(first);
        for (u, lane) in out.iter_mut().zip(&axis.lanes) {
            *u = inside(scramble(base ^ lane, axis.key));
        }
    }
}

/// Direction numbers of the first so many dimensions.
fn directions(dimensions: usize) -> Cow<'static, [Vec<u32>]> {
    const OFTEN: usize = 512;
    static FIRST: LazyLock<Vec<Vec<u32>>> =
        LazyLock::new(|| Sobol::<u32>::init_direction_vals::<u32>(OFTEN, BITS, &JoeKuoD6::standard()));
    if dimensions <= OFTEN {
        return Cow::Borrowed(&FIRST);
    }
    Cow::Owned(Sobol::<u32>::init_direction_vals::<u32>(dimensions, BITS, &JoeKuoD6::standard()))
}

#[inline(always)]
fn inside(cell: u32) -> f64 {
    (f64::from(cell) + 0.5) / CELLS
}

/// Flips each bit by a hash of the bits above it. What goes in stands in reverse order, what comes out does not.
#[inline(always)]
const fn scramble(reversed: u32, key: u32) -> u32 {
    let mut x = reversed;
    x ^= x.wrapping_mul(0x3d20_adea);
    x = x.wrapping_add(key);
    x = x.wrapping_mul((key >> 16) | 1);
    x ^= x.wrapping_mul(0x0552_6c56);
    x ^= x.wrapping_mul(0x53a2_2864);
    x.reverse_bits()
}

/// SplitMix64 (Steele, Lea and Flood 2014).
pub(super) const fn mix(x: u64) -> u64 {
    let mut z = x.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
