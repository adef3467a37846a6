//! The pack cuts out while braking: how high the supply rises.
//!
//! Three answers: what it likely is ([`load_dump_estimate`]), what it cannot exceed ([`load_dump_bound`]), and the
//! design's figure ([`load_dump`]), which lies above both and is meant for a rating. Where it seems too strict, near the
//! onset of charging by the diodes, the bound is just as safe.

use super::Number;
use super::checked::within;
use super::motor::{Commutation, Machine};
use super::si::*;
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&LOAD_DUMP, &LOAD_DUMP_BOUND, &LOAD_DUMP_ESTIMATE];

/// The figure to hold against a rating.
pub const LOAD_DUMP: Formula = Formula {
    name: "load-dump",
    equation: "V_trip = √(V₀² + 2Pt/C); below the onset (√3·ω_eλ < V_trip) the larger of load-dump-bound and \
               √(V_trip² + 2W/C), W = ¾·L·î²·V_trip/(V_trip − (π/2)·ω_eλ); above it load-dump-bound",
    source: "own derivation (PHYSICS-DETAIL E5): constant power until the trip, then the winding's energy with the \
             back-EMF still feeding it, as much as at the voltage of the trip",
    valid: "as load-dump-bound",
    left_out: "the rising voltage, which ends the feeding: far too high just below the onset (there take load-dump-bound)",
    checked_by: "validates_load_dump (PHYSICS-DETAIL T20), validates_load_dump_over_its_range (time-domain solver)",
};

/// What the supply cannot exceed.
pub const LOAD_DUMP_BOUND: Formula = Formula {
    name: "load-dump-bound",
    equation: "V ≤ √3·ω_eλ + √((V_trip − √3·ω_eλ)² + 3/2·L·î²/C); block: î the amplitude 2/√3 of the flat top",
    source: "own derivation, rigorous: d(½CV² + ¾L|i|²) ≤ 3/2·ω_eλ·|i|·dt, and the bus takes at least √3/2·|i| whatever \
             diodes conduct, so ½C(V² − V_trip²) ≤ ¾Lî² + √3·ω_eλ·C·(V − V_trip)",
    valid: "constant power until the trip; steady speed; a motor current of any phase; also above the onset",
    left_out: "resistance, diode drops, clamping parts: all lower the peak (below the onset its rise is at most 1.4 times the true one)",
    checked_by: "validates_load_dump_over_its_range (time-domain solver)",
};

/// What the supply likely reaches.
pub const LOAD_DUMP_ESTIMATE: Formula = Formula {
    name: "load-dump-estimate",
    equation: "V = (π/2)·ω_eλ + √((V_trip − (π/2)·ω_eλ)² + 3/2·L·î²/C), and at least √3·ω_eλ",
    source: "own derivation: L·di/dt = −(2V/π − ω_eλ) and C·dV/dt = (3/π)·i, energy integrated over the rising voltage",
    valid: "as load-dump-bound; worst angle of the trip",
    left_out: "resistance (above the onset up to 40 % of the rise too high); small currents near the onset (diodes that conduct \
               in gaps: up to 2 V too low); below the onset within 2 V of the time domain",
    checked_by: "validates_load_dump_estimate (PHYSICS-DETAIL E5, SciPy), validates_load_dump_over_its_range (time-domain solver)",
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

/// The moment at which the controller stops.
struct Trip {
    /// Amplitude of the motor's own volts.
    e_v: Number,
    /// Supply.
    trip_v: Number,
    /// Square of the volts that the winding's energy alone would give the empty capacitor.
    winding_v2: Number,
}

impl Trip {
    fn new(m: &Machine, speed: RotorSpeed, dump: &Dump) -> Result<Self, OutOfRange> {
        let (c_f, p_w, v0) = (dump.capacitance.as_farads(), dump.power.as_watts(), dump.bus.as_volts());
        let (t_s, i_a) = (dump.trip_time.as_seconds(), dump.current.as_amperes());
        within("capacitance", c_f, 1e-7, 10.0, "F")?;
        within("power", p_w, 0.0, 1e6, "W")?;
        within("bus-voltage", v0, 1.0, 1e4, "V")?;
        within("trip-time", t_s, 0.0, 10.0, "s")?;
        within("phase-current", i_a, 0.0, 1e5, "A")?;
        // Flat-top current through two wires stores L·I², a sine ¾·L·î².
        let shape = match m.commutation {
            Commutation::Sine => 1.5,
            Commutation::Block => 2.0,
        };
        Ok(Self {
            e_v: (m.electrical_speed(speed).as_radians_per_second() * m.flux_linkage().as_webers()).abs(),
            trip_v: (v0 * v0 + 2.0 * p_w * t_s / c_f).sqrt(),
            winding_v2: shape * m.phase_inductance().as_henries() * i_a * i_a / c_f,
        })
    }

    fn onset_v(&self) -> Number {
        3f64.sqrt() * self.e_v
    }

    /// Peak against a constant back-EMF that opposes the rise with so many volts.
    fn peak_v(&self, against_v: Number) -> Number {
        let room = self.trip_v - against_v;
        against_v + (room * room + self.winding_v2).sqrt()
    }
}

/// Highest supply voltage, to hold against a rating: [`LOAD_DUMP`].
///
/// # Errors
/// [`OutOfRange`] without capacitance, or for a supply, power, time or current that no bike has.
pub fn load_dump(m: &Machine, speed: RotorSpeed, dump: &Dump) -> Result<Voltage, OutOfRange> {
    let trip = Trip::new(m, speed, dump)?;
    let bound_v = trip.peak_v(trip.onset_v());
    if trip.onset_v() >= trip.trip_v {
        return Ok(Voltage::volts(bound_v));
    }
    let fed = trip.trip_v / (trip.trip_v - PI / 2.0 * trip.e_v);
    let peak_v = (trip.trip_v * trip.trip_v + trip.winding_v2 * fed).sqrt();
    Ok(Voltage::volts(peak_v.max(bound_v)))
}

/// Voltage that the supply cannot exceed: [`LOAD_DUMP_BOUND`].
///
/// # Errors
/// As [`load_dump`].
pub fn load_dump_bound(m: &Machine, speed: RotorSpeed, dump: &Dump) -> Result<Voltage, OutOfRange> {
    let trip = Trip::new(m, speed, dump)?;
    Ok(Voltage::volts(trip.peak_v(trip.onset_v())))
}

/// Voltage that the supply likely reaches: [`LOAD_DUMP_ESTIMATE`].
///
/// # Errors
/// As [`load_dump`].
pub fn load_dump_estimate(m: &Machine, speed: RotorSpeed, dump: &Dump) -> Result<Voltage, OutOfRange> {
    let trip = Trip::new(m, speed, dump)?;
    Ok(Voltage::volts(trip.peak_v(PI / 2.0 * trip.e_v).max(trip.onset_v())))
}
