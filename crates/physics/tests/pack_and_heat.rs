//! Pack and heat against closed forms, laws and published practice.

#![allow(clippy::disallowed_methods, reason = "a test may take its logarithm from elsewhere")]

use physics::battery::*;
use physics::heat::*;
use proptest::prelude::*;
use quantity::*;

#[test]
fn validates_charging_by_temperature() {
    // JEITA practice (battery-charger data sheets): none below 0 °C, reduced to 10 °C, full to 45 °C.
    let share = |c| cold_share(Temperature::celsius(c), Ratio::new(0.3)).unwrap().get();
    assert_eq!([share(-2.0), share(5.0), share(20.0), share(50.0), share(70.0)], [0.0, 0.3, 1.0, 0.3, 0.0]);
    // A two-cell charger (SLUSD89B): 8.4 V up to 45 °C, 8.0 V up to 60 °C.
    let full =
        |c| 2.0 * warm_full(Voltage::volts(4.2), Temperature::celsius(c), Voltage::volts(0.2)).unwrap().as_volts();
    assert!((full(45.0) - 8.4).abs() < 1e-12 && (full(50.0) - 8.0).abs() < 1e-12 && (full(60.0) - 8.0).abs() < 1e-12);
    assert!(warm_full(Voltage::volts(4.2), Temperature::celsius(61.0), Voltage::ZERO).is_err());
}

#[test]
fn validates_voltage_room() {
    // The design's demo pack: 14 cells, 4.20 V less 20 mV, 56.0 V at 80 %, 85 mΩ: 29.6 A (other software, one decimal).
    let limit = fold_back(14, Voltage::volts(4.2), Voltage::volts(0.02));
    let room = voltage_room(limit, Voltage::volts(56.0), Resistance::milliohms(85.0)).unwrap();
    assert!((room.as_amperes() - 29.6).abs() < 0.06);
    assert_eq!(voltage_room(limit, Voltage::volts(60.0), Resistance::milliohms(85.0)).unwrap().as_amperes(), 0.0);
}

#[test]
fn validates_open_circuit_lines() {
    let curve = [(0.0, 3.0), (0.5, 3.7), (1.0, 4.2)].map(|(s, v)| (StateOfCharge::new(s), Voltage::volts(v)));
    let at = |s| open_circuit(&curve, 10, StateOfCharge::new(s)).unwrap().as_volts();
    assert!((at(0.0) - 30.0).abs() < 1e-12 && (at(0.25) - 33.5).abs() < 1e-12 && (at(1.0) - 42.0).abs() < 1e-12);
    assert!(open_circuit(&curve, 10, StateOfCharge::new(1.1)).is_err());
    assert!(open_circuit(&[], 10, StateOfCharge::new(0.5)).is_err());
}

/// Cells as flat and as steep as any: empty to full.
const CURVE: [(f64, f64); 5] = [(0.0, 3.0), (0.1, 3.4), (0.5, 3.6), (0.6, 3.6), (1.0, 4.2)];

fn nodes(h: f64) -> TwoNodes {
    TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(350.0),
        shell: HeatCapacity::joules_per_kelvin(2200.0),
        winding_to_shell: ThermalResistance::kelvins_per_watt(0.25),
        shell_to_air: ThermalConductance::watts_per_kelvin(h),
    }
}

fn air(celsius: f64) -> Warmth {
    Warmth { winding: Temperature::celsius(celsius), shell: Temperature::celsius(celsius) }
}

fn minutes_of(count: f64) -> Time {
    Time::seconds(60.0 * count)
}

fn limits() -> Warmth {
    Warmth { winding: Temperature::celsius(130.0), shell: Temperature::celsius(80.0) }
}

