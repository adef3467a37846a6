//! Holding a speed, losing the brake and coasting, against the acceptance rows of the design (PHYSICS-DETAIL sections 1
//! and 4, computed by time-domain simulation or a second derivation in other software), stepped simulations and laws.

mod example;

use example::{HUB5, cool, machine};
use physics::OutOfRange;
use physics::hold::*;
use physics::motor::{Direction, Motor};
use physics::rectifier::Supply;
use physics::road::{OnRoad, road_force};
use physics::supply::{Inverter, braking_power};
use physics::transient::*;
use proptest::prelude::*;
use quantity::*;

fn hold(charge_w: f64) -> Hold {
    Hold {
        machine: machine(),
        inverter: Inverter::IDEAL,
        wheel_radius: Length::metres(0.34),
        bus: Voltage::volts(48.0),
        phase_limit: PhaseCurrent::amperes(70.0),
        charge_limit: Power::watts(charge_w),
    }
}

/// The design's rider: 120 kg, CdA 0.6 m², C_rr 0.01, air 1.2 kg/m³.
fn road(grade_percent: f64) -> OnRoad {
    OnRoad {
        mass: Mass::kilograms(120.0),
        grade: Grade::percent(grade_percent),
        rolling: Ratio::new(0.01),
        drag_area: DragArea::square_metres(0.6),
        air: Density::kilograms_per_cubic_metre(1.2),
        wind: Speed::ZERO,
    }
}

fn near(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} is not {theirs} within {tolerance}");
}

fn balances(hold: &Hold, road: &OnRoad) -> Result<Vec<(f64, bool)>, OutOfRange> {
    let (mut found, mut from) = (Vec::new(), Speed::ZERO);
    while let Some(balance) = balance_above(hold, road, from)? {
        found.push((balance.speed.as_kilometres_per_hour(), balance.stable));
        from = balance.speed;
    }
    Ok(found)
}

#[test]
fn validates_hold_runs_away() {
    // T22 (tolerance 1 %) and the second example of E6.
    for (charge_w, grade, unstable, stable) in [(300.0, -8.0, 16.5, 42.9), (500.0, -10.0, 22.3, 46.3)] {
        let found = balances(&hold(charge_w), &road(grade)).unwrap();
        assert_eq!(found.iter().map(|b| b.1).collect::<Vec<_>>(), [false, true], "{found:?}");
        near(found[0].0, unstable, 0.01 * unstable);
        near(found[1].0, stable, 0.01 * stable);
    }
}

#[test]
fn validates_least_stable_speed() {
    let at = |w| {
        let air = Density::kilograms_per_cubic_metre(1.2);
        least_stable_speed(Power::watts(w), air, DragArea::square_metres(0.6)).unwrap().as_kilometres_per_hour()
    };
    near(at(300.0), 26.9, 0.05); // T22
    near(at(500.0), 31.9, 0.05); // E6
}

/// Largest speed in the second half of a long run of m·dv/dt = −K·v(t − τ) from 1 m/s, over that in the first half.
fn growth(gain: f64, m_kg: f64, tau_s: f64) -> f64 {
    const DELAY: usize = 2000;
    const STEPS: usize = 60 * DELAY;
    let dt = tau_s / DELAY as f64;
    let mut v = vec![1.0; DELAY + 1];
    for i in DELAY..DELAY + STEPS {
        // Trapezoidal in the delayed speed, which is known at both ends of the step.
        v.push(v[i] - gain * dt / m_kg * (v[i - DELAY] + v[i - DELAY + 1]) / 2.0);
    }
    let peak = |part: &[f64]| part.iter().fold(0.0f64, |a, b| a.max(b.abs()));
    let (first, second) = v.split_at(v.len() / 2);
    peak(second) / peak(first)
}

#[test]
fn validates_hold_gain() {
    let limit = gain_limit(Mass::kilograms(120.0), Time::seconds(0.3)).unwrap();
    near(limit.stable_below.as_newtons_per_metre_per_second(), 628.0, 0.5); // E6
    near(limit.recommended.as_newtons_per_metre_per_second(), 209.0, 0.5);
    // The delayed loop itself, stepped: dies out 3 % below the limit, grows 3 % above it.
    let limit = limit.stable_below.as_newtons_per_metre_per_second();
    assert!(growth(0.97 * limit, 120.0, 0.3) < 0.9);
    assert!(growth(1.03 * limit, 120.0, 0.3) > 1.1);
}

