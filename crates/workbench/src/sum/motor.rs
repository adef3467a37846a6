//! The motor: a working point, and what a turning locked hub does on its own.

use super::input::{ROAD_SPEED, Shape, of};
use super::machine::{
    BUS, CURRENT, DROOP, EDDY, EMF, EMF_EXAMPLE, EMF_ON_ROAD, GEAR_EFFICIENCY, HYSTERESIS, PHASE_INDUCTANCE,
    PHASE_RESISTANCE, TURNING, TURNING_EXAMPLE, WHEEL_SPEED, WINDING, WINDING_EXAMPLE, join, machine, road_speed,
};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::dump::{
    Dump, LOAD_DUMP as DUMP, LOAD_DUMP_BOUND, LOAD_DUMP_ESTIMATE, load_dump, load_dump_bound, load_dump_estimate,
};
use physics::motor::{AIRGAP_TORQUE, Direction, ROTOR_DRAG, WHEEL_TORQUE, rolling};
use physics::rectifier::{FORCED_CHARGE, Supply, forced_charge};
use physics::short::{
    FIRST_PEAK, STEADY_SHORT, SUDDEN_SHORT, WORST_SHORT, first_peak, steady_short, sudden_short, worst_short,
};
use physics::supply::{
    BEST_RECOVERY, CHARGE_LIMIT_CURRENT, FADE_DRAW, Fade, Inverter, ZERO_RECOVERY, best_recovery, charge_limit_current,
    fade_draw, zero_recovery_speed,
};
use physics::voltage::{BACK_EMF_SPEED, DQ_VOLTAGES, Dq, LINE_PEAK, line_peak, terminal_power};
use quantity::{BatteryCurrent, Length, PhaseCurrent, Power, RotorTorque, Speed, Voltage, WheelTorque};

/// One working point.
pub(super) static MOTOR_POINT: Sum = Sum {
    name: "motor-point",
    inputs: &join::<_, 7, 6, 13>(
        join(WINDING, TURNING),
        [
            CURRENT,
            Input::new("direction", Shape::Choice(&["drive", "brake"])),
            HYSTERESIS,
            EDDY,
            GEAR_EFFICIENCY,
            DROOP,
        ],
    ),
    outputs: &[
        Output::new("wheel_torque_nm"),
        Output::new("dc_power_w"),
        Output::new("line_voltage_peak_v"),
        Output::new("copper_loss_w"),
    ],
    formulas: &[&AIRGAP_TORQUE, &ROTOR_DRAG, &WHEEL_TORQUE, &DQ_VOLTAGES, &LINE_PEAK],
    recipe: Some("m20"),
    example: &join::<_, 7, 6, 13>(
        join(WINDING_EXAMPLE, TURNING_EXAMPLE),
        [
            ("phase-current", "70 A"),
            ("direction", "brake"),
            ("hysteresis", "0.12 N·m"),
            ("eddy", "0.9 mN·m·s"),
            ("gear-efficiency", "95 %"),
            ("droop", "0.003175 1/A"),
        ],
    ),
    run: run_motor_point,
};

fn run_motor_point(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let current: PhaseCurrent = given.q("phase-current")?;
    let (direction, sign) =
        if given.is("direction", "brake")? { (Direction::Brake, -1.0) } else { (Direction::Drive, 1.0) };
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    let dq = Dq { d: PhaseCurrent::ZERO, q: current * sign };
    let voltage = machine.dq_voltages(dq, machine.electrical_speed(rotor));
    let power = terminal_power(voltage, dq);
    let torque = machine.wheel_torque_at(direction, current, rotor);
    let answer = Answer::default()
        .put("wheel_torque_nm", torque)
        .put("dc_power_w", power)
        .put("line_voltage_peak_v", line_peak(voltage))
        .put("copper_loss_w", machine.copper_loss(current));
    Ok(match direction {
        Direction::Brake if power.as_watts() > 0.0 => answer.note("sum.motor-point.note.draws", &[]),
        Direction::Brake => answer.note("sum.motor-point.note.charges", &[]),
        Direction::Drive if torque < WheelTorque::ZERO => answer.note("sum.motor-point.note.drag-wins", &[]),
        Direction::Drive => answer,
    })
}

/// What a charge limit leaves for braking.
pub(super) static REGEN_CURRENT: Sum = Sum {
    name: "regen-current",
    inputs: &join::<_, 5, 6, 11>(
        join(EMF, TURNING),
        [
            PHASE_RESISTANCE,
            BUS,
            Input::new("charge-current", of(&["current"], "A", 0.0, 1000.0)).card("m34"),
            GEAR_EFFICIENCY.or("100 %"),
            HYSTERESIS.or("0 N·m"),
            EDDY.or("0 N·m·s"),
        ],
    ),
    outputs: &[
        Output::new("phase_current_a"),
        Output::new("wheel_torque_nm"),
        Output::new("best_phase_current_a"),
        Output::new("best_power_w"),
        Output::optional("zero_recovery_rpm"),
    ],
    formulas: &[&CHARGE_LIMIT_CURRENT, &AIRGAP_TORQUE, &WHEEL_TORQUE, &BEST_RECOVERY, &ZERO_RECOVERY],
    recipe: Some("m34"),
    example: &join::<_, 5, 3, 8>(
        join(EMF_EXAMPLE, TURNING_EXAMPLE),
        [("resistance", "45 mΩ"), ("bus-voltage", "48 V"), ("charge-current", "15 A")],
    ),
    run: run_regen_current,
};

