//! From axle to frame: nuts, threads, faces, flats, arms, anchors, and what is left when one of them lets go.

use super::Number;
use super::formulas::axle_section::{self, AxleSection};
use super::formulas::flats::{self, SlotFit};
use super::formulas::motor::Direction;
use super::formulas::{anchor, axle_state, pinch, short, thread, tightening};
use super::si::*;
use super::world::STEEL;
use super::{Gap, Load, Step, Tape, World};
use crate::fact::{Side, list};

fn nm(t: Torque) -> Number {
    t.as_newton_metres()
}

/// The axle in the frame: sits still up to the first slip of a face.
pub fn hold<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let d = w.demand()?;
    Ok(Load::both(d.drive.as_newton_metres(), d.brake.as_newton_metres(), nm(w.first_slip()?)))
}

/// The clamped faces of one end, each end asked for half.
pub fn faces<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let d = w.demand()?;
    let s = w.side(side)?;
    let half = w.get(list::HOLD_TEST).map_or(0.0.into(), |t| nm(t) / 2.0);
    Ok(Load::both(
        d.drive.as_newton_metres() / 2.0,
        d.brake.as_newton_metres() / 2.0,
        nm(s.drive.min(s.brake)).max(half),
    ))
}

/// Flats in the slot: asked only for what the faces do not hold; after the play its corners yield or a prong bends.
pub fn flats<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let d = w.demand()?;
    let over = |t: WheelTorque, held: Torque| (t.as_newton_metres() - nm(held)).max(0.0);
    let held = w.first_slip()?;
    let (flat, thickness) = (w.flat()?, w.at(list::DROPOUT_THICKNESS, side)?);
    let capacity = match w.dropout_fit(side)? {
        SlotFit::NoStop => Torque::ZERO,
        SlotFit::Stop(play) => {
            let yields = w.at(list::DROPOUT_YIELD, side)?;
            let corner = flats::corner_yield(flat, thickness, play, yields, STEEL.into())?;
            w.step(|| {
                Step::new("corner-yield", side.token(), &flats::CORNER_YIELD, ("T_y", nm(corner.torque), "N·m"))
                    .put("φ", play.as_degrees(), "°")
                    .put("b", flat.as_millimetres(), "mm")
                    .put("t", thickness.as_millimetres(), "mm")
                    .put("p_y", yields.as_megapascals(), "MPa")
            });
            let prong = w.prong(side)?;
            w.step(|| {
                Step::new("prong", side.token(), &flats::PRONG, ("T_prong", nm(prong), "N·m"))
                    .put("t", thickness.as_millimetres(), "mm")
                    .put("σ_y", yields.as_megapascals(), "MPa")
            });
            corner.torque.min(prong)
        }
    };
    Ok(Load::both(over(d.drive, held), over(d.brake, held), nm(capacity)))
}

/// Pressure of the clamped ring on the dropout.
pub fn dropout<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let pressure = super::formulas::faces::contact_pressure(w.ring(side)?, w.side(side)?.tightened)?;
    let limit = w.at(list::DROPOUT_BEARING, side)?;
    Ok(Load::one(pressure.as_megapascals(), limit.as_megapascals()))
}

/// Thread of axle and nut against stripping, 0.8 of the strip force allowed.
pub fn thread<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let (section, engaged) = (w.section(side)?, w.engagement(side)?);
    // Tensile strength of the axle: its yield is known, and no axle steel breaks below it.
    let strip = thread::strip_forces(section, engaged, w.get(list::AXLE_YIELD)?, w.at(list::NUT_STRENGTH, side)?)?;
    let force = w.side(side)?.tightened;
    w.step(|| {
        Step::new("strip", side.token(), &thread::STRIP_FORCES, ("F", strip.least().as_newtons(), "N")).put(
            "LE",
            engaged.as_millimetres(),
            "mm",
        )
    });
    Ok(Load::one(force.as_newtons(), tightening::STRIP_USE * strip.least().as_newtons()))
}

/// Stress of the axle's end while its nut is tightened, 0.9 of the yield allowed.
pub fn nut<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let turning = w.turning(side)?;
    let force = tightening::preload(&turning, w.at(list::NUT_TORQUE, side)?)?;
    let stress = tightening::stress_while_tightening(w.section(side)?, turning.thread_friction, force)?;
    w.step(|| {
        Step::new(
            "nut-stress",
            side.token(),
            &tightening::STRESS_WHILE_TIGHTENING,
            ("σ_vM", stress.as_megapascals(), "MPa"),
        )
        .put("F", force.as_kilonewtons(), "kN")
    });
    Ok(Load::one(stress.as_megapascals(), tightening::YIELD_USE * w.get(list::AXLE_YIELD)?.as_megapascals()))
}

