//! From motor to battery: volts, charge, cold, speeds above which the motor brakes by itself, and the hill.

use super::formulas::dump::{self, Dump};
use super::formulas::motor::{self, Direction, Machine};
use super::formulas::supply::{self, Inverter};
use super::formulas::{battery, heat, hold, road, voltage};
use super::si::*;
use super::{Gap, Load, Step, Tape, World};
use super::{Number, math};
use crate::fact::list;

/// Charge at which the onset of charging by itself is judged: an almost empty pack has the lowest volts.
const ALMOST_EMPTY: quantity::StateOfCharge = quantity::StateOfCharge::new(0.10);

/// The motor's own volts at the usual downhill speed against the controller's rating.
pub fn controller_volts<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let machine = w.machine()?;
    let rotor = w.rotor_downhill()?;
    let volts = machine.back_emf_peak(rotor);
    w.step(|| {
        Step::new("motor-volts", "", &voltage::BACK_EMF_SPEED, ("U", volts.as_volts(), "V"))
            .put("λ₀", machine.flux_linkage().as_webers() * 1e3, "mWb")
            .put("ω_m", rotor.as_radians_per_second(), "rad/s")
    });
    let full = w.bus_charged()?;
    Ok(Load::one(volts.as_volts().max(full.as_volts()), w.get(list::VOLTAGE_RATING)?.as_volts()))
}

/// The usual downhill speed against the speed at which an almost empty pack is charged by the diodes alone.
pub fn too_fast<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let machine = w.machine()?;
    let bus = w.bus_at_rest(ALMOST_EMPTY.into())?;
    let onset = machine.wheel_speed(machine.back_emf_speed(bus)).as_radians_per_second();
    let kmh = Speed::metres_per_second(onset * w.get(list::WHEEL_RADIUS)?.as_metres()).as_kilometres_per_hour();
    w.step(|| {
        Step::new("onset", "", &voltage::BACK_EMF_SPEED, ("v", kmh, "km/h")).put("U", bus.as_volts(), "V").put(
            "λ₀",
            machine.flux_linkage().as_webers() * 1e3,
            "mWb",
        )
    });
    Ok(Load::one(w.get(list::DOWNHILL_SPEED)?.as_kilometres_per_hour(), kmh))
}

/// Volts at the motor's plug with the pack out at the usual downhill speed, against 60 V, up to which direct voltage may be
/// touched in the usual codes (from memory).
pub fn battery_out<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    const TOUCH: quantity::Voltage = quantity::Voltage::volts(60.0);
    let volts = w.machine()?.back_emf_peak(w.rotor_downhill()?);
    w.step(|| Step::new("motor-volts", "", &voltage::BACK_EMF_SPEED, ("U", volts.as_volts(), "V")));
    Ok(Load::one(volts.as_volts(), TOUCH.as_volts()))
}

/// Braking as set at the usual downhill speed.
#[derive(Clone, Copy)]
pub(super) struct Charging {
    /// Motor current.
    current: PhaseCurrent,
    /// Into the pack, charged as far as it may be.
    full: BatteryCurrent,
    /// Volts of that pack at rest.
    bus: Voltage,
    /// Into the pack at the charge at which most flows: at fewer volts the same power is more amperes.
    most: BatteryCurrent,
}

fn charging<'w, T: Tape>(w: &'w World<'_, T>) -> Result<&'w Charging, Gap> {
    w.shared(&w.charging, || charging_now(w))
}

/// Braking current as set, with the controller's tolerance.
fn asked_braking<T: Tape>(w: &World<'_, T>) -> Result<PhaseCurrent, Gap> {
    let beyond = 1.0 + w.get(list::CURRENT_TOLERANCE)?.get();
    Ok(w.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)? * beyond)
}

/// Power into the pack while braking, none where braking draws.
fn brings(machine: &Machine, rotor: RotorSpeed, current: PhaseCurrent, bus: Voltage) -> Power {
    Power::watts((-supply::braking_power(machine, &Inverter::IDEAL, rotor, current, bus).as_watts()).max(0.0))
}

