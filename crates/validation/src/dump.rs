//! Load dump in the time domain: braking current loses battery and switching and decays through the diodes into the
//! bus capacitor, while the back-EMF keeps feeding.

use std::f64::consts::TAU;

use crate::bridge::Machine;

/// Highest bus voltage in V when switching stops at `angle_rad` with the phase current in phase with the EMF.
pub fn peak_v(machine: &Machine, current_a: f64, bus_v: f64, capacitance_f: f64, angle_rad: f64) -> f64 {
    let h_s = 5e-8;
    let mut now_a = [0.0, 1.0, 2.0].map(|k| current_a * (angle_rad - k * TAU / 3.0).sin());
    let (mut bus_now_v, mut peak_v) = (bus_v, bus_v);
    for n in 1..=60_000 {
        let emf_v = machine.emf_v(angle_rad + machine.omega_e_rad_s * h_s * f64::from(n));
        now_a = machine.step(now_a, emf_v, bus_now_v, h_s);
        bus_now_v += h_s / capacitance_f * now_a.iter().map(|i| i.max(0.0)).sum::<f64>();
        peak_v = peak_v.max(bus_now_v);
    }
    peak_v
}

/// The highest of [`peak_v`] over the angle at which it happens, every 5° of the 60° after which it repeats.
pub fn worst_peak_v(machine: &Machine, current_a: f64, bus_v: f64, capacitance_f: f64) -> f64 {
    let angles = (0..12).map(|k| f64::from(5 * k).to_radians());
    angles.map(|angle| peak_v(machine, current_a, bus_v, capacitance_f, angle)).fold(bus_v, f64::max)
}
