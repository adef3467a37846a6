//! The two thermal nodes against a published example.

use physics::heat::{Heating, TwoNodes, Warmth, after};
use quantity::*;
use validation::table::thermal_motor;

fn nodes(winding: f64, shell: f64, between: f64, away: f64) -> TwoNodes {
    TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(winding),
        shell: HeatCapacity::joules_per_kelvin(shell),
        winding_to_shell: ThermalResistance::kelvins_per_watt(between),
        shell_to_air: ThermalConductance::watts_per_kelvin(away),
    }
}

fn warmth(winding_c: f64, shell_c: f64) -> Warmth {
    Warmth { winding: Temperature::celsius(winding_c), shell: Temperature::celsius(shell_c) }
}

/// Motor example of the Modelica Standard Library, solved by matrix exponentials (`tables/SOURCES.md`): 100 W of copper
/// loss at 95 °C for 360 s, then 1000 W for 240 s, again and again; 500 W in the core; air at 20 °C.
///
/// The example states loss and coefficient (0.00303/K) at 95 °C. At 20 °C that is a coefficient of 0.00392/K against our
/// 0.00393: 1 W of 1000 at most, 0.1 K over the winding's 10 W/K.
#[test]
fn validates_two_nodes_of_the_published_motor() {
    let nodes = nodes(2500.0, 25_000.0, 0.1, 25.0);
    let mut now = warmth(20.0, 20.0);
    let series = thermal_motor();
    assert_eq!(series.len(), 121);
    for pair in series.windows(2) {
        let (from_s, [to_s, winding_c, core_c]) = (pair[0][0], pair[1]);
        let at_95_w = if from_s % 600.0 < 360.0 { 100.0 } else { 1000.0 };
        let heating = Heating {
            copper_at_20: Power::watts(at_95_w * (1.0 - 0.003_03 * 75.0)),
            shell: Power::watts(500.0),
            air: Temperature::celsius(20.0),
        };
        now = after(&nodes, &heating, now, Time::seconds(to_s - from_s)).unwrap();
        let (ours_w, ours_c) = (now.winding.as_celsius(), now.shell.as_celsius());
        assert!((ours_w - winding_c).abs() < 0.11, "{to_s} s: winding {ours_w}, not {winding_c}");
        assert!((ours_c - core_c).abs() < 0.02, "{to_s} s: core {ours_c}, not {core_c}");
    }
}