fn charging_now<T: Tape>(w: &World<'_, T>) -> Result<Charging, Gap> {
    let machine = w.machine()?;
    let rotor = w.rotor_downhill()?;
    let bus = w.bus_charged()?;
    let asked = asked_braking(w)?;
    // Only the controller keeps its charge limit while riding; what nobody keeps is not there.
    let mut current = asked;
    let power = brings(machine, rotor, asked, bus).as_watts();
    let mut into = BatteryCurrent::amperes(power / bus.as_volts());
    let mut most = BatteryCurrent::amperes(power / w.bus_at_rest(ALMOST_EMPTY.into())?.as_volts()).max(into);
    if let Some(limit) = w.kept_charge_limit()? {
        current = w.under_charge_limit(machine, rotor, asked, Some(limit), bus)?;
        // The limit itself, not worked back from the current: rounding must not put a full link over its limit.
        let limited = math::if_above(asked.as_amperes(), current.as_amperes(), limit.as_amperes(), into.as_amperes());
        into = BatteryCurrent::amperes(limited);
        most = most.min(limit).max(into);
    }
    let (amps, most) = (into * w.hubs()?, most * w.hubs()?);
    w.step(|| {
        Step::new("charging", "", &supply::SUPPLY_POWER, ("I", amps.as_amperes(), "A"))
            .put("î", current.as_amperes(), "A")
            .put("P", -amps.as_amperes() * bus.as_volts(), "W")
            .put("V", bus.as_volts(), "V")
    });
    Ok(Charging { current, full: amps, bus, most })
}

/// The pack opens while braking: how high the supply rises against the controller's rating, at the usual descent or, if that
/// is worse, where a kept charge limit begins: below that speed all of the motor current that is set flows. Between the two
/// the power is the limit's, and the rise is a straight line and a convex curve of the speed, so an end of it is the worst.
pub fn pack_cuts_out<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let rating = w.get(list::VOLTAGE_RATING)?.as_volts();
    let machine = w.machine()?;
    let usual = w.rotor_downhill()?;
    let Charging { current, full: amps, bus, .. } = *charging(w)?;
    let rise = |rotor: RotorSpeed, current: PhaseCurrent, power: Power, shown: bool| -> Result<Number, Gap> {
        let dump = Dump {
            bus,
            power,
            capacitance: w.get(list::CAPACITANCE)?,
            trip_time: w.get(list::TRIP_TIME)?,
            current: current * (1.0 + w.get(list::OVERSHOOT)?.get()),
        };
        let peak = dump::load_dump_bound(machine, rotor, &dump)?;
        let likely = dump::load_dump_estimate(machine, rotor, &dump)?;
        let step = || {
            Step::new("load-dump", "", &dump::LOAD_DUMP_BOUND, ("V", peak.as_volts(), "V"))
                .put("V₀", bus.as_volts(), "V")
                .put("î", dump.current.as_amperes(), "A")
                .put("ω_m", rotor.as_radians_per_second(), "rad/s")
                .put("C", dump.capacitance.as_farads() * 1e6, "µF")
                .put("t", dump.trip_time.as_milliseconds(), "ms")
                .put("likely", likely.as_volts(), "V")
        };
        if shown {
            w.step(step);
        }
        Ok(peak.as_volts())
    };
    let mut highest = rise(usual, current, Power::watts(amps.as_amperes() * bus.as_volts()), true)?;
    let asked = asked_braking(w)?;
    if let Some(limit) = w.kept_charge_limit()?
        && asked > PhaseCurrent::ZERO
    {
        let limit = Power::watts(limit.as_amperes() * bus.as_volts());
        let begins = supply::charge_limit_speed(machine, &Inverter::IDEAL, asked, limit, bus)?.min(usual);
        let unlimited = brings(machine, begins, asked, bus).as_watts();
        let (end, begin) = (usual.as_radians_per_second(), begins.as_radians_per_second());
        let all = Power::watts(math::if_above(end, begin, limit.as_watts(), unlimited)) * w.hubs()?;
        highest = highest.max(rise(begins, asked, all, math::names_above(end, begin))?);
    }
    Ok(Load::braking(highest, rating))
}

/// Charge that the cells and the pack's electronics allow when warm.
fn rated<T: Tape>(w: &World<'_, T>) -> Result<Number, Gap> {
    let cells = w.get(list::CELL_CHARGE)?.as_amperes() * w.get(list::CELLS_PARALLEL)?.get();
    Ok(cells.min(w.get(list::ELECTRONICS_CHARGE)?.as_amperes()))
}

