//! The motor: a working point, and what a turning locked hub does on its own.

use super::input::{
    EFFICIENCY, FLUX, INDUCTANCE, PHASE_CURRENT, REDUCTION, RESISTANCE, SPEED, Shape, VOLTAGE, WHEEL_RADIUS, of,
};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::dump::{
    Dump, LOAD_DUMP as DUMP, LOAD_DUMP_BOUND, LOAD_DUMP_ESTIMATE, load_dump, load_dump_bound, load_dump_estimate,
};
use physics::motor::{AIRGAP_TORQUE, Commutation, Direction, Machine, Motor, ROTOR_DRAG, STATED_AT, WHEEL_TORQUE};
use physics::rectifier::{FORCED_CHARGE, Supply, forced_charge};
use physics::short::{STEADY_SHORT, SUDDEN_SHORT, WORST_SHORT, steady_short, sudden_short, worst_short};
use physics::supply::{CHARGE_LIMIT_CURRENT, Inverter, charge_limit_current};
use physics::voltage::{BACK_EMF_SPEED, DQ_VOLTAGES, Dq, LINE_PEAK, line_peak, terminal_power};
use quantity::{
    BatteryCurrent, FluxDroop, Length, PhaseCurrent, PhaseInductance, PhaseResistance, Power, Ratio, RotorDamping,
    RotorTorque, Speed, TemperatureCoefficient, Voltage, WheelSpeed, WheelTorque,
};

pub(super) const REDUCTION_IN: Input = Input::new("reduction", REDUCTION).card("m18");
pub(super) const POLE_PAIRS: Input = Input::new("pole-pairs", Shape::Count { low: 1, high: 200 }).card("m19");
pub(super) const FLUX_LINKAGE: Input = Input::new("flux-linkage", FLUX).card("m21");
pub(super) const PHASE_RESISTANCE: Input = Input::new("resistance", RESISTANCE).card("m20");
const PHASE_INDUCTANCE: Input = Input::new("inductance", INDUCTANCE).card("m23");
const CURRENT: Input = Input::new("phase-current", PHASE_CURRENT).card("m27");
const WHEEL_SPEED: Input = Input::new("speed", SPEED);
pub(super) const RADIUS: Input = Input::new("wheel-radius", WHEEL_RADIUS).card("m5");
pub(super) const GEAR_EFFICIENCY: Input = Input::new("gear-efficiency", EFFICIENCY).card("m26");
pub(super) const HYSTERESIS: Input = Input::new("hysteresis", of(&["torque"], "N·m", 0.0, 100.0)).card("m24");
pub(super) const EDDY: Input = Input::new("eddy", of(&["damping"], "N·m·s", 0.0, 10.0)).card("m25");
pub(super) const DROOP: Input = Input::new("droop", of(&["flux droop"], "1/A", 0.0, 1.0)).or("0 1/A").card("m26");
const BUS: Input = Input::new("bus-voltage", VOLTAGE).card("m31");

/// The machine of the inputs; what a sum does not ask for is taken as none, or as an ideal gear.
pub(super) fn machine(given: &Given) -> Result<Machine, SumError> {
    let small = PhaseResistance::ohms(1e-4);
    let motor = Motor {
        reduction: given.q("reduction")?,
        pole_pairs: given.count("pole-pairs")?,
        flux_linkage: given.q("flux-linkage")?,
        flux_droop: given.opt("droop")?.unwrap_or(FluxDroop::ZERO),
        magnet_coefficient: TemperatureCoefficient::ZERO,
        phase_resistance: given.opt("resistance")?.unwrap_or(small),
        phase_inductance: given.opt("inductance")?.unwrap_or(PhaseInductance::henries(1e-7)),
        hysteresis_drag: given.opt("hysteresis")?.unwrap_or(RotorTorque::ZERO),
        eddy_drag: given.opt("eddy")?.unwrap_or(RotorDamping::ZERO),
        gear_efficiency: given.opt("gear-efficiency")?.unwrap_or(Ratio::new(1.0)),
        commutation: Commutation::Sine,
    };
    Ok(motor.at(STATED_AT, STATED_AT)?)
}

