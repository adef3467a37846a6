//! One bike as one draw of all facts sees it: typed access, and the intermediate results that several links share.

mod arms;
mod axle;
mod supply;

use super::formulas::axle_state::{self, Peaks};
use super::formulas::faces::Face;
use super::formulas::flats::SlotFit;
use super::formulas::gears;
use super::formulas::motor::{self, Commutation, Direction, Machine, Motor};
use super::formulas::road::OnRoad;
use super::formulas::thread::ThreadedSection;
use super::si::*;
use super::{Gap, Of, Off, Step, Tape, apart, forget_apart, read, set_apart};
use super::{Number, math};
use crate::fact::{self, ArmKey, FactId, Key, Shape, Side, SideKey, list};
use core::cell::OnceCell;

/// Coldest magnet for which torque and volts are judged (a winter start; WORKSHOP defaults).
pub(crate) const COLD_MAGNET: quantity::Temperature = quantity::Temperature::celsius(-10.0);
/// Fall of a neodymium magnet's flux per kelvin (usual grades, from memory).
const NEODYMIUM: quantity::TemperatureCoefficient = quantity::TemperatureCoefficient::per_kelvin(-0.0011);
/// Air for the road's resistance: 15 °C at sea level (ISO 2533).
const AIR: quantity::Density = quantity::Density::kilograms_per_cubic_metre(1.225);
/// Elastic modulus of steel, for the stiffness of clamped joints and corners (VDI 2230-1 table A9, from memory).
pub(super) const STEEL: quantity::Stress = quantity::Stress::gigapascals(205.0);

/// Peaks of motor torque at the shell, with the controller's overshoot and tolerance in them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Driving.
    pub drive: WheelTorque,
    /// Braking.
    pub brake: WheelTorque,
}

/// What one end of the axle holds by friction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideHold {
    /// Clamp force right after tightening.
    pub tightened: Force,
    /// Clamp force after settling.
    pub clamp: Force,
    /// Compliance of axle end and clamped parts together.
    pub compliance: Compliance,
    /// Held when the motor drives.
    pub drive: Torque,
    /// Held when the motor brakes.
    pub brake: Torque,
    /// The part of it that goes through the thread and the nut, in the direction in which more does.
    pub outer: Torque,
}

/// The axle's state with its numbers.
pub type AxleState = axle_state::AxleState;

/// Values of all facts in SI, not-a-number where one is missing.
#[derive(Clone, Copy, Debug)]
pub struct Values<'a> {
    numbers: &'a [f64],
    /// From one fact's value to the next one's.
    step: usize,
}

impl<'a> Values<'a> {
    /// One of `many` draws that lie side by side.
    pub(crate) fn among(numbers: &'a [f64], draw: usize, many: usize) -> Self {
        Self { numbers: &numbers[draw.min(numbers.len())..], step: many }
    }
    #[inline]
    fn get(self, id: FactId) -> Option<Number> {
        read(self.numbers, id.index() * self.step)
    }
    /// Which answer a choice has: never in doubt, so the same in all draws.
    #[inline]
    fn answer(self, id: FactId) -> Option<f64> {
        self.numbers.get(id.index() * self.step).copied()
    }
}

/// One draw of all facts of a job.
pub struct World<'a, T: Tape = Off> {
    values: Values<'a>,
    arms: usize,
    tape: &'a T,
    machine: Shared<Machine, T>,
    steady: Shared<Demand, T>,
    demand: Shared<Demand, T>,
    sides: [Shared<SideHold, T>; 2],
    fits: [Shared<SlotFit, T>; 2],
    sections: [Shared<ThreadedSection, T>; 2],
    rings: [Shared<Face, T>; 2],
    first_slip: Shared<Torque, T>,
    flat: Shared<Length, T>,
    plastic: [Shared<Torque, T>; 2],
    /// Plastic limit of all stops together, charging while braking, and the longest descent.
    pub(super) stops: Shared<Torque, T>,
    pub(super) charging: Shared<super::energy::Charging, T>,
    pub(super) descent: Shared<super::energy::Descent, T>,
}

