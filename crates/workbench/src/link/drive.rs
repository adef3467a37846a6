//! From motor to road: gears, clutch lock, hub, spokes, and the hand brakes that must stop the bike alone.

use super::formulas::lock::{self, LockPlace, Weld};
use super::formulas::wheel::{self, Lacing};
use super::formulas::{gears, hold};
use super::si::*;
use super::{Gap, Load, Step, Tape, World};
use super::{Number, math};
use crate::fact::list;

/// Helical teeth push along the axle, and braking turns that push round: onto a washer or circlip that never carried any.
pub fn gear_thrust<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    if w.is(list::DRIVE.id(), "direct")? {
        return Err(Gap::NotThere);
    }
    if w.is(list::GEAR_TEETH.id(), "helical-one-washer")? {
        return Err(Gap::Cannot("gear-thrust"));
    }
    Ok(Load::braking(0.0, 1.0))
}

/// Motor currents asked for, as set (tolerance and overshoot are in the torques), against the controller's hardware limit.
pub fn motor_current<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let drive = w.set_current(list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY)?;
    let brake = w.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?;
    let most = w.amplitude(w.get(list::HARDWARE_CURRENT)?)?;
    Ok(Load::both(drive.as_amperes(), brake.as_amperes(), most.as_amperes()))
}

/// Teeth of the sun and planets, bent both ways once the clutch is locked.
pub fn gears<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    if w.is(list::DRIVE.id(), "direct")? {
        return Err(Gap::NotThere);
    }
    let d = w.steady()?;
    let (n, eta) = (w.get(list::REDUCTION)?, w.get(list::GEAR_EFFICIENCY)?);
    let module = w.get(list::GEAR_MODULE)?;
    let sun_radius = module * (w.get(list::SUN_TEETH)?.get() / 2.0);
    let planets = math::whole(w.get(list::PLANETS)?.get());
    let form = gears::lewis_factor(Some(math::whole(w.get(list::PLANET_TEETH)?.get())))?;
    let width = w.get(list::GEAR_WIDTH)?;
    let stress = |torque: WheelTorque, driving: bool| -> Result<Number, Gap> {
        let peak = w.through_gears(torque)?.as_newton_metres();
        let sun = if driving { peak / (n.get() * eta.get()) } else { peak * eta.get() / n.get() };
        let share = Ratio::new(if planets <= 3 { 1.0 } else { 1.5 });
        let force = gears::planet_tooth_force(RotorTorque::newton_metres(sun), sun_radius, planets, share)?;
        let s = gears::tooth_stress(force, width, module, form)?.as_megapascals();
        w.step(|| {
            let key = if driving { "tooth-drive" } else { "tooth-brake" };
            Step::new(key, "", &gears::TOOTH_STRESS, ("σ", s, "MPa"))
                .put("F", force.as_newtons(), "N")
                .put("b", width.as_millimetres(), "mm")
                .put("m", module.as_millimetres(), "mm")
                .put("Y", form.get(), "")
        });
        Ok(s)
    };
    let allowed = gears::reversed_allowable(w.get(list::GEAR_STRENGTH)?)?;
    Ok(Load::both(stress(d.drive, true)?, stress(d.brake, false)?, allowed.as_megapascals()))
}

/// The clutch's lock, with its worst tack or pin missing.
pub fn clutch_lock<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let kind = list::LOCK_KIND.id();
    if w.is(list::CLUTCH.id(), "none")? || w.is(kind, "no-clutch")? {
        return Err(Gap::NotThere);
    }
    if w.is(kind, "none-yet")? {
        return Err(Gap::Unknown(list::LOCK_RADIUS.id()));
    }
    let d = w.steady()?;
    let member = list::CLUTCH_MEMBER.id();
    let place = if w.is(member, "wheel-side")? {
        LockPlace::RingToShell
    } else if w.is(member, "carrier-to-axle")? {
        LockPlace::CarrierToAxle
    } else if w.is(member, "ring-to-axle")? {
        LockPlace::RingToAxle
    } else {
        LockPlace::Rotor
    };
    let radius = w.get(list::LOCK_RADIUS)?;
    let (n, eta) = (w.get(list::REDUCTION)?, w.get(list::GEAR_EFFICIENCY)?);
    let pins = w.is(kind, "pins")?;
    let ring = w.is(kind, "full-ring")?;
    let stress = |torque: WheelTorque| -> Result<Number, Gap> {
        let at_lock = lock::lock_torque(w.through_gears(torque)?, n, eta, place)?;
        let number = || Ok::<u32, Gap>(math::whole(w.get(list::LOCK_COUNT)?.get()));
        let (stress, formula) = if pins {
            let number = number()?;
            let bearing = number - u32::from(number > 1);
            (lock::pin_shear(at_lock, radius, w.get(list::LOCK_PIN_DIAMETER)?, bearing)?, &lock::PIN_SHEAR)
        } else {
            let leg = w.get(list::LOCK_LEG)?;
            let weld = if ring {
                Weld::Ring
            } else {
                let number = number()?;
                Weld::Tacks { number, length: w.get(list::LOCK_TACK_LENGTH)?, missing: u32::from(number > 1) }
            };
            (lock::weld_shear(at_lock, radius, leg, weld)?, &lock::WELD_SHEAR)
        };
        w.step(|| {
            Step::new("lock-shear", "", formula, ("τ", stress.as_megapascals(), "MPa"))
                .put("T", at_lock.as_newton_metres(), "N·m")
                .put("r", radius.as_millimetres(), "mm")
        });
        Ok(stress.as_megapascals())
    };
    Ok(Load::both(stress(d.drive)?, stress(d.brake)?, w.get(list::LOCK_STRENGTH)?.as_megapascals()))
}

