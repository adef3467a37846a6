//! Rolling and air from coasting: the energy that was lost over each stretch of some seconds.
//!
//! `½·m_e·(v₀² − v₁²) + m·g·(h₀ − h₁) = C_rr·m·g·d + ½·ρ·CdA·∫v³ dt + F_hub·d`, over d as force. `m_e` counts the wheels'
//! inertia and, with a locked hub, the rotor's. Source: Martin et al., *Validation of a mathematical model for road
//! cycling power*, J. Appl. Biomech. 14 (1998) 276–291 (energy form: own). Left out: wind (rides both ways cancel
//! most of it), bends.

use super::ride::Coast;
use crate::fit::{Fit, Guard, Noise, Reading, Task, Unfit, Unknown, fit};

/// What is known of the bike while it coasts, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rolling {
    /// All-up mass, kg, with its standard deviation.
    pub mass: (f64, f64),
    /// Mass plus what wheels and rotor add to it when speed changes, kg.
    pub moving_mass: f64,
    /// Force of a locked hub's drag at the tyre, N: constant, and per m/s; with the relative deviation of both.
    pub hub: (f64, f64, f64),
    /// Density of the air, kg/m³.
    pub air: f64,
}

/// Rolling resistance and drag area with half of their 95 % intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoadFit {
    /// Rolling resistance.
    pub rolling: f64,
    /// Half of its interval.
    pub rolling_half: f64,
    /// Drag area, m².
    pub drag_area: f64,
    /// Half of its interval, m².
    pub drag_area_half: f64,
    /// Stretches used.
    pub used: usize,
    /// Stretches set aside as not belonging to the others (wind, hand brakes).
    pub set_aside: usize,
}

/// Why rolling and air cannot be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoRoadFit {
    /// Too little coasting.
    TooLittle,
    /// No heights in the log.
    NoHeights,
    /// The speeds are too alike to part rolling from air.
    OneSpeed,
}

impl NoRoadFit {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::TooLittle => "too-little",
            Self::NoHeights => "no-heights",
            Self::OneSpeed => "one-speed",
        }
    }
}

const GRAVITY: f64 = 9.806_65;
/// Fewest stretches of coasting.
const FEWEST: usize = 12;
/// Most that are fitted; more are thinned evenly.
const MOST: usize = 3000;
/// Fastest over slowest stretch (5th to 95th of a hundred) below which rolling and air look alike.
const APART: f64 = 1.35;

/// Fits. `flat` says that the road was flat where the log has no heights.
///
/// # Errors
/// [`NoRoadFit`] where the ride does not tell.
pub fn road_fit(coasts: &[Coast], known: &Rolling, flat: bool) -> Result<RoadFit, NoRoadFit> {
    let every = coasts.len().div_ceil(MOST).max(1);
    let mut used: Vec<Coast> = coasts.iter().step_by(every).copied().collect();
    if coasts.len() < FEWEST {
        return Err(NoRoadFit::TooLittle);
    }
    if flat {
        used.iter_mut().filter(|c| !c.dropped.is_finite()).for_each(|c| c.dropped = 0.0);
    }
    used.retain(|c| c.dropped.is_finite() && c.kinetic.is_finite());
    if used.len() < FEWEST {
        return Err(NoRoadFit::NoHeights);
    }
    let mut speeds: Vec<f64> = used.iter().map(|c| c.speed).collect();
    speeds.sort_by(f64::total_cmp);
    let at = |share: f64| speeds[((speeds.len() - 1) as f64 * share) as usize];
    if at(0.95) < APART * at(0.05) {
        return Err(NoRoadFit::OneSpeed);
    }
    let result = solve(&used, known).map_err(|_| NoRoadFit::TooLittle)?;
    // Everything over mass scales with it, and the hub's drag is taken off as the job knows it.
    let share = known.mass.1 / known.mass.0;
    let hub_doubt = 1.96 * known.hub.2 * known.hub.0 / (known.mass.0 * GRAVITY);
    let air_doubt = 1.96 * known.hub.2 * known.hub.1 / at(0.5) / (0.5 * known.air);
    Ok(RoadFit {
        rolling: result.values[0],
        rolling_half: (result.half_interval(0).powi(2) + hub_doubt.powi(2)).sqrt(),
        drag_area: result.values[1],
        drag_area_half: (result.half_interval(1).powi(2)
            + (1.96 * share * result.values[1]).powi(2)
            + air_doubt.powi(2))
        .sqrt(),
        used: used.len() - result.set_aside.len(),
        set_aside: result.set_aside.len(),
    })
}

fn solve(coasts: &[Coast], known: &Rolling) -> Result<Fit, Unfit> {
    let weight = known.mass.0 * GRAVITY;
    let readings: Vec<Reading> = coasts
        .iter()
        .map(|c| {
            let lost = known.moving_mass * c.kinetic + weight * c.dropped;
            let hub = known.hub.0 + known.hub.1 * c.speed;
            Reading { value: lost / c.distance - hub, sigma: 1.0 }
        })
        .collect();
    let model = |u: &[f64], out: &mut [f64]| {
        for (o, c) in out.iter_mut().zip(coasts) {
            *o = u[0] * weight + u[1] * 0.5 * known.air * c.cubes / c.distance;
        }
    };
    fit(&Task {
        model: &model,
        readings: &readings,
        unknowns: &[Unknown { start: 0.01, size: 0.01 }, Unknown { start: 0.6, size: 0.6 }],
        priors: &[],
        noise: Noise::FromResiduals,
        guard: Guard::Scatter,
    })
}
