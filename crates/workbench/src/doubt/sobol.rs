//! Sobol points with nested (Owen) scrambling.
//!
//! Direction numbers by Joe and Kuo (2008, set D6), from the `sobol` crate. Each coordinate is scrambled by a hash of
//! its bits that leaves the net intact: a bit is flipped by what the bits above it say (Owen 1995; hash-based: Laine and
//! Karras 2011, Burley 2020, "Practical Hash-based Owen Scrambling", JCGT 9(4); constants from memory). Means of smooth
//! functions then come closer by n^-1.5 than the n^-1 of a plain digital shift, and every estimate is unbiased.

use ::sobol::Sobol;
use ::sobol::params::JoeKuoD6;

/// Bits of a coordinate. A point lies in the middle of its cell, so none is 0 or 1.
const BITS: usize = 32;
const CELLS: f64 = (1_u64 << BITS) as f64;

/// A scrambled sequence that can start anywhere.
#[derive(Clone, Debug)]
pub struct Sequence {
    directions: Vec<Vec<u32>>,
    keys: Vec<u32>,
}

impl Sequence {
    /// A sequence in so many dimensions; each seed scrambles it another way.
    ///
    /// # Panics
    /// Above 1,000 dimensions, for which there are no direction numbers.
    pub fn new(dimensions: usize, seed: u64) -> Self {
        let params = if dimensions <= 100 { JoeKuoD6::minimal() } else { JoeKuoD6::standard() };
        let directions = Sobol::<u32>::init_direction_vals::<u32>(dimensions, BITS, &params);
        let keys = (0..dimensions as u64).map(|d| (mix(mix(seed) ^ (d + 1)) >> 32) as u32).collect();
        Self { directions, keys }
    }

    /// Number of dimensions.
    pub const fn dimensions(&self) -> usize {
        self.keys.len()
    }

    /// Points from number `first` on, one after another, as many as `out` has room for.
    pub fn fill(&self, first: usize, out: &mut [f64]) {
        let dims = self.dimensions();
        if dims == 0 {
            return;
        }
        let gray = first ^ (first >> 1);
        let mut at: Vec<u32> =
            self.directions.iter().map(|v| (0..BITS).filter(|b| gray >> b & 1 == 1).fold(0, |x, b| x ^ v[b])).collect();
        for (k, point) in out.chunks_exact_mut(dims).enumerate() {
            let flips = (first + k + 1).trailing_zeros() as usize;
            for (((u, x), v), key) in point.iter_mut().zip(&mut at).zip(&self.directions).zip(&self.keys) {
                *u = (f64::from(scramble(*x, *key)) + 0.5) / CELLS;
                *x ^= v[flips.min(BITS - 1)];
            }
        }
    }
}

/// Flips each bit by a hash of the bits above it.
const fn scramble(x: u32, key: u32) -> u32 {
    let mut x = x.reverse_bits();
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