#[test]
fn validates_short_time_loss() {
    // One node of C, no feedback to speak of (all loss in the shell but a watt of copper): T = T_a + P/H·(1 − e^(−tH/C)).
    let one = TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(0.1),
        winding_to_shell: ThermalResistance::kelvins_per_watt(1e-4),
        ..nodes(5.0)
    };
    let (time, cold) = (minutes_of(10.0), Temperature::celsius(20.0));
    let share = 1.0 - (-600.0 * 5.0 / 2200.1f64).exp();
    let shell_w = 50.0 * 5.0 / share - 1.0;
    let limit = Warmth { winding: Temperature::celsius(900.0), shell: Temperature::celsius(70.0) };
    let copper = short_time_loss(&one, Power::watts(shell_w), cold, limit, time).unwrap().unwrap();
    // One watt of copper at 20 °C is up to 1.2 W when warm.
    assert!((copper.as_watts() - 0.9).abs() < 0.1, "{} W", copper.as_watts());
    assert_eq!(short_time_loss(&one, Power::watts(shell_w + 2.0), cold, limit, time).unwrap(), None);
}

#[test]
fn validates_rest_time() {
    // One node: from 50 K to 2 K above the air takes C/H·ln 25.
    let one = TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(0.1),
        winding_to_shell: ThermalResistance::kelvins_per_watt(1e-4),
        ..nodes(5.0)
    };
    let time = rest_time(&one, air(70.0), Temperature::celsius(20.0)).unwrap().unwrap();
    assert!((time.as_seconds() / (2200.1 / 5.0 * 25f64.ln()) - 1.0).abs() < 1e-3);
    assert_eq!(rest_time(&one, air(21.0), Temperature::celsius(20.0)).unwrap().unwrap().as_seconds(), 0.0);
}

#[test]
fn validates_repeated_duty() {
    let heating = |copper| Heating {
        copper_at_20: Power::watts(copper),
        shell: Power::watts(copper / 5.0),
        air: Temperature::celsius(25.0),
    };
    let load = Stretch { nodes: nodes(6.0), heating: heating(250.0), time: minutes_of(6.0) };
    let rest = Stretch { nodes: nodes(2.5), heating: heating(0.0), time: minutes_of(20.0) };
    let end = repeated_duty(&load, &rest).unwrap().unwrap();
    let mut now = air(25.0);
    for _ in 0..60 {
        now = after(&rest.nodes, &rest.heating, now, rest.time).unwrap();
        now = after(&load.nodes, &load.heating, now, load.time).unwrap();
    }
    assert!((now.winding.as_celsius() - end.winding.as_celsius()).abs() < 1e-9);
    assert!((now.shell.as_celsius() - end.shell.as_celsius()).abs() < 1e-9);
    let never = Stretch { heating: heating(1200.0), time: minutes_of(5.0), ..load };
    assert_eq!(repeated_duty(&never, &Stretch { time: Time::ZERO, ..rest }).unwrap(), None);
}

