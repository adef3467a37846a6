//! Supply, overspeed, load dump and shorted wires against the acceptance rows of the design (PHYSICS-DETAIL section 4),
//! which were computed by time-domain simulation or by a second derivation in other software.

mod example;

use example::{HUB5, cool, drooping, electrical, machine, near, rotor};
use physics::dump::{Dump, load_dump};
use physics::motor::Motor;
use physics::rectifier::{Supply, forced_charge};
use physics::short::{steady_short, sudden_short};
use physics::supply::{Inverter, braking_power, charge_limit_current, zero_recovery_speed};
use proptest::prelude::*;
use quantity::*;

#[test]
fn validates_droop_creates_no_power() {
    let m = cool(&Motor {
        flux_linkage: FluxLinkage::webers(0.027_568_92),
        flux_droop: FluxDroop::per_ampere(1.0 / 315.0),
        ..HUB5
    });
    let p = braking_power(&m, &Inverter::IDEAL, rotor(25.0), PhaseCurrent::amperes(70.0), Voltage::volts(48.0));
    near(p.as_watts(), -1604.2, 0.001);
}

#[test]
fn validates_charge_limit_current() {
    let m = machine();
    let current = |kmh: f64| {
        charge_limit_current(&m, &Inverter::IDEAL, rotor(kmh), Power::watts(720.0), Voltage::volts(48.0)).unwrap()
    };
    near(current(25.0).unwrap().as_amperes(), 22.277, 0.001);
    near(current(40.0).unwrap().as_amperes(), 13.533, 0.001);
    assert_eq!(current(10.0), None);
}

#[test]
fn validates_fade_points() {
    let straight = machine();
    let v =
        zero_recovery_speed(&straight, &Inverter::IDEAL, PhaseCurrent::amperes(70.0), Voltage::volts(48.0)).unwrap();
    near(v.as_radians_per_second() / 5.0 * 0.34, 0.9701, 0.005);
}

#[test]
fn validates_bridge_rectifier() {
    let m = machine();
    let supply = Supply { open_circuit: Voltage::volts(54.6), diode: Voltage::ZERO, resistance: Resistance::ZERO };
    // Time-domain bridge: electrical speed, current, rotor torque. The formula's own claim is 10 %.
    for (omega, amps, torque) in
        [(1256.4, 12.65, 4.49), (1370.6, 37.34, 12.59), (1713.2, 110.4, 32.53), (2284.3, 180.2, 42.96)]
    {
        let f = forced_charge(&m, electrical(omega), &supply).unwrap();
        near(f.current.as_amperes(), amps, 0.10);
        near(f.torque.as_newton_metres(), torque, 0.10);
    }
    assert_eq!(forced_charge(&m, electrical(1100.0), &supply).unwrap().current, BatteryCurrent::ZERO);
}

#[test]
fn validates_load_dump() {
    let m = machine();
    let dump = Dump {
        bus: Voltage::volts(54.6),
        power: Power::ZERO,
        capacitance: Capacitance::microfarads(1000.0),
        trip_time: Time::ZERO,
        current: PhaseCurrent::amperes(70.0),
    };
    near(load_dump(&m, electrical(817.0), &dump).unwrap().as_volts(), 71.23, 0.002);
}

#[test]
fn validates_shorted_wires() {
    let m = machine();
    near(steady_short(&m, electrical(450.0)).as_newton_metres(), 45.71, 0.001);
    near(steady_short(&m, electrical(817.0)).as_newton_metres(), 38.63, 0.001);
    near(sudden_short(&m, false).as_newton_metres(), 91.41, 0.001);
}

proptest! {
    #[test]
    fn recovers_no_more_than_the_shaft_gives(amps in 0.1..200.0, kmh in 0.5..80.0, droop in 0.0..0.01) {
        let m = drooping(droop);
        let i = PhaseCurrent::amperes(amps);
        let got = -braking_power(&m, &Inverter::IDEAL, rotor(kmh), i, Voltage::volts(48.0)).as_watts();
        let shaft = m.airgap_torque(i).as_newton_metres() * rotor(kmh).as_radians_per_second();
        prop_assert!(got <= shaft);
    }

    #[test]
    fn the_limited_current_charges_with_the_limit(limit in 1.0..2000.0, kmh in 5.0..60.0, droop in 0.0..0.005) {
        let m = drooping(droop);
        if let Some(i) = charge_limit_current(&m, &Inverter::IDEAL, rotor(kmh), Power::watts(limit), Voltage::volts(48.0)).unwrap() {
            let p = braking_power(&m, &Inverter::IDEAL, rotor(kmh), i, Voltage::volts(48.0)).as_watts();
            prop_assert!((p + limit).abs() < 1e-6 * limit);
        }
    }
}
