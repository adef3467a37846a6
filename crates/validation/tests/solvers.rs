//! The solvers of this crate against the same problems solved by SciPy in another way (`python/`).

use physics::motor::{Commutation, Motor};
use physics::short::sudden_short;
use quantity::*;
use std::f64::consts::PI;

use validation::bridge::{Machine, rectify};
use validation::dump::worst_peak_v;
use validation::stick_slip::Joint;
use validation::table::{Recorded, number, solvers};
use validation::torsion::Section;

/// Rows of one quantity as recorded; it is an error to ask for a quantity that is not there.
fn recorded(quantity: &str) -> Vec<Recorded> {
    let rows: Vec<Recorded> = solvers().into_iter().filter(|row| row.quantity == quantity).collect();
    assert!(!rows.is_empty(), "no recorded `{quantity}`");
    rows
}

fn close(ours: f64, row: &Recorded, relative: f64) {
    let theirs = row.value();
    assert!((ours - theirs).abs() <= relative * theirs.abs(), "{}: {ours}, recorded {theirs}", row.inputs);
}

fn hub(omega_e_rad_s: f64) -> Machine {
    Machine { omega_e_rad_s, flux_wb: 0.0276, resistance_ohm: 0.045, inductance_h: 1e-4 }
}

/// 0.5 %: SciPy smooths the diodes to 5 mA, which leaks most where little flows.
#[test]
fn validates_bridge_against_scipy() {
    for row in recorded("bridge bus current") {
        close(rectify(&hub(number(&row.inputs, "omega_e=")), 54.6, 20_000).bus_a, &row, 0.005);
    }
    for row in recorded("bridge rotor torque") {
        let omega_e_rad_s = number(&row.inputs, "omega_e=");
        let power_w = rectify(&hub(omega_e_rad_s), 54.6, 20_000).shaft_w;
        close(power_w * 8.0 / omega_e_rad_s, &row, 0.005);
    }
}

#[test]
fn validates_load_dump_against_scipy() {
    for row in recorded("load dump bus peak") {
        let capacitance_f = number(&row.inputs, "C=") * 1e-3;
        close(worst_peak_v(&hub(number(&row.inputs, "omega_e=")), 70.0, 54.6, capacitance_f), &row, 0.001);
    }
}

/// 0.3 %: SciPy follows the torque in 400 steps a reversal.
#[test]
fn validates_stick_slip_against_scipy() {
    for row in recorded("slip per reversal") {
        let input = |key| number(&row.inputs, key);
        let joint = Joint { friction_nm: input("friction "), faces_nm_rad: input("faces "), arm_nm_rad: input("arm ") };
        close(joint.slip_per_reversal_rad(input("drive "), input("brake ")) * 180.0 / PI, &row, 0.003);
    }
}

/// 0.5 %: the stress is a slope of linear elements; the torsion constant is good to 0.2 %.
#[test]
fn validates_torsion_against_collocation() {
    let section = |row: &Recorded| Section { diameter_mm: 12.0, flats_mm: 10.0, bore_mm: number(&row.inputs, "bore ") };
    for row in recorded("two-flat axle torsion stress") {
        close(40.0 * section(&row).twist(48).stress_mpa_per_nm, &row, 0.005);
    }
    for row in recorded("two-flat axle torsion constant") {
        close(section(&row).twist(48).constant_mm4, &row, 0.002);
    }
}

/// The bound lies above what the worst angle gives.
#[test]
fn validates_short_of_two_wires_within_its_bound() {
    let cool = Temperature::celsius(20.0);
    for row in recorded("short of two wires, peak of rotor torque") {
        let input = |key| number(&row.inputs, key);
        let motor = Motor {
            reduction: Ratio::new(1.0),
            pole_pairs: input("p=") as u32,
            flux_linkage: FluxLinkage::webers(input("flux=")),
            flux_droop: FluxDroop::ZERO,
            magnet_coefficient: TemperatureCoefficient::ZERO,
            phase_resistance: PhaseResistance::ohms(input("R=")),
            phase_inductance: PhaseInductance::henries(input("L=")),
            hysteresis_drag: RotorTorque::ZERO,
            eddy_drag: RotorDamping::ZERO,
            gear_efficiency: Ratio::new(1.0),
            commutation: Commutation::Sine,
        };
        let bound = sudden_short(&motor.at(cool, cool).unwrap(), true).as_newton_metres();
        assert!(row.value() <= bound, "{}: bound {bound}, solved {}", row.inputs, row.value());
    }
}
