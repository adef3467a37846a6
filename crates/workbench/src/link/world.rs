//! One bike as one draw of all facts sees it: typed access, and the intermediate results that several links share.

use super::{Gap, Off, Step, Tape};
use crate::fact::{self, ArmKey, FactId, Key, Shape, Side, SideKey, list};
use core::cell::OnceCell;
use physics::axle_state::{self, Hold, Peaks, Stop};
use physics::faces::{self, Face, MotorSense, OuterPath, PressureLaw};
use physics::flats::{self, SlotFit};
use physics::grip::{self, Stance};
use physics::motor::{Commutation, Direction, Machine, Motor};
use physics::pinch::{self, Jaw};
use physics::thread::{Thread, ThreadedSection};
use physics::tightening::{self, Turning};
use physics::{anchor, battery, motor};
use quantity::*;
use std::sync::OnceLock;

/// Coldest magnet for which torque and volts are judged (a winter start; WORKSHOP defaults).
const COLD_MAGNET: Temperature = Temperature::celsius(-10.0);
/// Fall of a neodymium magnet's flux per kelvin (usual grades, from memory).
const NEODYMIUM: TemperatureCoefficient = TemperatureCoefficient::per_kelvin(-0.0011);
/// Steel, for the stiffness of clamped joints.
const STEEL: Stress = Stress::gigapascals(205.0);

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

/// One draw of all facts of a job.
pub struct World<'a, T: Tape = Off> {
    values: &'a [f64],
    arms: usize,
    tape: &'a T,
    machine: OnceCell<Result<Machine, Gap>>,
    demand: OnceCell<Result<Demand, Gap>>,
    sides: [OnceCell<Result<SideHold, Gap>>; 2],
}

impl<'a, T: Tape> World<'a, T> {
    /// From values in SI, not-a-number where a fact is missing.
    pub const fn new(values: &'a [f64], arms: usize, tape: &'a T) -> Self {
        Self {
            values,
            arms,
            tape,
            machine: OnceCell::new(),
            demand: OnceCell::new(),
            sides: [OnceCell::new(), OnceCell::new()],
        }
    }

    /// Number of torque arms.
    pub const fn arms(&self) -> usize {
        self.arms
    }

    fn raw(&self, id: FactId) -> Result<f64, Gap> {
        self.tape.read(id);
        match self.values.get(id.index()) {
            Some(v) if !v.is_nan() => Ok(*v),
            _ => Err(Gap::Unknown(id)),
        }
    }
    /// A common fact.
    pub fn get<Q: Quantity>(&self, key: Key<Q>) -> Result<Q, Gap> {
        self.raw(key.id()).map(Q::from_si)
    }
    /// A side fact.
    pub fn at<Q: Quantity>(&self, key: SideKey<Q>, side: Side) -> Result<Q, Gap> {
        self.raw(key.of(side)).map(Q::from_si)
    }
    /// An arm fact.
    pub fn of_arm<Q: Quantity>(&self, key: ArmKey<Q>, arm: usize) -> Result<Q, Gap> {
        self.raw(key.of(arm)).map(Q::from_si)
    }
    /// Whether the answer to a choice is this token.
    pub fn is(&self, id: FactId, token: &str) -> Result<bool, Gap> {
        let i = self.raw(id)? as usize;
        Ok(matches!(fact::definition(id).shape, Shape::Choice(tokens) if tokens.get(i) == Some(&token)))
    }
    /// Writes a line of working.
    pub fn step(&self, make: impl FnOnce() -> Step) {
        self.tape.step(make);
    }

