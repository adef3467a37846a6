//! One draw as battery and tyre see it: volts of the resting pack, grip on a wet road.

use super::super::formulas::battery;
use super::super::formulas::grip::{self, Stance};
use super::super::formulas::motor::Machine;
use super::super::formulas::supply::{self, Inverter};
use super::super::si::*;
use super::super::{Gap, Step, Tape};
use super::super::{Number, math};
use super::World;
use crate::fact::{self, Shape, list};
use std::sync::OnceLock;

impl<T: Tape> World<'_, T> {
    /// Volts of the resting pack at a state of charge.
    pub fn bus_at_rest(&self, charge: StateOfCharge) -> Result<Voltage, Gap> {
        let i = math::whole(self.raw(list::CHEMISTRY.id())?) as usize;
        let curve = curves().get(i).map_or(&[][..], Vec::as_slice);
        Ok(battery::open_circuit(curve, math::whole(self.get(list::CELLS_SERIES)?.get()), charge)?)
    }

    /// Volts of the pack charged as far as it may be; where nobody keeps that level, it is full.
    pub fn bus_charged(&self) -> Result<Voltage, Gap> {
        let kept = !self.is(list::CHARGE_TO_KEPT_BY.id(), "nobody")?;
        self.bus_at_rest(if kept { self.get(list::CHARGE_TO)? } else { StateOfCharge::percent(100.0) })
    }

    /// Motor current that flows where so much is asked, under a charge limit of each motor and at these volts of the pack; as
    /// asked without a limit.
    pub fn under_charge_limit(
        &self,
        machine: &Machine,
        rotor: RotorSpeed,
        asked: PhaseCurrent,
        limit: Option<BatteryCurrent>,
        bus: Voltage,
    ) -> Result<PhaseCurrent, Gap> {
        let Some(limit) = limit else { return Ok(asked) };
        let power = Power::watts(limit.as_amperes() * bus.as_volts());
        Ok(supply::limited_current(machine, &Inverter::IDEAL, rotor, asked, power, bus)?)
    }

    /// Braking torque that the driven tyre passes on a wet road with the lightest load; the front motor is judged with
    /// lift, the rear one with the front brake pulled too.
    pub fn wet_grip_torque(&self) -> Result<WheelTorque, Gap> {
        let front = self.is(list::POSITION.id(), "front")?;
        let mass = self.get(list::LIGHTEST)?;
        let mu = self.get(list::GRIP_WET)?;
        let stance = Stance {
            mass,
            grade: Grade::ZERO,
            wheelbase: self.get(list::WHEELBASE)?,
            centre_ahead: self.get(list::CENTRE_AHEAD_LIGHTEST)?,
            centre_height: self.get(list::CENTRE_HEIGHT)?,
            rolling: self.get(list::ROLLING)?,
            other_brake: Force::ZERO,
            drag: Force::ZERO,
            drag_height: Length::ZERO,
        };
        let tyre = if front {
            grip::front_grip(&stance, mu)?
        } else {
            grip::rear_grip_with_front_brake(&stance, mu, Ratio::new(self.front_brake_share()))?
        };
        let force = tyre.force.as_newtons();
        let formula = if front { &grip::FRONT_GRIP } else { &grip::REAR_GRIP };
        self.step(|| {
            Step::new("wheel-grip", "", formula, ("F", force, "N")).put("μ", mu.get(), "").put(
                "m",
                mass.as_kilograms(),
                "kg",
            )
        });
        Ok(WheelTorque::newton_metres(force * self.get(list::WHEEL_RADIUS)?.as_metres()))
    }

    /// An on/off switch brakes at once, also in a stop with the front brake; a rider who feels a variable lever lets go. What
    /// nobody knows counts as the switch.
    fn front_brake_share(&self) -> Number {
        if matches!(self.is(list::BRAKE_COMMAND.id(), "lever-switch"), Ok(false)) { 0.0.into() } else { 1.0.into() }
    }
}

/// Open-circuit curves of the chemistries, in the order of the fact's answers.
fn curves() -> &'static [Vec<(quantity::StateOfCharge, quantity::Voltage)>] {
    static CURVES: OnceLock<Vec<Vec<(quantity::StateOfCharge, quantity::Voltage)>>> = OnceLock::new();
    CURVES.get_or_init(|| {
        let Shape::Choice(tokens) = fact::definition(list::CHEMISTRY.id()).shape else { return Vec::new() };
        tokens.iter().map(|t| evidence::ocv::curve(t)).collect()
    })
}