/// Road speed of a turning wheel.
pub(super) fn road_speed(wheel: WheelSpeed, radius: Length) -> Speed {
    Speed::metres_per_second(wheel.as_radians_per_second() * radius.as_metres())
}

/// One working point.
pub(super) static MOTOR_POINT: Sum = Sum {
    name: "motor-point",
    inputs: &[
        REDUCTION_IN,
        POLE_PAIRS,
        FLUX_LINKAGE,
        PHASE_RESISTANCE,
        PHASE_INDUCTANCE,
        CURRENT,
        Input::new("direction", Shape::Choice(&["drive", "brake"])),
        WHEEL_SPEED,
        RADIUS.optional(),
        HYSTERESIS,
        EDDY,
        GEAR_EFFICIENCY,
        DROOP,
    ],
    outputs: &[
        Output::new("wheel_torque_nm"),
        Output::new("dc_power_w"),
        Output::new("line_voltage_peak_v"),
        Output::new("copper_loss_w"),
    ],
    formulas: &[&AIRGAP_TORQUE, &ROTOR_DRAG, &WHEEL_TORQUE, &DQ_VOLTAGES, &LINE_PEAK],
    recipe: Some("m20"),
    example: &[
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.0276 Wb"),
        ("resistance", "45 mΩ"),
        ("inductance", "0.10 mH"),
        ("phase-current", "70 A"),
        ("direction", "brake"),
        ("speed", "25 km/h"),
        ("wheel-radius", "340 mm"),
        ("hysteresis", "0.12 N·m"),
        ("eddy", "0.9 mN·m·s"),
        ("gear-efficiency", "95 %"),
        ("droop", "0.003175 1/A"),
    ],
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
    inputs: &[
        POLE_PAIRS,
        REDUCTION_IN,
        FLUX_LINKAGE,
        PHASE_RESISTANCE,
        WHEEL_SPEED,
        RADIUS.optional(),
        BUS,
        Input::new("charge-current", of(&["current"], "A", 0.0, 1000.0)).card("m34"),
        GEAR_EFFICIENCY.or("100 %"),
        HYSTERESIS.or("0 N·m"),
        EDDY.or("0 N·m·s"),
    ],
    outputs: &[Output::new("phase_current_a"), Output::new("wheel_torque_nm")],
    formulas: &[&CHARGE_LIMIT_CURRENT, &AIRGAP_TORQUE, &WHEEL_TORQUE],
    recipe: Some("m34"),
    example: &[
        ("pole-pairs", "8"),
        ("reduction", "5"),
        ("flux-linkage", "0.0276 Wb"),
        ("resistance", "45 mΩ"),
        ("speed", "25 km/h"),
        ("wheel-radius", "340 mm"),
        ("bus-voltage", "48 V"),
        ("charge-current", "15 A"),
    ],
    run: run_regen_current,
};

fn run_regen_current(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let bus: Voltage = given.q("bus-voltage")?;
    let limit = Power::watts(bus.as_volts() * given.q::<BatteryCurrent>("charge-current")?.as_amperes());
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    Ok(match charge_limit_current(&machine, &Inverter::IDEAL, rotor, limit, bus)? {
        Some(current) => Answer::default()
            .put("phase_current_a", current)
            .put("wheel_torque_nm", machine.wheel_torque_at(Direction::Brake, current, rotor)),
        None => Answer::default()
            .none("phase_current_a")
            .none("wheel_torque_nm")
            .note("sum.regen-current.note.never-binds", &[]),
    })
}

