//! The example machine of the design ("HUB5", PHYSICS-DETAIL, first page) and how its tests measure.

#![allow(dead_code, reason = "each test file takes what it needs")]

use physics::motor::{Commutation, Machine, Motor};
use quantity::*;

/// The machine's facts.
pub const HUB5: Motor = Motor {
    reduction: Ratio::new(5.0),
    pole_pairs: 8,
    flux_linkage: FluxLinkage::webers(0.0276),
    flux_droop: FluxDroop::ZERO,
    magnet_coefficient: TemperatureCoefficient::ZERO,
    phase_resistance: PhaseResistance::ohms(0.045),
    phase_inductance: PhaseInductance::microhenries(100.0),
    hysteresis_drag: RotorTorque::newton_metres(0.12),
    eddy_drag: RotorDamping::newton_metre_seconds(0.0009),
    gear_efficiency: Ratio::new(0.95),
    commutation: Commutation::Sine,
};

/// A motor at the temperature to which its facts are stated.
pub fn cool(motor: &Motor) -> Machine {
    motor.at(Temperature::celsius(20.0), Temperature::celsius(20.0)).unwrap()
}

/// The example machine.
pub fn machine() -> Machine {
    cool(&HUB5)
}

/// The example machine with a flux that droops under current.
pub fn drooping(droop_per_a: f64) -> Machine {
    cool(&Motor { flux_droop: FluxDroop::per_ampere(droop_per_a), ..HUB5 })
}

/// Rotor speed at a road speed on the example's wheel of 0.34 m.
pub fn rotor(kmh: f64) -> RotorSpeed {
    RotorSpeed::radians_per_second(kmh / 3.6 / 0.34 * 5.0)
}

/// Rotor speed at an electrical speed.
pub fn electrical(omega_e: f64) -> RotorSpeed {
    RotorSpeed::radians_per_second(omega_e / 8.0)
}

/// Panics unless `ours` is `theirs` to a share of it.
#[track_caller]
pub fn near(ours: f64, theirs: f64, share: f64) {
    assert!((ours - theirs).abs() <= share * theirs.abs(), "{ours} is not {theirs} within {share}");
}
