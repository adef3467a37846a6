//! Too fast: the motor's own volts exceed the supply and the controller's diodes charge by themselves.

use crate::formula::within;
use crate::motor::Machine;
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&FORCED_CHARGE];

/// Charge that nobody commands.
pub const FORCED_CHARGE: Formula = Formula {
    name: "forced-charge",
    equation: "k = √3·ω_eλ/U, U = U_oc + 2V_d; k ≤ 1: 0; k ≤ 1.3: I = max(0, √3ω_eλ − (π/3)U)/(X + (2π/3)R + (π/3)R_b); \
               k > 1.3: I = (3/π)·I₁·(1 − 0.3·(1.3/k)⁵), I₁ = [−R·V₁ + √(R²V₁² + (R² + X²)(ω_e²λ² − V₁²))]/(R² + X²), V₁ = 2U/π; \
               T = [U·I + I²·R_b + 1.5·R·(πI/3)²]/ω_m",
    source: "own derivation: six-pulse bridge with commutation overlap near the onset, fundamental model with a fit to a \
             time-domain bridge beyond (PHYSICS-DETAIL E4)",
    valid: "0.03 ≤ R/X ≤ 0.5, k ≤ 2; within 15 % for k ≥ 1.08",
    left_out: "diode recovery, saturation; beyond k = 1.3 the pack's resistance in the current, which comes out high; below k = 1.05 it gives zero where the bridge has a little",
    checked_by: "validates_bridge_rectifier (PHYSICS-DETAIL T18, time-domain solver)",
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
    let k = line_v / u_v;
    if k <= 1.0 {
        return Ok(ForcedCharge { current: BatteryCurrent::ZERO, torque: RotorTorque::ZERO });
    }
    within("speed-over-onset", k, 0.0, 2.01, "times")?;
    let (r, x) = (m.phase_resistance().as_ohms(), omega_e * m.phase_inductance().as_henries());
    within("phase-reactance", x, 1e-6, 1e4, "Ω")?;
    let i_dc = if k <= 1.3 {
        (line_v - PI / 3.0 * u_v).max(0.0) / (x + 2.0 * PI / 3.0 * r + PI / 3.0 * supply.resistance.as_ohms())
    } else {
        let v1 = 2.0 * u_v / PI;
        let z2 = r * r + x * x;
        let i1 = (-r * v1 + (r * r * v1 * v1 + z2 * (e_v * e_v - v1 * v1)).sqrt()) / z2;
        let q = 1.3 / k;
        3.0 / PI * i1 * (1.0 - 0.3 * q * q * q * q * q)
    };
    let i_rms = PI * i_dc / 3.0;
    let pack_w = i_dc * i_dc * supply.resistance.as_ohms();
    let torque_nm = (u_v * i_dc + pack_w + 1.5 * r * i_rms * i_rms) / omega_m;
    Ok(ForcedCharge { current: BatteryCurrent::amperes(i_dc), torque: RotorTorque::newton_metres(torque_nm) })
}
