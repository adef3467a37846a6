//! Motor wires shorted: a locked hub brakes by itself, often harder than anything commanded.

use crate::Formula;
use crate::motor::Machine;
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&STEADY_SHORT, &WORST_SHORT, &SUDDEN_SHORT];

/// All three wires shorted, steady.
pub const STEADY_SHORT: Formula = Formula {
    name: "steady-short",
    equation: "T = 1.5·p·λ²·ω_e·R/(R² + ω_e²·L²)",
    source: "dq equations with v = 0 (PHYSICS-DETAIL M1)",
    valid: "steady speed",
    left_out: "saturation, which lowers λ and L",
    checked_by: "validates_shorted_wires (PHYSICS-DETAIL T21)",
};

/// Worst steady short at any speed.
pub const WORST_SHORT: Formula = Formula {
    name: "worst-short",
    equation: "T = 1.5·p·λ²/(2L) at ω_e = R/L",
    source: "maximum of steady-short over speed",
    valid: "as steady-short",
    left_out: "as steady-short",
    checked_by: "validates_shorted_wires (PHYSICS-DETAIL T21)",
};

/// Bound of the first peak of a sudden short.
pub const SUDDEN_SHORT: Formula = Formula {
    name: "sudden-short",
    equation: "T ≤ 1.5·p·λ²/L (three wires); T ≤ 1.95·p·λ²/L (two wires)",
    source: "own derivation (PHYSICS-DETAIL M1): undamped transient",
    valid: "any speed; an upper bound",
    left_out: "damping, which lowers it",
    checked_by: "validates_shorted_wires (PHYSICS-DETAIL T21)",
};

fn lambda_squared_p(m: &Machine) -> f64 {
    let lambda_wb = m.flux_linkage().as_webers();
    let pairs = m.electrical_speed(RotorSpeed::radians_per_second(1.0)).as_radians_per_second();
    pairs * lambda_wb * lambda_wb
}

/// Rotor torque of a steady three-wire short.
pub fn steady_short(m: &Machine, speed: RotorSpeed) -> RotorTorque {
    let omega = m.electrical_speed(speed).as_radians_per_second();
    let (r, l) = (m.phase_resistance().as_ohms(), m.phase_inductance().as_henries());
    let x = omega * l;
    RotorTorque::newton_metres(1.5 * lambda_squared_p(m) * omega * r / (r * r + x * x))
}

/// Worst steady short, and the rotor speed at which it comes.
pub fn worst_short(m: &Machine) -> (RotorTorque, RotorSpeed) {
    let (r, l) = (m.phase_resistance().as_ohms(), m.phase_inductance().as_henries());
    let pairs = m.electrical_speed(RotorSpeed::radians_per_second(1.0)).as_radians_per_second();
    (RotorTorque::newton_metres(1.5 * lambda_squared_p(m) / (2.0 * l)), RotorSpeed::radians_per_second(r / l / pairs))
}

/// Upper bound of the first peak when three wires (or two) are shorted suddenly.
pub fn sudden_short(m: &Machine, two_wires: bool) -> RotorTorque {
    let factor = if two_wires { 1.95 } else { 1.5 };
    RotorTorque::newton_metres(factor * lambda_squared_p(m) / m.phase_inductance().as_henries())
}