/// When a locked hub charges on its own.
pub(super) static OVERSPEED: Sum = Sum {
    name: "overspeed",
    inputs: &[
        REDUCTION_IN,
        POLE_PAIRS,
        FLUX_LINKAGE,
        RADIUS,
        BUS,
        PHASE_RESISTANCE.optional(),
        PHASE_INDUCTANCE.optional(),
        WHEEL_SPEED.optional(),
        Input::new("diode-drop", of(&["voltage"], "V", 0.0, 3.0)).or("0 V"),
        Input::new("battery-resistance", of(&["resistance"], "Ω", 0.0, 10.0)).or("0 Ω").card("m32"),
    ],
    outputs: &[Output::new("speed_km_h"), Output::optional("charge_current_a"), Output::optional("wheel_torque_nm")],
    formulas: &[&BACK_EMF_SPEED, &FORCED_CHARGE],
    recipe: Some("m21"),
    example: &[
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.0276 Wb"),
        ("wheel-radius", "340 mm"),
        ("bus-voltage", "54.6 V"),
        ("resistance", "45 mΩ"),
        ("inductance", "0.10 mH"),
        ("speed", "42 km/h"),
    ],
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
    inputs: &[
        REDUCTION_IN,
        POLE_PAIRS,
        FLUX_LINKAGE,
        PHASE_RESISTANCE,
        PHASE_INDUCTANCE,
        WHEEL_SPEED,
        RADIUS.optional(),
        GEAR_EFFICIENCY,
    ],
    outputs: &[
        Output::new("wheel_torque_nm"),
        Output::new("worst_wheel_torque_nm"),
        Output::new("worst_speed_rpm"),
        Output::new("first_peak_bound_nm"),
    ],
    formulas: &[&STEADY_SHORT, &WORST_SHORT, &SUDDEN_SHORT, &WHEEL_TORQUE],
    recipe: Some("m23"),
    example: &[
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.0276 Wb"),
        ("resistance", "45 mΩ"),
        ("inductance", "0.10 mH"),
        ("speed", "25 km/h"),
        ("wheel-radius", "340 mm"),
        ("gear-efficiency", "95 %"),
    ],
    run: run_shorted_wires,
};

fn run_shorted_wires(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let rotor = machine.rotor_speed(given.wheel_speed("speed")?);
    let (worst, worst_at) = worst_short(&machine);
    // The wheel drives the rotor: the gear's loss comes on top.
    let at_wheel = |torque: RotorTorque| machine.wheel_torque(torque * -1.0, worst_at) * -1.0;
    Ok(Answer::default()
        .put("wheel_torque_nm", at_wheel(steady_short(&machine, rotor)))
        .put("worst_wheel_torque_nm", at_wheel(worst))
        .put("worst_speed_rpm", machine.wheel_speed(worst_at))
        .put("first_peak_bound_nm", at_wheel(sudden_short(&machine, false)))
        .note("sum.shorted-wires.note.first-peak", &[]))
}

/// How high the supply jumps when the battery opens.
pub(super) static LOAD_DUMP: Sum = Sum {
    name: "load-dump",
    inputs: &[
        BUS,
        Input::new("power", of(&["power"], "W", 0.0, 20_000.0)).card("m25"),
        Input::new("capacitance", of(&["capacitance"], "µF", 1.0, 1e6)).card("m29"),
        Input::new("trip-time", of(&["time"], "ms", 0.0, 1000.0)),
        PHASE_INDUCTANCE,
        CURRENT,
        FLUX_LINKAGE,
        POLE_PAIRS,
        REDUCTION_IN,
        WHEEL_SPEED,
        RADIUS.optional(),
    ],
    outputs: &[Output::new("bus_voltage_v"), Output::new("bound_bus_voltage_v"), Output::new("likely_bus_voltage_v")],
    formulas: &[&DUMP, &LOAD_DUMP_BOUND, &LOAD_DUMP_ESTIMATE],
    recipe: Some("m29"),
    example: &[
        ("bus-voltage", "54.6 V"),
        ("power", "1600 W"),
        ("capacitance", "1000 µF"),
        ("trip-time", "0 ms"),
        ("inductance", "0.10 mH"),
        ("phase-current", "70 A"),
        ("flux-linkage", "0.0276 Wb"),
        ("pole-pairs", "8"),
        ("reduction", "5"),
        ("speed", "25 km/h"),
        ("wheel-radius", "340 mm"),
    ],
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
