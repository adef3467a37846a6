//! Bad readings, named: a fit that a few of them cannot pull, then a test of each reading against the fit of the others.
//!
//! Tukey's biweight from a Huber start with the median absolute deviation as scale (Huber, *Robust Statistics*, 1981,
//! ch. 7; constants 1.345 and 4.685 for 95 % efficiency on normal noise). What it leaves far outside is set aside; each
//! reading set aside is then predicted from the rest and comes back unless its distance is beyond Student's quantile at
//! 1 % for all readings together (Bonferroni; Cook and Weisberg, *Residuals and Influence in Regression*, 1982, §2.2.2).

use super::{Guard, Model, Task, Unfit, information, levenberg, pull, slopes, sum_of_squares, two_sided};
use nalgebra::DMatrix;

/// Chance that a set of good readings loses one.
const FALSE_ALARM: f64 = 0.01;
const HUBER: f64 = 1.345;
const TUKEY: f64 = 4.685;

/// Weight one for readings that count, zero for those set aside.
pub(super) fn keep(n: usize, set_aside: &[usize]) -> Vec<f64> {
    (0..n).map(|i| if set_aside.contains(&i) { 0.0 } else { 1.0 }).collect()
}

/// Readings that do not belong to the others, and the unknowns that the robust fit found.
pub(super) fn bad_readings<M: Model>(task: &Task<'_, M>, start: &[f64]) -> Result<(Vec<usize>, Vec<f64>), Unfit> {
    let n = task.readings.len();
    let all = vec![1.0; n];
    let mut values = levenberg::search(task, start, &all)?;
    // Two readings to spare are the least that can tell which of them is bad.
    let spare = n as f64 - (task.unknowns.len() as f64 - task.priors.len() as f64).max(0.0);
    if spare < 2.0 || n < 4 {
        return Ok((Vec::new(), values));
    }
    for (constant, tukey) in [(HUBER, false), (TUKEY, true)] {
        for _ in 0..40 {
            let r = residuals(task, &values);
            let scale = scale_of(&r, task.unknowns.len());
            let weights: Vec<f64> = r.iter().map(|r| weight(r / scale, constant, tukey)).collect();
            // A biweight that lets go of almost everything has lost its way; what was found before stays.
            if weights.iter().filter(|w| **w > 0.0).count() < task.unknowns.len().min(n) {
                break;
            }
            let Ok(next) = levenberg::minimise(task, &values, &weights, 1.0) else { break };
            let moved = next
                .iter()
                .zip(&values)
                .zip(task.unknowns)
                .map(|((a, b), u)| (a - b).abs() / u.size.abs())
                .fold(0.0, f64::max);
            values = next;
            if moved < 1e-7 {
                break;
            }
        }
    }
    let r = residuals(task, &values);
    let scale = scale_of(&r, task.unknowns.len()).max(least(task));
    // Over its own room: a reading far out pulls the fit to itself and keeps little residual.
    let room = rooms(task, &values);
    let size = |i: usize| r[i].abs() / room[i];
    let mut aside: Vec<usize> = (0..n).filter(|i| size(*i) > 3.0 * scale).collect();
    aside.sort_by(|a, b| size(*a).total_cmp(&size(*b)));
    // No more than a third: where more disagrees, the model is wrong, not the readings.
    let most = n / 3;
    while aside.len() > most {
        aside.remove(0);
    }
    // The nearest comes back first, as long as the rest does not refuse it.
    while !aside.is_empty() {
        let weights = keep(n, &aside);
        let Ok(at) = levenberg::minimise(task, &values, &weights, 1.0) else { return Ok((Vec::new(), values)) };
        let Some((t, freedom)) = distances(task, &at, &weights) else { return Ok((Vec::new(), values)) };
        values = at;
        let limit = two_sided(1.0 - FALSE_ALARM / n as f64, freedom);
        let Some(place) = aside
            .iter()
            .enumerate()
            .min_by(|a, b| t[*a.1].abs().total_cmp(&t[*b.1].abs()))
            .filter(|(_, i)| t[**i].abs() <= limit)
            .map(|(place, _)| place)
        else {
            break;
        };
        aside.remove(place);
    }
    aside.sort_unstable();
    Ok((aside, values))
}

