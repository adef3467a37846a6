//! What drifts: straight lines by least squares over the distance, each with its 95 % interval (Student), together at 5 %
//! (Bonferroni).

use super::{Card, Logged};
use crate::fit::two_sided;

/// What drifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drift {
    /// Torque at which the left nut first moves.
    LeftNut,
    /// The right one.
    RightNut,
    /// Backward pull.
    Pull,
    /// Braking torque per ampere.
    PerAmpere,
}

impl Drift {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::LeftNut => "left-nut",
            Self::RightNut => "right-nut",
            Self::Pull => "pull",
            Self::PerAmpere => "per-ampere",
        }
    }
    /// Unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::LeftNut | Self::RightNut => "N·m",
            Self::Pull => "N",
            Self::PerAmpere => "N·m/A",
        }
    }
}

/// A straight line through readings over the distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Of what.
    pub of: Drift,
    /// First and last reading.
    pub ends: (f64, f64),
    /// Change over the whole distance.
    pub change: f64,
    /// Half of its interval, for all trends together at 5 %; infinite with two readings.
    pub half: f64,
    /// Readings.
    pub readings: usize,
    /// Whether the change is more than its doubt.
    pub sure: bool,
}

pub(super) fn trends(cards: &[&Card], logs: &[Logged]) -> Vec<Trend> {
    let over = |f: &dyn Fn(&Card) -> Option<f64>| -> Vec<(f64, f64)> {
        cards.iter().filter_map(|c| Some((c.odometer, f(c)?))).collect()
    };
    let mut ridden = 0.0;
    let per_ampere: Vec<(f64, f64)> = logs
        .iter()
        .filter_map(|l| {
            ridden += l.distance;
            Some((ridden, l.per_ampere?.0))
        })
        .collect();
    let all = [
        (Drift::LeftNut, over(&|c| c.nuts[0])),
        (Drift::RightNut, over(&|c| c.nuts[1])),
        (Drift::Pull, over(&|c| c.pull.map(|p| p.0))),
        (Drift::PerAmpere, per_ampere),
    ];
    let count = all.iter().filter(|(_, p)| p.len() >= 3).count().max(1);
    all.into_iter().filter_map(|(of, points)| line(of, &points, count)).collect()
}

fn line(of: Drift, points: &[(f64, f64)], count: usize) -> Option<Trend> {
    let (first, last) = (points.first()?, points.last()?);
    let n = points.len() as f64;
    let span = last.0 - first.0;
    if points.len() < 2 || span <= 0.0 {
        return None;
    }
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = points.iter().map(|p| (p.0 - mx).powi(2)).sum();
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>() / sxx;
    let left: f64 = points.iter().map(|p| (p.1 - my - slope * (p.0 - mx)).powi(2)).sum();
    let half = if points.len() > 2 {
        let sigma = (left / (n - 2.0) / sxx).sqrt();
        two_sided(1.0 - 0.05 / count as f64, n - 2.0) * sigma * span
    } else {
        f64::INFINITY
    };
    let change = slope * span;
    // Readings that happen to lie on a line are no better than a hundredth of their size.
    let half = half.max(0.01 * my.abs());
    Some(Trend { of, ends: (first.1, last.1), change, half, readings: points.len(), sure: change.abs() > half })
}
