//! Motor, gears and voltages against published and library-made numbers, and laws.
//!
//! "Steady states": motulator 0.5.0 and gym-electric-motor 3.0.3, which agree within 1e-12; voltages were the input, so
//! currents, torque and power are the libraries' own. "Closed forms": nemo-bldc 1.1.0.

use physics::motor::{Commutation, Direction, Machine, Motor, fit_torque, flux_from_kv, rolling, tyre_force};
use physics::supply::{Inverter, braking_power, charge_limit_current, driving_power, zero_recovery_speed};
use physics::voltage::{Dq, line_peak, terminal_power};
use proptest::prelude::*;
use quantity::*;

const WARM: Temperature = Temperature::celsius(20.0);

fn motor(gears: f64, pairs: u32, flux_wb: f64, r_ohm: f64, l_h: f64) -> Motor {
    Motor {
        reduction: Ratio::new(gears),
        pole_pairs: pairs,
        flux_linkage: FluxLinkage::webers(flux_wb),
        flux_droop: FluxDroop::per_ampere(0.0),
        magnet_coefficient: TemperatureCoefficient::per_kelvin(0.0),
        phase_resistance: PhaseResistance::ohms(r_ohm),
        phase_inductance: PhaseInductance::henries(l_h),
        hysteresis_drag: RotorTorque::ZERO,
        eddy_drag: RotorDamping::ZERO,
        gear_efficiency: Ratio::new(1.0),
        commutation: Commutation::Sine,
    }
}

/// The machine of the library runs.
fn small(gears: f64) -> Motor {
    motor(gears, 8, 0.01, 0.08, 200e-6)
}

/// The example machine of the design ("HUB5").
fn hub() -> Motor {
    Motor {
        hysteresis_drag: RotorTorque::newton_metres(0.12),
        eddy_drag: RotorDamping::newton_metre_seconds(0.0009),
        gear_efficiency: Ratio::new(0.95),
        ..motor(5.0, 8, 0.0276, 0.045, 100e-6)
    }
}

/// A small motor with drag behind lossy gears, as in the worked chain.
fn dragging() -> Motor {
    Motor {
        hysteresis_drag: RotorTorque::newton_metres(0.05),
        eddy_drag: RotorDamping::newton_metre_seconds(2e-4),
        gear_efficiency: Ratio::new(0.95),
        ..small(5.0)
    }
}

fn at(motor: Motor) -> Machine {
    motor.at(WARM, WARM).unwrap()
}

fn amps(value: f64) -> PhaseCurrent {
    PhaseCurrent::amperes(value)
}

fn rotor(value: f64) -> RotorSpeed {
    RotorSpeed::radians_per_second(value)
}

fn rotor_at(machine: &Machine, kmh: f64, radius_m: f64) -> RotorSpeed {
    machine.rotor_speed(rolling(Speed::kilometres_per_hour(kmh), Length::metres(radius_m)).unwrap())
}

fn kmh(machine: &Machine, speed: RotorSpeed, radius_m: f64) -> f64 {
    machine.wheel_speed(speed).as_radians_per_second() * radius_m * 3.6
}

fn near(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} is not {theirs} within {tolerance}");
}

#[test]
fn validates_copper_resistance() {
    // Motor-drive application report (read): 10 Ω at 20 °C are 15.109 Ω at 150 °C with 0.00393/K.
    let warm = motor(1.0, 8, 0.01, 10.0, 200e-6).at(Temperature::celsius(150.0), WARM).unwrap();
    near(warm.phase_resistance().as_ohms(), 15.109, 0.0005);
}

#[test]
fn validates_magnet_flux() {
    // Magnet maker's worked example (read): 13.82 kG at 20 °C and 11.69 kG at 150 °C make −0.11856 %/K.
    let magnet_coefficient = TemperatureCoefficient::percent_per_kelvin(-0.11856);
    let hot = Motor { magnet_coefficient, ..small(1.0) }.at(WARM, Temperature::celsius(150.0)).unwrap();
    near(hot.flux_linkage().as_webers() / 0.01, 11.69 / 13.82, 0.0005);
}