/// Cover screws hold the shell by friction.
pub fn cover_screws<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let screws = math::whole(w.get(list::COVER_SCREWS)?.get());
    if screws == 0 {
        return Err(Gap::NotThere);
    }
    let d = w.demand()?;
    let holds = wheel::cover_slip_torque(
        w.get(list::COVER_CLAMP)?,
        w.get(list::COVER_FRICTION)?,
        screws,
        w.get(list::COVER_CIRCLE)?,
    )?;
    w.step(|| Step::new("cover-slip", "", &wheel::COVER_SLIP, ("T", holds.as_newton_metres(), "N·m")));
    Ok(Load::both(d.drive.as_newton_metres(), d.brake.as_newton_metres(), holds.as_newton_metres()))
}

/// Spokes that lose tension must keep some.
pub fn spokes<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let spokes = math::whole(w.get(list::SPOKES)?.get());
    if spokes == 0 {
        return Err(Gap::NotThere);
    }
    let crosses = math::whole(w.get(list::SPOKE_CROSSES)?.get());
    if crosses == 0 {
        return Err(Gap::Cannot("radial-spokes"));
    }
    let lacing =
        Lacing { spokes, crosses, rim_radius: w.get(list::RIM_RADIUS)?, flange_radius: w.get(list::FLANGE_RADIUS)? };
    let d = w.demand()?;
    let change = |t: WheelTorque| -> Result<Number, Gap> {
        let force = wheel::spoke_tension_change(t.max(WheelTorque::ZERO), &lacing)?.as_newtons();
        w.step(|| {
            Step::new("spoke-change", "", &wheel::SPOKE_CHANGE, ("ΔF", force, "N")).put(
                "T",
                t.as_newton_metres(),
                "N·m",
            )
        });
        Ok(force)
    };
    Ok(Load::both(change(d.drive)?, change(d.brake)?, w.get(list::SPOKE_TENSION)?.as_newtons()))
}

/// Each hand brake alone, with the load of the test, against what the shop's own stop test asks (WORKSHOP road ladder: 4.5 m from 15 km/h).
pub fn hand_brakes<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    // v²/2s: 15 km/h within 4.5 m.
    const ASKED: f64 = 15.0 / 3.6 * 15.0 / 3.6 / (2.0 * 4.5);
    let weakest = w.get(list::BRAKE_FRONT)?.min(w.get(list::BRAKE_REAR)?).as_metres_per_second_squared();
    Ok(Load::braking(ASKED, weakest))
}

/// The motor brake is gone at the worst moment (pack opens, limit, heat): both hand brakes on the steepest descent, with
/// the heaviest load, must slow the bike at least as hard as a quiet stop.
pub fn fault_regen<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    // Assumed: 1 m/s², a stop that nobody calls an emergency.
    const QUIET_STOP: f64 = 1.0;
    let heaviest = w.get(list::HEAVIEST)?;
    let bike = w.downhill(heaviest)?;
    let lost = hold::regen_lost(&bike, w.get(list::DOWNHILL_SPEED)?, Force::ZERO)?;
    let runs_away = lost.acceleration.as_metres_per_second_squared().max(0.0);
    // The stop tests were made with the usual load; a brake gives a force, so a heavier bike slows less.
    let both = w.get(list::BRAKE_FRONT)? + w.get(list::BRAKE_REAR)?;
    let slows = both.as_metres_per_second_squared() * w.get(list::USUAL)?.as_kilograms() / heaviest.as_kilograms();
    w.step(|| {
        Step::new("regen-lost", "", &hold::REGEN_LOST, ("a", runs_away, "m/s²")).put("m", heaviest.as_kilograms(), "kg")
    });
    Ok(Load::braking(runs_away + QUIET_STOP, slows))
}

/// The driven tyre on a wet road with the lightest load.
pub fn tyre_grip<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let brake = w.steady()?.brake.as_newton_metres();
    let radius = w.get(list::WHEEL_RADIUS)?.as_metres();
    Ok(Load::braking(brake / radius, w.wet_grip_torque()?.as_newton_metres() / radius))
}
