//! Pack and heat against closed forms, laws and published practice.

use physics::battery::{cold_share, fold_back, open_circuit, voltage_room};
use physics::heat::{Heating, TwoNodes, Warmth, after, settled};
use proptest::prelude::*;
use quantity::*;

#[test]
fn validates_charging_by_temperature() {
    // JEITA practice (battery-charger data sheets): none below 0 °C, reduced to 10 °C, full to 45 °C.
    let share = |c| cold_share(Temperature::celsius(c), Ratio::new(0.3)).unwrap().get();
    assert_eq!([share(-2.0), share(5.0), share(20.0), share(50.0), share(70.0)], [0.0, 0.3, 1.0, 0.3, 0.0]);
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

fn nodes(h: f64) -> TwoNodes {
    TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(350.0),
        shell: HeatCapacity::joules_per_kelvin(2200.0),
        winding_to_shell: ThermalResistance::kelvins_per_watt(0.25),
        shell_to_air: ThermalConductance::watts_per_kelvin(h),
    }
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
}