/// Steady states: rotor rad/s; v_d, v_q; i_d, i_q; torque; electrical W; line-to-line peak V. The last two rows: three
/// pole pairs, 1.4 Ω, 5.8 mH, 0.1546 Wb (usual values of a textbook machine, from memory; the results were run).
const STEADY: [[f64; 8]; 14] = [
    [100.0, -3.2, 9.6, 0.0, 20.0, 2.4, 288.0, 17.52712],
    [100.0, 3.2, 6.4, 0.0, -20.0, -2.4, -192.0, 12.39354],
    [200.0, -9.6, 18.4, 0.0, 30.0, 3.6, 828.0, 35.94661],
    [200.0, 9.6, 13.6, 0.0, -30.0, -3.6, -612.0, 28.83331],
    [200.0, 1.6, 15.6, 0.0, -5.0, -0.6, -117.0, 27.16173],
    [60.0, 5.76, 0.0, 0.0, -60.0, -7.2, 0.0, 9.97661],
    [60.0, 2.88, 2.4, 0.0, -30.0, -3.6, -108.0, 6.49332],
    [30.0, 1.44, 0.0, 0.0, -30.0, -3.6, 0.0, 2.49415],
    [30.0, 1.92, -0.8, 0.0, -40.0, -4.8, 48.0, 3.60267],
    [200.0, 8.0, 7.2, -20.0, -30.0, -3.6, -564.0, 18.64189],
    [200.0, 0.0, 16.0, 0.0, 0.0, 0.0, 0.0, 27.71281],
    [0.0, 0.0, 1.6, 0.0, 20.0, 2.4, 48.0, 2.77128],
    [100.0, -8.7, 53.38, 0.0, 5.0, 3.4785, 400.35, 93.67678],
    [100.0, 8.7, 39.38, 0.0, -5.0, -3.4785, -295.35, 69.85285],
];

fn steady_machine(row: usize) -> Machine {
    at(if row < 12 { small(1.0) } else { motor(1.0, 3, 0.1546, 1.4, 0.0058) })
}

#[test]
fn validates_pmsm_torque() {
    for (row, [omega, _, _, i_d, i_q, torque, power, _]) in STEADY.into_iter().enumerate() {
        let machine = steady_machine(row);
        near(machine.airgap_torque(amps(i_q)).as_newton_metres(), torque, 1e-6);
        if i_d == 0.0 && row < 12 {
            let bus = Voltage::volts(36.0);
            let supply = if i_q < 0.0 { braking_power } else { driving_power };
            near(supply(&machine, &Inverter::IDEAL, rotor(omega), amps(i_q.abs()), bus).as_watts(), power, 1e-4);
        }
    }
}

#[test]
fn validates_pmsm_voltages() {
    for (row, [omega, v_d, v_q, i_d, i_q, _, power, peak]) in STEADY.into_iter().enumerate() {
        let machine = steady_machine(row);
        let current = Dq { d: amps(i_d), q: amps(i_q) };
        let ours = machine.dq_voltages(current, machine.electrical_speed(rotor(omega)));
        near(ours.d.as_volts(), v_d, 1e-6);
        near(ours.q.as_volts(), v_q, 1e-6);
        near(line_peak(ours).as_volts(), peak, 1e-4);
        near(terminal_power(ours, current).as_watts(), power, 1e-4);
    }
}

#[test]
fn validates_t13_droop() {
    // PHYSICS-DETAIL T13 and E10: 70 A at 25 km/h take 1935.0 W from the shaft.
    let machine = at(Motor {
        flux_linkage: FluxLinkage::webers(0.027_568_92),
        flux_droop: FluxDroop::per_ampere(1.0 / 315.0),
        ..hub()
    });
    let speed = rotor_at(&machine, 25.0, 0.34);
    near(machine.airgap_torque(amps(70.0)).as_newton_metres() * speed.as_radians_per_second(), 1935.0, 0.2);
}

