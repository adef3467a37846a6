//! The motor as the sums ask for it: its inputs, in blocks that several sums share, and the machine that they make.

use super::input::{
    EFFICIENCY, FLUX, INDUCTANCE, PHASE_CURRENT, REDUCTION, RESISTANCE, SPEED, Shape, VOLTAGE, WHEEL_RADIUS, of,
};
use super::{Given, Input, SumError};
use physics::motor::{Commutation, Machine, Motor, STATED_AT};
use quantity::{
    FluxDroop, Length, PhaseInductance, PhaseResistance, Ratio, RotorDamping, RotorTorque, Speed,
    TemperatureCoefficient, WheelSpeed,
};

pub(super) const REDUCTION_IN: Input = Input::new("reduction", REDUCTION).card("m18");
pub(super) const POLE_PAIRS: Input = Input::new("pole-pairs", Shape::Count { low: 1, high: 200 }).card("m19");
pub(super) const FLUX_LINKAGE: Input = Input::new("flux-linkage", FLUX).card("m21");
pub(super) const PHASE_RESISTANCE: Input = Input::new("resistance", RESISTANCE).card("m20");
pub(super) const PHASE_INDUCTANCE: Input = Input::new("inductance", INDUCTANCE).card("m23");
pub(super) const CURRENT: Input = Input::new("phase-current", PHASE_CURRENT).card("m27");
pub(super) const WHEEL_SPEED: Input = Input::new("speed", SPEED);
pub(super) const RADIUS: Input = Input::new("wheel-radius", WHEEL_RADIUS).card("m5");
pub(super) const GEAR_EFFICIENCY: Input = Input::new("gear-efficiency", EFFICIENCY).card("m26");
pub(super) const HYSTERESIS: Input = Input::new("hysteresis", of(&["torque"], "N·m", 0.0, 100.0)).card("m24");
pub(super) const EDDY: Input = Input::new("eddy", of(&["damping"], "N·m·s", 0.0, 10.0)).card("m25");
pub(super) const DROOP: Input = Input::new("droop", of(&["flux droop"], "1/A", 0.0, 1.0)).or("0 1/A").card("m26");
pub(super) const BUS: Input = Input::new("bus-voltage", VOLTAGE).card("m31");

/// A motor's EMF at the wheel.
pub(super) const EMF: [Input; 3] = [REDUCTION_IN, POLE_PAIRS, FLUX_LINKAGE];
/// Its EMF along the road.
pub(super) const EMF_ON_ROAD: [Input; 4] = join(EMF, [RADIUS]);
/// EMF and winding of one phase.
pub(super) const WINDING: [Input; 5] = join(EMF, [PHASE_RESISTANCE, PHASE_INDUCTANCE]);
/// A turning wheel, whose radius is only needed for a road speed.
pub(super) const TURNING: [Input; 2] = [WHEEL_SPEED, RADIUS.optional()];

/// A made-up motor for the examples.
pub(super) const EMF_EXAMPLE: [(&str, &str); 3] =
    [("reduction", "5"), ("pole-pairs", "8"), ("flux-linkage", "0.0276 Wb")];
/// The same with its winding.
pub(super) const WINDING_EXAMPLE: [(&str, &str); 5] =
    join(EMF_EXAMPLE, [("resistance", "45 mΩ"), ("inductance", "0.10 mH")]);
/// Its wheel on the road.
pub(super) const TURNING_EXAMPLE: [(&str, &str); 2] = [("speed", "25 km/h"), ("wheel-radius", "340 mm")];

/// Two blocks as one.
pub(super) const fn join<T: Copy, const A: usize, const B: usize, const N: usize>(a: [T; A], b: [T; B]) -> [T; N] {
    assert!(A > 0 && A + B == N, "blocks of A and B make N");
    let mut all = [a[0]; N];
    let mut i = 1;
    while i < N {
        all[i] = if i < A { a[i] } else { b[i - A] };
        i += 1;
    }
    all
}

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