/// A torque arm: what is asked beyond the faces against what it holds without gap or yield.
pub fn arm<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let d = w.demand()?;
    let held = nm(w.first_slip()?);
    let over = |t: WheelTorque| (t.as_newton_metres() - held).max(0.0);
    let capacity = if w.pinches(i)? { w.arm_still(i)? } else { slotted_yield(w, i)? };
    Ok(Load::both(over(d.drive), over(d.brake), nm(capacity)))
}

fn slotted_yield<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Torque, Gap> {
    match w.fit(w.of_arm(list::ARM_SLOT, i)?)? {
        SlotFit::NoStop => Ok(Torque::ZERO),
        SlotFit::Stop(play) => {
            let yields = w.of_arm(list::ARM_YIELD, i)?;
            let thickness = w.of_arm(list::ARM_THICKNESS, i)?;
            Ok(flats::corner_yield(w.flat()?, thickness, play, yields, STEEL.into())?.torque)
        }
    }
}

/// Highest pressure of a pinching arm's jaws, at their edge where the squeeze is offset, against its yield: crushed on
/// tightening above it.
pub fn pinch_jaws<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let area_mm2 = w.flat()?.as_millimetres() * w.of_arm(list::ARM_THICKNESS, i)?.as_millimetres();
    let offset_mm = w.of_arm(list::PINCH_OFFSET, i)?.as_millimetres();
    let peak = 1.0 + 6.0 * offset_mm.abs() / w.flat()?.as_millimetres();
    let pressure = w.squeeze(i)?.as_newtons() / area_mm2 * peak;
    w.step(|| {
        Step::new("jaw-pressure", format!("{}", i + 1), &pinch::NO_YIELD, ("p", pressure, "MPa"))
            .put("b·t", area_mm2, "mm²")
            .put("1 + 6·|e₀|/b", peak, "")
    });
    Ok(Load::one(pressure, w.of_arm(list::ARM_YIELD, i)?.as_megapascals()))
}

/// Stress of an arm's pinch bolts while they are tightened, 0.9 of the yield of their grade allowed.
pub fn pinch_bolts<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let (diameter, friction) = (w.of_arm(list::PINCH_DIAMETER, i)?, w.of_arm(list::PINCH_FRICTION, i)?);
    bolt(w, i, diameter, friction, w.of_arm(list::PINCH_TORQUE, i)?, w.bolt_yield(list::PINCH_GRADE.of(i))?)
}

/// The same of its anchor bolt.
pub fn anchor_bolt<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let (diameter, friction) = (w.of_arm(list::ANCHOR_DIAMETER, i)?, w.of_arm(list::ANCHOR_THREAD_FRICTION, i)?);
    bolt(w, i, diameter, friction, w.of_arm(list::ANCHOR_TORQUE, i)?, w.bolt_yield(list::ANCHOR_GRADE.of(i))?)
}

fn bolt<T: Tape>(
    w: &World<'_, T>,
    i: usize,
    diameter: Length,
    friction: Friction,
    torque: Torque,
    yields: Stress,
) -> Result<Load, Gap> {
    let turning = w.small_turning(diameter, friction)?;
    let force = tightening::preload(&turning, torque)?;
    let section = thread::ThreadedSection::solid(turning.thread);
    let stress = tightening::stress_while_tightening(section, friction, force)?.as_megapascals();
    w.step(|| {
        Step::new("bolt-stress", format!("{}", i + 1), &tightening::STRESS_WHILE_TIGHTENING, ("σ_vM", stress, "MPa"))
            .put("F", force.as_kilonewtons(), "kN")
            .put("μ", friction.get(), "")
    });
    Ok(Load::one(stress, tightening::YIELD_USE * yields.as_megapascals()))
}

/// An arm's anchor: the full torque less the friction of the clamped faces, against its slip.
pub fn anchor<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let d = w.demand()?;
    let held = w.first_slip()?;
    let slip = w.anchor_slip(i)?;
    let force = |t: WheelTorque| -> Result<Number, Gap> {
        let over = Torque::newton_metres((t.as_newton_metres() - nm(held)).max(0.0));
        Ok(anchor::arm_force(over, w.of_arm(list::ARM_LENGTH, i)?)?.as_newtons())
    };
    w.step(|| Step::new("anchor-slip", format!("{}", i + 1), &anchor::ANCHOR_SLIP, ("F", slip.as_newtons(), "N")));
    Ok(Load::both(force(d.drive)?, force(d.brake)?, slip.as_newtons()))
}

