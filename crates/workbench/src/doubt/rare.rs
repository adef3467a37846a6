//! Chances too small to be counted: importance sampling about the most likely way to fail.
//!
//! In standard normal space the draws that fill a link most point to where it fails. The sampling is moved there, and
//! each draw is weighted by how likely it really is (Melchers 1989; Ditlevsen and Madsen, Structural Reliability Methods,
//! section 9). Unbiased as long as every way to fail can be reached; with several far apart, the scatter shows it.

use super::{Sequence, normal_quantile, normal_share};
use rayon::prelude::*;

/// A chance with its scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rare {
    /// The chance.
    pub chance: f64,
    /// Standard error of it.
    pub error: f64,
    /// One-sided 95 % bound of it.
    pub at_most: f64,
    /// Distance of the nearest way to fail from the middle, in standard deviations.
    pub distance: f64,
}

const CHUNK: usize = 128;
/// Share of the search's draws whose mean points to failure, one in so many.
const POINTING: usize = 64;

/// Chance that `f`, a function of the unit cube, is above 1; none where no way to fail is found within ten standard
/// deviations. `f` is called about `2 · count` times.
pub fn chance(dimensions: usize, count: usize, seed: u64, f: impl Fn(&[f64]) -> f64 + Sync) -> Option<Rare> {
    if dimensions == 0 {
        return None;
    }
    let search = Sequence::new(dimensions, seed);
    let mut points = vec![0.0; count * dimensions];
    search.fill(0, &mut points);
    let full: Vec<f64> = points.par_chunks(dimensions).map(&f).collect();
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|a, b| full[*b].total_cmp(&full[*a]).then(a.cmp(b)));
    let mut way = vec![0.0; dimensions];
    for k in order.iter().take((count / POINTING).max(8)) {
        for (w, u) in way.iter_mut().zip(&points[k * dimensions..]) {
            *w += normal_quantile(*u);
        }
    }
    let length = libm::sqrt(way.iter().map(|w| w * w).sum());
    way.iter_mut().for_each(|w| *w /= length);
    let at = |distance: f64| -> f64 {
        let u: Vec<f64> = way.iter().map(|w| inside(w * distance)).collect();
        f(&u)
    };
    // First crossing along the way.
    let far = (1..=40).map(|k| 0.25 * f64::from(k)).find(|d| at(*d) > 1.0)?;
    let (mut low, mut high) = (far - 0.25, far);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if at(middle) > 1.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    let distance = high;
    let moved: Vec<f64> = way.iter().map(|w| w * distance).collect();
    let sampler = Sequence::new(dimensions, seed ^ 0x5EED);
    let mut weights = vec![0.0; count];
    weights.par_chunks_mut(CHUNK).enumerate().for_each(|(c, weights)| {
        let mut points = vec![0.0; weights.len() * dimensions];
        sampler.fill(c * CHUNK, &mut points);
        for (weight, point) in weights.iter_mut().zip(points.chunks_exact_mut(dimensions)) {
            let mut along = 0.0;
            for (u, m) in point.iter_mut().zip(&moved) {
                let z = normal_quantile(*u) + m;
                along += z * m;
                *u = inside(z);
            }
            if f(point) > 1.0 {
                *weight = libm::exp(0.5 * distance * distance - along);
            }
        }
    });
    let n = count as f64;
    let chance = weights.iter().sum::<f64>() / n;
    let error = libm::sqrt(weights.iter().map(|w| (w - chance).powi(2)).sum::<f64>() / (n * (n - 1.0)));
    Some(Rare { chance, error, at_most: (chance + 1.644_853_626_951_472_2 * error).min(1.0), distance })
}

/// Share below `z`, kept off 0 and 1.
fn inside(z: f64) -> f64 {
    normal_share(z).clamp(1e-300, 1.0 - f64::EPSILON / 2.0)
}
