//! What the pack swallows: by temperature, by its electronics and plug, and by the room under its full voltage.

use super::checked::within;
use super::math;
use super::si::*;
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&OPEN_CIRCUIT, &COLD_SHARE, &WARM_FULL, &VOLTAGE_ROOM, &FULLEST_CHARGE, &FOLD_BACK];

/// Open-circuit voltage.
pub const OPEN_CIRCUIT: Formula = Formula {
    name: "open-circuit",
    equation: "U_oc = n_s·u(s), u between the points of the chemistry's curve by straight lines",
    source: "the curve's table names its source",
    valid: "within the curve's ends",
    left_out: "hysteresis and temperature (some 10 mV a cell)",
    checked_by: "validates_open_circuit_lines",
};

/// Share of the charge rating that a temperature leaves.
pub const COLD_SHARE: Formula = Formula {
    name: "cold-share",
    equation: "0 below 0 °C; the cool share from 0 °C to 10 °C; 1 to 45 °C; the cool share to 60 °C; 0 above",
    source: "JEITA practice for charging lithium-ion cells by temperature (battery-charger data sheets)",
    valid: "a maker's own table by temperature goes first",
    left_out: "state of charge and ageing; a low voltage is no permission to charge cold",
    checked_by: "validates_charging_by_temperature",
};

/// Charge voltage of a warm cell.
pub const WARM_FULL: Formula = Formula {
    name: "warm-full",
    equation: "u = u_max to 45 °C; u_max − Δu_warm to 60 °C, Δu_warm 0.2 V unless the sheet says less",
    source: "JEITA practice; the data sheet of a two-cell charger (SLUSD89B, charger control 4) lowers 8.4 V to 8.0 V from 45 to \
             60 °C by default, to 8.3 V by choice",
    valid: "lithium-ion cells of 4.2 V; a maker's own table by temperature goes first",
    left_out: "ageing, which is quickest warm and full",
    checked_by: "validates_charging_by_temperature",
};

/// Charge current that the room under the full voltage allows.
pub const VOLTAGE_ROOM: Formula = Formula {
    name: "voltage-room",
    equation: "I = max(0, n_s·(u_max − Δu) − U_oc)/R",
    source: "Ohm's law over the pack's resistance with an allowance for the fullest cell group",
    valid: "currents that last longer than a few seconds with R of the same duration",
    left_out: "slow polarisation, which lowers it further",
    checked_by: "validates_voltage_room",
};

/// Highest state of charge at which a charge current fits.
pub const FULLEST_CHARGE: Formula = Formula {
    name: "fullest-charge",
    equation: "largest s with U_oc(s) ≤ n_s·(u_max − Δu) − I·R",
    source: "voltage-room solved for the state of charge along the curve's straight lines",
    valid: "a curve that does not fall; R as in voltage-room, at that charge",
    left_out: "as voltage-room; R that grows towards full (take the largest)",
    checked_by: "law_the_fullest_charge_has_just_the_room",
};

/// Supply voltage at which the controller must have eased off.
pub const FOLD_BACK: Formula = Formula {
    name: "fold-back",
    equation: "V = n_s·(u_max − Δu)",
    source: "the fullest cell group must stay under its limit (PHYSICS-DETAIL M15)",
    valid: "voltage at the pack; wire drop acts early, on the safe side",
    left_out: "measuring error of the controller",
    checked_by: "validates_voltage_room",
};

/// Open-circuit voltage of `series` cells from a curve of (state of charge, volts a cell), empty to full.
///
/// # Errors
/// [`OutOfRange`] outside the curve or without cells.
pub fn open_circuit(
    curve: &[(quantity::StateOfCharge, quantity::Voltage)],
    series: u32,
    charge: StateOfCharge,
) -> Result<Voltage, OutOfRange> {
    let s = charge.get();
    let ends = curve.first().zip(curve.last());
    let (low, high) = ends.map_or((1.0, 0.0), |(a, b)| (a.0.get(), b.0.get()));
    within("state-of-charge", s, low, high, "one")?;
    within("cells-series", f64::from(series), 1.0, 1000.0, "cells")?;
    let cell_v = math::each(s, |s| {
        let above = curve.partition_point(|p| p.0.get() < s).max(1);
        let (a, b) = (curve[above - 1], curve.get(above).copied().unwrap_or(curve[above - 1]));
        let span = b.0.get() - a.0.get();
        let share = if span > 0.0 { (s - a.0.get()) / span } else { 0.0 };
        a.1.as_volts() + share * (b.1.as_volts() - a.1.as_volts())
    });
    Ok(Voltage::volts(cell_v * f64::from(series)))
}