/// Charging through the discharge plug: paper, not a number.
pub fn battery_port<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    if w.is(list::CHARGING_PLUG.id(), "in-writing")? {
        Ok(Load::braking(0.0, 1.0))
    } else {
        Err(Gap::Cannot("battery-port"))
    }
}

/// Into the pack against what it swallows when warm.
pub fn charge_amps<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    Ok(Load::braking(charging(w)?.most.as_amperes(), rated(w)?))
}

/// Into the pack against the room that is left under its full voltage at the agreed charge.
pub fn charge_volts<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let Charging { full: amps, bus: rest, .. } = *charging(w)?;
    let series = math::whole(w.get(list::CELLS_SERIES)?.get());
    let limit = battery::fold_back(series, w.get(list::CELL_FULL)?, w.get(list::IMBALANCE)?);
    let room = battery::voltage_room(limit, rest, w.get(list::PACK_RESISTANCE)?)?;
    w.step(|| {
        Step::new("voltage-room", "", &battery::VOLTAGE_ROOM, ("I", room.as_amperes(), "A"))
            .put("n_s·(u_max − Δu)", limit.as_volts(), "V")
            .put("U_oc", rest.as_volts(), "V")
    });
    Ok(Load::braking(amps.as_amperes(), room.as_amperes()))
}

/// Plug and wire in the charging direction.
pub fn plug_and_wire<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    Ok(Load::braking(charging(w)?.most.as_amperes(), w.get(list::PLUG_RATING)?.as_amperes()))
}

/// Into the coldest pack.
pub fn cold<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let share = battery::cold_share(w.get(list::COLDEST)?, w.get(list::COOL_SHARE)?)?;
    w.step(|| Step::new("cold-share", "", &battery::COLD_SHARE, ("share", share.get(), "")));
    Ok(Load::braking(charging(w)?.most.as_amperes(), rated(w)? * share.get()))
}

/// Torque that each braked wheel needs to keep a speed on the steepest hill, with the usual load.
fn holding<T: Tape>(w: &World<'_, T>, speed: Speed) -> Result<WheelTorque, Gap> {
    let mass = w.get(list::USUAL)?;
    let force = road::road_force(&w.downhill(mass)?, speed)?.as_newtons();
    let torque = (-force).max(0.0) * w.get(list::WHEEL_RADIUS)?.as_metres() / w.hubs()?;
    w.step(|| {
        Step::new("hill", "", &road::ROAD_FORCE, ("T", torque, "N·m"))
            .put("m", mass.as_kilograms(), "kg")
            .put("v", speed.as_kilometres_per_hour(), "km/h")
            .put("F", force, "N")
    });
    Ok(WheelTorque::newton_metres(torque))
}

/// Speed hold on the steepest hill against what current and charge limit leave, at the set speed and a fifth above it:
/// a hold that weakens faster than the hill, once the charge limit binds, runs away.
pub fn hill_hold<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    // At the foot of the hill, where winding and magnet are warmest and hold least.
    let end = descent(w)?.end;
    // Beyond its limits its own link fails already.
    let up_to = |t: Temperature, limit: Temperature| Temperature::kelvins(t.as_kelvins().min(limit.as_kelvins()));
    let winding = up_to(end.winding, w.get(list::WINDING_LIMIT)?);
    let machine = w.motor()?.at(winding, up_to(end.shell, w.get(list::GEAR_LIMIT)?))?;
    let most = w.amplitude(w.get(list::BRAKE_CURRENT)?)?;
    let limit = w.kept_charge_limit()?;
    let set = w.hold_speed()?;
    let mut worst: Option<Load> = None;
    for (key, speed) in [("hold-torque", set), ("hold-torque-faster", set * 1.2)] {
        let rotor = machine.rotor_speed(motor::rolling(speed, w.get(list::WHEEL_RADIUS)?)?);
        // Fewest volts: a limit in amperes is then the least power.
        let current = w.under_charge_limit(&machine, rotor, most, limit, w.bus_at_rest(ALMOST_EMPTY.into())?)?;
        let holds = machine.wheel_torque_at(Direction::Brake, current, rotor).as_newton_metres();
        w.step(|| {
            Step::new(key, "", &supply::CHARGE_LIMIT_CURRENT, ("T", holds, "N·m"))
                .put("î", current.as_amperes(), "A")
                .put("v", speed.as_kilometres_per_hour(), "km/h")
        });
        let load = Load::braking(holding(w, speed)?.as_newton_metres(), holds);
        worst = Some(worst.map_or(load, |before| before.fuller(load)));
    }
    worst.ok_or(Gap::NotThere)
}

