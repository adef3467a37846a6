//! Least squares for a handful of unknowns: what the readings say, how well, which reading is bad, and what they cannot
//! tell at all.
//!
//! The minimiser is MINPACK's Levenberg–Marquardt (crate `levenberg-marquardt`). Around it:
//! - a reading that does not belong to the others is *named and set aside*, never averaged in (`robust`);
//! - what was known before (a job's own value, a tool's gain) enters as a [`Prior`] that the noise does not scale;
//! - the covariance is scaled by the noise that the readings show;
//! - directions of the unknowns that the readings leave open are found from the singular values of the scaled
//!   derivatives (`identify`).

mod identify;
mod levenberg;
mod robust;

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

pub use identify::Open;

/// What predicts the readings from the unknowns.
pub trait Model {
    /// Writes one prediction for each reading, in the order of the readings. A value that is not finite says that these
    /// unknowns are impossible.
    fn predict(&self, unknowns: &[f64], out: &mut [f64]);
}

impl<F: Fn(&[f64], &mut [f64])> Model for F {
    fn predict(&self, unknowns: &[f64], out: &mut [f64]) {
        self(unknowns, out);
    }
}

/// One reading: its value and its stated standard deviation, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub value: f64,
    /// Standard deviation of one such reading.
    pub sigma: f64,
}

/// What is known of an unknown before any reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Which unknown.
    pub unknown: usize,
    /// Its value.
    pub value: f64,
    /// Its standard deviation.
    pub sigma: f64,
    /// Whether it counts as part of the measurement (a tool's gain) when asking what the readings tell.
    pub instrument: bool,
}

/// One unknown: where to start, and a size against which steps and doubts are counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unknown {
    /// First guess.
    pub start: f64,
    /// Usual size; never zero.
    pub size: f64,
}

/// How the noise of the readings is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Noise {
    /// From the residuals alone; the stated deviations are only weights.
    FromResiduals,
    /// As stated; as the residuals show where they show more than chance allows (1 in 20), never less.
    AtLeastStated,
}

/// From where on a reading counts as bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guard {
    /// Never; all are used.
    Off,
    /// Beyond what the others' scatter allows.
    Scatter,
    /// Beyond that, and beyond what its own stated deviation allows: a reading within its promise is never bad.
    Promise,
}

/// Everything that a fit is made of.
#[derive(Clone, Debug)]
pub struct Task<'a, M> {
    /// The model.
    pub model: &'a M,
    /// The readings.
    pub readings: &'a [Reading],
    /// The unknowns.
    pub unknowns: &'a [Unknown],
    /// What is known before.
    pub priors: &'a [Prior],
    /// How the noise is judged.
    pub noise: Noise,
    /// Whether bad readings are looked for and set aside.
    pub guard: Guard,
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// Fewer readings (with priors) than unknowns.
    TooFew {
        /// Readings and priors.
        rows: usize,
        /// Unknowns.
        unknowns: usize,
    },
    /// The minimiser found no way down; its own reason.
    NoMinimum(String),
    /// The readings leave a direction open, and no prior closes it.
    Singular,
}

/// What came out.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Values of the unknowns.
    pub values: Vec<f64>,
    covariance: DMatrix<f64>,
    /// Observed over stated standard deviation of the readings that count.
    pub noise: f64,
    /// Degrees of freedom that the noise was judged from.
    pub freedom: f64,
    /// Sum of squared residuals in stated deviations, over readings that count.
    pub squares: f64,
    /// Prediction for each reading.
    pub predicted: Vec<f64>,
    /// Studentised residual of each reading: against the fit of the *others*, in its own standard deviation.
    pub studentised: Vec<f64>,
    /// Readings set aside as bad.
    pub set_aside: Vec<usize>,
    /// Directions that the readings alone (with their instruments) leave open.
    pub open: Vec<Open>,
    quantile: f64,
}

impl Fit {
    /// Standard deviation of an unknown.
    pub fn deviation(&self, unknown: usize) -> f64 {
        self.covariance[(unknown, unknown)].max(0.0).sqrt()
    }
    /// Covariance of two unknowns.
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        self.covariance[(a, b)]
    }
    /// Half of the 95 % interval of an unknown.
    pub fn half_interval(&self, unknown: usize) -> f64 {
        self.quantile * self.deviation(unknown)
    }
    /// Half of the 95 % interval over the standard deviation.
    pub const fn quantile(&self) -> f64 {
        self.quantile
    }
}

/// Two-sided 95 % quantile: of Student's distribution, or of the normal one when `freedom` is infinite.
pub fn two_sided(level: f64, freedom: f64) -> f64 {
    let p = 1.0 - (1.0 - level) / 2.0;
    if freedom.is_finite() && freedom < 1e6 {
        StudentsT::new(0.0, 1.0, freedom.max(0.5)).map_or(f64::INFINITY, |t| t.inverse_cdf(p))
    } else {
        Normal::standard().inverse_cdf(p)
    }
}

/// Fits.
///
/// # Errors
/// [`Unfit`] when there are too few readings, no minimum, or a direction that nothing closes.
pub fn fit<M: Model>(task: &Task<'_, M>) -> Result<Fit, Unfit> {
    let rows = task.readings.len() + task.priors.len();
    if rows < task.unknowns.len() || task.readings.is_empty() {
        return Err(Unfit::TooFew { rows, unknowns: task.unknowns.len() });
    }
    let start: Vec<f64> = task.unknowns.iter().map(|u| u.start).collect();
    let (set_aside, near) = if task.guard != Guard::Off {
        robust::bad_readings(task, &start)?
    } else {
        (Vec::new(), levenberg::search(task, &start, &robust::keep(task.readings.len(), &[]))?)
    };
    let weights = robust::keep(task.readings.len(), &set_aside);
    finish(task, &near, &weights, set_aside)
}