/// Stops whose plays lie so near that they act together: the largest sum of plastic limits. An arm or end may be gone.
fn stops<T: Tape>(w: &World<'_, T>, gone: Option<usize>) -> Result<Torque, Gap> {
    if gone.is_some() { stops_without(w, gone) } else { w.shared(&w.stops, || stops_without(w, None)).copied() }
}

fn stops_without<T: Tape>(w: &World<'_, T>, gone: Option<usize>) -> Result<Torque, Gap> {
    let mut all: Vec<(Angle, Torque)> = Vec::with_capacity(2 + w.arms());
    for side in Side::BOTH {
        if let SlotFit::Stop(play) = w.dropout_fit(side)? {
            all.push((play, w.dropout_plastic(side)?));
        }
    }
    for i in (0..w.arms()).filter(|i| Some(*i) != gone) {
        if w.pinches(i)? {
            all.push((Angle::ZERO, w.arm_plastic(i)?));
        } else if let SlotFit::Stop(play) = w.fit(w.of_arm(list::ARM_SLOT, i)?)? {
            all.push((play, w.arm_plastic(i)?));
        }
    }
    let flat = w.flat()?;
    let mut best = Torque::ZERO;
    for (first, _) in &all {
        let mut sum = Torque::ZERO;
        for (play, torque) in &all {
            sum = sum + *torque * flats::stop_shares(*play, *first, flat)?.get();
        }
        best = best.max(sum);
    }
    Ok(best)
}

/// What is left by friction after slip (0.8 of it, assumed) and by the stops.
fn left_over<T: Tape>(w: &World<'_, T>, friction: Torque, gone: Option<usize>) -> Result<Torque, Gap> {
    let kept = axle_state::friction_after_slip(Friction::new(1.0))?.get();
    Ok(friction * kept + stops(w, gone)?)
}

/// With all parts in place: the faces until they slip, then what is left over.
fn holding<T: Tape>(w: &World<'_, T>) -> Result<Torque, Gap> {
    let faces = w.faces_alone()?;
    Ok(faces.max(left_over(w, faces, None)?))
}

/// One nut slack: the other end and the stops.
pub fn fault_nut<T: Tape>(w: &World<'_, T>, slack: Side) -> Result<Load, Gap> {
    let d = w.demand()?;
    let other = w.side(if slack == Side::Left { Side::Right } else { Side::Left })?;
    let left = left_over(w, other.drive.min(other.brake), None)?;
    Ok(Load::both(d.drive.as_newton_metres(), d.brake.as_newton_metres(), nm(left)))
}

/// An arm or its anchor gone: the faces and the other stops.
pub fn fault_arm<T: Tape>(w: &World<'_, T>, i: usize) -> Result<Load, Gap> {
    let d = w.demand()?;
    let left = left_over(w, w.faces_alone()?, Some(i))?;
    Ok(Load::both(d.drive.as_newton_metres(), d.brake.as_newton_metres(), nm(left)))
}

/// The axle's end: between shoulder and nut pulled by the nut and twisted by what goes through it; inboard of the
/// shoulder twisted by all that this end passes on.
pub fn section<T: Tape>(w: &World<'_, T>, side: Side) -> Result<Load, Gap> {
    let d = w.demand()?;
    let hold = w.side(side)?;
    let thread = w.thread()?;
    // Root of the thread or the flats, whichever is smaller, carries the torque.
    let s = w.get(list::ACROSS_FLATS)?.min(thread.root_diameter());
    let _ = w.section(side)?;
    let section = AxleSection::new(thread.root_diameter(), Some(s), w.at(list::BORE, side)?)?;
    let stress = |torque: WheelTorque, held: Torque| -> Result<Number, Gap> {
        // Share between the ends unknown: all of the torque, but no more than this end can pass on before it slips.
        let passed = Torque::newton_metres(torque.as_newton_metres().max(0.0)).min(held);
        let through_nut = passed.min(hold.outer);
        let outboard = axle_section::combined_stress(section, through_nut, hold.tightened, Torque::ZERO)?;
        let inboard = axle_section::combined_stress(section, passed, Force::ZERO, Torque::ZERO)?;
        w.step(|| {
            Step::new(
                "axle-stress",
                side.token(),
                &axle_section::COMBINED_STRESS,
                ("σ_vM", outboard.as_megapascals(), "MPa"),
            )
            .put("T", nm(through_nut), "N·m")
            .put("F", hold.tightened.as_kilonewtons(), "kN")
        });
        Ok(outboard.max(inboard).as_megapascals())
    };
    w.step(|| fatigue(section, hold, d.drive, d.brake, w.get(list::AXLE_YIELD)));
    Ok(Load::both(
        stress(d.drive, hold.drive)?,
        stress(d.brake, hold.brake)?,
        w.get(list::AXLE_YIELD)?.as_megapascals(),
    ))
}

