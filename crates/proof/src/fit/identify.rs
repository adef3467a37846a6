//! What the readings cannot tell: directions of the unknowns along which the predictions hardly change.

use super::{Model, Task, slopes};
use nalgebra::DMatrix;

/// A direction that is known to less than its own size.
#[derive(Clone, Debug, PartialEq)]
pub struct Open {
    /// Unknowns that trade against one another, with their part of the direction, largest first.
    pub unknowns: Vec<(usize, f64)>,
    /// Standard deviation along it, over the usual size; infinite where nothing was measured.
    pub doubt: f64,
}

/// Standard deviation over the usual size from which on a direction counts as not known: the 95 % interval then covers
/// everything from nothing to twice the usual size.
const UNKNOWN_FROM: f64 = 0.5;

/// Singular values of the scaled derivatives: rows over the stated deviations, columns times the usual sizes.
pub(super) fn open_directions<M: Model>(task: &Task<'_, M>, values: &[f64], weights: &[f64]) -> Vec<Open> {
    let n = task.readings.len();
    let instruments: Vec<_> = task.priors.iter().filter(|p| p.instrument).collect();
    let p = values.len();
    let top = slopes(task, values);
    // Empty rows below, so that the decomposition shows every direction of the unknowns.
    let mut j = DMatrix::zeros((n + instruments.len()).max(p), p);
    for c in 0..p {
        let size = task.unknowns[c].size.abs();
        for i in 0..n {
            j[(i, c)] = weights[i].sqrt() * top[(i, c)] * size;
        }
        for (k, prior) in instruments.iter().enumerate() {
            if prior.unknown == c {
                j[(n + k, c)] = size / prior.sigma;
            }
        }
    }
    if !j.iter().all(|x| x.is_finite()) {
        return Vec::new();
    }
    let svd = j.svd(false, true);
    let Some(vt) = svd.v_t else { return Vec::new() };
    let largest = svd.singular_values.max();
    let mut out = Vec::new();
    for (k, s) in svd.singular_values.iter().enumerate() {
        let doubt = if *s <= 1e-9 * largest { f64::INFINITY } else { 1.0 / s };
        if doubt <= UNKNOWN_FROM {
            continue;
        }
        let row: Vec<f64> = vt.row(k).iter().copied().collect();
        let most = row.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        let mut unknowns: Vec<(usize, f64)> =
            row.iter().copied().enumerate().filter(|(_, x)| x.abs() > 0.2 * most).collect();
        unknowns.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        out.push(Open { unknowns, doubt });
    }
    out
}
