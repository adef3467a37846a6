//! A pack over time: resistance that shows at once and resistance that shows after seconds, and the current for a power.

use crate::checked::within;
use crate::{Formula, OutOfRange};
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&RC_PAIR, &TERMINAL_CURRENT, &WARM_RESISTANCE];

/// One resistor–capacitor pair under a constant current.
pub const RC_PAIR: Formula = Formula {
    name: "rc-pair",
    equation: "u(t) = u₀·e^(−t/τ) + R·I·(1 − e^(−t/τ)); mean ū = R·I + (u₀ − R·I)·(τ/t)·(1 − e^(−t/τ)), τ = R·C",
    source: "first-order network (Thévenin battery model), solved exactly",
    valid: "constant current over the time; discharging positive",
    left_out: "resistance that falls with current (charge transfer), diffusion beyond the slower pair",
    checked_by: "law_rc_pair_composes, validates_cell_pulses (electrochemical model)",
};

/// Current that a power takes from a pack.
pub const TERMINAL_CURRENT: Formula = Formula {
    name: "terminal-current",
    equation: "R·I² − (E + R·a·î)·I + (E·a·î + P) = 0, smaller root; V = E − R·I, P the power without the switching loss a·V·î",
    source: "own derivation: power balance at the terminals; discharging positive",
    valid: "below the largest power that the pack gives, E²/4R without switching loss",
    left_out: "wire between pack and controller (part of R)",
    checked_by: "law_terminal_power_balances",
};

/// Resistance of a cell at a temperature.
pub const WARM_RESISTANCE: Formula = Formula {
    name: "warm-resistance",
    equation: "R(T) = R_25·exp(E_a/R_gas·(1/T − 1/298.15 K))",
    source: "Arrhenius; E_a from the chemistry's table",
    valid: "−20 to 60 °C",
    left_out: "diffusion and transfer have activation energies of their own",
    checked_by: "validates_cell_pulses (electrochemical model at 5 °C)",
};

/// Molar gas constant, J/(mol·K) (SI, exact to the digits given).
const GAS: f64 = 8.314_462_618;

/// State of one pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairVoltage {
    /// At the end of the time.
    pub end: Voltage,
    /// Mean over the time.
    pub mean: Voltage,
}

/// Voltage of a pair after a time of constant current (discharging positive): [`RC_PAIR`].
///
/// # Errors
/// [`OutOfRange`] without a time constant, or for a negative time or resistance.
pub fn rc_pair(
    start: Voltage,
    current_a: f64,
    resistance: Resistance,
    constant: Time,
    time: Time,
) -> Result<PairVoltage, OutOfRange> {
    let (tau, t) = (constant.as_seconds(), time.as_seconds());
    within("time-constant", tau, 1e-6, 1e7, "s")?;
    within("time", t, 1e-9, 1e7, "s")?;
    within("pair-resistance", resistance.as_ohms(), 0.0, 1e3, "Ω")?;
    let settled = resistance.as_ohms() * current_a;
    let off = start.as_volts() - settled;
    let gone = -libm::expm1(-t / tau);
    Ok(PairVoltage {
        end: Voltage::volts(start.as_volts() - off * gone),
        mean: Voltage::volts(settled + off * gone * tau / t),
    })
}

/// Amperes (discharging positive) at which a pack of electromotive force `emf` behind `resistance` gives `power`, with a
/// switching loss of `switched_a` amperes times its terminal volts on top: [`TERMINAL_CURRENT`].
///
/// # Errors
/// [`OutOfRange`] beyond the pack's largest power.
pub fn terminal_current_a(
    emf: Voltage,
    resistance: Resistance,
    power: Power,
    switched_a: f64,
) -> Result<f64, OutOfRange> {
    let (e, r, p) = (emf.as_volts(), resistance.as_ohms(), power.as_watts());
    within("pack-volts", e, 0.1, 1e4, "V")?;
    within("pack-resistance", r, 0.0, 100.0, "Ω")?;
    let b = e + r * switched_a;
    let c = e * switched_a + p;
    let root = b * b - 4.0 * r * c;
    let most_w = if r > 0.0 { b * b / (4.0 * r) - e * switched_a } else { f64::MAX };
    if root < 0.0 || root.is_nan() {
        return Err(OutOfRange { what: "pack-power", value: p, low: f64::MIN, high: most_w, unit: "W" });
    }
    // The other form of the smaller root, which does not cancel where the resistance is small.
    Ok(2.0 * c / (b + root.sqrt()))
}

/// Resistance at a temperature over that at 25 °C: [`WARM_RESISTANCE`].
///
/// # Errors
/// [`OutOfRange`] beyond −40 to 80 °C or an activation energy beyond 0 to 100 kJ/mol.
pub fn warm_resistance(temperature: Temperature, activation_j_mol: f64) -> Result<Ratio, OutOfRange> {
    within("cell-temperature", temperature.as_celsius(), -40.0, 80.0, "°C")?;
    within("activation-energy", activation_j_mol, 0.0, 1e5, "J/mol")?;
    Ok(Ratio::new(libm::exp(activation_j_mol / GAS * (1.0 / temperature.as_kelvins() - 1.0 / 298.15))))
}