#[test]
fn validates_trade_torque_points() {
    // Trade's figures for one hub: 90 N·m at 70 A and 110 N·m at 90 A at the wheel; PHYSICS-DETAIL E10, T13 solve them
    // for λ₀ 0.02756892 Wb and c 1/315 per ampere (gears 5, η 0.95, no drag taken off).
    let points = [(70.0, 90.0), (90.0, 110.0)].map(|(i, t)| (amps(i), RotorTorque::newton_metres(t / 4.75)));
    let (flux, droop) = fit_torque(8, Commutation::Sine, &points).unwrap();
    near(flux.as_webers(), 0.027_568_92, 1e-8);
    near(1.0 / droop.as_per_ampere(), 315.0, 1e-6);
    // Torque per ampere that rises, a single current, a single point: refused.
    let rising = [(10.0, 10.0), (20.0, 25.0)].map(|(i, t)| (amps(i), RotorTorque::newton_metres(t)));
    assert_eq!(fit_torque(8, Commutation::Sine, &rising).unwrap_err().what, "flux-droop");
    assert_eq!(fit_torque(8, Commutation::Sine, &points[..1]).unwrap_err().what, "torque-points");
    assert!(fit_torque(8, Commutation::Sine, &[points[0], points[0]]).is_err());
}

#[test]
fn validates_flux_from_speed_constant() {
    // 10 rpm per volt peak, 8 pole pairs: 0.0689161 Wb (torque constant 8.27/Kv of the trade).
    near(flux_from_kv(8, 10.0).unwrap().as_webers(), 0.068_916_1, 5e-8);
}

#[test]
fn validates_t12_gears() {
    // PHYSICS-DETAIL T12 at the drag that the row states: 0.2118 N·m, 102 rad/s. (Its 25 km/h is 102.12 rad/s and
    // 0.2119 N·m, which moves the second value by 0.1 %.) Half the last digit.
    let machine = at(hub());
    let speed = rotor(102.0);
    near(machine.rotor_drag(speed).as_newton_metres(), 0.2118, 1e-12);
    for (airgap, wheel) in [(0.0, -1.1147), (0.1, -0.5884), (0.5, 1.3689)] {
        let ours = machine.wheel_torque(RotorTorque::newton_metres(airgap), speed).as_newton_metres();
        near(ours, wheel, 5.1e-5);
    }
}

#[test]
fn validates_lossy_gear() {
    // LossyGear of the Modelica Standard Library: ratio 5, efficiency 0.95, ±2.4 N·m at the rotor.
    let machine = at(Motor { gear_efficiency: Ratio::new(0.95), ..small(5.0) });
    let wheel = |t: f64| machine.wheel_torque(RotorTorque::newton_metres(t), rotor(100.0)).as_newton_metres();
    near(wheel(2.4), 11.4, 1e-9);
    near(wheel(-2.4), -12.631_578_9, 5e-8);
}

#[test]
fn validates_reflected_drag() {
    // Computed in other software: drag at the wheel in N·m and W, radius 0.35 m.
    let machine = at(dragging());
    for (speed_kmh, torque, power) in [(10.0, 0.304_929, 2.4201), (25.0, 0.367_586, 7.2934), (60.0, 0.513_784, 24.4659)]
    {
        let speed = rotor_at(&machine, speed_kmh, 0.35);
        let drag = machine.coasting_drag(speed).as_newton_metres();
        near(drag, torque, 5e-7);
        near(drag * machine.wheel_speed(speed).as_radians_per_second(), power, 5e-5);
    }
}

