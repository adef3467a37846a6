//! The battery: what it may take, and what an open plug shows.

use super::input::{NUMBER, ROAD_SPEED, Shape, VOLTAGE, of};
use super::motor::{FLUX_LINKAGE, POLE_PAIRS, RADIUS, REDUCTION_IN, machine, road_speed};
use super::{Answer, Given, Input, Output, Sum, SumError};
use physics::voltage::{BACK_EMF_SPEED, LINE_PEAK};
use quantity::{Length, Speed, Voltage};

/// The speed at which an open plug gets dangerous.
pub(super) static BATTERY_OUT_SPEED: Sum = Sum {
    name: "battery-out-speed",
    inputs: &[
        REDUCTION_IN,
        POLE_PAIRS,
        FLUX_LINKAGE,
        RADIUS,
        Input::new("voltage", VOLTAGE).or("60 V").card("m30"),
        Input::new("speed", ROAD_SPEED).optional(),
    ],
    outputs: &[Output::new("speed_km_h"), Output::optional("open_voltage_v")],
    formulas: &[&BACK_EMF_SPEED, &LINE_PEAK],
    recipe: Some("m21"),
    example: &[
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.0276 Wb"),
        ("wheel-radius", "340 mm"),
        ("speed", "45 km/h"),
    ],
    run: run_battery_out_speed,
};

fn run_battery_out_speed(given: &Given) -> Result<Answer, SumError> {
    let machine = machine(given)?;
    let radius: Length = given.q("wheel-radius")?;
    let at = machine.back_emf_speed(given.q::<Voltage>("voltage")?);
    let answer = Answer::default().put("speed_km_h", road_speed(machine.wheel_speed(at), radius));
    let Some(speed) = given.opt::<Speed>("speed")? else { return Ok(answer) };
    let rotor = machine.rotor_speed(physics::motor::rolling(speed, radius)?);
    Ok(answer.put("open_voltage_v", machine.back_emf_peak(rotor)))
}
