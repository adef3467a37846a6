//! What a job says of the hub before the bench does, and what goes back into the job afterwards.

use super::layout::{Hub, Known, Quantity};
use super::{Basis, BenchFit};
use physics::motor::Commutation;
use workbench::fact::{Distribution, FactId, list};
use workbench::job::Job;

/// A counted fact without which nothing can be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Missing(pub FactId);

/// Standard deviation of a distribution, in SI.
pub(crate) fn deviation(value: f64, spread: Distribution) -> f64 {
    match spread {
        Distribution::Exact => 0.0,
        Distribution::Normal { sigma } => sigma,
        Distribution::LogNormal { sigma_ln } => sigma_ln * value.abs(),
        Distribution::Uniform { low, high } => (high - low) / 12f64.sqrt(),
    }
}

/// The hub as the job counts it.
///
/// # Errors
/// [`Missing`] for reduction, pole pairs or wheel radius.
pub fn hub(job: &Job) -> Result<Hub, Missing> {
    let get = |id: FactId| job.fact(id).ok_or(Missing(id));
    let block = job.answer(list::COMMUTATION.id()) == Some("block");
    let commutation = if block { Commutation::Block } else { Commutation::Sine };
    let radius = get(list::WHEEL_RADIUS.id())?;
    // Torque and copper factors of physics::motor, read off its own documented values.
    let (torque_factor, copper_factor) = match commutation {
        Commutation::Sine => (1.5, 1.5),
        Commutation::Block => (3.0 * 3f64.sqrt() / core::f64::consts::PI, 2.0),
    };
    Ok(Hub {
        reduction: get(list::REDUCTION.id())?.value,
        pole_pairs: get(list::POLE_PAIRS.id())?.value,
        radius: radius.value,
        radius_sigma: deviation(radius.value, radius.spread),
        torque_factor,
        copper_factor,
        amplitude: if job.answer(list::CURRENT_MEANS.id()) == Some("rms") { 2f64.sqrt() } else { 1.0 },
    })
}

/// Facts of the job that the bench can replace.
const FACTS: [(Quantity, FactId); 6] = [
    (Quantity::Resistance, list::RESISTANCE.id()),
    (Quantity::Flux, list::FLUX.id()),
    (Quantity::DragConstant, list::DRAG_CONSTANT.id()),
    (Quantity::DragPerSpeed, list::DRAG_PER_SPEED.id()),
    (Quantity::Efficiency, list::GEAR_EFFICIENCY.id()),
    (Quantity::Droop, list::DROOP.id()),
];

/// What the job knows of the quantities.
pub fn known(job: &Job) -> Vec<Known> {
    let mut out: Vec<Known> = FACTS
        .iter()
        .filter_map(|(quantity, id)| {
            let f = job.fact(*id)?;
            Some(Known { quantity: *quantity, value: f.value, sigma: deviation(f.value, f.spread) })
        })
        .collect();
    // A job may say the motor constant as volts over wheel speed instead.
    if let (false, Some(f), Ok(h)) =
        (out.iter().any(|k| k.quantity == Quantity::Flux), job.fact(list::VOLTS_PER_SPEED.id()), hub(job))
    {
        let over = 3f64.sqrt() * h.pole_pairs * h.reduction;
        let sigma = deviation(f.value, f.spread) / over;
        out.push(Known { quantity: Quantity::Flux, value: f.value / over, sigma });
    }
    out
}

/// What the bench has to say in place of a job's facts: fact, value and half of its 95 % interval, in SI.
pub fn facts(fit: &BenchFit) -> Vec<(FactId, f64, f64)> {
    FACTS
        .iter()
        .filter_map(|(q, id)| {
            let f = fit.of(*q)?;
            matches!(f.basis, Basis::Measured | Basis::Leaning(_)).then_some((*id, f.value?, f.half))
        })
        .collect()
}