/// A descent held from top to bottom.
#[derive(Clone, Copy)]
pub(super) struct Descent {
    heating: heat::Heating,
    time: Time,
    end: heat::Warmth,
}

/// Temperatures after the longest held descent. The torque is held, not the current: the magnet is taken as hot as it may
/// get, where the current is largest. Where the set current does not hold the hill, it flows all the way down.
fn descent<T: Tape>(w: &World<'_, T>) -> Result<Descent, Gap> {
    w.shared(&w.descent, || held_descent(w)).copied()
}

fn held_descent<T: Tape>(w: &World<'_, T>) -> Result<Descent, Gap> {
    let grade = w.get(list::STEEPEST)?.get();
    if grade <= 0.0 {
        return Err(Gap::NotThere);
    }
    let (motor, air) = (w.motor()?, w.get(list::HOTTEST_AIR)?);
    let hot = w.get(list::GEAR_LIMIT)?;
    let machine = motor.at(Temperature::celsius(20.0), hot)?;
    let rotor = machine.rotor_speed(motor::rolling(w.hold_speed()?, w.get(list::WHEEL_RADIUS)?)?);
    let most = w.amplitude(w.get(list::BRAKE_CURRENT)?)?;
    let most = machine.wheel_torque_at(Direction::Brake, most, rotor);
    let held = holding(w, w.hold_speed()?)?.min(most).max(machine.coasting_drag(rotor));
    let heating = hold::held_losses(&motor, held, rotor, hot, air)?;
    let nodes = heat::TwoNodes {
        winding: w.get(list::WINDING_CAPACITY)?,
        shell: w.get(list::SHELL_CAPACITY)?,
        winding_to_shell: w.get(list::WINDING_TO_SHELL)?,
        // Stated at 20 km/h; less wind cools less.
        shell_to_air: w.get(list::SHELL_TO_AIR)? * heat::shell_cooling(w.hold_speed()?)?.get(),
    };
    // After a day every hub has settled; the formula goes no further.
    let seconds = w.get(list::DESCENT_HEIGHT)?.as_metres() / grade / w.hold_speed()?.as_metres_per_second();
    let time = Time::seconds(seconds.min(86_400.0));
    let end = heat::after(&nodes, &heating, heat::Warmth { winding: air, shell: air }, time)?;
    Ok(Descent { heating, time, end })
}

/// Winding and gears on the longest held descent; how full counts from the air to the limit.
pub fn winding_heat<T: Tape>(w: &World<'_, T>) -> Result<Load, Gap> {
    let Descent { heating, time, end } = descent(w)?;
    let air = heating.air;
    let (winding, shell) = (w.get(list::WINDING_LIMIT)?, w.get(list::GEAR_LIMIT)?);
    // Where the air is as hot as the limit there is no room at all.
    let share = |t: Temperature, limit: Temperature| {
        let room = limit.as_kelvins() - air.as_kelvins();
        math::if_above(room, 0.0, (t.as_kelvins() - air.as_kelvins()) / room, f64::INFINITY)
    };
    w.step(|| {
        Step::new("heat", "", &heat::TWO_NODES, ("T_w", end.winding.as_celsius(), "°C"))
            .put("P₂₀", heating.copper_at_20.as_watts(), "W")
            .put("P_s", heating.shell.as_watts(), "W")
            .put("t", time.as_seconds() / 60.0, "min")
            .put("T_s", end.shell.as_celsius(), "°C")
    });
    let full = share(end.winding, winding).max(share(end.shell, shell));
    Ok(Load {
        drive: 0.0.into(),
        brake: end.winding.as_celsius(),
        capacity: winding.as_celsius(),
        full: math::each(full, |x| if x.is_finite() { x.max(0.0) } else { f64::INFINITY }),
    })
}
