//! The two thermal nodes against an exact solution of a published example.

use physics::heat::{Heating, TwoNodes, Warmth, after};
use quantity::*;

/// Motor example of the Modelica Standard Library (Modelica/Thermal/HeatTransfer/Examples/Motor.mo, commit b756f9d),
/// solved by the matrix exponential in other software: seconds, winding and core in °C.
///
/// 100 W of copper loss at 95 °C for 360 s, then 1000 W for 240 s, again and again; 500 W in the core; air at 20 °C.
const SOLVED: [(u32, f64, f64); 6] = [
    (360, 29.0816, 26.2461),
    (600, 85.1144, 31.9072),
    (1200, 105.7789, 42.0890),
    (3600, 130.3421, 56.8806),
    (6960, 84.8048, 58.6368),
    (7200, 134.3293, 59.3203),
];

#[test]
fn validates_two_nodes_of_the_published_motor() {
    let nodes = TwoNodes {
        winding: HeatCapacity::joules_per_kelvin(2500.0),
        shell: HeatCapacity::joules_per_kelvin(25_000.0),
        winding_to_shell: ThermalResistance::kelvins_per_watt(0.1),
        shell_to_air: ThermalConductance::watts_per_kelvin(25.0),
    };
    let air = Temperature::celsius(20.0);
    let mut now = Warmth { winding: air, shell: air };
    // The example states loss and coefficient (0.00303/K) at 95 °C. At 20 °C that is a coefficient of 0.00392/K against
    // our 0.00393: 1 W of 1000 at most, 0.1 K over the winding's 10 W/K. The trapezoidal steps add less.
    let tolerance_k = 0.12;
    for minute in 0..120 {
        let at_95_w = if minute % 10 < 6 { 100.0 } else { 1000.0 };
        let copper_at_20 = Power::watts(at_95_w * (1.0 - 0.003_03 * 75.0));
        let heating = Heating { copper_at_20, shell: Power::watts(500.0), air };
        now = after(&nodes, &heating, now, Time::seconds(60.0)).unwrap();
        for (_, winding_c, core_c) in SOLVED.iter().filter(|row| row.0 == (minute + 1) * 60) {
            let (ours_w, ours_c) = (now.winding.as_celsius(), now.shell.as_celsius());
            assert!((ours_w - winding_c).abs() < tolerance_k, "winding {ours_w}, not {winding_c}");
            assert!((ours_c - core_c).abs() < tolerance_k, "core {ours_c}, not {core_c}");
        }
    }
}