#[test]
fn validates_chain_from_wheel_to_battery() {
    // Worked chain in other software: 25 km/h, 20 A braking, 4 mΩ switches, 100 + 100 ns at 16 kHz, 36 V.
    let machine = at(dragging());
    let speed = rotor_at(&machine, 25.0, 0.35);
    let wheel = machine.wheel_torque_at(Direction::Brake, amps(20.0), speed);
    near(wheel.as_newton_metres(), 12.999_165, 5e-7);
    near(tyre_force(wheel, Length::metres(0.35)).unwrap().as_newtons(), 37.1405, 5e-5);
    let inverter = Inverter {
        switches: Resistance::milliohms(4.0),
        switching: Ratio::new(3.0 / std::f64::consts::PI * 200e-9 * 16e3),
        standby: Power::ZERO,
    };
    near(braking_power(&machine, &inverter, speed, amps(20.0), Voltage::volts(36.0)).as_watts(), -185.495_08, 5e-6);
}

#[test]
fn validates_no_load_speed() {
    // Closed forms, rad/s at the output.
    for (gears, volts, speed) in
        [(1.0, 30.0, 216.506_35), (1.0, 36.0, 259.807_62), (1.0, 42.0, 303.108_89), (5.0, 36.0, 51.961_52)]
    {
        let machine = at(small(gears));
        let ours = machine.back_emf_speed(Voltage::volts(volts));
        near(machine.wheel_speed(ours).as_radians_per_second(), speed, 5e-6);
        near(machine.back_emf_peak(ours).as_volts(), volts, 1e-9);
    }
}

#[test]
fn validates_onset_speeds() {
    // PHYSICS-DETAIL E4 and M8, km/h, radius 0.34 m; cold magnet of a plain grade, −0.12 %/K (magnet maker's table).
    let magnet_coefficient = TemperatureCoefficient::percent_per_kelvin(-0.12);
    let hub = Motor { magnet_coefficient, ..hub() };
    for (magnet_c, volts, speed) in [(20.0, 39.0, 25.0), (20.0, 54.6, 34.9), (-10.0, 54.6, 33.7), (20.0, 60.0, 38.4)] {
        let machine = hub.at(WARM, Temperature::celsius(magnet_c)).unwrap();
        near(kmh(&machine, machine.back_emf_speed(Voltage::volts(volts)), 0.34), speed, 0.051);
    }
}

#[test]
fn validates_speed_without_field_weakening() {
    // Closed forms, rad/s at the output: gears, volts, current, speed.
    for (gears, volts, current, speed) in [
        (1.0, 30.0, 20.0, 183.661_38),
        (1.0, 30.0, -20.0, 218.144_14),
        (1.0, 30.0, 30.0, 163.121_46),
        (1.0, 30.0, -30.0, 207.239_11),
        (1.0, 36.0, 20.0, 223.885_34),
        (1.0, 36.0, -20.0, 258.368_09),
        (1.0, 42.0, -30.0, 281.635_35),
        (5.0, 36.0, 20.0, 44.777_07),
        (5.0, 36.0, -20.0, 51.673_62),
        (5.0, 36.0, 30.0, 40.066_18),
        (5.0, 36.0, -30.0, 48.889_71),
    ] {
        let machine = at(small(gears));
        let ours = machine.voltage_limit_speed(amps(current), Voltage::volts(volts)).unwrap();
        near(machine.wheel_speed(ours).as_radians_per_second(), speed, 5e-6);
    }
    // 5 V push at most 36 A through 0.08 Ω.
    assert!(at(small(1.0)).voltage_limit_speed(amps(37.0), Voltage::volts(5.0)).is_none());
}