/// Directions that the readings (with their instruments) would leave open at these values, without fitting.
pub fn open_at<M: Model>(task: &Task<'_, M>, values: &[f64]) -> Vec<Open> {
    identify::open_directions(task, values, &robust::keep(task.readings.len(), &[]))
}

/// Ordinary least squares over the readings of non-zero weight, with the noise judged in rounds: priors keep their own.
fn finish<M: Model>(task: &Task<'_, M>, near: &[f64], weights: &[f64], set_aside: Vec<usize>) -> Result<Fit, Unfit> {
    let mut noise = 1.0;
    let mut values = near.to_vec();
    let mut freedom = 0.0;
    let mut squares = 0.0;
    // With priors the values themselves depend on the noise; it settles within a few rounds.
    let rounds = if task.priors.is_empty() { 1 } else { 6 };
    for _ in 0..rounds {
        values = levenberg::minimise(task, &values, weights, noise)?;
        let hats = leverages(task, &values, weights, noise)?;
        let kept = weights.iter().filter(|w| **w > 0.0).count() as f64;
        freedom = (kept - hats.iter().sum::<f64>()).max(0.0);
        squares = sum_of_squares(task, &values, weights);
        noise = match task.noise {
            _ if freedom < 0.5 => 1.0,
            Noise::FromResiduals => (squares / freedom).sqrt().max(1e-12),
            Noise::AtLeastStated if beyond_chance(squares, freedom) => (squares / freedom).sqrt(),
            Noise::AtLeastStated => 1.0,
        };
    }
    let covariance = information(task, &values, weights, noise).try_inverse().ok_or(Unfit::Singular)?;
    let quantile = match task.noise {
        Noise::FromResiduals if freedom >= 0.5 => two_sided(0.95, freedom),
        Noise::AtLeastStated if noise > 1.0 => two_sided(0.95, freedom),
        _ => two_sided(0.95, f64::INFINITY),
    };
    let mut predicted = vec![0.0; task.readings.len()];
    task.model.predict(&values, &mut predicted);
    let studentised = robust::studentised(task, &values, weights, noise, &covariance);
    let open = identify::open_directions(task, &values, weights);
    Ok(Fit { values, covariance, noise, freedom, squares, predicted, studentised, set_aside, open, quantile })
}

/// Whether residuals are larger than the stated deviations let them be, 19 times in 20.
fn beyond_chance(squares: f64, freedom: f64) -> bool {
    ChiSquared::new(freedom).is_ok_and(|chi| squares > chi.inverse_cdf(0.95))
}

fn sum_of_squares<M: Model>(task: &Task<'_, M>, values: &[f64], weights: &[f64]) -> f64 {
    let mut predicted = vec![0.0; task.readings.len()];
    task.model.predict(values, &mut predicted);
    task.readings.iter().zip(&predicted).zip(weights).map(|((r, p), w)| w * ((r.value - p) / r.sigma).powi(2)).sum()
}

/// Derivatives of the predictions over the stated deviations: one row a reading.
fn slopes<M: Model>(task: &Task<'_, M>, values: &[f64]) -> DMatrix<f64> {
    let n = task.readings.len();
    let mut out = DMatrix::zeros(n, values.len());
    let mut at = values.to_vec();
    let mut four = [vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]];
    for (j, u) in task.unknowns.iter().enumerate() {
        // Five-point stencil: truncation h⁴ and rounding ε/h balance near ε^(1/5).
        let h = 7e-4 * values[j].abs().max(1e-3 * u.size.abs());
        for (out, k) in four.iter_mut().zip([-2.0, -1.0, 1.0, 2.0]) {
            at[j] = values[j] + k * h;
            task.model.predict(&at, out);
        }
        at[j] = values[j];
        for i in 0..n {
            let d = (four[0][i] - 8.0 * four[1][i] + 8.0 * four[2][i] - four[3][i]) / (12.0 * h);
            out[(i, j)] = d / task.readings[i].sigma;
        }
    }
    out
}

/// Normal matrix of readings (scaled by the noise) and priors.
fn information<M: Model>(task: &Task<'_, M>, values: &[f64], weights: &[f64], noise: f64) -> DMatrix<f64> {
    let mut j = slopes(task, values);
    for (i, w) in weights.iter().enumerate() {
        j.row_mut(i).scale_mut(w.sqrt() / noise);
    }
    let mut m = j.transpose() * &j;
    for p in task.priors {
        m[(p.unknown, p.unknown)] += 1.0 / (p.sigma * p.sigma);
    }
    m
}

/// How much each reading pulls its own prediction, 0 to 1.
fn leverages<M: Model>(task: &Task<'_, M>, values: &[f64], weights: &[f64], noise: f64) -> Result<Vec<f64>, Unfit> {
    let covariance = information(task, values, weights, noise).try_inverse().ok_or(Unfit::Singular)?;
    let j = slopes(task, values);
    Ok((0..task.readings.len()).map(|i| weights[i] * pull(&j, &covariance, i) / (noise * noise)).collect())
}

/// Variance of a prediction over the stated variance of its reading.
fn pull(slopes: &DMatrix<f64>, covariance: &DMatrix<f64>, i: usize) -> f64 {
    let row: DVector<f64> = slopes.row(i).transpose();
    (row.transpose() * covariance * &row)[(0, 0)]
}
