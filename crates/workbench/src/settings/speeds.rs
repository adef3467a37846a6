//! Braking over speed with the settings found, and what stops it there.

use super::solve::Solver;
use super::{At, Binds, Kind, Setting};
use crate::fact::list;
use crate::link::{Off, World};
use physics::motor::{self, Direction};
use physics::supply::{self, Inverter};
use quantity::*;

/// Braking at one speed, with every fact at its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtSpeed {
    /// Road speed.
    pub speed: Speed,
    /// Torque at the wheel.
    pub torque: WheelTorque,
    /// Motor current.
    pub current: PhaseCurrent,
    /// Into the pack, negative when braking draws from it.
    pub charging: Power,
    /// What stops it there.
    pub binds: Option<Binds>,
}

/// Braking at that speed.
pub fn at(solver: &Solver<'_>, settings: &[Setting], speed: Speed) -> Option<AtSpeed> {
    let values = solver.middle_values();
    let w = World::new(&values, solver.job().arms, &Off);
    let machine = w.machine().ok()?;
    let find = |kind: Kind| settings.iter().find(|s| s.kind == kind && s.at == At::Whole);
    let rotor = machine.rotor_speed(motor::rolling(speed, w.get(list::WHEEL_RADIUS).ok()?).ok()?);
    let brake = find(Kind::BrakeCurrent)?;
    let [from, gone] = [find(Kind::FadeFrom)?.value, find(Kind::FadeGone)?.value].map(Speed::from_si);
    let (mut amps, mut binds) = (brake.value, brake.binds);
    if speed < from {
        amps *= supply::fade_share(speed, from, gone);
        binds = Some(Binds::Rule("fade"));
    }
    let limit = find(Kind::ChargeLimit);
    let (torque, current) = torque(&w, speed, amps, limit.map(|l| l.value))?;
    if current < w.amplitude(PhaseCurrent::from_si(amps)).ok()? {
        binds = limit?.binds;
    }
    let bus = w.bus_charged().ok()?;
    let charging = supply::braking_power(machine, &Inverter::IDEAL, rotor, current, bus) * -1.0;
    Some(AtSpeed { speed, torque, current, charging, binds })
}

/// Torque at the wheel and motor current with a braking current and a charge limit, both in SI as the job means them.
pub fn torque(w: &World<'_>, speed: Speed, amps: f64, charge: Option<f64>) -> Option<(WheelTorque, PhaseCurrent)> {
    let machine = w.machine().ok()?;
    let rotor = machine.rotor_speed(motor::rolling(speed, w.get(list::WHEEL_RADIUS).ok()?).ok()?);
    let asked = w.amplitude(PhaseCurrent::from_si(amps)).ok()?;
    let limit = match charge {
        Some(charge) => Some(BatteryCurrent::from_si(charge) / w.hubs().ok()?),
        None => None,
    };
    let current = w.under_charge_limit(machine, rotor, asked, limit, w.bus_charged().ok()?).ok()?;
    Some((machine.wheel_torque_at(Direction::Brake, current, rotor), current))
}