#[test]
fn validates_field_weakening() {
    // Closed forms: gears 5, 36 V; rad/s and N·m at the output, current along the magnet, copper loss.
    let machine = at(small(5.0));
    for (omega, torque, i_d, copper) in
        [(55.0, -6.0, -1.939_694, 12.45149), (60.0, -6.0, -5.978_459, 16.28904), (60.0, -12.0, -7.625_396, 54.9776)]
    {
        let i_q = torque / 5.0 / 0.12;
        let ours = machine.field_weakening(amps(i_q), rotor(5.0 * omega), Voltage::volts(36.0)).unwrap().as_amperes();
        near(ours, i_d, 5e-6);
        near(machine.copper_loss(amps((i_q * i_q + ours * ours).sqrt())).as_watts(), copper, 1e-4);
    }
    let slow = machine.field_weakening(amps(-10.0), rotor(50.0), Voltage::volts(36.0));
    assert_eq!(slow, Some(PhaseCurrent::ZERO));
}

#[test]
fn validates_block_current() {
    // Torque of a flat-topped current on sinusoidal EMFs, summed over one sixth of a turn instead of integrated in
    // closed form: two phases in series, EMF ω·λ·(sin θ − sin(θ − 120°)).
    let machine = at(Motor { commutation: Commutation::Block, ..small(1.0) });
    let steps = 20_000;
    let mean: f64 = (0..steps)
        .map(|k| (30.0 + 60.0 * (f64::from(k) + 0.5) / f64::from(steps)).to_radians())
        .map(|angle| libm::sin(angle) - libm::sin(angle - 120f64.to_radians()))
        .sum::<f64>()
        / f64::from(steps);
    near(machine.airgap_torque(amps(10.0)).as_newton_metres(), 8.0 * 0.01 * mean * 10.0, 1e-8);
    // What the shaft gives is what the battery gets and the two conducting phases burn.
    let speed = rotor(200.0);
    let shaft_w = machine.airgap_torque(amps(10.0)).as_newton_metres() * 200.0;
    let got_w = -braking_power(&machine, &Inverter::IDEAL, speed, amps(10.0), Voltage::volts(36.0)).as_watts();
    near(got_w, shaft_w - 2.0 * 0.08 * 100.0, 1e-9);
}

fn any_motor() -> impl Strategy<Value = Motor> {
    (1.0..12.0, 1u32..30, 0.002..0.2, 0.01..0.5, 0.0..0.01, 0.7..1.0, any::<bool>()).prop_map(
        |(gears, pairs, flux_wb, r_ohm, droop, eta, block)| Motor {
            flux_droop: FluxDroop::per_ampere(droop),
            hysteresis_drag: RotorTorque::newton_metres(0.1),
            eddy_drag: RotorDamping::newton_metre_seconds(1e-3),
            gear_efficiency: Ratio::new(eta),
            commutation: if block { Commutation::Block } else { Commutation::Sine },
            ..motor(gears, pairs, flux_wb, r_ohm, 2e-4)
        },
    )
}

