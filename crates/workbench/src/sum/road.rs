//! Road, air and grip.

use super::input::{FRICTION, GRADE, MASS, NUMBER, PHASE_CURRENT, ROAD_SPEED, Shape, length, of};
use super::machine::{
    DROOP, EDDY, FLUX_LINKAGE, GEAR_EFFICIENCY, HYSTERESIS, PHASE_RESISTANCE, POLE_PAIRS, RADIUS, REDUCTION_IN, machine,
};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::grip::{
    FRONT_GRIP, GRIP_IN_BEND, REAR_GRIP, STEEPEST_HELD, Stance, front_grip, grip_in_bend, rear_grip, steepest_on_front,
    steepest_on_rear,
};
use physics::hold::{
    Balance, HOLD_BALANCE, Hold, LEAST_STABLE_SPEED, balance_above, braking_force, least_stable_speed,
};
use physics::road::{AIR_DENSITY as DENSITY, OnRoad, ROAD_FORCE as FORCE, air_density, road_force};
use physics::supply::{CHARGE_LIMIT_CURRENT, Inverter};
use quantity::{Acceleration, Force, Friction, Length, Power, Ratio, Speed, Voltage};

const BIKE_MASS: Input = Input::new("mass", MASS).card("m1");
const SLOPE: Input = Input::new("grade", GRADE).card("m38");
const ROLLING: Input = Input::new("rolling-resistance", of(NUMBER, "", 0.0, 0.2)).card("m39");
const DRAG_AREA: Input = Input::new("drag-area", of(&["area"], "m²", 0.0, 5.0)).card("m39");
const AIR: Input = Input::new("air-density", of(&["density"], "kg/m³", 0.5, 1.6));
const WIND: Input = Input::new("wind", of(&["speed"], "km/h", -150.0, 150.0)).or("0 m/s");

fn on_road(given: &Given) -> Result<OnRoad, SumError> {
    Ok(OnRoad {
        mass: given.q("mass")?,
        grade: given.q("grade")?,
        rolling: given.q("rolling-resistance")?,
        drag_area: given.q("drag-area")?,
        air: given.q("air-density")?,
        wind: given.q("wind")?,
    })
}

/// What a road asks for.
pub(super) static ROAD_FORCE: Sum = Sum {
    name: "road-force",
    inputs: &[BIKE_MASS, SLOPE, Input::new("speed", ROAD_SPEED), ROLLING, DRAG_AREA, AIR, WIND],
    outputs: &[Output::new("force_n"), Output::new("power_w")],
    formulas: &[&FORCE],
    recipe: Some("m39"),
    example: &[
        ("mass", "120 kg"),
        ("grade", "-8 %"),
        ("speed", "25 km/h"),
        ("rolling-resistance", "0.008"),
        ("drag-area", "0.6 m²"),
        ("air-density", "1.2 kg/m³"),
        ("wind", "0 m/s"),
    ],
    run: run_road_force,
};

fn run_road_force(given: &Given) -> Result<Answer, SumError> {
    let speed: Speed = given.q("speed")?;
    let force = road_force(&on_road(given)?, speed)?;
    let power = Power::watts(force.as_newtons() * speed.as_metres_per_second());
    Ok(Answer::default().put("force_n", force).put("power_w", power))
}