fn run_regen_current(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let bus: Voltage = given.q("bus-voltage")?;
    let limit = Power::watts(bus.as_volts() * given.q::<BatteryCurrent>("charge-current")?.as_amperes());
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    let answer = match best_recovery(&machine, &Inverter::IDEAL, rotor, bus)? {
        Some(best) => Answer::default().put("best_phase_current_a", best.current).put("best_power_w", best.power),
        None => Answer::default().none("best_phase_current_a").none("best_power_w"),
    };
    Ok(match charge_limit_current(&machine, &Inverter::IDEAL, rotor, limit, bus)? {
        Some(current) if current > PhaseCurrent::ZERO => answer
            .put("phase_current_a", current)
            .put("wheel_torque_nm", machine.wheel_torque_at(Direction::Brake, current, rotor))
            .put(
                "zero_recovery_rpm",
                machine.wheel_speed(zero_recovery_speed(&machine, &Inverter::IDEAL, current, bus)?),
            ),
        Some(current) => answer
            .put("phase_current_a", current)
            .put("wheel_torque_nm", machine.wheel_torque_at(Direction::Brake, current, rotor)),
        None => answer.none("phase_current_a").none("wheel_torque_nm").note("sum.regen-current.note.never-binds", &[]),
    })
}

/// What fading out draws from the battery.
pub(super) static FADE_OUT: Sum = Sum {
    name: "fade-out",
    inputs: &join::<_, 4, 5, 9>(
        EMF_ON_ROAD,
        [PHASE_RESISTANCE, CURRENT, Input::new("full-speed", ROAD_SPEED), Input::new("end-speed", ROAD_SPEED), DROOP],
    ),
    outputs: &[Output::new("drawn_w"), Output::new("zero_recovery_km_h")],
    formulas: &[&FADE_DRAW, &ZERO_RECOVERY],
    recipe: Some("m20"),
    example: &join::<_, 3, 5, 8>(
        EMF_EXAMPLE,
        [
            ("wheel-radius", "340 mm"),
            ("resistance", "45 mΩ"),
            ("phase-current", "70 A"),
            ("full-speed", "2.88 km/h"),
            ("end-speed", "1.08 km/h"),
        ],
    ),
    run: run_fade_out,
};

fn run_fade_out(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let radius: Length = given.q("wheel-radius")?;
    let rotor = |name| -> Result<_, SumError> { Ok(machine.rotor_speed(rolling(given.q(name)?, radius)?)) };
    if given.q::<Speed>("end-speed")? > given.q("full-speed")? {
        return Err(SumError::Refused("sum.fade-out.note.order"));
    }
    let current: PhaseCurrent = given.q("phase-current")?;
    let fade = Fade { full: rotor("full-speed")?, none: rotor("end-speed")?, current };
    // Without switching loss the supply's voltage does not count.
    let (inverter, bus) = (Inverter::IDEAL, Voltage::ZERO);
    let drawn = fade_draw(&machine, &inverter, &fade, bus)?;
    let zero = zero_recovery_speed(&machine, &inverter, current, bus)?;
    let answer = Answer::default()
        .put("drawn_w", drawn)
        .put("zero_recovery_km_h", road_speed(machine.wheel_speed(zero), radius));
    let key = if drawn > Power::ZERO { "sum.fade-out.note.draws" } else { "sum.fade-out.note.never" };
    Ok(answer.note(key, &[]))
}

/// When a locked hub charges on its own.
pub(super) static OVERSPEED: Sum = Sum {
    name: "overspeed",
    inputs: &join::<_, 4, 6, 10>(
        EMF_ON_ROAD,
        [
            BUS,
            PHASE_RESISTANCE.optional(),
            PHASE_INDUCTANCE.optional(),
            WHEEL_SPEED.optional(),
            Input::new("diode-drop", of(&["voltage"], "V", 0.0, 3.0)).or("0 V"),
            Input::new("battery-resistance", of(&["resistance"], "Ω", 0.0, 10.0)).or("0 Ω").card("m32"),
        ],
    ),
    outputs: &[Output::new("speed_km_h"), Output::optional("charge_current_a"), Output::optional("wheel_torque_nm")],
    formulas: &[&BACK_EMF_SPEED, &FORCED_CHARGE],
    recipe: Some("m21"),
    example: &join::<_, 5, 3, 8>(
        WINDING_EXAMPLE,
        [("wheel-radius", "340 mm"), ("bus-voltage", "54.6 V"), ("speed", "42 km/h")],
    ),
    run: run_overspeed,
};

