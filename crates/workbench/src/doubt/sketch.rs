//! Quantiles of how full a link is, in a memory that does not grow with the number of draws.
//!
//! Bins on a logarithmic scale, 512 to the octave: each keeps its count and its fullest draw with its number. A quantile
//! is the fullest draw of its bin: a real draw, never below the exact quantile and at most 0.2 % above it.

/// Fullest draw of a bin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kept {
    /// How full.
    pub full: f64,
    /// Number of the draw.
    pub draw: u32,
}

/// Parts of an octave: the leading bits of the mantissa.
const PARTS_BITS: u32 = 9;
/// Lowest and highest exponent told apart: 1/16 to 16 times full.
const LOW: i64 = -4;
const HIGH: i64 = 4;
const BINS: usize = ((HIGH - LOW) as usize) << PARTS_BITS;

/// Fullest draw of a bin, its number, and how many fell into the bin.
type Bin = (f64, u32, u32);

/// Counts and fullest draws by bin; below the first bin, above the last one, and infinite ones have a bin each. Made of
/// zeros, so that memory is taken only where draws fall.
#[derive(Clone, Debug)]
pub struct Sketch {
    bins: Vec<Bin>,
    total: usize,
    failed: usize,
}

impl Default for Sketch {
    fn default() -> Self {
        Self { bins: vec![(0.0, 0, 0); BINS + 3], total: 0, failed: 0 }
    }
}

impl Sketch {
    /// Adds one draw. Draws come in the order of their numbers, so that equals keep the first.
    pub fn add(&mut self, full: f64, draw: u32) {
        // What cannot be told does not hold.
        let full = if full.is_nan() { f64::INFINITY } else { full };
        let (fullest, its_draw, count) = &mut self.bins[bin(full)];
        if *count == 0 || full > *fullest {
            (*fullest, *its_draw) = (full, draw);
        }
        *count += 1;
        self.total += 1;
        self.failed += usize::from(full > 1.0);
    }

    /// Draws added.
    pub const fn total(&self) -> usize {
        self.total
    }
    /// Draws fuller than 1.
    pub const fn failed(&self) -> usize {
        self.failed
    }

    /// The draw of which not more than `beyond` others are fuller.
    pub fn with_beyond(&self, beyond: usize) -> Option<Kept> {
        let mut above = 0;
        for (full, draw, count) in self.bins.iter().rev().copied() {
            above += count as usize;
            if above > beyond {
                return Some(Kept { full, draw });
            }
        }
        None
    }

    /// The draw below which that share of the draws lies.
    pub fn quantile(&self, share: f64) -> Option<Kept> {
        let beyond = ((1.0 - share) * self.total as f64).floor() as usize;
        self.with_beyond(beyond.min(self.total.saturating_sub(1)))
    }
}

fn bin(full: f64) -> usize {
    if full == f64::INFINITY {
        return BINS + 2;
    }
    if full < 2f64.powi(LOW as i32) {
        return 0;
    }
    let place = (full.to_bits() >> (52 - PARTS_BITS)) as i64 - ((1023 + LOW) << PARTS_BITS);
    (1 + place as usize).min(BINS + 1)
}

#[cfg(test)]
mod tests {
    use super::{BINS, Sketch, bin};

    #[test]
    fn bins_are_in_order_and_narrow() {
        let mut last = 0;
        for k in 0..20_000 {
            let x = 0.05 * 1.0003_f64.powi(k);
            let b = bin(x);
            assert!(b >= last);
            if b != 0 && b <= BINS {
                assert!(bin(x * 1.0000001).abs_diff(b) <= 1);
                assert!(bin(x * 1.002) > b, "{x}");
            }
            last = b;
        }
        assert_eq!(bin(0.0), 0);
        assert_eq!(bin(16.5), BINS + 1);
        assert_eq!(bin(f64::INFINITY), BINS + 2);
    }

    /// Against sorting, over all ranks.
    #[test]
    fn quantiles_are_those_of_sorting() {
        let all: Vec<f64> = (0..5000_u64).map(|k| super::super::sobol::mix(k) as f64 / 2f64.powi(62)).collect();
        let mut sketch = Sketch::default();
        for (k, x) in all.iter().enumerate() {
            sketch.add(*x, k as u32);
        }
        let mut sorted = all.clone();
        sorted.sort_by(|a, b| b.total_cmp(a));
        for beyond in [0, 4, 5, 50, 500, 2500, 4500] {
            let kept = sketch.with_beyond(beyond).unwrap();
            assert!(kept.full >= sorted[beyond] && kept.full <= sorted[beyond] * 1.002);
            assert_eq!(kept.full, all[kept.draw as usize]);
        }
        assert_eq!(sketch.failed(), all.iter().filter(|x| **x > 1.0).count());
        assert!(sketch.with_beyond(5000).is_none());
    }
}