/// What one tyre can brake.
pub(super) static GRIP: Sum = Sum {
    name: "grip",
    inputs: &[
        BIKE_MASS,
        SLOPE,
        Input::new("wheelbase", length(300.0, 5000.0)).card("m3"),
        Input::new("centre-ahead", length(0.0, 5000.0)).card("m3"),
        Input::new("centre-height", length(50.0, 3000.0)).card("m4"),
        Input::new("friction", FRICTION).card("m40"),
        Input::new("wheel", Shape::Choice(&["rear", "front"])),
        ROLLING.or("0"),
        Input::new("drag", of(&["force"], "N", 0.0, 2000.0)).or("0 N").card("m39"),
        Input::new("drag-height", length(0.0, 3000.0)).optional(),
        Input::new("other-brake", of(&["force"], "N", 0.0, 10_000.0)).or("0 N").card("m40"),
        Input::new("bend-radius", length(500.0, 1e6)).optional(),
        Input::new("speed", ROAD_SPEED).optional(),
    ],
    outputs: &[
        Output::new("force_n"),
        Output::new("deceleration_m_s2"),
        Output::new("steepest_percent"),
        Output::optional("friction_left"),
    ],
    formulas: &[&REAR_GRIP, &FRONT_GRIP, &STEEPEST_HELD, &GRIP_IN_BEND],
    recipe: Some("m40"),
    example: &[
        ("mass", "120 kg"),
        ("grade", "-8 %"),
        ("wheelbase", "1.1 m"),
        ("centre-ahead", "0.45 m"),
        ("centre-height", "1.1 m"),
        ("friction", "0.5"),
        ("wheel", "rear"),
    ],
    run: run_grip,
};

fn run_grip(given: &Given) -> Result<Answer, SumError> {
    let height: Length = given.q("centre-height")?;
    let stance = Stance {
        mass: given.q("mass")?,
        grade: given.q("grade")?,
        wheelbase: given.q("wheelbase")?,
        centre_ahead: given.q("centre-ahead")?,
        centre_height: height,
        rolling: given.q("rolling-resistance")?,
        other_brake: given.q("other-brake")?,
        drag: given.q("drag")?,
        drag_height: given.opt("drag-height")?.unwrap_or(height),
    };
    let whole: Friction = given.q("friction")?;
    let friction = match (given.opt::<Length>("bend-radius")?, given.opt::<Speed>("speed")?) {
        (Some(radius), Some(speed)) => grip_in_bend(whole, stance.grade, speed, radius)?,
        _ => whole,
    };
    let front = given.is("wheel", "front")?;
    let (grip, steepest) = if front {
        (front_grip(&stance, friction)?, steepest_on_front(&stance, friction)?)
    } else {
        (rear_grip(&stance, friction)?, steepest_on_rear(&stance, friction)?)
    };
    let answer = Answer::default()
        .put("force_n", grip.force)
        .put("deceleration_m_s2", grip.deceleration)
        .put("steepest_percent", steepest);
    let answer = match (given.has("bend-radius"), given.has("speed")) {
        (true, true) => answer.put("friction_left", friction),
        (false, false) => answer,
        _ => answer.note("sum.grip.note.bend-needs", &[]),
    };
    // Where a little less grip would do as well, it is not the grip that ends the braking.
    let lifts = front && front_grip(&stance, Friction::new(friction.get() * 0.999))?.force == grip.force;
    let answer = match (lifts, grip.force == Force::ZERO) {
        (_, true) => answer.note("sum.grip.note.lifted", &[]),
        (true, _) => answer.note("sum.grip.note.lifts", &[]),
        _ => answer.note("sum.grip.note.slides", &[]),
    };
    let gains = grip.deceleration < Acceleration::ZERO;
    Ok(if gains { answer.note("sum.grip.note.no-brake", &[]) } else { answer })
}

/// Density of the air.
pub(super) static AIR_DENSITY: Sum = Sum {
    name: "air-density",
    inputs: &[
        Input::new("temperature", of(&["temperature"], "°C", -30.0, 50.0)),
        Input::new("pressure", of(&["pressure"], "hPa", 600.0, 1100.0)),
        Input::new("humidity", of(NUMBER, "%", 0.0, 100.0)),
    ],
    outputs: &[Output::new("density_kg_m3")],
    formulas: &[&DENSITY],
    recipe: None,
    example: &[("temperature", "20 °C"), ("pressure", "1013.25 hPa"), ("humidity", "50 %")],
    run: run_air_density,
};

fn run_air_density(given: &Given) -> Result<Answer, SumError> {
    let humidity: Ratio = given.q("humidity")?;
    Ok(Answer::default().put("density_kg_m3", air_density(given.q("temperature")?, given.q("pressure")?, humidity)?))
}

