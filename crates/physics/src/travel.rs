//! A rider on the road: pedalling, chain, wheel bearings, and the air that cools a hub.

use crate::checked::within;
use crate::road::{OnRoad, road_force};
use crate::{Formula, OutOfRange};
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&ROAD_POWER, &WHEEL_BEARINGS, &PEDAL_POWER];

/// Power at the pedals for a change of speed.
pub const ROAD_POWER: Formula = Formula {
    name: "road-power",
    equation: "P = [F_road·v + (91 + 8.7·v)·10⁻³·v + ½(m + I/r²)(v_f² − v_i²)/t]/η_c",
    source: "Martin et al. 1998, J Appl Biomech 14(3) 276–291",
    valid: "F_road of road-force at the mean speed v; η_c = 0.976",
    left_out: "cross wind's own part (the drag area takes it)",
    checked_by: "validates_martin_road_power (Appendix I)",
};

/// Friction of the wheels' bearings.
pub const WHEEL_BEARINGS: Formula = Formula {
    name: "wheel-bearings",
    equation: "F = (91 + 8.7·v)·10⁻³ N, v in m/s",
    source: "Martin et al. 1998, after Dahn et al. 1991",
    valid: "two wheels in good order",
    left_out: "seals of hub motors (part of their drag)",
    checked_by: "validates_martin_road_power (Appendix I)",
};

/// What legs give at a cadence.
pub const PEDAL_POWER: Formula = Formula {
    name: "pedal-power",
    equation: "P = P₀·q·(2 − q), q = cadence over the preferred one; nothing beyond q = 2",
    source: "linear fall of pedal torque with cadence (common finding of cadence tests; from memory)",
    valid: "0 ≤ q",
    left_out: "fatigue",
    checked_by: "law_pedal_power_peaks_at_the_preferred_cadence",
};

/// Share of pedal power that arrives at the wheel (Martin et al. 1998).
pub const CHAIN: Ratio = Ratio::new(0.976);

/// Force of the wheels' bearings at a speed: [`WHEEL_BEARINGS`].
///
/// # Errors
/// [`OutOfRange`] beyond 0 to 60 m/s.
pub fn wheel_bearings(speed: Speed) -> Result<Force, OutOfRange> {
    let v = speed.as_metres_per_second();
    within("speed", v, 0.0, 60.0, "m/s")?;
    Ok(Force::newtons(1e-3 * (91.0 + 8.7 * v)))
}

/// Power at the pedals between two speeds: [`ROAD_POWER`]. `wheels` is the inertia of both over the square of their radius.
///
/// # Errors
/// As [`road_force`] and [`wheel_bearings`], and without a time.
pub fn road_power(
    road: &OnRoad,
    wheels: Mass,
    speed: Speed,
    from: Speed,
    to: Speed,
    time: Time,
) -> Result<Power, OutOfRange> {
    within("time", time.as_seconds(), 1e-6, 1e7, "s")?;
    let v = speed.as_metres_per_second();
    let steady_w = (road_force(road, speed)? + wheel_bearings(speed)?).as_newtons() * v;
    let (v_i, v_f) = (from.as_metres_per_second(), to.as_metres_per_second());
    let kinetic_j = 0.5 * (road.mass + wheels).as_kilograms() * (v_f * v_f - v_i * v_i);
    Ok(Power::watts((steady_w + kinetic_j / time.as_seconds()) / CHAIN.get()))
}

/// Pedal power at a cadence: [`PEDAL_POWER`].
///
/// # Errors
/// [`OutOfRange`] for a negative cadence or power, or without a preferred cadence.
pub fn pedal_power(most: Power, preferred: CrankSpeed, cadence: CrankSpeed) -> Result<Power, OutOfRange> {
    within("pedal-power", most.as_watts(), 0.0, 3000.0, "W")?;
    within("preferred-cadence", preferred.as_revolutions_per_minute(), 20.0, 150.0, "rpm")?;
    within("cadence", cadence.as_revolutions_per_minute(), 0.0, 1e4, "rpm")?;
    let q = (cadence / preferred).min(2.0);
    Ok(Power::watts(most.as_watts() * q * (2.0 - q)))
}