proptest! {
    /// Long enough, it settles where the closed form says, and there the heat that leaves is the heat that is made.
    #[test]
    fn validates_two_node_heat(copper in 1.0..300.0, iron in 0.0..60.0, h in 2.0..12.0, air in -10.0..40.0) {
        let heating = Heating { copper_at_20: Power::watts(copper), shell: Power::watts(iron), air: Temperature::celsius(air) };
        let start = Warmth { winding: heating.air, shell: heating.air };
        let end = settled(&nodes(h), &heating).unwrap();
        let gain = 0.00393 * copper * (0.25 + 1.0 / h);
        prop_assert_eq!(end.is_some(), gain < 1.0);
        if let (Some(end), true) = (end, gain < 0.7) {
            let later = after(&nodes(h), &heating, start, Time::hours(24.0)).unwrap();
            prop_assert!((later.winding.as_celsius() - end.winding.as_celsius()).abs() < 0.05);
            let made = copper * (1.0 + 0.00393 * (end.winding.as_celsius() - 20.0)) + iron;
            prop_assert!((h * (end.shell.as_celsius() - air) - made).abs() < 1e-9 * made);
        }
    }

    /// Without air and feedback left to matter (a short time), all heat is stored: an energy balance.
    #[test]
    fn stores_what_it_cannot_shed(copper in 1.0..300.0, seconds in 0.1..2.0) {
        let heating = Heating { copper_at_20: Power::watts(copper), shell: Power::ZERO, air: Temperature::celsius(20.0) };
        let start = Warmth { winding: heating.air, shell: heating.air };
        let end = after(&nodes(5.0), &heating, start, Time::seconds(seconds)).unwrap();
        let stored = 350.0 * (end.winding.as_celsius() - 20.0) + 2200.0 * (end.shell.as_celsius() - 20.0);
        prop_assert!((stored / (copper * seconds) - 1.0).abs() < 0.01);
    }

    /// Twice half the time is the time.
    #[test]
    fn halves_make_the_whole(copper in 0.0..1500.0, h in 1.0..12.0, minutes in 0.1..120.0) {
        let heating = Heating { copper_at_20: Power::watts(copper), shell: Power::watts(30.0), air: Temperature::celsius(15.0) };
        let half = after(&nodes(h), &heating, air(15.0), minutes_of(minutes / 2.0)).unwrap();
        prop_assume!(half.winding.as_celsius() < 2000.0 && half.shell.as_celsius() < 2000.0);
        let twice = after(&nodes(h), &heating, half, minutes_of(minutes / 2.0)).unwrap();
        let whole = after(&nodes(h), &heating, air(15.0), minutes_of(minutes)).unwrap();
        let size = whole.winding.as_celsius().abs().max(100.0);
        prop_assert!((twice.winding.as_celsius() - whole.winding.as_celsius()).abs() < 1e-9 * size);
        prop_assert!((twice.shell.as_celsius() - whole.shell.as_celsius()).abs() < 1e-9 * size);
    }

    #[test]
    fn law_the_continuous_loss_settles_at_a_limit(iron in 0.0..60.0, h in 2.0..12.0, cold in -10.0..40.0) {
        let (shell, around) = (Power::watts(iron), Temperature::celsius(cold));
        if let Some(copper_at_20) = continuous_loss(&nodes(h), shell, around, limits()).unwrap() {
            let end = settled(&nodes(h), &Heating { copper_at_20, shell, air: around }).unwrap().unwrap();
            let (winding, case) = (end.winding.as_celsius() - 130.0, end.shell.as_celsius() - 80.0);
            prop_assert!(winding.max(case).abs() < 1e-8, "{} {}", winding, case);
        } else {
            prop_assert!(iron > h * (80.0 - cold) - 1e-9);
        }
    }

    /// For ever is less than for a time; and it ends just at a limit.
    #[test]
    fn law_short_time_loss_meets_the_limit(iron in 0.0..60.0, h in 2.0..12.0, cold in -10.0..40.0, minutes in 1.0..200.0) {
        let (shell, around, time) = (Power::watts(iron), Temperature::celsius(cold), minutes_of(minutes));
        let for_ever = continuous_loss(&nodes(h), shell, around, limits()).unwrap();
        if let Some(copper_at_20) = short_time_loss(&nodes(h), shell, around, limits(), time).unwrap() {
            prop_assert!(for_ever.is_none_or(|p| p.as_watts() <= copper_at_20.as_watts() + 1e-6));
            let end = after(&nodes(h), &Heating { copper_at_20, shell, air: around }, air(cold), time).unwrap();
            prop_assert!((end.winding.as_celsius() - 130.0).max(end.shell.as_celsius() - 80.0).abs() < 1e-6);
        }
    }

    /// There the room is the current; a little fuller it is less.
    #[test]
    fn law_the_fullest_charge_has_just_the_room(amps in 0.0..150.0, milliohms in 10.0..300.0, limit in 3.4..4.25) {
        let curve = CURVE.map(|(s, v)| (StateOfCharge::new(s), Voltage::volts(v)));
        let (most, r) = (Voltage::volts(14.0 * limit), Resistance::milliohms(milliohms));
        let room = |s: f64| {
            let rest = open_circuit(&curve, 14, StateOfCharge::new(s)).unwrap();
            voltage_room(most, rest, r).unwrap().as_amperes()
        };
        match fullest_charge(&curve, 14, most, BatteryCurrent::amperes(amps), r).unwrap().map(StateOfCharge::get) {
            Some(s) => {
                prop_assert!(room(s) >= amps - 1e-9);
                prop_assert!(s == 1.0 || room(s + 1e-6) < amps + 1e-9);
            }
            None => prop_assert!(room(0.0) <= amps),
        }
    }
}