/// Where a charge limit holds a descent, and where the bike runs away.
pub(super) static DESCENT_HOLD: Sum = Sum {
    name: "descent-hold",
    inputs: &[
        BIKE_MASS,
        SLOPE,
        ROLLING,
        DRAG_AREA,
        AIR,
        WIND,
        Input::new("charge-power", of(&["power"], "W", 0.0, 20_000.0)).card("m34"),
        Input::new("phase-limit", PHASE_CURRENT).card("m27"),
        REDUCTION_IN,
        POLE_PAIRS,
        FLUX_LINKAGE,
        PHASE_RESISTANCE,
        RADIUS,
        GEAR_EFFICIENCY.or("100 %"),
        HYSTERESIS.or("0 N·m"),
        EDDY.or("0 N·m·s"),
        DROOP,
        Input::new("speed", ROAD_SPEED).optional(),
    ],
    outputs: &[
        Output::new("unstable_km_h"),
        Output::new("runaway_km_h"),
        Output::new("constant_power_unstable_below_km_h"),
        Output::optional("needed_n"),
        Output::optional("available_n"),
    ],
    formulas: &[&HOLD_BALANCE, &LEAST_STABLE_SPEED, &FORCE, &CHARGE_LIMIT_CURRENT],
    recipe: Some("m38"),
    example: &[
        ("mass", "120 kg"),
        ("grade", "-8 %"),
        ("rolling-resistance", "0.01"),
        ("drag-area", "0.6 m²"),
        ("air-density", "1.2 kg/m³"),
        ("charge-power", "300 W"),
        ("phase-limit", "70 A"),
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.0276 Wb"),
        ("resistance", "45 mΩ"),
        ("wheel-radius", "340 mm"),
        ("gear-efficiency", "95 %"),
        ("hysteresis", "0.12 N·m"),
        ("eddy", "0.9 mN·m·s"),
        ("speed", "15 km/h"),
    ],
    run: run_descent_hold,
};

fn run_descent_hold(given: &Given) -> Result<Answer, SumError> {
    let road = on_road(given)?;
    let charge_limit: Power = given.q("charge-power")?;
    let hold = Hold {
        machine: machine(given)?,
        inverter: Inverter::IDEAL,
        wheel_radius: given.q("wheel-radius")?,
        // Without switching loss the supply's voltage does not matter.
        bus: Voltage::volts(48.0),
        phase_limit: given.q("phase-limit")?,
        charge_limit,
    };
    let least = least_stable_speed(charge_limit, road.air, road.drag_area)?;
    let mut answer = Answer::default().put("constant_power_unstable_below_km_h", least);
    if let Some(speed) = given.opt::<Speed>("speed")? {
        answer =
            answer.put("needed_n", road_force(&road, speed)? * -1.0).put("available_n", braking_force(&hold, speed)?);
    }
    if road_force(&road, Speed::ZERO)? >= Force::ZERO {
        return Ok(answer.none("unstable_km_h").none("runaway_km_h").note("sum.descent-hold.note.flat", &[]));
    }
    let put = |answer: Answer, key, balance: Option<Balance>| match balance {
        Some(balance) => answer.put(key, balance.speed),
        None => answer.none(key),
    };
    let first = balance_above(&hold, &road, Speed::ZERO)?;
    let (unstable, runaway) = match first {
        Some(balance) if !balance.stable => (first, balance_above(&hold, &road, balance.speed)?),
        settles => (None, settles),
    };
    let note = match (unstable, runaway) {
        (Some(_), Some(_)) => "sum.descent-hold.note.runs-away",
        (Some(_), None) => "sum.descent-hold.note.no-end",
        (None, Some(_)) => "sum.descent-hold.note.never",
        (None, None) if braking_force(&hold, least)? + road_force(&road, least)? > Force::ZERO => {
            "sum.descent-hold.note.always"
        }
        (None, None) => "sum.descent-hold.note.no-end",
    };
    Ok(put(put(answer, "unstable_km_h", unstable), "runaway_km_h", runaway).note(note, &[]))
}