/// How much of its own error each reading keeps as residual: `√(1 − h)`.
fn rooms<M: Model>(task: &Task<'_, M>, values: &[f64]) -> Vec<f64> {
    let n = task.readings.len();
    let Some(covariance) = information(task, values, &vec![1.0; n], 1.0).try_inverse() else { return vec![1.0; n] };
    let j = slopes(task, values);
    (0..n).map(|i| (1.0 - pull(&j, &covariance, i)).max(0.04).sqrt()).collect()
}

/// Least noise, over the stated one, against which a reading is called bad.
fn least<M>(task: &Task<'_, M>) -> f64 {
    if task.guard == Guard::Promise { 1.0 } else { 1e-300 }
}

fn weight(u: f64, constant: f64, tukey: bool) -> f64 {
    let a = u.abs();
    if tukey {
        if a >= constant { 0.0 } else { (1.0 - (a / constant).powi(2)).powi(2) }
    } else if a <= constant {
        1.0
    } else {
        constant / a
    }
}

fn residuals<M: Model>(task: &Task<'_, M>, values: &[f64]) -> Vec<f64> {
    let mut predicted = vec![0.0; task.readings.len()];
    task.model.predict(values, &mut predicted);
    task.readings.iter().zip(&predicted).map(|(r, p)| (r.value - p) / r.sigma).collect()
}

/// Median absolute deviation as a standard deviation; the smallest residuals, as many as there are unknowns, are zero by
/// fitting and do not count.
fn scale_of(r: &[f64], unknowns: usize) -> f64 {
    let mut sizes: Vec<f64> = r.iter().map(|r| r.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let skip = unknowns.min(sizes.len().saturating_sub(2));
    let rest = &sizes[skip..];
    let middle = rest.len() / 2;
    let median = if rest.len() % 2 == 1 { rest[middle] } else { (rest[middle - 1] + rest[middle]) / 2.0 };
    // 1/Φ⁻¹(3/4). Never below a tenth of what the tools promise: rounded readings may agree by luck.
    (1.482_602_218_505_602 * median).max(0.1)
}

/// Distance of every reading from the fit of the readings that count, in its own deviation, and the freedom behind it.
fn distances<M: Model>(task: &Task<'_, M>, values: &[f64], weights: &[f64]) -> Option<(Vec<f64>, f64)> {
    let covariance = information(task, values, weights, 1.0).try_inverse()?;
    let j = slopes(task, values);
    let hats: f64 = (0..weights.len()).map(|i| weights[i] * pull(&j, &covariance, i)).sum();
    let freedom = weights.iter().sum::<f64>() - hats;
    if freedom < 1.0 {
        return None;
    }
    let noise = (sum_of_squares(task, values, weights) / freedom).sqrt();
    // Against a promise that the scatter does not exceed, nothing has to be estimated.
    let (noise, freedom) = if noise < least(task) { (least(task), f64::INFINITY) } else { (noise, freedom) };
    Some((studentised(task, values, weights, noise, &(covariance * (noise * noise))), freedom))
}

/// Residual over its own standard deviation. A reading that counts is compared with the fit without it (externally, by
/// the noise as judged), one set aside with the fit that never saw it.
pub(super) fn studentised<M: Model>(
    task: &Task<'_, M>,
    values: &[f64],
    weights: &[f64],
    noise: f64,
    covariance: &DMatrix<f64>,
) -> Vec<f64> {
    let j = slopes(task, values);
    residuals(task, values)
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let h = pull(&j, covariance, i) / (noise * noise);
            let room = if weights[i] > 0.0 { 1.0 - h } else { 1.0 + h };
            // A reading that alone fixes an unknown has no residual of its own.
            if room > 1e-9 { r / (noise * room.sqrt()) } else { 0.0 }
        })
        .collect()
}