/// A result that several links share, with the facts behind it.
type Shared<V, T> = OnceCell<(Result<V, Gap>, <T as Tape>::Reads, bool)>;

impl<'a, T: Tape> World<'a, T> {
    /// From values that may lie among others.
    pub const fn of(values: Values<'a>, arms: usize, tape: &'a T) -> Self {
        Self {
            values,
            arms,
            tape,
            machine: OnceCell::new(),
            steady: OnceCell::new(),
            demand: OnceCell::new(),
            sides: [OnceCell::new(), OnceCell::new()],
            fits: [OnceCell::new(), OnceCell::new()],
            sections: [OnceCell::new(), OnceCell::new()],
            rings: [OnceCell::new(), OnceCell::new()],
            first_slip: OnceCell::new(),
            flat: OnceCell::new(),
            plastic: [OnceCell::new(), OnceCell::new()],
            stops: OnceCell::new(),
            charging: OnceCell::new(),
            descent: OnceCell::new(),
        }
    }

    /// The shared result, worked out at the first asking.
    pub(super) fn shared<'s, V>(
        &self,
        cell: &'s Shared<V, T>,
        make: impl FnOnce() -> Result<V, Gap>,
    ) -> Result<&'s V, Gap> {
        if let Some((value, reads, lanes_apart)) = cell.get() {
            self.tape.again(*reads);
            set_apart(*lanes_apart);
            return value.as_ref().map_err(|gap| *gap);
        }
        let (before, apart_before) = (self.tape.begin(), forget_apart());
        // Nothing that it stands on asks for itself.
        let (value, ..) = cell.get_or_init(|| (make(), self.tape.end(before), apart()));
        set_apart(apart_before);
        value.as_ref().map_err(|gap| *gap)
    }

    /// Number of torque arms.
    pub const fn arms(&self) -> usize {
        self.arms
    }

    #[inline]
    fn raw(&self, id: FactId) -> Result<Number, Gap> {
        self.tape.read(id);
        match self.values.get(id) {
            Some(v) if !v.is_nan() => Ok(v),
            _ => Err(Gap::Unknown(id)),
        }
    }
    /// A common fact.
    #[inline]
    pub fn get<Q: quantity::Quantity>(&self, key: Key<Q>) -> Result<Of<Q>, Gap> {
        self.raw(key.id()).map(<Of<Q>>::from_si)
    }
    /// A side fact.
    #[inline]
    pub fn at<Q: quantity::Quantity>(&self, key: SideKey<Q>, side: Side) -> Result<Of<Q>, Gap> {
        self.raw(key.of(side)).map(<Of<Q>>::from_si)
    }
    /// An arm fact.
    #[inline]
    pub fn of_arm<Q: quantity::Quantity>(&self, key: ArmKey<Q>, arm: usize) -> Result<Of<Q>, Gap> {
        self.raw(key.of(arm)).map(<Of<Q>>::from_si)
    }
    /// Whether the answer to a choice is this token.
    pub fn is(&self, id: FactId, token: &str) -> Result<bool, Gap> {
        Ok(self.token(id)? == Some(token))
    }
    /// The answer to a choice.
    pub fn token(&self, id: FactId) -> Result<Option<&'static str>, Gap> {
        self.tape.read(id);
        let answer = self.values.answer(id).filter(|v| !v.is_nan()).ok_or(Gap::Unknown(id))?;
        let Shape::Choice(tokens) = fact::definition(id).shape else { return Ok(None) };
        Ok(tokens.get(answer as usize).copied())
    }
    /// Writes a line of working.
    pub fn step(&self, make: impl FnOnce() -> Step) {
        self.tape.step(make);
    }

    /// The motor with a cold magnet, which pulls hardest.
    pub fn machine(&self) -> Result<&Machine, Gap> {
        self.shared(&self.machine, || Ok(self.motor()?.at(Temperature::celsius(20.0), COLD_MAGNET.into())?))
    }

    /// The same with a share of its inductance.
    pub fn saturated(&self, share: Number) -> Result<Machine, Gap> {
        let mut motor = self.motor()?;
        motor.phase_inductance = motor.phase_inductance * share;
        Ok(motor.at(Temperature::celsius(20.0), COLD_MAGNET.into())?)
    }

    /// Flux linkage of one phase, from whichever fact says it.
    fn flux(&self) -> Result<FluxLinkage, Gap> {
        self.get(list::FLUX).or_else(|_| {
            let volts = self.get(list::VOLTS_PER_SPEED)?.as_webers();
            let pulses = self.get(list::POLE_PAIRS)?.get() * self.get(list::REDUCTION)?.get();
            Ok(FluxLinkage::webers(volts / (3f64.sqrt() * pulses)))
        })
    }

    /// The motor as the facts describe it, at 20 °C.
    pub fn motor(&self) -> Result<Motor, Gap> {
        let block = self.is(list::COMMUTATION.id(), "block")?;
        Ok(Motor {
            reduction: self.get(list::REDUCTION)?,
            pole_pairs: math::whole(self.get(list::POLE_PAIRS)?.get()),
            flux_linkage: self.flux()?,
            flux_droop: self.get(list::DROOP)?,
            phase_resistance: self.get(list::RESISTANCE)?.per_phase(),
            phase_inductance: self.get(list::INDUCTANCE)?,
            hysteresis_drag: self.get(list::DRAG_CONSTANT)?,
            eddy_drag: self.get(list::DRAG_PER_SPEED)?,
            gear_efficiency: self.get(list::GEAR_EFFICIENCY)?,
            commutation: if block { Commutation::Block } else { Commutation::Sine },
            magnet_coefficient: NEODYMIUM.into(),
        })
    }

    /// A current as amplitude, however the job's currents are given.
    pub fn amplitude(&self, current: PhaseCurrent) -> Result<PhaseCurrent, Gap> {
        Ok(if self.is(list::CURRENT_MEANS.id(), "rms")? { current * 2f64.sqrt() } else { current })
    }

    /// Amplitude of a current that is set, where the controller keeps it; what nobody keeps there rises to the
    /// controller's own hardware limit.
    pub fn set_current(
        &self,
        set: Key<quantity::PhaseCurrent>,
        kept_by: Key<quantity::Ratio>,
    ) -> Result<PhaseCurrent, Gap> {
        let kept = self.is(kept_by.id(), "controller")?;
        self.amplitude(self.get(if kept { set } else { list::HARDWARE_CURRENT })?)
    }

    /// Motors that charge the one battery.
    pub fn hubs(&self) -> Result<Number, Gap> {
        Ok(if self.is(list::POSITION.id(), "both")? { 2.0.into() } else { 1.0.into() })
    }

    /// Charge current that the controller lets each motor send, if it keeps such a limit at all.
    pub fn kept_charge_limit(&self) -> Result<Option<BatteryCurrent>, Gap> {
        if !self.is(list::CHARGE_LIMIT_KEPT_BY.id(), "controller")? {
            return Ok(None);
        }
        Ok(Some(self.get(list::CHARGE_LIMIT)? / self.hubs()?))
    }

    /// Torque peaks in both directions as the mechanical parts feel them: with the blow of the gears' play where the ramp is
    /// too short to take it up softly (PHYSICS-DETAIL section 3).
    pub fn demand(&self) -> Result<&Demand, Gap> {
        self.shared(&self.demand, || {
            let steady = *self.steady()?;
            if self.is(list::DRIVE.id(), "direct")? {
                return Ok(steady);
            }
            let felt = |torque: WheelTorque| -> Result<WheelTorque, Gap> {
                let peak = self.through_gears(torque)?.as_newton_metres();
                let (soft, is) =
                    (torque.max(WheelTorque::ZERO).as_newton_metres() * gears::SOFT, torque.as_newton_metres());
                Ok(WheelTorque::newton_metres(math::if_above(peak, soft, peak, is)))
            };
            Ok(Demand { drive: felt(steady.drive)?, brake: felt(steady.brake)? })
        })
    }

    /// Torque peak with the play in the gears taken up by the ramp that is set.
    pub fn through_gears(&self, torque: WheelTorque) -> Result<WheelTorque, Gap> {
        let ramp = self.get(list::RAMP)?;
        let stiffness = self.get(list::GEAR_STIFFNESS)?;
        let frequency = gears::drive_frequency(stiffness, self.get(list::ROTOR_INERTIA)?, self.get(list::REDUCTION)?)?;
        let torque = torque.max(WheelTorque::ZERO);
        Ok(gears::ramped_reversal_peak(torque, stiffness, self.get(list::GEAR_PLAY)?, ramp, frequency)?)
    }

    /// Torque peaks of the motor itself in both directions.
    pub fn steady(&self) -> Result<&Demand, Gap> {
        self.shared(&self.steady, || {
            let machine = self.machine()?;
            let beyond = 1.0 + self.get(list::OVERSHOOT)?.get() + self.get(list::CURRENT_TOLERANCE)?.get();
            let drive_a = self.set_current(list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY)? * beyond;
            let brake_a = self.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)? * beyond;
            let radius = self.get(list::WHEEL_RADIUS)?;
            let fast = machine.rotor_speed(motor::rolling(self.get(list::DOWNHILL_SPEED)?, radius)?);
            let drive = machine.wheel_torque_at(Direction::Drive, drive_a, RotorSpeed::ZERO);
            let brake = machine.wheel_torque_at(Direction::Brake, brake_a, fast);
            for (key, amps, torque) in [("drive-peak", drive_a, drive), ("brake-peak", brake_a, brake)] {
                self.step(|| {
                    Step::new(key, "", &motor::WHEEL_TORQUE, ("T_w", torque.as_newton_metres(), "N·m"))
                        .put("î", amps.as_amperes(), "A")
                        .put("λ", machine.flux_linkage().as_webers() * 1e3, "mWb")
                });
            }
            Ok(Demand { drive, brake })
        })
    }

    /// The peaks as the axle's state takes them; a motor that cannot overcome its own drag drives with nothing.
    pub fn peaks(&self) -> Result<Peaks, Gap> {
        let d = self.demand()?;
        Ok(Peaks { drive: d.drive.max(WheelTorque::ZERO), brake: d.brake.max(WheelTorque::ZERO) })
    }

    /// Speed held downhill: the fastest that the speed hold is set to, but no faster than the usual descent.
    pub fn hold_speed(&self) -> Result<Speed, Gap> {
        let usual = self.get(list::DOWNHILL_SPEED)?;
        Ok(self.get(list::HOLD_FASTEST).map_or(usual, |v| v.min(usual)))
    }

    /// The bike on its steepest descent with so much load.
    pub fn downhill(&self, mass: Mass) -> Result<OnRoad, Gap> {
        Ok(OnRoad {
            mass,
            grade: self.get(list::STEEPEST)? * -1.0,
            rolling: self.get(list::ROLLING)?,
            drag_area: self.get(list::DRAG_AREA)?,
            air: AIR.into(),
            wind: Speed::ZERO,
        })
    }

    /// Rotor speed at the usual downhill speed.
    pub fn rotor_downhill(&self) -> Result<RotorSpeed, Gap> {
        Ok(self.machine()?.rotor_speed(motor::rolling(self.get(list::DOWNHILL_SPEED)?, self.get(list::WHEEL_RADIUS)?)?))
    }
}
