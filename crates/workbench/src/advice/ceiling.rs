//! Most braking at each speed, read at the confidence step, and the link that stops you there.

use crate::doubt::{self, Draws};
use crate::fact::list;
use crate::job::Job;
use crate::link::{Gap, Kind, Off, World};
use physics::motor::{self, Direction, Machine};
use physics::supply::{self, Inverter};
use quantity::*;
use rayon::prelude::*;

/// Most braking at one speed.
#[derive(Clone, Copy, Debug)]
pub struct Ceiling {
    /// Road speed.
    pub speed: Speed,
    /// Torque at the wheel.
    pub torque: WheelTorque,
    /// Link that stops you there.
    pub stopped_by: &'static str,
}

/// Speeds of the picture: every 5 km/h up to 50.
const SPEEDS: usize = 10;

fn speed(k: usize) -> Speed {
    Speed::kilometres_per_hour(5.0 * (k + 1) as f64)
}

/// What one draw allows at each speed, and which link says so: the axle, the wet road and the charge limit. Where a fact is
/// missing a link says nothing; a draw in which it cannot be worked out allows nothing.
fn allowed(w: &World<'_>) -> [(f64, Kind); SPEEDS] {
    let mut out = [(f64::INFINITY, Kind::MotorCurrent); SPEEDS];
    let mut lower = |k: usize, torque: WheelTorque, by: Kind| {
        if torque.as_newton_metres() < out[k].0 {
            out[k] = (torque.as_newton_metres(), by);
        }
    };
    let limit = |found: Result<WheelTorque, Gap>| match found {
        Ok(torque) => Some(torque),
        Err(Gap::Unknown(_) | Gap::NotThere) => None,
        Err(Gap::Range(_) | Gap::Cannot(_)) => Some(WheelTorque::ZERO),
    };
    // What the axle and the tyre feel is more than what is set: overshoot, tolerance, a blow of the gears.
    let as_set = |holds: Result<Torque, Gap>, felt: Result<WheelTorque, Gap>| -> Result<WheelTorque, Gap> {
        Ok(WheelTorque::newton_metres(holds?.as_newton_metres() * (set(w)? / felt?).min(1.0)))
    };
    let axle = as_set(w.first_slip(), w.demand().map(|d| d.brake));
    let grip = w.wet_grip_torque().map(|t| Torque::newton_metres(t.as_newton_metres()));
    let grip = as_set(grip, w.steady().map(|d| d.brake));
    for (found, by) in [(axle, Kind::AxleHold), (grip, Kind::TyreGrip)] {
        if let Some(torque) = limit(found) {
            (0..SPEEDS).for_each(|k| lower(k, torque, by));
        }
    }
    let kept = kept_charge(w);
    for k in 0..SPEEDS {
        let found = kept.as_ref().map_err(|gap| *gap).and_then(|kept| match kept {
            Some(kept) => charging(kept, speed(k)),
            None => Err(Gap::NotThere),
        });
        if let Some(torque) = limit(found) {
            lower(k, torque, Kind::ChargeAmps);
        }
    }
    out
}

/// Braking torque that a charge limit leaves; as good as none where it never binds.
fn charging(
    (machine, radius, bus, power): &(Machine, Length, Voltage, Power),
    speed: Speed,
) -> Result<WheelTorque, Gap> {
    let rotor = machine.rotor_speed(motor::rolling(speed, *radius)?);
    let current = supply::charge_limit_current(machine, &Inverter::IDEAL, rotor, *power, *bus)?.ok_or(Gap::NotThere)?;
    Ok(machine.wheel_torque_at(Direction::Brake, current, rotor))
}

/// The charge limit that the controller keeps, as power into a pack half full.
fn kept_charge(w: &World<'_>) -> Result<Option<(Machine, Length, Voltage, Power)>, Gap> {
    let Some(limit) = w.kept_charge_limit()? else { return Ok(None) };
    let bus = w.bus_at_rest(StateOfCharge::percent(50.0))?;
    let power = Power::watts(limit.as_amperes() * bus.as_volts());
    Ok(Some((*w.machine()?, w.get(list::WHEEL_RADIUS)?, bus, power)))
}

/// Braking torque of the current that is set, at the usual descent.
fn set(w: &World<'_>) -> Result<WheelTorque, Gap> {
    let current = w.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?;
    Ok(w.machine()?.wheel_torque_at(Direction::Brake, current, w.rotor_downhill()?))
}

/// Share of the braking that is left where it fades out towards a stop; all of it where nobody said how it fades.
fn faded(w: &World<'_>, speed: Speed) -> f64 {
    match (w.get(list::FADE_FROM), w.get(list::FADE_GONE)) {
        (Ok(from), Ok(gone)) => supply::fade_share(speed, from, gone),
        _ => 1.0,
    }
}

fn rotor_at(w: &World<'_>, speed: Speed) -> Result<RotorSpeed, Gap> {
    Ok(w.machine()?.rotor_speed(motor::rolling(speed, w.get(list::WHEEL_RADIUS)?)?))
}

/// Draws for this picture; at 1 in 1,000 four of them lie beyond the step.
const DRAWN: usize = 4096;
const CHUNK: usize = 256;

/// Most braking at each speed: what is set, or less where a link allows less in all but one draw in the job's step.
pub fn ceiling(job: &Job) -> Vec<Ceiling> {
    let middle = job.middle();
    let world = World::new(&middle, job.arms, &Off);
    let asked = |k: usize| -> Result<WheelTorque, Gap> {
        let current = world.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?;
        let current = current * faded(&world, speed(k));
        Ok(world.machine()?.wheel_torque_at(Direction::Brake, current, rotor_at(&world, speed(k))?))
    };
    let draws = Draws::new(job);
    let drawn: Vec<[(f64, Kind); SPEEDS]> = (0..DRAWN)
        .step_by(CHUNK)
        .collect::<Vec<usize>>()
        .into_par_iter()
        .flat_map_iter(|first| {
            let mut values = middle.clone();
            let mut some = Vec::with_capacity(CHUNK);
            draws.each(first, CHUNK, &mut values, |_, values| some.push(allowed(&World::new(values, job.arms, &Off))));
            some
        })
        .collect();
    let beyond = doubt::beyond(drawn.len(), job.one_in);
    let mut out = Vec::with_capacity(SPEEDS);
    for k in 0..SPEEDS {
        let Ok(asked) = asked(k) else { continue };
        let mut at: Vec<(f64, Kind)> = drawn.iter().map(|d| d[k]).collect();
        let least = *at.select_nth_unstable_by(beyond, |a, b| a.0.total_cmp(&b.0)).1;
        let (torque, stopped_by) = if least.0 < asked.as_newton_metres() {
            (WheelTorque::newton_metres(least.0), least.1)
        } else {
            (asked, Kind::MotorCurrent)
        };
        out.push(Ceiling { speed: speed(k), torque, stopped_by: stopped_by.id() });
    }
    out
}
