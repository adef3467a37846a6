//! What speeding up and slowing down adds to the steady torques: at the axle, in the gears, for the rider.

use crate::checked::within;
use crate::{Formula, OutOfRange};
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&INERTIA_TORQUE, &BLOCKED_WHEEL, &RAMP_FOR_RIDER];

/// Torque at the axle beyond that of the tyre.
pub const INERTIA_TORQUE: Formula = Formula {
    name: "inertia-torque",
    equation: "T_axle − T_tyre = I·α + s·N·J·α; s = 1 for a rotor that turns with the wheel, −1 against it",
    source: "balance of angular momentum of wheel and rotor about the axle (PHYSICS-DETAIL E16)",
    valid: "no torque of chain or disc; α of the wheel",
    left_out: "planets",
    checked_by: "law_angular_momentum_is_what_the_axle_gives",
};

/// Blow in the gears when a brake blocks the wheel.
pub const BLOCKED_WHEEL: Formula = Formula {
    name: "blocked-wheel",
    equation: "T_wheel = J·N²·ω_wheel/t",
    source: "the rotor stopped through its gears in the time in which the wheel is (PHYSICS-DETAIL E16)",
    valid: "clutch locked; time long against a period of drive-frequency",
    left_out: "play and spring of the drive (see reversal-peak), gear loss (less torque)",
    checked_by: "validates_blocked_wheel (PHYSICS-DETAIL E16)",
};

/// Ramp that is gentle enough for a rider.
pub const RAMP_FOR_RIDER: Formula = Formula {
    name: "ramp-for-rider",
    equation: "t ≥ F/(m·j), j = 5 m/s³",
    source: "own rule, assumed (PHYSICS-DETAIL M3); the gears ask for 150 ms beside it",
    valid: "braking force that rises evenly from none to F",
    left_out: "pitching of the bike",
    checked_by: "validates_ramp_for_rider (stepped)",
};

/// Which way the rotor turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RotorSense {
    /// With the wheel.
    With,
    /// Against the wheel, as behind fixed planet pins.
    Against,
}

fn inertia(what: &'static str, value: Inertia) -> Result<f64, OutOfRange> {
    within(what, value.as_kilogram_square_metres(), 0.0, 10.0, "kg·m²")?;
    Ok(value.as_kilogram_square_metres())
}

/// Torque that the axle gives beyond that of the tyre while the bike gains speed (positive) or loses it:
/// [`INERTIA_TORQUE`].
///
/// # Errors
/// [`OutOfRange`] for inertias, a ratio, a radius or an acceleration that no bike has.
pub fn inertia_torque(
    wheel: Inertia,
    rotor: Inertia,
    reduction: Ratio,
    sense: RotorSense,
    acceleration: Acceleration,
    radius: Length,
) -> Result<Torque, OutOfRange> {
    let (i, j, n) = (inertia("wheel-inertia", wheel)?, inertia("rotor-inertia", rotor)?, reduction.get());
    let (a, r) = (acceleration.as_metres_per_second_squared(), radius.as_metres());
    within("reduction", n, 1.0, 200.0, "one")?;
    within("acceleration", a, -100.0, 100.0, "m/s²")?;
    within("wheel-radius", r, 0.05, 1.0, "m")?;
    let rotor_share = match sense {
        RotorSense::With => n * j,
        RotorSense::Against => -n * j,
    };
    Ok(Torque::newton_metres((i + rotor_share) * a / r))
}

/// Torque at the wheel with which the rotor turns on while a brake blocks the wheel: [`BLOCKED_WHEEL`].
///
/// # Errors
/// [`OutOfRange`] for an inertia, ratio, speed or time that no bike has.
pub fn blocked_wheel(
    rotor: Inertia,
    reduction: Ratio,
    wheel: WheelSpeed,
    time: Time,
) -> Result<WheelTorque, OutOfRange> {
    let (j, n) = (inertia("rotor-inertia", rotor)?, reduction.get());
    within("reduction", n, 1.0, 200.0, "one")?;
    within("wheel-speed", wheel.as_radians_per_second(), 0.0, 1e3, "rad/s")?;
    within("stopping-time", time.as_seconds(), 1e-4, 60.0, "s")?;
    Ok(WheelTorque::newton_metres(j * n * n * wheel.as_radians_per_second() / time.as_seconds()))
}

/// Change of deceleration in time that a rider stands, m/s³ (assumed).
const RIDER_JERK: f64 = 5.0;

/// Shortest ramp of a braking force that a rider stands: [`RAMP_FOR_RIDER`].
///
/// # Errors
/// [`OutOfRange`] for a force or mass that no bike has.
pub fn ramp_for_rider(force: Force, mass: Mass) -> Result<Time, OutOfRange> {
    within("braking-force", force.as_newtons(), 0.0, 1e4, "N")?;
    within("mass", mass.as_kilograms(), 1.0, 2000.0, "kg")?;
    Ok(Time::seconds(force.as_newtons() / (mass.as_kilograms() * RIDER_JERK)))
}
