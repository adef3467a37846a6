//! The minimiser: residuals of readings and priors handed to MINPACK's algorithm.

use super::{Model, Task, Unfit, slopes};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::{DMatrix, DVector, Dyn, VecStorage};

struct Problem<'t, 'a, M> {
    task: &'t Task<'a, M>,
    weights: &'t [f64],
    noise: f64,
    at: DVector<f64>,
}

impl<M: Model> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, '_, M> {
    type ResidualStorage = VecStorage<f64, Dyn, nalgebra::U1>;
    type JacobianStorage = VecStorage<f64, Dyn, Dyn>;
    type ParameterStorage = VecStorage<f64, Dyn, nalgebra::U1>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.at.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.at.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let (readings, priors) = (self.task.readings, self.task.priors);
        let mut predicted = vec![0.0; readings.len()];
        self.task.model.predict(self.at.as_slice(), &mut predicted);
        let mut out = DVector::zeros(readings.len() + priors.len());
        for (i, (r, p)) in readings.iter().zip(&predicted).enumerate() {
            out[i] = self.weights[i].sqrt() * (p - r.value) / (r.sigma * self.noise);
        }
        for (k, p) in priors.iter().enumerate() {
            out[readings.len() + k] = (self.at[p.unknown] - p.value) / p.sigma;
        }
        out.iter().all(|r| r.is_finite()).then_some(out)
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let (n, priors) = (self.task.readings.len(), self.task.priors);
        let top = slopes(self.task, self.at.as_slice());
        let mut out = DMatrix::zeros(n + priors.len(), self.at.len());
        for i in 0..n {
            let scale = self.weights[i].sqrt() / self.noise;
            for j in 0..self.at.len() {
                out[(i, j)] = scale * top[(i, j)];
            }
        }
        for (k, p) in priors.iter().enumerate() {
            out[(n + k, p.unknown)] = 1.0 / p.sigma;
        }
        out.iter().all(|d| d.is_finite()).then_some(out)
    }
}

/// First steps tried from far away, as a multiple of the scaled unknowns (MINPACK's `factor`, 0.1 to 100).
const FIRST_STEPS: [f64; 3] = [100.0, 1.0, 0.1];

/// Least squares from a start far away: the best of several first steps, since a long one may jump out of the valley.
pub(super) fn search<M: Model>(task: &Task<'_, M>, start: &[f64], weights: &[f64]) -> Result<Vec<f64>, Unfit> {
    let mut best: Option<(f64, Vec<f64>)> = None;
    let mut failed = Unfit::NoMinimum(String::new());
    for step in FIRST_STEPS {
        match descend(task, start, weights, 1.0, step) {
            Ok((squares, at)) if best.as_ref().is_none_or(|b| squares < b.0) => best = Some((squares, at)),
            Ok(_) => {}
            Err(e) => failed = e,
        }
    }
    best.map(|b| b.1).ok_or(failed)
}

/// Least squares from a start nearby; weights multiply the squares of the readings.
pub(super) fn minimise<M: Model>(
    task: &Task<'_, M>,
    start: &[f64],
    weights: &[f64],
    noise: f64,
) -> Result<Vec<f64>, Unfit> {
    descend(task, start, weights, noise, 1.0).map(|d| d.1)
}

fn descend<M: Model>(
    task: &Task<'_, M>,
    start: &[f64],
    weights: &[f64],
    noise: f64,
    first_step: f64,
) -> Result<(f64, Vec<f64>), Unfit> {
    let at = DVector::from_column_slice(start);
    let problem = Problem { task, weights, noise, at };
    let (done, report) = LevenbergMarquardt::new().with_patience(500).with_stepbound(first_step).minimize(problem);
    let arrived = match report.termination {
        // Running out of rounding is arriving: nothing smaller can be seen.
        TerminationReason::NoImprovementPossible(_) => true,
        ref other => other.was_successful(),
    };
    if arrived && done.at.iter().all(|x| x.is_finite()) {
        Ok((report.objective_function, done.at.as_slice().to_vec()))
    } else {
        Err(Unfit::NoMinimum(format!("{:?}", report.termination)))
    }
}