proptest! {
    #[test]
    fn law_current_inverts_torque(motor in any_motor(), current in 0.1..150.0, speed in 1.0..300.0) {
        let machine = at(motor);
        let back = machine.current_for_torque(machine.airgap_torque(amps(current))).unwrap();
        prop_assert!((back.as_amperes() / current - 1.0).abs() < 1e-9);
        let brakes = machine.wheel_torque_at(Direction::Brake, amps(current), rotor(speed));
        let back = machine.current_for_wheel_torque(Direction::Brake, brakes, rotor(speed)).unwrap();
        prop_assert!((back.as_amperes() / current - 1.0).abs() < 1e-6);
    }

    #[test]
    fn law_more_current_more_torque(motor in any_motor(), current in 0.0..150.0, more in 0.01..50.0) {
        let machine = at(motor);
        prop_assert!(machine.airgap_torque(amps(current + more)) > machine.airgap_torque(amps(current)));
    }

    /// At equal current the locked hub brakes harder than it drives.
    #[test]
    fn law_brakes_harder_than_it_drives(motor in any_motor(), current in 0.1..150.0, speed in 1.0..300.0) {
        let machine = at(motor);
        let torque = |direction| machine.wheel_torque_at(direction, amps(current), rotor(speed));
        prop_assert!(torque(Direction::Brake) > torque(Direction::Drive));
    }

    /// The gears never give more power than they take.
    #[test]
    fn law_gears_create_no_power(motor in any_motor(), airgap in -30.0..30.0, speed in -300.0..300.0) {
        let machine = at(motor);
        let wheel_w = machine.wheel_torque(RotorTorque::newton_metres(airgap), rotor(speed)).as_newton_metres()
            * machine.wheel_speed(rotor(speed)).as_radians_per_second();
        prop_assert!(wheel_w <= airgap * speed + 1e-9);
    }

    /// The band at rest holds what both directions of creeping give.
    #[test]
    fn law_band_holds_both_directions(motor in any_motor(), airgap in -30.0..30.0) {
        let machine = at(motor);
        let airgap = RotorTorque::newton_metres(airgap);
        let (low, high) = machine.standstill_band(airgap);
        for creep in [1e-9, -1e-9] {
            let torque = machine.wheel_torque(airgap, rotor(creep)).as_newton_metres();
            let (low, high) = (low.as_newton_metres(), high.as_newton_metres());
            prop_assert!(torque >= low - 1e-6 && torque <= high + 1e-6, "{torque} outside {low} to {high}");
        }
    }

    #[test]
    fn law_freewheel_costs_more_than_drag(motor in any_motor(), speed in 1.0..300.0) {
        let machine = at(motor);
        let (current, power) = machine.electric_freewheel(rotor(speed)).unwrap();
        prop_assert!(power.as_watts() > machine.rotor_drag(rotor(speed)).as_newton_metres() * speed);
        let wheel = machine.wheel_torque_at(Direction::Drive, current, rotor(speed)).as_newton_metres();
        prop_assert!(wheel.abs() < 1e-9);
    }

    /// A battery never gets more than the shaft gives, and a hotter winding never recovers more.
    #[test]
    fn law_recovers_less_than_the_shaft(motor in any_motor(), current in 0.1..150.0, speed in 1.0..300.0) {
        let bus = Voltage::volts(48.0);
        let got = |machine: &Machine| -braking_power(machine, &Inverter::IDEAL, rotor(speed), amps(current), bus).as_watts();
        let (cold, hot) = (at(motor), motor.at(Temperature::celsius(120.0), WARM).unwrap());
        prop_assert!(got(&cold) < cold.airgap_torque(amps(current)).as_newton_metres() * speed);
        prop_assert!(got(&hot) < got(&cold));
    }

    /// The charge limit is met, and just above the zero-recovery speed nothing is drawn, for either kind of current.
    #[test]
    fn law_limits_meet_the_power(motor in any_motor(), limit in 1.0..2000.0, current in 0.5..100.0, speed in 1.0..300.0) {
        let (machine, bus) = (at(motor), Voltage::volts(48.0));
        let inverter = Inverter {
            switches: Resistance::milliohms(4.0),
            switching: Ratio::new(0.003),
            standby: Power::watts(2.0),
        };
        let power = |speed, current| braking_power(&machine, &inverter, speed, current, bus).as_watts();
        if let Some(i) = charge_limit_current(&machine, &inverter, rotor(speed), Power::watts(limit), bus).unwrap() {
            prop_assert!((power(rotor(speed), i) + limit).abs() < 1e-6 * limit, "{} is not {}", power(rotor(speed), i), -limit);
        } else {
            // Not binding: no current at all charges with as much.
            for k in 1..400 {
                prop_assert!(power(rotor(speed), amps(f64::from(k))) > -limit * (1.0 + 1e-9));
            }
        }
        let zero = zero_recovery_speed(&machine, &inverter, amps(current), bus).unwrap();
        prop_assert!(power(zero, amps(current)).abs() < 1e-6 * (1.0 + current * current));
    }
}