#[test]
fn validates_fold_back_band() {
    // Loop with one step of delay: the current follows the voltage that the last current made. At the least band it
    // settles from any start; over 45 % of that band (loop gain above 1) it hunts.
    let (i_max, r_ohm, u_oc, v_hi) = (20.0, 0.15, 57.0, 58.8);
    let band = fold_back_band(BatteryCurrent::amperes(i_max), Resistance::ohms(r_ohm)).unwrap().as_volts();
    let last_swing = |band_v: f64| {
        let mut current: [f64; 2] = [0.0, 0.0];
        for _ in 0..200 {
            let volts = u_oc + r_ohm * current[1];
            current = [current[1], i_max * ((v_hi - volts) / band_v).clamp(0.0, 1.0)];
        }
        (current[1] - current[0]).abs()
    };
    assert!(last_swing(band) < 1e-9);
    assert!(last_swing(0.45 * band) > 1.0);
}

#[test]
fn validates_regen_lost() {
    // Free fall along a slope of 30° without losses: g/2 (law of the inclined plane).
    let slope = OnRoad {
        grade: Grade::new(-1.0 / 3f64.sqrt()),
        rolling: Ratio::ZERO,
        drag_area: DragArea::square_metres(0.0),
        ..road(0.0)
    };
    let lost = regen_lost(&slope, Speed::kilometres_per_hour(20.0), Force::newtons(240.0)).unwrap();
    near(lost.acceleration.as_metres_per_second_squared(), 9.80665 / 2.0, 1e-12);
    near(lost.step.as_metres_per_second_squared(), 2.0, 1e-12);
}

#[test]
fn validates_coasting() {
    // T19: 2 % of the speed, 15 % of the current for the formula against the time-domain bridge.
    let supply = Supply { open_circuit: Voltage::volts(54.6), diode: Voltage::ZERO, resistance: Resistance::ZERO };
    for (grade, locked, charge_a, free) in [(-8.0, 37.6, 7.0, 54.4), (-12.0, 38.7, 15.2, 68.0)] {
        let ours = locked_coasting(&machine(), &supply, Length::metres(0.34), &road(grade)).unwrap().unwrap();
        near(ours.speed.as_kilometres_per_hour(), locked, 0.02 * locked);
        near(ours.charge.as_amperes(), charge_a, 0.15 * charge_a);
        near(free_coasting(&road(grade)).unwrap().unwrap().as_kilometres_per_hour(), free, 0.05);
    }
    assert_eq!(free_coasting(&road(-0.9)).unwrap(), None);
}

#[test]
fn validates_blocked_wheel() {
    // E16: blocked in 30 ms from 25 km/h, 24 N·m in the gears.
    let wheel = WheelSpeed::radians_per_second(25.0 / 3.6 / 0.34);
    let rotor = Inertia::kilogram_square_metres(1.4e-3);
    let torque = blocked_wheel(rotor, Ratio::new(5.0), wheel, Time::milliseconds(30.0)).unwrap();
    near(torque.as_newton_metres(), 24.0, 0.5);
}

#[test]
fn validates_ramp_for_rider() {
    // Stepped: a force rising evenly to 300 N on 120 kg changes the deceleration by 5 m/s³ at most.
    let (force, mass) = (Force::newtons(300.0), Mass::kilograms(120.0));
    let ramp_s = ramp_for_rider(force, mass).unwrap().as_seconds();
    let at = |t: f64| 300.0 * (t / ramp_s).min(1.0) / 120.0;
    let steepest = (0..1000).map(|i| f64::from(i) * 1e-3).map(|t| (at(t + 1e-3) - at(t)) / 1e-3).fold(0.0, f64::max);
    near(steepest, 5.0, 1e-9);
}

