//! The pack cuts out while braking: how high the supply rises.

use crate::formula::within;
use crate::motor::Machine;
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;
use quantity::*;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&LOAD_DUMP];

/// Highest supply voltage after the pack has opened.
pub const LOAD_DUMP: Formula = Formula {
    name: "load-dump",
    equation: "V_trip = √(V₀² + 2Pt/C); W = ¾·L·î²·V/(V − (π/2)·ω_eλ), V = V_trip; V_peak = √(V_trip² + 2W/C), \
               and at least √3·ω_eλ where that exceeds V_trip",
    source: "own derivation (PHYSICS-DETAIL E5): constant power until the trip, then the winding's energy with the \
             back-EMF still feeding it; above the time-domain solver at high currents, up to 5 % of the rise below it at low ones",
    valid: "V_trip > (π/2)·ω_eλ, below the speed at which the diodes charge by themselves",
    left_out: "clamping parts, losses in the diodes: both lower the peak",
    checked_by: "validates_load_dump (PHYSICS-DETAIL T20, time-domain solver)",
};

/// What happens when the pack opens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dump {
    /// Supply before.
    pub bus: Voltage,
    /// Power into the pack before.
    pub power: Power,
    /// Capacitors at the controller's input.
    pub capacitance: Capacitance,
    /// Time until the controller stops.
    pub trip_time: Time,
    /// Motor current, amplitude.
    pub current: PhaseCurrent,
}

/// Highest supply voltage.
///
/// # Errors
/// [`OutOfRange`] without capacitance, or at a speed at which the diodes charge by themselves anyway.
pub fn load_dump(m: &Machine, speed: RotorSpeed, dump: &Dump) -> Result<Voltage, OutOfRange> {
    let c_f = dump.capacitance.as_farads();
    within("capacitance", c_f, 1e-7, 10.0, "F")?;
    within("power", dump.power.as_watts(), 0.0, 1e6, "W")?;
    let e_v = m.electrical_speed(speed).as_radians_per_second() * m.flux_linkage().as_webers();
    let v0 = dump.bus.as_volts();
    let trip_v = (v0 * v0 + 2.0 * dump.power.as_watts() * dump.trip_time.as_seconds() / c_f).sqrt();
    let against_v = trip_v - PI / 2.0 * e_v;
    within("supply-over-motor-volts", against_v, 1e-3, 1e6, "V")?;
    let i_a = dump.current.as_amperes();
    let energy_j = 0.75 * m.phase_inductance().as_henries() * i_a * i_a * trip_v / against_v;
    let peak_v = (trip_v * trip_v + 2.0 * energy_j / c_f).sqrt();
    Ok(Voltage::volts(peak_v.max(3f64.sqrt() * e_v)))
}
