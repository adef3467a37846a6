//! Motor wires shorted: a locked hub brakes by itself, often harder than anything commanded.

use super::motor::Machine;
use super::si::*;
use super::{Number, math};
use crate::Formula;
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&STEADY_SHORT, &WORST_SHORT, &SUDDEN_SHORT, &FIRST_PEAK];

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
    source: "own derivation (PHYSICS-DETAIL M1): undamped transient; two wires: 3·p·λ²/(2L)·sin θ·(1 + cos θ) at 60°",
    valid: "any speed, from no current; a current before it raises the first factor λ to √(λ² + L²î²)",
    left_out: "damping, which lowers it",
    checked_by: "validates_shorted_wires (PHYSICS-DETAIL T21), validates_short_of_two_wires_within_its_bound (SciPy)",
};

/// First peaks after a sudden short of three wires.
pub const FIRST_PEAK: Formula = Formula {
    name: "short-first-peak",
    equation: "i(t) = i_∞ + (j·i_q0 − i_∞)·e^(−(R/X + j)·θ), i_∞ = −j·ω_eλ/(R + jX), θ = ω_e·t; φ = arg(ω_eλ/L + i_q0·R/L + j·ω_e·i_q0); \
               largest −i_d at θ = φ + π, largest −i_q at θ = φ + π/2 or at once; T = 1.5·p·λ·|i_q|; from no current \
               |i_d| = (λ/L)·X²/(R² + X²)·(1 + e^(−πR/X))",
    source: "own solution of the dq equations with v = 0 (PHYSICS-DETAIL M9)",
    valid: "sine; steady speed over the first half turn of the field; L_d = L_q",
    left_out: "saturation, which lowers L and raises both: take 0.8·L where it is not measured under current",
    checked_by: "validates_demagnetising_peak (PHYSICS-DETAIL T21), validates_every_covered_value (SciPy, solvers.csv)",
};

fn lambda_squared_p(m: &Machine) -> Number {
    let lambda_wb = m.flux_linkage().as_webers();
    m.pole_pairs * lambda_wb * lambda_wb
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
    (
        RotorTorque::newton_metres(1.5 * lambda_squared_p(m) / (2.0 * l)),
        RotorSpeed::radians_per_second(r / l / m.pole_pairs),
    )
}

/// Upper bound of the first peak when three wires (or two) are shorted suddenly.
pub fn sudden_short(m: &Machine, two_wires: bool) -> RotorTorque {
    let factor = if two_wires { 1.95 } else { 1.5 };
    RotorTorque::newton_metres(factor * lambda_squared_p(m) / m.phase_inductance().as_henries())
}

/// What a sudden short of three wires does first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstPeak {
    /// Largest current against the magnet, to hold against the knee of its curve when hot.
    pub against_magnet: PhaseCurrent,
    /// Largest braking torque at the rotor.
    pub torque: RotorTorque,
}

/// First peaks after a sudden short of three wires from a signed torque current (negative brakes): [`FIRST_PEAK`].
pub fn first_peak(m: &Machine, speed: RotorSpeed, before: PhaseCurrent) -> FirstPeak {
    let omega = m.electrical_speed(speed).as_radians_per_second().abs();
    let (r, l) = (m.phase_resistance().as_ohms(), m.phase_inductance().as_henries());
    let (lambda_wb, before_a) = (m.flux_linkage().as_webers(), before.as_amperes());
    let x = omega * l;
    let (mut along_a, mut across_a) = (Number::from(0.0), before_a.min(0.0));
    if x > 0.0 {
        let z2 = r * r + x * x;
        let steady = (-omega * lambda_wb * x / z2, -omega * lambda_wb * r / z2);
        let start = (-steady.0, before_a - steady.1);
        let phi = math::atan2(omega * before_a, (omega * lambda_wb + before_a * r) / l);
        let at = |theta: Number| {
            let (left, sin, cos) = (math::exp(-r / x * theta), math::sin(theta), math::cos(theta));
            (steady.0 + left * (start.0 * cos + start.1 * sin), steady.1 + left * (start.1 * cos - start.0 * sin))
        };
        let quarter = phi + PI / 2.0;
        along_a = at(phi + PI).0.min(0.0);
        across_a = across_a.min(at(if quarter < 0.0 { quarter + 2.0 * PI } else { quarter }).1);
    }
    FirstPeak {
        against_magnet: PhaseCurrent::amperes(-along_a),
        torque: RotorTorque::newton_metres(-1.5 * m.pole_pairs * lambda_wb * across_a),
    }
}