/// Long life under reversing torque, shown beside the stress. It warns and proves nothing: no test stands behind its
/// strengths. Rolled thread K_f 2.2, surface and size 0.6 (Shigley, from memory), tensile strength not below yield.
fn fatigue(
    section: AxleSection,
    hold: &super::world::SideHold,
    drive: WheelTorque,
    brake: WheelTorque,
    yields: Result<Stress, Gap>,
) -> Step {
    let used = || -> Result<Number, Gap> {
        let passed = |t: WheelTorque, held: Torque| {
            let torque = Torque::newton_metres(t.as_newton_metres().max(0.0)).min(held).min(hold.outer);
            axle_section::torsion_bound(section, torque)
        };
        let (d, b) = (passed(drive, hold.drive)?, passed(brake, hold.brake)?);
        let load = axle_section::FatigueLoad {
            shear_amplitude: (d + b) / 2.0,
            shear_mean: Stress::pascals((d - b).as_pascals().abs() / 2.0),
            tension_mean: axle_section::combined_stress(section, Torque::ZERO, hold.clamp, Torque::ZERO)?,
        };
        let tensile = yields?;
        let endurance = axle_section::endurance_limit(tensile, Ratio::new(0.6), Ratio::new(2.2))?;
        Ok(axle_section::fatigue_use(load, endurance, tensile)?.get())
    };
    let share = used().map_or(Number::from(f64::NAN), |u| 100.0 * u);
    Step::new("fatigue", "", &axle_section::FATIGUE_USE, ("u", share, "%"))
}

/// Saturation lowers the inductance under such currents (PHYSICS-DETAIL M1, assumed).
const SATURATED: f64 = 0.8;

/// All three motor wires shorted: the worst steady brake of its own against what is left by plastic limits.
pub fn fault_short<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let machine = w.saturated(SATURATED.into())?;
    let (rotor, speed) = short::worst_short(&machine);
    let torque = machine.wheel_torque(rotor * -1.0, speed) * -1.0;
    w.step(|| {
        Step::new("short", "", &short::WORST_SHORT, ("T_w", torque.as_newton_metres(), "N·m"))
            .put("T", rotor.as_newton_metres(), "N·m")
            .put("L", machine.phase_inductance().as_henries() * 1e6, "µH")
    });
    w.step(|| {
        let braking =
            w.amplitude(w.get(list::BRAKE_CURRENT).unwrap_or(PhaseCurrent::ZERO)).unwrap_or(PhaseCurrent::ZERO);
        let fast = w.rotor_downhill().unwrap_or(RotorSpeed::ZERO);
        let peak = short::first_peak(&machine, fast, braking * -1.0);
        let wheel = machine.wheel_torque(peak.torque * -1.0, fast) * -1.0;
        Step::new("sudden-short", "", &short::FIRST_PEAK, ("T_w", wheel.as_newton_metres(), "N·m")).put(
            "i against the magnets",
            peak.against_magnet.as_amperes(),
            "A",
        )
    });
    Ok(Load::braking(torque.as_newton_metres(), nm(holding(w)?)))
}

/// Torque of the wrong sign up to the controller's hardware limit (position sensor or its cable).
pub fn fault_sign<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let machine = w.machine()?;
    let amps = w.amplitude(w.get(list::HARDWARE_CURRENT)?)?;
    let rotor = w.rotor_downhill()?;
    let brake = machine.wheel_torque_at(Direction::Brake, amps, rotor).as_newton_metres();
    let drive = machine.wheel_torque_at(Direction::Drive, amps, rotor).as_newton_metres();
    Ok(Load::both(drive.max(0.0), brake, nm(holding(w)?)))
}