/// Share of the charge rating that a cell temperature leaves.
///
/// # Errors
/// [`OutOfRange`] for a cool share outside 0 to 1.
pub fn cold_share(temperature: Temperature, cool_share: Ratio) -> Result<Ratio, OutOfRange> {
    within("cool-charge-share", cool_share.get(), 0.0, 1.0, "one")?;
    let c = temperature.as_celsius();
    within("cell-temperature", c, -100.0, 150.0, "°C")?;
    let warm = math::if_above(10.0, c, cool_share.get(), math::if_above(c, 45.0, cool_share.get(), 1.0));
    Ok(Ratio::new(math::if_above(0.0, c, 0.0, math::if_above(c, 60.0, 0.0, warm))))
}

/// Highest voltage under which the fullest cell group stays below its limit: [`FOLD_BACK`].
pub fn fold_back(series: u32, cell_full: Voltage, imbalance: Voltage) -> Voltage {
    (cell_full - imbalance) * f64::from(series)
}

/// Charge current that the voltage allows: [`VOLTAGE_ROOM`].
///
/// # Errors
/// [`OutOfRange`] without resistance.
pub fn voltage_room(
    fold_back: Voltage,
    open_circuit: Voltage,
    resistance: Resistance,
) -> Result<BatteryCurrent, OutOfRange> {
    let r = resistance.as_ohms();
    within("pack-resistance", r, 1e-5, 100.0, "Ω")?;
    Ok(BatteryCurrent::amperes((fold_back - open_circuit).as_volts().max(0.0) / r))
}

/// Charge voltage of a cell at a temperature: [`WARM_FULL`].
///
/// # Errors
/// [`OutOfRange`] for a temperature at which no cell is charged, or a lowering outside 0 to 1 V.
pub fn warm_full(cell_full: Voltage, temperature: Temperature, lowering: Voltage) -> Result<Voltage, OutOfRange> {
    let c = temperature.as_celsius();
    within("cell-temperature", c, 0.0, 60.0, "°C")?;
    within("warm-lowering", lowering.as_volts(), 0.0, 1.0, "V")?;
    Ok(if c > 45.0 { cell_full - lowering } else { cell_full })
}

/// Highest state of charge at which a charge current stays under a voltage: [`FULLEST_CHARGE`]; the curve's upper end
/// if it fits there too, `None` if it does not even fit at its lower end.
///
/// # Errors
/// [`OutOfRange`] without curve, cells or resistance, for a curve that falls, or a negative current.
pub fn fullest_charge(
    curve: &[(quantity::StateOfCharge, quantity::Voltage)],
    series: u32,
    fold_back: Voltage,
    current: BatteryCurrent,
    resistance: Resistance,
) -> Result<Option<StateOfCharge>, OutOfRange> {
    let (i_a, r, n) = (current.as_amperes(), resistance.as_ohms(), f64::from(series));
    within("curve-points", curve.len() as f64, 1.0, 1e6, "points")?;
    within("cells-series", n, 1.0, 1000.0, "cells")?;
    within("charge-current", i_a, 0.0, 1e4, "A")?;
    within("pack-resistance", r, 1e-5, 100.0, "Ω")?;
    let most_v = (fold_back.as_volts() - i_a * r) / n;
    let mut fullest = None;
    let mut before: Option<(f64, f64)> = None;
    for (s, u) in curve.iter().map(|(s, u)| (s.get(), u.as_volts())) {
        let (last_s, last_v) = before.unwrap_or((s, u));
        within("curve-step", u - last_v, 0.0, 100.0, "V")?;
        within("curve-step", s - last_s, 0.0, 1.0, "one")?;
        if most_v >= u {
            fullest = Some(s.into());
        } else if most_v >= last_v {
            fullest = Some(last_s + (s - last_s) * (most_v - last_v) / (u - last_v));
        }
        before = Some((s, u));
    }
    Ok(fullest.map(StateOfCharge::new))
}