#[test]
fn says_what_is_out_of_range() {
    let error = gain_limit(Mass::kilograms(120.0), Time::ZERO).unwrap_err();
    assert_eq!(error.what, "loop-delay");
    assert_eq!(balance_above(&hold(300.0), &road(-8.0), Speed::metres_per_second(-1.0)).unwrap_err().what, "speed");
    assert_eq!(braking_force(&hold(-1.0), Speed::ZERO).unwrap_err().what, "charge-power-limit");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Hill and brakes meet there; a little faster the stable one slows and the unstable one gains speed.
    #[test]
    fn law_balance_is_where_the_forces_meet(charge_w in 50.0..900.0, grade in -15.0..-2.0) {
        let (hold, road) = (hold(charge_w), road(grade));
        let against = |v: Speed| (road_force(&road, v).unwrap() + braking_force(&hold, v).unwrap()).as_newtons();
        let (mut from, mut last_stable) = (Speed::ZERO, true);
        while let Some(balance) = balance_above(&hold, &road, from).unwrap() {
            let nudge = Speed::metres_per_second(1e-4);
            let (slower, faster) = (against(balance.speed - nudge), against(balance.speed + nudge));
            prop_assert_eq!(slower < 0.0 && faster > 0.0, balance.stable);
            prop_assert_eq!(slower > 0.0 && faster < 0.0, !balance.stable);
            (from, last_stable) = (balance.speed, balance.stable);
        }
        // Whatever brakes, the air ends it.
        prop_assert!(last_stable);
    }

    /// Holding brakes, so it never ends faster than the free wheel.
    #[test]
    fn law_a_hold_is_slower_than_coasting(charge_w in 50.0..900.0, grade in -15.0..-2.0) {
        let free = free_coasting(&road(grade)).unwrap().unwrap();
        let mut from = Speed::ZERO;
        while let Some(balance) = balance_above(&hold(charge_w), &road(grade), from).unwrap() {
            prop_assert!(balance.speed < free);
            from = balance.speed;
        }
    }

    /// What the wheel gives becomes heat in copper, iron and gears, or charge.
    #[test]
    fn law_held_losses_close_the_ledger(torque in 5.0..100.0, rad_s in 5.0..200.0, droop in 0.0..0.004) {
        let motor = Motor { flux_droop: FluxDroop::per_ampere(droop), ..HUB5 };
        let (m, speed, warm) = (cool(&motor), RotorSpeed::radians_per_second(rad_s), Temperature::celsius(20.0));
        let torque = WheelTorque::newton_metres(torque);
        prop_assume!(m.current_for_wheel_torque(Direction::Brake, torque, speed).is_ok());
        let heat = held_losses(&motor, torque, speed, warm, warm).unwrap();
        let current = m.current_for_wheel_torque(Direction::Brake, torque, speed).unwrap();
        let supply_w = braking_power(&m, &Inverter::IDEAL, speed, current, Voltage::volts(48.0)).as_watts();
        let wheel_w = torque.as_newton_metres() * rad_s / 5.0;
        let used_w = heat.copper_at_20.as_watts() + heat.shell.as_watts() - supply_w;
        prop_assert!((wheel_w - used_w).abs() < 1e-9 * wheel_w.max(used_w.abs()));
        // A hotter magnet pulls less, so the same torque heats more.
        let hot_motor = Motor { magnet_coefficient: TemperatureCoefficient::per_kelvin(-0.0011), ..motor };
        if let Ok(hot) = held_losses(&hot_motor, torque, speed, Temperature::celsius(90.0), warm) {
            prop_assert!(hot.copper_at_20 >= heat.copper_at_20);
        }
    }

    /// The axle's torque over a time is the change of the angular momentum of wheel and rotor, each with its own sense.
    #[test]
    fn law_angular_momentum_is_what_the_axle_gives(wheel in 0.01..0.5, rotor in 1e-5..1e-2, n in 1.0..20.0, a in -8.0..8.0) {
        let (r, time_s) = (0.34, 0.7);
        for (sense, sign) in [(RotorSense::With, 1.0), (RotorSense::Against, -1.0)] {
            let torque = inertia_torque(
                Inertia::kilogram_square_metres(wheel),
                Inertia::kilogram_square_metres(rotor),
                Ratio::new(n),
                sense,
                Acceleration::metres_per_second_squared(a),
                Length::metres(r),
            );
            let momentum = |v: f64| wheel * v / r + sign * rotor * n * v / r;
            let given = torque.unwrap().as_newton_metres() * time_s;
            prop_assert!((given - (momentum(3.0 + a * time_s) - momentum(3.0))).abs() < 1e-9);
        }
    }
}
