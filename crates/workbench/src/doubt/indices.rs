//! Which uncertain input causes how much of the doubt: Sobol's indices of groups of inputs.
//!
//! First-order and total index by Jansen's estimators (Jansen 1999; Saltelli et al. 2010, Computer Physics Communications
//! 181, 259–270, table 2 b and f): two independent halves A and B of one scrambled sequence, and A with one group taken
//! from B. The groups must not share a dimension.

use super::sobol::Sequence;
use rayon::prelude::*;

/// Indices of one group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Index {
    /// Share of the variance that goes away when the group becomes known, all else staying in doubt.
    pub first: f64,
    /// Share that stays when all else becomes known: with all joint effects.
    pub total: f64,
}

/// Indices of a function of the unit cube, and its variance.
#[derive(Clone, Debug, PartialEq)]
pub struct Indices {
    /// One for each group, in their order.
    pub groups: Vec<Index>,
    /// Variance of the function.
    pub variance: f64,
}

/// Works out the indices of `f`, with `count` points (a power of two is best) in each half. It is called
/// `count · (2 + groups)` times. The sums are taken in a fixed order.
pub fn indices(
    dimensions: usize,
    groups: &[Vec<usize>],
    count: usize,
    seed: u64,
    f: impl Fn(&[f64]) -> f64 + Sync,
) -> Indices {
    const CHUNK: usize = 128;
    let sequence = Sequence::new(2 * dimensions, seed);
    let width = 2 + groups.len();
    let mut values = vec![0.0; count * width];
    values.par_chunks_mut(CHUNK * width).enumerate().for_each(|(c, rows)| {
        let mut points = vec![0.0; rows.len() / width * 2 * dimensions];
        sequence.fill(c * CHUNK, &mut points);
        let mut mixed = vec![0.0; dimensions];
        for (row, point) in rows.chunks_exact_mut(width).zip(points.chunks_exact((2 * dimensions).max(1))) {
            let (a, b) = point.split_at(dimensions);
            row[0] = f(a);
            row[1] = f(b);
            for (g, group) in groups.iter().enumerate() {
                mixed.copy_from_slice(a);
                for d in group {
                    mixed[*d] = b[*d];
                }
                row[2 + g] = f(&mixed);
            }
        }
    });
    let n = count as f64;
    let mean = values.chunks_exact(width).map(|r| r[0] + r[1]).sum::<f64>() / (2.0 * n);
    let variance = values.chunks_exact(width).map(|r| (r[0] - mean).powi(2) + (r[1] - mean).powi(2)).sum::<f64>()
        / (2.0 * n - 1.0);
    let half_mean_square = |g: usize, with: usize| {
        values.chunks_exact(width).map(|r| (r[with] - r[2 + g]).powi(2)).sum::<f64>() / (2.0 * n)
    };
    let share = |x: f64| if variance > 0.0 { x / variance } else { 0.0 };
    let groups = (0..groups.len())
        .map(|g| Index { first: share(variance - half_mean_square(g, 1)), total: share(half_mean_square(g, 0)) })
        .collect();
    Indices { groups, variance }
}