    /// The motor with a cold magnet, which pulls hardest.
    pub fn machine(&self) -> Result<Machine, Gap> {
        *self.machine.get_or_init(|| Ok(self.motor()?.at(Temperature::celsius(20.0), COLD_MAGNET)?))
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
            pole_pairs: self.get(list::POLE_PAIRS)?.get() as u32,
            flux_linkage: self.flux()?,
            flux_droop: self.get(list::DROOP)?,
            phase_resistance: self.get(list::RESISTANCE)?.per_phase(),
            phase_inductance: self.get(list::INDUCTANCE)?,
            hysteresis_drag: self.get(list::DRAG_CONSTANT)?,
            eddy_drag: self.get(list::DRAG_PER_SPEED)?,
            gear_efficiency: self.get(list::GEAR_EFFICIENCY)?,
            commutation: if block { Commutation::Block } else { Commutation::Sine },
            magnet_coefficient: NEODYMIUM,
        })
    }

    /// A current as amplitude, however the job's currents are given.
    pub fn amplitude(&self, current: PhaseCurrent) -> Result<PhaseCurrent, Gap> {
        Ok(if self.is(list::CURRENT_MEANS.id(), "rms")? { current * 2f64.sqrt() } else { current })
    }

    /// Torque peaks in both directions.
    pub fn demand(&self) -> Result<Demand, Gap> {
        *self.demand.get_or_init(|| {
            let machine = self.machine()?;
            let beyond = 1.0 + self.get(list::OVERSHOOT)?.get() + self.get(list::CURRENT_TOLERANCE)?.get();
            let drive_a = self.amplitude(self.get(list::DRIVE_CURRENT)?)? * beyond;
            let brake_a = self.amplitude(self.get(list::BRAKE_CURRENT)?)? * beyond;
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

    /// The axle's thread.
    pub fn thread(&self) -> Result<Thread, Gap> {
        Ok(Thread::new(self.get(list::AXLE_DIAMETER)?, self.get(list::AXLE_PITCH)?)?)
    }
    /// The axle's threaded section at one end.
    pub fn section(&self, side: Side) -> Result<ThreadedSection, Gap> {
        if self.is(list::CABLE_SLOT.id(), "yes")? && self.at(list::BORE, side)?.as_metres() > 0.0 {
            return Err(Gap::Cannot("open-section"));
        }
        Ok(ThreadedSection::new(self.thread()?, Some(self.get(list::ACROSS_FLATS)?), self.at(list::BORE, side)?)?)
    }
    /// The nut as it turns.
    pub fn turning(&self, side: Side) -> Result<Turning, Gap> {
        let thread = self.thread()?;
        Ok(Turning {
            thread,
            thread_friction: self.at(list::THREAD_FRICTION, side)?,
            face_friction: self.at(list::NUT_FRICTION, side)?,
            face_mean_diameter: tightening::face_mean_diameter(thread.nominal(), self.at(list::NUT_FACE, side)?)?,
        })
    }
    /// Thread that the nut really has.
    pub fn engagement(&self, side: Side) -> Result<Length, Gap> {
        Ok(self.at(list::NUT_HEIGHT, side)?.min(self.at(list::FREE_THREAD, side)?))
    }
    /// The clamped ring at the dropout, less the slot.
    pub fn ring(&self, side: Side) -> Result<Face, Gap> {
        let slot = self.at(list::SLOT_WIDTH, side)?;
        Ok(Face::new(self.at(list::FACE_INNER, side)?, self.at(list::FACE_OUTER, side)?, Some(slot))?)
    }

    /// What one end holds by friction.
    pub fn side(&self, side: Side) -> Result<SideHold, Gap> {
        *self.sides[side as usize].get_or_init(|| self.side_hold(side))
    }

    fn side_hold(&self, side: Side) -> Result<SideHold, Gap> {
        let (turning, section) = (self.turning(side)?, self.section(side)?);
        let torque = self.at(list::NUT_TORQUE, side)?;
        let tightened = tightening::preload(&turning, torque)?;
        self.step(|| {
            Step::new("clamp-force", side.token(), &tightening::PRELOAD, ("F", tightened.as_kilonewtons(), "kN"))
                .put("T", torque.as_newton_metres(), "N·m")
                .put("μ_t", turning.thread_friction.get(), "")
                .put("μ_n", turning.face_friction.get(), "")
        });
        let inner = self.at(list::FACE_INNER, side)?;
        let outer = self.at(list::FACE_OUTER, side)?;
        let clamped = self.clamped_length(side)?;
        let bolt = tightening::bolt_compliance(section, clamped, STEEL)?;
        let plates = tightening::plate_compliance(inner, outer, clamped, STEEL)?;
        let settling = self.at(list::SETTLING, side)?;
        let loss = tightening::embedding_loss(settling, bolt, plates)?;
        let clamp = tightening::preload_after_loss(tightened, loss)?;
        self.step(|| {
            Step::new("settling", side.token(), &tightening::EMBEDDING_LOSS, ("F", clamp.as_kilonewtons(), "kN"))
                .put("f_Z", settling.as_metres() * 1e6, "µm")
                .put("δ_S+δ_P", (bolt + plates).as_millimetres_per_newton() * 1e6, "10⁻⁶ mm/N")
        });
        let radius = self.ring(side)?.friction_radius(PressureLaw::Even);
        let mu = self.at(list::FACE_FRICTION, side)?;
        let within = faces::face_hold(mu, clamp, radius)?;
        let path = OuterPath {
            thread: turning.thread,
            thread_friction: turning.thread_friction,
            nut_friction: turning.face_friction,
            nut_radius: turning.face_mean_diameter / 2.0,
            washer_friction: mu,
            washer_radius: radius,
            locker: Torque::ZERO,
            keyed_without_play: self.is(list::WASHER_KEYED.of(side), "yes")?,
        };
        let held = |sense| -> Result<Torque, Gap> {
            let end = if side == Side::Left { faces::Side::Left } else { faces::Side::Right };
            Ok(faces::outer_hold(&path, clamp, faces::nut_motion(end, sense))?.torque)
        };
        let (out_drive, out_brake) = (held(MotorSense::Drive)?, held(MotorSense::Brake)?);
        let (drive, brake) = (within + out_drive, within + out_brake);
        self.step(|| {
            Step::new("side-hold", side.token(), &faces::OUTER_HOLD, ("T", drive.min(brake).as_newton_metres(), "N·m"))
                .put("F", clamp.as_kilonewtons(), "kN")
                .put("μ", mu.get(), "")
                .put("r", radius.as_millimetres(), "mm")
                .put("T_in", within.as_newton_metres(), "N·m")
        });
        Ok(SideHold { tightened, clamp, compliance: bolt + plates, drive, brake, outer: out_drive.max(out_brake) })
    }

    /// Dropout plus the arms of that side.
    fn clamped_length(&self, side: Side) -> Result<Length, Gap> {
        let mut length = self.at(list::DROPOUT_THICKNESS, side)?;
        for i in 0..self.arms {
            if self.is(list::ARM_SIDE.of(i), side.token())? {
                length = length + self.of_arm(list::ARM_THICKNESS, i)?;
            }
        }
        Ok(length)
    }

    /// Torque up to which no face slips at all. A passed hold test says "at least".
    pub fn first_slip(&self) -> Result<Torque, Gap> {
        let (left, right) = (self.side(Side::Left)?, self.side(Side::Right)?);
        let drive = axle_state::first_slip(left.drive, right.drive, None)?;
        let brake = axle_state::first_slip(left.brake, right.brake, None)?;
        let computed = drive.min(brake);
        let slip = self.get(list::HOLD_TEST).map_or(computed, |tested| tested.max(computed));
        self.step(|| {
            Step::new("first-slip", "", &axle_state::FIRST_SLIP, ("T_s", slip.as_newton_metres(), "N·m"))
                .put("T_L", left.drive.min(left.brake).as_newton_metres(), "N·m")
                .put("T_R", right.drive.min(right.brake).as_newton_metres(), "N·m")
        });
        Ok(slip)
    }

    /// Torque up to which the faces hold together after they have shared it (plastic limit).
    pub fn faces_hold(&self) -> Result<Torque, Gap> {
        let (left, right) = (self.side(Side::Left)?, self.side(Side::Right)?);
        let sum = axle_state::plastic_hold(left.drive.min(left.brake), right.drive.min(right.brake))?;
        Ok(self.get(list::HOLD_TEST).map_or(sum, |tested| tested.max(sum)))
    }

    /// Length of the axle's flats.
    pub fn flat(&self) -> Result<Length, Gap> {
        Ok(flats::flat_length(self.get(list::AXLE_DIAMETER)?, self.get(list::ACROSS_FLATS)?)?)
    }
    /// How the flats sit in a slot.
    pub fn fit(&self, slot: Length) -> Result<SlotFit, Gap> {
        Ok(flats::slot_fit(self.get(list::AXLE_DIAMETER)?, self.get(list::ACROSS_FLATS)?, slot)?)
    }

    /// Clamp force of all pinch bolts of an arm.
    pub fn squeeze(&self, i: usize) -> Result<Force, Gap> {
        let one = self.small_bolt(
            self.of_arm(list::PINCH_DIAMETER, i)?,
            self.of_arm(list::PINCH_FRICTION, i)?,
            self.of_arm(list::PINCH_TORQUE, i)?,
        )?;
        Ok(one * self.of_arm(list::PINCH_BOLTS, i)?.get())
    }

    /// Preload of a small bolt with coarse thread and the same friction in thread and face.
    pub fn small_bolt(&self, diameter: Length, friction: Friction, torque: Torque) -> Result<Force, Gap> {
        Ok(tightening::preload(&self.small_turning(diameter, friction)?, torque)?)
    }
    /// A small bolt as it turns; the head's bearing face reaches to 1.5 diameters (ISO 4762 head).
    pub fn small_turning(&self, diameter: Length, friction: Friction) -> Result<Turning, Gap> {
        let thread = Thread::new(diameter, coarse_pitch(diameter)?)?;
        let face = tightening::face_mean_diameter(diameter * 1.1, diameter * 1.5)?;
        Ok(Turning { thread, thread_friction: friction, face_friction: friction, face_mean_diameter: face })
    }

    /// Clamp force of an arm's anchor after settling.
    pub fn anchor_clamp(&self, i: usize) -> Result<Force, Gap> {
        let fresh = self.small_bolt(
            self.of_arm(list::ANCHOR_DIAMETER, i)?,
            self.of_arm(list::ANCHOR_THREAD_FRICTION, i)?,
            self.of_arm(list::ANCHOR_TORQUE, i)?,
        )?;
        Ok(fresh * (1.0 - self.of_arm(list::ANCHOR_SETTLING, i)?.get()))
    }
    /// Force at which an arm's anchor slips.
    pub fn anchor_slip(&self, i: usize) -> Result<Force, Gap> {
        let faces = self.of_arm(list::ANCHOR_FACES, i)?.get() as u32;
        let mu = self.of_arm(list::ANCHOR_FRICTION, i)?;
        Ok(anchor::slip_force(self.anchor_clamp(i)?, mu, faces, Ratio::new(1.0))?)
    }

    /// Whether an arm squeezes the flats.
    pub fn pinches(&self, i: usize) -> Result<bool, Gap> {
        self.is(list::ARM_KIND.of(i), "pinching")
    }

    /// Torque that an arm holds without gap and yield; nothing for a slotted one, which has play.
    pub fn arm_still(&self, i: usize) -> Result<Torque, Gap> {
        if !self.pinches(i)? {
            return Ok(Torque::ZERO);
        }
        let jaw = Jaw::new(self.flat()?, self.of_arm(list::ARM_THICKNESS, i)?)?;
        let squeeze = self.squeeze(i)?;
        let yields = self.of_arm(list::ARM_YIELD, i)?;
        let jaws = pinch::no_yield_torque(jaw, squeeze, squeeze, Length::ZERO, yields)?;
        let anchor = anchor::arm_capacity(self.anchor_slip(i)?, self.of_arm(list::ARM_LENGTH, i)?)?;
        self.step(|| {
            Step::new(
                "arm-still",
                format!("{}", i + 1),
                &pinch::NO_YIELD,
                ("T₀", jaws.min(anchor).as_newton_metres(), "N·m"),
            )
            .put("F_c", squeeze.as_kilonewtons(), "kN")
            .put("p_y", yields.as_megapascals(), "MPa")
            .put("anchor", anchor.as_newton_metres(), "N·m")
        });
        Ok(jaws.min(anchor))
    }

    /// Plastic limit of an arm's hold on the flats.
    pub fn arm_plastic(&self, i: usize) -> Result<Torque, Gap> {
        let (flat, thickness) = (self.flat()?, self.of_arm(list::ARM_THICKNESS, i)?);
        let crush = self.of_arm(list::ARM_BEARING, i)?;
        if self.pinches(i)? {
            let torque = pinch::plastic_torque(Jaw::new(flat, thickness)?, self.squeeze(i)?, crush);
            return uncrushed(torque.map_err(Gap::from));
        }
        Ok(flats::slot_plastic(flat, thickness, crush)?)
    }

    /// Plastic limit of a dropout's slot; nothing if the axle turns freely in it.
    pub fn dropout_plastic(&self, side: Side) -> Result<Torque, Gap> {
        match self.fit(self.at(list::SLOT_WIDTH, side)?)? {
            SlotFit::NoStop => Ok(Torque::ZERO),
            SlotFit::Stop(_) => Ok(flats::slot_plastic(
                self.flat()?,
                self.at(list::DROPOUT_THICKNESS, side)?,
                self.at(list::DROPOUT_BEARING, side)?,
            )?),
        }
    }

    /// Everything that holds the axle, for its state.
    pub fn holding(&self) -> Result<Hold, Gap> {
        let mut arms = Torque::ZERO;
        let mut stiffness = Some(TorsionalStiffness::ZERO);
        let mut stop = false;
        for i in 0..self.arms {
            let still = uncrushed(self.arm_still(i))?;
            arms = arms + still;
            if still > Torque::ZERO {
                stiffness = stiffness.and_then(|k| self.of_arm(list::ARM_STIFFNESS, i).ok().map(|more| k + more));
            }
            stop |= !self.pinches(i)? && matches!(self.fit(self.of_arm(list::ARM_SLOT, i)?)?, SlotFit::Stop(_));
        }
        for side in Side::BOTH {
            stop |= matches!(self.fit(self.at(list::SLOT_WIDTH, side)?)?, SlotFit::Stop(_));
        }
        Ok(Hold {
            first_slip: self.first_slip()?,
            faces: self.faces_hold()?,
            arms,
            arm_stiffness: stiffness.filter(|k| *k > TorsionalStiffness::ZERO),
            stop: if stop { Stop::AfterPlay(None) } else { Stop::None },
        })
    }

    /// What the axle does.
    pub fn state(&self) -> Result<AxleState, Gap> {
        Ok(axle_state::axle_state(self.peaks()?, &self.holding()?)?)
    }

    /// Speed held downhill: the fastest that the speed hold is set to, but no faster than the usual descent.
    pub fn hold_speed(&self) -> Result<Speed, Gap> {
        let usual = self.get(list::DOWNHILL_SPEED)?;
        Ok(self.get(list::HOLD_FASTEST).map_or(usual, |v| v.min(usual)))
    }

    /// Rotor speed at the usual downhill speed.
    pub fn rotor_downhill(&self) -> Result<RotorSpeed, Gap> {
        Ok(self.machine()?.rotor_speed(motor::rolling(self.get(list::DOWNHILL_SPEED)?, self.get(list::WHEEL_RADIUS)?)?))
    }

    /// Volts of the resting pack at a state of charge.
    pub fn bus_at_rest(&self, charge: StateOfCharge) -> Result<Voltage, Gap> {
        let i = self.raw(list::CHEMISTRY.id())? as usize;
        let curve = curves().get(i).map_or(&[][..], Vec::as_slice);
        Ok(battery::open_circuit(curve, self.get(list::CELLS_SERIES)?.get() as u32, charge)?)
    }

    /// Braking torque that the driven tyre passes on a wet road with the lightest load; the front motor is judged with
    /// lift, the rear one with the front brake pulled too.
    pub fn wet_grip_torque(&self) -> Result<WheelTorque, Gap> {
        let front = self.is(list::POSITION.id(), "front")?;
        let mass = self.get(list::LIGHTEST)?;
        let other = if front { 0.0 } else { 0.4 * 9.806_65 * mass.as_kilograms() };
        let mu = self.get(list::GRIP_WET)?;
        let stance = |other_n: f64| -> Result<Stance, Gap> {
            Ok(Stance {
                mass,
                grade: Grade::ZERO,
                wheelbase: self.get(list::WHEELBASE)?,
                centre_ahead: self.get(list::CENTRE_AHEAD_LIGHTEST)?,
                centre_height: self.get(list::CENTRE_HEIGHT)?,
                rolling: self.get(list::ROLLING)?,
                other_brake: Force::newtons(other_n),
                drag: Force::ZERO,
                drag_height: Length::ZERO,
            })
        };
        let tyre = if front {
            grip::front_grip(&stance(0.0)?, mu)?
        } else {
            // On a wet road the front brake cannot do more than its own tyre lets it.
            let front_most = grip::front_grip(&stance(0.0)?, mu)?.force.as_newtons();
            grip::rear_grip(&stance(other.min(front_most) * self.front_brake_share())?, mu)?
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

    /// An on/off switch brakes at once, also in a stop with the front brake; a rider who feels a variable lever lets go.
    fn front_brake_share(&self) -> f64 {
        if matches!(self.is(list::BRAKE_COMMAND.id(), "lever-switch"), Ok(true)) { 1.0 } else { 0.0 }
    }

    /// Play each way from the middle at the dropouts: the smaller of both ends that have a stop.
    pub fn play(&self) -> Result<Option<Angle>, Gap> {
        let mut least: Option<Angle> = None;
        for side in Side::BOTH {
            if let SlotFit::Stop(play) = self.fit(self.at(list::SLOT_WIDTH, side)?)? {
                least = Some(least.map_or(play, |p| p.min(play)));
            }
        }
        Ok(least)
    }
}

/// A jaw that was crushed on tightening holds nothing; its own link says so.
fn uncrushed(hold: Result<Torque, Gap>) -> Result<Torque, Gap> {
    match hold {
        Err(Gap::Range(r)) if r.what == "squeeze" => Ok(Torque::ZERO),
        other => other,
    }
}

/// Coarse pitch (ISO 261) of the bolts of arms and anchors.
fn coarse_pitch(diameter: Length) -> Result<Length, Gap> {
    const COARSE: [(f64, f64); 9] = [
        (3.0, 0.5),
        (4.0, 0.7),
        (5.0, 0.8),
        (6.0, 1.0),
        (8.0, 1.25),
        (10.0, 1.5),
        (12.0, 1.75),
        (14.0, 2.0),
        (16.0, 2.0),
    ];
    let mm = diameter.as_millimetres();
    COARSE
        .iter()
        .find(|(d, _)| (d - mm).abs() < 0.05)
        .map(|(_, p)| Length::millimetres(*p))
        .ok_or(Gap::Cannot("bolt-size"))
}

/// Open-circuit curves of the chemistries, in the order of the fact's answers.
fn curves() -> &'static [Vec<(StateOfCharge, Voltage)>] {
    static CURVES: OnceLock<Vec<Vec<(StateOfCharge, Voltage)>>> = OnceLock::new();
    CURVES.get_or_init(|| {
        let Shape::Choice(tokens) = fact::definition(list::CHEMISTRY.id()).shape else { return Vec::new() };
        tokens.iter().map(|t| evidence::ocv::curve(t)).collect()
    })
}
