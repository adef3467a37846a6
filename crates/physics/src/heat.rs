//! Heat of winding and shell: two nodes, with the copper growing hotter and its resistance with it.

use crate::formula::within;
use crate::{Formula, OutOfRange};
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&TWO_NODES, &STEADY_HEAT];

/// Two nodes over time.
pub const TWO_NODES: Formula = Formula {
    name: "two-nodes",
    equation: "C_w·dT_w/dt = P₂₀·(1 + α(T_w − 20)) − (T_w − T_s)/R_ws;  C_s·dT_s/dt = P_s + (T_w − T_s)/R_ws − H·(T_s − T_a)",
    source: "lumped thermal network of two nodes (two-time-constant model of electrical machines); α of IEC 60028",
    valid: "constant losses and air over the time; each step solved implicitly (trapezoidal), stable at any step",
    left_out: "hot spots, radiation apart from H",
    checked_by: "validates_two_node_heat (closed form without feedback, energy balance)",
};

/// Where it settles.
pub const STEADY_HEAT: Formula = Formula {
    name: "steady-heat",
    equation: "T_w = [T_a + P_s/H + R_th·P₂₀·(1 − 20α)]/(1 − q), R_th = R_ws + 1/H, q = α·P₂₀·R_th (°C)",
    source: "two-nodes at rest (PHYSICS-DETAIL M16)",
    valid: "q < 1; at q ≥ 1 it never settles",
    left_out: "as two-nodes",
    checked_by: "validates_two_node_heat",
};

/// IEC 60028, annealed copper, at 20 °C.
const ALPHA: f64 = 0.003_93;

/// A motor's two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoNodes {
    /// Heat capacity of the winding.
    pub winding: HeatCapacity,
    /// Heat capacity of stator and shell.
    pub shell: HeatCapacity,
    /// From winding to shell.
    pub winding_to_shell: ThermalResistance,
    /// From shell to air.
    pub shell_to_air: ThermalConductance,
}

/// Losses and air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heating {
    /// Copper loss at 20 °C; it grows with the winding's temperature.
    pub copper_at_20: Power,
    /// Loss that goes to the shell: iron, gears.
    pub shell: Power,
    /// Air.
    pub air: Temperature,
}

/// Temperatures of both nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warmth {
    /// Winding.
    pub winding: Temperature,
    /// Shell.
    pub shell: Temperature,
}

fn check(n: &TwoNodes) -> Result<(f64, f64, f64, f64), OutOfRange> {
    let (cw, cs) = (n.winding.as_joules_per_kelvin(), n.shell.as_joules_per_kelvin());
    let (r, h) = (n.winding_to_shell.as_kelvins_per_watt(), n.shell_to_air.as_watts_per_kelvin());
    within("winding-heat-capacity", cw, 0.1, 1e6, "J/K")?;
    within("shell-heat-capacity", cs, 0.1, 1e7, "J/K")?;
    within("winding-to-shell", r, 1e-4, 100.0, "K/W")?;
    within("shell-to-air", h, 1e-3, 1e4, "W/K")?;
    Ok((cw, cs, r, h))
}

/// One step in time, of any length up to an hour.
///
/// # Errors
/// [`OutOfRange`] for nodes without capacity or path.
pub fn step(n: &TwoNodes, heating: &Heating, now: Warmth, time: Time) -> Result<Warmth, OutOfRange> {
    let (cw, cs, r, h) = check(n)?;
    let dt = time.as_seconds();
    within("time-step", dt, 0.0, 3600.0, "s")?;
    let (p, q, air) = (heating.copper_at_20.as_watts(), heating.shell.as_watts(), heating.air.as_celsius());
    let (w, s) = (now.winding.as_celsius(), now.shell.as_celsius());
    // dT/dt = A·T + b; trapezoidal rule: (I − A·dt/2)·T₁ = (I + A·dt/2)·T₀ + b·dt.
    let (a11, a12, b1) = ((p * ALPHA - 1.0 / r) / cw, 1.0 / (r * cw), p * (1.0 - 20.0 * ALPHA) / cw);
    let (a21, a22, b2) = (1.0 / (r * cs), -(1.0 / r + h) / cs, (q + h * air) / cs);
    let k = dt / 2.0;
    let (m11, m12, m21, m22) = (1.0 - k * a11, -k * a12, -k * a21, 1.0 - k * a22);
    let right1 = w + k * (a11 * w + a12 * s) + dt * b1;
    let right2 = s + k * (a21 * w + a22 * s) + dt * b2;
    let det = m11 * m22 - m12 * m21;
    within("heat-step", det, 1e-9, f64::MAX, "one")?;
    Ok(Warmth {
        winding: Temperature::celsius((right1 * m22 - m12 * right2) / det),
        shell: Temperature::celsius((m11 * right2 - m21 * right1) / det),
    })
}

/// Temperatures after a time of constant heating, in steps short against the winding's own time constant.
///
/// # Errors
/// As [`step`], and beyond a day.
pub fn after(n: &TwoNodes, heating: &Heating, start: Warmth, time: Time) -> Result<Warmth, OutOfRange> {
    let (cw, _, r, _) = check(n)?;
    let total = time.as_seconds();
    within("time", total, 0.0, 86_400.0, "s")?;
    let steps = (total / (0.02 * cw * r).clamp(0.05, 60.0)).ceil().max(1.0);
    let mut now = start;
    for _ in 0..steps as u32 {
        now = step(n, heating, now, Time::seconds(total / steps))?;
    }
    Ok(now)
}

/// Temperatures at which it settles; `None` if it never does.
///
/// # Errors
/// As [`step`].
pub fn settled(n: &TwoNodes, heating: &Heating) -> Result<Option<Warmth>, OutOfRange> {
    let (_, _, r, h) = check(n)?;
    let (p, q, air) = (heating.copper_at_20.as_watts(), heating.shell.as_watts(), heating.air.as_celsius());
    let path = r + 1.0 / h;
    let gain = ALPHA * p * path;
    if gain >= 1.0 {
        return Ok(None);
    }
    let winding = (air + q / h + path * p * (1.0 - 20.0 * ALPHA)) / (1.0 - gain);
    let copper = p * (1.0 + ALPHA * (winding - 20.0));
    Ok(Some(Warmth { winding: Temperature::celsius(winding), shell: Temperature::celsius(air + (copper + q) / h) }))
}
