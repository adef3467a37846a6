//! Road, air and grip.

use super::input::{FRICTION, GRADE, MASS, NUMBER, ROAD_SPEED, Shape, length, of};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::grip::{FRONT_GRIP, REAR_GRIP, Stance, front_grip, rear_grip};
use physics::road::{AIR_DENSITY as DENSITY, OnRoad, ROAD_FORCE as FORCE, air_density, road_force};
use quantity::{Acceleration, Force, Friction, Length, Power, Ratio, Speed};

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
    ],
    outputs: &[Output::new("force_n"), Output::new("deceleration_m_s2")],
    formulas: &[&REAR_GRIP, &FRONT_GRIP],
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
    let friction: Friction = given.q("friction")?;
    let front = given.is("wheel", "front")?;
    let grip = if front { front_grip(&stance, friction)? } else { rear_grip(&stance, friction)? };
    let answer = Answer::default().put("force_n", grip.force).put("deceleration_m_s2", grip.deceleration);
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
