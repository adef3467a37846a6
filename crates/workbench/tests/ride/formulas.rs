//! The stepper's own arithmetic beside the formulas of the physics crate, which links and sums use: one step from a state
//! gives the torque, current and power that they give.

use crate::machine::{calm, hub5, rider, slope};
use physics::dump::{Dump, load_dump_bound};
use physics::motor::{Commutation, Direction, Machine, Motor};
use physics::supply::{self, Inverter};
use physics::{cell, rectifier};
use proptest::prelude::*;
use quantity::*;
use workbench::ride::bike::{Bike, Weather};
use workbench::ride::pack::PackTables;
use workbench::ride::step::Stepper;
use workbench::ride::tally::{Limit, Tally};

fn machine(b: &Bike) -> Machine {
    machine_at(b, Temperature::celsius(20.0))
}

fn machine_at(b: &Bike, magnet: Temperature) -> Machine {
    Motor {
        reduction: Ratio::new(b.reduction),
        pole_pairs: b.pole_pairs as u32,
        flux_linkage: FluxLinkage::webers(b.flux_wb),
        flux_droop: FluxDroop::per_ampere(b.droop_per_a),
        magnet_coefficient: TemperatureCoefficient::per_kelvin(b.magnet_per_k),
        phase_resistance: PhaseResistance::ohms(b.phase_ohm),
        phase_inductance: PhaseInductance::henries(b.phase_h),
        hysteresis_drag: RotorTorque::newton_metres(b.drag_nm),
        eddy_drag: RotorDamping::newton_metre_seconds(b.drag_nms),
        gear_efficiency: Ratio::new(b.gears),
        commutation: if b.copper_factor > 1.75 { Commutation::Block } else { Commutation::Sine },
    }
    .at(Temperature::celsius(20.0), magnet)
    .unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn law_a_step_is_what_the_formulas_say(
        v in 1.0..8.0f64,
        percent in -20.0..-4.0f64,
        droop in 0.0..0.003f64,
        gears in 0.85..1.0f64,
        limit in prop_oneof![Just(f64::INFINITY), 1.0..15.0f64],
        ohm in 0.02..0.3f64,
        block: bool,
    ) {
        let bike = Bike {
            droop_per_a: droop,
            gears,
            charge_a: limit,
            standby_w: 3.0,
            switch_ohm: 4e-3,
            switching: 0.008,
            brake_a: 40.0,
            torque_factor: if block { 3.0 * 3f64.sqrt() / core::f64::consts::PI } else { 1.5 },
            copper_factor: if block { 2.0 } else { 1.5 },
            fade_from_m_s: 0.2,
            fade_gone_m_s: 0.1,
            pack: PackTables::stiff(54.6, 72e3, ohm),
            ..hub5()
        };
        // Wants to stand, so that the motor brakes with all it may.
        let course = slope(percent, 500.0, Speed::metres_per_second(0.6));
        let (rider, weather) = (rider(), calm());
        // A step so short that its middle is its start.
        let mut stepper = Stepper::new(&bike, &rider, &weather, &course, 1e-6);
        let mut s = stepper.start(v);
        let mut tally = Tally::NEW;
        let taken = stepper.step(&mut s, 1e9, &mut tally).unwrap();
        let m = machine(&bike);
        let inverter = Inverter {
            switches: Resistance::ohms(bike.switch_ohm),
            switching: Ratio::new(bike.switching),
            standby: Power::watts(bike.standby_w),
        };
        let rotor = RotorSpeed::radians_per_second(v / bike.wheel_radius_m * bike.reduction);
        let i = PhaseCurrent::amperes(taken.phase_a);
        let wheel_nm = m.wheel_torque_at(Direction::Brake, i, rotor).as_newton_metres();
        prop_assert!((-taken.motor_n * bike.wheel_radius_m / wheel_nm - 1.0).abs() < 1e-4);
        let bus = Voltage::volts(taken.bus_v);
        let power_w = supply::braking_power(&m, &inverter, rotor, i, bus).as_watts();
        let ours_w = taken.bus_v * taken.battery_a;
        prop_assert!((ours_w - power_w).abs() < 1e-4 * power_w.abs() + 1e-3, "{ours_w} W against {power_w}");
        // Battery current from the power without its share of the bus voltage.
        let without = Power::watts(power_w - bike.switching * taken.phase_a * taken.bus_v);
        let switched = bike.switching * taken.phase_a;
        let amps = cell::terminal_current_a(Voltage::volts(54.6), Resistance::ohms(ohm), without, switched).unwrap();
        prop_assert!((taken.battery_a - amps).abs() < 1e-4 * amps.abs() + 1e-4);
        if taken.limit() == Limit::ChargeCurrent {
            let at = Voltage::volts(54.6 + limit * ohm);
            let allowed = Power::watts(limit * at.as_volts());
            let wanted = supply::charge_limit_current(&m, &inverter, rotor, allowed, at).unwrap().unwrap();
            prop_assert!((taken.phase_a / wanted.as_amperes() - 1.0).abs() < 1e-6, "{} A, {wanted:?}", taken.phase_a);
        }
    }

    /// Above the supply's volts: what the rectifier's formula gives.
    #[test]
    fn law_the_bridge_is_the_formulas(v in 10.5..19.0f64, ohm in 0.02..0.3f64) {
        let bike = Bike { diode_v: 0.8, pack: PackTables::stiff(54.6, 72e3, ohm), ..hub5() };
        let course = slope(-5.0, 500.0, Speed::metres_per_second(30.0));
        let (rider, weather) = (rider(), calm());
        let mut stepper = Stepper::new(&bike, &rider, &weather, &course, 1e-6);
        let mut s = stepper.start(v);
        let mut tally = Tally::NEW;
        let taken = stepper.step(&mut s, 1e9, &mut tally).unwrap();
        let rotor = RotorSpeed::radians_per_second(v / bike.wheel_radius_m * bike.reduction);
        let supply = rectifier::Supply {
            open_circuit: Voltage::volts(54.6),
            diode: Voltage::volts(0.8),
            resistance: Resistance::ohms(ohm),
        };
        let forced = rectifier::forced_charge(&machine(&bike), rotor, &supply).unwrap();
        prop_assert!((-taken.battery_a - forced.current.as_amperes()).abs() < 1e-3 * forced.current.as_amperes() + 1e-3);
    }

    /// What the supply cannot exceed is asked of every step that charges, warm as the magnet may be.
    #[test]
    fn law_a_cut_out_is_judged_in_any_braking_step_with_a_cold_magnet(
        v in 3.0..9.0f64,
        air_c in -10.0..60.0f64,
        limit in prop_oneof![Just(f64::INFINITY), 1.0..15.0f64],
        droop in 0.0..0.003f64,
        block: bool,
    ) {
        let bike = Bike {
            magnet_per_k: -1.1e-3,
            droop_per_a: droop,
            charge_a: limit,
            brake_a: 40.0,
            beyond: 1.2,
            torque_factor: if block { 3.0 * 3f64.sqrt() / core::f64::consts::PI } else { 1.5 },
            copper_factor: if block { 2.0 } else { 1.5 },
            ..hub5()
        };
        let course = slope(-12.0, 500.0, Speed::metres_per_second(0.6));
        let (rider, weather) = (rider(), Weather { air_c, ..calm() });
        let mut stepper = Stepper::new(&bike, &rider, &weather, &course, 1e-6);
        let mut s = stepper.start(v);
        let mut tally = Tally::NEW;
        let taken = stepper.step(&mut s, 1e9, &mut tally).unwrap();
        prop_assume!(taken.battery_a < 0.0);
        prop_assert!(!taken.opened());
        // Copper as warm as the ride's, the magnet cold.
        let copper = 1.0 + 0.003_93 * (air_c - 20.0);
        let cold = machine_at(&Bike { phase_ohm: bike.phase_ohm * copper, ..bike.clone() }, Temperature::celsius(-10.0));
        let rotor = RotorSpeed::radians_per_second(v / bike.wheel_radius_m * bike.reduction);
        let (i, bus) = (PhaseCurrent::amperes(taken.phase_a), Voltage::volts(taken.bus_v));
        let dump = Dump {
            bus,
            power: supply::braking_power(&cold, &Inverter::IDEAL, rotor, i, bus) * -1.0,
            capacitance: Capacitance::farads(bike.capacitance_f),
            trip_time: Time::seconds(bike.trip_s),
            current: i * bike.beyond,
        };
        let bound_v = load_dump_bound(&cold, rotor, &dump).unwrap().as_volts();
        let ours_v = tally.peaks.surge_v;
        prop_assert!((ours_v / bound_v - 1.0).abs() < 1e-5, "{ours_v} V against {bound_v}");
    }
}