fn run_overspeed(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let supply = Supply {
        open_circuit: given.q("bus-voltage")?,
        diode: given.q("diode-drop")?,
        resistance: given.q("battery-resistance")?,
    };
    let onset = machine.back_emf_speed(supply.open_circuit + supply.diode * 2.0);
    let radius: Length = given.q("wheel-radius")?;
    let answer = Answer::default().put("speed_km_h", road_speed(machine.wheel_speed(onset), radius));
    let wanted = ["resistance", "inductance", "speed"].map(|name| given.has(name));
    if wanted != [true; 3] {
        let some = wanted.contains(&true);
        return Ok(if some { answer.note("sum.overspeed.note.needs", &[]) } else { answer });
    }
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    let forced = forced_charge(&machine, rotor, &supply)?;
    let answer = answer
        .put("charge_current_a", forced.current)
        .put("wheel_torque_nm", machine.wheel_torque(forced.torque * -1.0, rotor) * -1.0);
    Ok(if rotor <= onset { answer.note("sum.overspeed.note.below", &[]) } else { answer })
}

/// What shorted wires do.
pub(super) static SHORTED_WIRES: Sum = Sum {
    name: "shorted-wires",
    inputs: &join::<_, 7, 2, 9>(join(WINDING, TURNING), [GEAR_EFFICIENCY, CURRENT.or("0 A")]),
    outputs: &[
        Output::new("wheel_torque_nm"),
        Output::new("worst_wheel_torque_nm"),
        Output::new("worst_speed_rpm"),
        Output::new("first_peak_nm"),
        Output::new("first_peak_bound_nm"),
        Output::new("against_magnet_a"),
    ],
    formulas: &[&STEADY_SHORT, &WORST_SHORT, &FIRST_PEAK, &SUDDEN_SHORT, &WHEEL_TORQUE],
    recipe: Some("m23"),
    example: &join::<_, 7, 1, 8>(join(WINDING_EXAMPLE, TURNING_EXAMPLE), [("gear-efficiency", "95 %")]),
    run: run_shorted_wires,
};

fn run_shorted_wires(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    let (worst, worst_at) = worst_short(&machine);
    let peak = first_peak(&machine, rotor, given.q::<PhaseCurrent>("phase-current")? * -1.0);
    // The wheel drives the rotor: the gear's loss comes on top.
    let at_wheel = |torque: RotorTorque| machine.wheel_torque(torque * -1.0, worst_at) * -1.0;
    Ok(Answer::default()
        .put("wheel_torque_nm", at_wheel(steady_short(&machine, rotor)))
        .put("worst_wheel_torque_nm", at_wheel(worst))
        .put("worst_speed_rpm", machine.wheel_speed(worst_at))
        .put("first_peak_nm", at_wheel(peak.torque))
        .put("first_peak_bound_nm", at_wheel(sudden_short(&machine, false)))
        .put("against_magnet_a", peak.against_magnet)
        .note("sum.shorted-wires.note.first-peak", &[]))
}

/// How high the supply jumps when the battery opens.
pub(super) static LOAD_DUMP: Sum = Sum {
    name: "load-dump",
    inputs: &join::<_, 5, 6, 11>(
        join(EMF, TURNING),
        [
            BUS,
            Input::new("power", of(&["power"], "W", 0.0, 20_000.0)).card("m25"),
            Input::new("capacitance", of(&["capacitance"], "µF", 1.0, 1e6)).card("m29"),
            Input::new("trip-time", of(&["time"], "ms", 0.0, 1000.0)),
            PHASE_INDUCTANCE,
            CURRENT,
        ],
    ),
    outputs: &[Output::new("bus_voltage_v"), Output::new("bound_bus_voltage_v"), Output::new("likely_bus_voltage_v")],
    formulas: &[&DUMP, &LOAD_DUMP_BOUND, &LOAD_DUMP_ESTIMATE],
    recipe: Some("m29"),
    example: &join::<_, 5, 6, 11>(
        join(EMF_EXAMPLE, TURNING_EXAMPLE),
        [
            ("bus-voltage", "54.6 V"),
            ("power", "1600 W"),
            ("capacitance", "1000 µF"),
            ("trip-time", "0 ms"),
            ("inductance", "0.10 mH"),
            ("phase-current", "70 A"),
        ],
    ),
    run: run_load_dump,
};

fn run_load_dump(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let dump = Dump {
        bus: given.q("bus-voltage")?,
        power: given.q("power")?,
        capacitance: given.q("capacitance")?,
        trip_time: given.q("trip-time")?,
        current: given.q("phase-current")?,
    };
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    Ok(Answer::default()
        .put("bus_voltage_v", load_dump(&machine, rotor, &dump)?)
        .put("bound_bus_voltage_v", load_dump_bound(&machine, rotor, &dump)?)
        .put("likely_bus_voltage_v", load_dump_estimate(&machine, rotor, &dump)?)
        .note("sum.load-dump.note.bound", &[]))
}
