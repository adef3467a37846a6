//! Too fast: the motor's own volts exceed the supply and the controller's diodes charge by themselves.

use super::Number;
use super::checked::within;
use super::motor::Machine;
use super::si::*;
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&FORCED_CHARGE];

/// Charge that nobody commands.
pub const FORCED_CHARGE: Formula = Formula {
    name: "forced-charge",
    equation: "I = f(U_oc + 2V_d + R_b·I); f(U), k = √3·ω_eλ/U: k ≤ 1: 0; k ≤ 1.3: max(0, √3ω_eλ − (π/3)U)/(X + (2π/3)R); \
               k > 1.3: (3/π)·I₁·(1 − 0.3·(1.3/k)⁵), I₁ = [−R·V₁ + √(R²V₁² + (R² + X²)(ω_e²λ² − V₁²))]/(R² + X²), V₁ = 2U/π; \
               T = [(U_oc + 2V_d)·I + I²·R_b + 1.5·R·(πI/3)²]/ω_m; i_q = T/(1.5·p·λ), i_d = −√((πI/3)² − i_q²)",
    source: "own derivation: six-pulse bridge with commutation overlap near the onset, fundamental model with a fit to a \
             time-domain bridge beyond (PHYSICS-DETAIL E4); the pack's resistance raises the bus, solved by halving",
    valid: "0.03 ≤ R/X ≤ 0.5, speed up to twice the onset; within 15 % from 1.08 times the onset",
    left_out: "diode recovery, saturation; below k = 1.05 it gives zero where the bridge has a little; i_d is low by up to 0.02·U/X (unsafe)",
    checked_by: "validates_bridge_rectifier (PHYSICS-DETAIL T18), validates_forced_charge_over_its_range, \
                 validates_forced_charge_into_a_pack (time-domain solver)",
};

/// The supply that the bridge charges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Open-circuit volts of the pack.
    pub open_circuit: Voltage,
    /// Drop of one diode.
    pub diode: Voltage,
    /// Resistance of pack, wire and plug.
    pub resistance: Resistance,
}

/// What flows and brakes by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForcedCharge {
    /// Into the pack.
    pub current: BatteryCurrent,
    /// Electromagnetic braking torque at the rotor; drag comes on top.
    pub torque: RotorTorque,
    /// Current against the magnet, amplitude: it weakens it, for good where the hot magnet does not stand it.
    pub against_magnet: PhaseCurrent,
}

/// Charge and braking that nobody commands at a rotor speed.
///
/// # Errors
/// [`OutOfRange`] beyond twice the onset speed, or without inductance.
pub fn forced_charge(m: &Machine, speed: RotorSpeed, supply: &Supply) -> Result<ForcedCharge, OutOfRange> {
    let omega_m = speed.as_radians_per_second();
    let omega_e = m.electrical_speed(speed).as_radians_per_second();
    let e_v = omega_e * m.flux_linkage().as_webers();
    let u_v = supply.open_circuit.as_volts() + 2.0 * supply.diode.as_volts();
    within("supply-volts", u_v, 1.0, 1e4, "V")?;
    let line_v = 3f64.sqrt() * e_v;
    if line_v <= u_v {
        return Ok(ForcedCharge {
            current: BatteryCurrent::ZERO,
            torque: RotorTorque::ZERO,
            against_magnet: PhaseCurrent::ZERO,
        });
    }
    within("speed-over-onset", line_v / u_v, 0.0, 2.01, "times")?;
    let (r, x) = (m.phase_resistance().as_ohms(), omega_e * m.phase_inductance().as_henries());
    within("phase-reactance", x, 1e-6, 1e4, "Ω")?;
    let pack_ohm = supply.resistance.as_ohms();
    within("supply-resistance", pack_ohm, 0.0, 100.0, "Ω")?;
    let stiff = Stiff { e_v, line_v, r, x };
    // The current falls as the bus rises, so the two meet once, between none and what a stiff bus takes.
    let (mut low, mut high) = (Number::from(0.0), stiff.current_a(u_v));
    let mut i_dc = high;
    while pack_ohm > 0.0 && high - low > 1e-13 * high {
        i_dc = low + (high - low) / 2.0;
        if i_dc <= low || i_dc >= high {
            break;
        }
        if stiff.current_a(u_v + pack_ohm * i_dc) > i_dc { low = i_dc } else { high = i_dc }
    }
    let i_1 = PI * i_dc / 3.0;
    let shaft_w = (u_v + i_dc * pack_ohm) * i_dc + 1.5 * r * i_1 * i_1;
    // Near the onset the currents come in short pulses, whose fundamental is more than this amplitude: none is left for d.
    let across_a = shaft_w / (1.5 * e_v);
    Ok(ForcedCharge {
        current: BatteryCurrent::amperes(i_dc),
        torque: RotorTorque::newton_metres(shaft_w / omega_m),
        against_magnet: PhaseCurrent::amperes((i_1 * i_1 - across_a * across_a).max(0.0).sqrt()),
    })
}

/// The bridge at one speed on a bus that does not give way.
struct Stiff {
    e_v: Number,
    line_v: Number,
    r: Number,
    x: Number,
}

impl Stiff {
    fn current_a(&self, bus_v: Number) -> Number {
        let Self { e_v, line_v, r, x } = *self;
        let k = line_v / bus_v;
        if k <= 1.3 {
            return (line_v - PI / 3.0 * bus_v).max(0.0) / (x + 2.0 * PI / 3.0 * r);
        }
        let v1 = 2.0 * bus_v / PI;
        let z2 = r * r + x * x;
        let i1 = (-r * v1 + (r * r * v1 * v1 + z2 * (e_v * e_v - v1 * v1)).sqrt()) / z2;
        let q = 1.3 / k;
        3.0 / PI * i1 * (1.0 - 0.3 * q * q * q * q * q)
    }
}
