//! Road, air and grip.

use physics::grip::{self, Stance};
use physics::road::{self, OnRoad};
use physics::{OutOfRange, hold, travel};
use quantity::*;

use super::{Answer, Compared};
use crate::table::{self, Recorded, number};

const OTHER_GRAVITY: &str = "the example takes g = 9.81 m/s²";
const IDEAL_AIR: &str = "the standard atmosphere is an ideal gas; ours has its compressibility and carbon dioxide";

pub(super) fn compare(row: &Recorded) -> Compared {
    let input = |key| number(&row.inputs, key);
    Some(match row.quantity.as_str() {
        "power_aero" => {
            let air =
                OnRoad { drag_area: DragArea::square_metres(0.2565 + input("Fw=")), ..martin(0.0, input("rho=")) };
            power(&air, 471.8 / 56.42).map(Answer::exact)
        }
        "power_wheel_bearings" => {
            let v = Speed::metres_per_second(471.8 / 56.42);
            travel::wheel_bearings(v).map(|f| Answer::exact(f.as_newtons() * v.as_metres_per_second()))
        }
        "power_total" => martin_total(row).map(|w| Answer::within(w, 0.001, OTHER_GRAVITY)),
        "power_potential" => power(&martin(0.003, 0.0), 471.8 / 56.42).map(|w| Answer::within(w, 0.002, OTHER_GRAVITY)),
        "hold_power_at_25kmh" => power(&downhill(row), 25.0 / 3.6).map(|w| Answer::exact(-w)),
        "hold_power_at_15kmh" => power(&downhill(row), 15.0 / 3.6).map(|w| Answer::exact(-w)),
        "terminal_speed" if row.inputs.contains("theta=atan") => {
            let settled = hold::free_coasting(&downhill(row));
            let why = "our search for the settled speed stops at 0.01 %";
            settled.map(|v| Answer::within(v.map_or(f64::NAN, Speed::as_kilometres_per_hour), 1e-4, why))
        }
        "air_density_CIPM2007" => {
            let why = "constants of the equation are published with four to six figures";
            density(input("t="), input("p="), input("RH=")).map(|d| Answer::within(d, 2e-6, why))
        }
        "air_density_moist_metpy" => {
            density(input("t="), input("p="), input("RH=")).map(|d| Answer::within(d, 5e-4, IDEAL_AIR))
        }
        "air_density_std_atm" => return standard_air(row),
        "pitch_over_limit" | "rear_only_limit" | "front_only_limit" => limit(row),
        _ => return None,
    })
}

/// The worked example: 2.94 m/s of wind, 30° off the nose.
fn martin(slope: f64, rho: f64) -> OnRoad {
    OnRoad {
        mass: Mass::kilograms(90.0),
        grade: Grade::new(slope),
        rolling: Ratio::ZERO,
        drag_area: DragArea::ZERO,
        air: Density::kilograms_per_cubic_metre(rho),
        wind: Speed::metres_per_second(2.94 * 30f64.to_radians().cos()),
    }
}

fn martin_total(row: &Recorded) -> Result<f64, OutOfRange> {
    let input = |key| number(&row.inputs, key);
    let road = OnRoad {
        rolling: Ratio::new(input("Crr=")),
        drag_area: DragArea::square_metres(0.2565 + input("Fw=")),
        ..martin(0.003, input("rho="))
    };
    let wheels = Mass::kilograms(input("I=") / (input(";r=") * input(";r=")));
    let speed = Speed::metres_per_second;
    let time = Time::seconds(56.42);
    let power = travel::road_power(&road, wheels, speed(471.8 / 56.42), speed(8.28), speed(8.45), time)?;
    Ok(power.as_watts())
}

fn downhill(row: &Recorded) -> OnRoad {
    let input = |key| number(&row.inputs, key);
    OnRoad {
        mass: Mass::kilograms(input("m=")),
        grade: Grade::percent(input(";grade=")),
        rolling: Ratio::new(input("Crr=")),
        drag_area: DragArea::square_metres(input("CdA=")),
        air: Density::kilograms_per_cubic_metre(input("rho=")),
        wind: Speed::ZERO,
    }
}

fn power(road: &OnRoad, v_m_s: f64) -> Result<f64, OutOfRange> {
    Ok(road::road_force(road, Speed::metres_per_second(v_m_s))?.as_newtons() * v_m_s)
}

fn density(t_c: f64, p_pa: f64, humidity: f64) -> Result<f64, OutOfRange> {
    let air = road::air_density(Temperature::celsius(t_c), Pressure::pascals(p_pa), Ratio::new(humidity))?;
    Ok(air.as_kilograms_per_cubic_metre())
}

/// Dry air at the standard's own pressure and temperature (6.5 K less every geopotential kilometre).
fn standard_air(row: &Recorded) -> Compared {
    let pressure =
        table::dynamics().into_iter().find(|p| p.quantity == "pressure_std_atm" && p.inputs == row.inputs)?;
    let h_m = number(&row.inputs, "h=");
    let geopotential_m = 6_356_766.0 * h_m / (6_356_766.0 + h_m);
    let air = density(15.0 - 6.5e-3 * geopotential_m, pressure.value(), 0.0);
    Some(air.map(|d| Answer::within(d, 7e-4, IDEAL_AIR)))
}

/// Limits of deceleration in g on the flat, with no other brake, drag or rolling resistance.
fn limit(row: &Recorded) -> Result<Answer, OutOfRange> {
    const INCH: f64 = 0.0254;
    let (wheelbase, ahead, height) = if row.inputs.contains("Browser") {
        (1.121, 0.3184, 0.9902)
    } else if row.inputs.contains("0.60 m") {
        (1.1, 0.5, 1.2)
    } else {
        (42.0 * INCH, 17.0 * INCH, 45.0 * INCH)
    };
    let stance = Stance {
        mass: Mass::kilograms(90.0),
        grade: Grade::ZERO,
        wheelbase: Length::metres(wheelbase),
        centre_ahead: Length::metres(ahead),
        centre_height: Length::metres(height),
        rolling: Ratio::ZERO,
        other_brake: Force::ZERO,
        drag: Force::ZERO,
        drag_height: Length::ZERO,
    };
    let grip = match row.quantity.as_str() {
        "rear_only_limit" => grip::rear_grip(&stance, Friction::new(number(&row.inputs, "mu=")))?,
        "front_only_limit" => grip::front_grip(&stance, Friction::new(number(&row.inputs, "mu=")))?,
        _ => grip::front_grip(&stance, Friction::new(1.5))?,
    };
    let ours = grip.deceleration.as_metres_per_second_squared() / 9.806_65;
    let why = "the centre of mass is printed to 0.1 mm";
    Ok(if row.inputs.contains("Browser") { Answer::within(ours, 5e-4, why) } else { Answer::exact(ours) })
}
