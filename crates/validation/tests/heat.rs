//! The two thermal nodes against SciPy's matrix exponential and a published example.

use physics::heat::{Heating, Node, TwoNodes, Warmth, after, time_to_limit};
use quantity::*;
use validation::table::{Recorded, number, solvers, thermal_motor};

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

fn given(row: &Recorded) -> (TwoNodes, Heating) {
    let input = |key| number(&row.inputs, key);
    let heating = Heating {
        copper_at_20: Power::watts(input("P20=")),
        shell: Power::watts(input("Ps=")),
        air: Temperature::celsius(air(row)),
    };
    (nodes(input("Cw="), input("Cs="), input("Rws="), input("H=")), heating)
}

fn air(row: &Recorded) -> f64 {
    celsius(row, "air=")
}

/// A temperature with its sign.
fn celsius(row: &Recorded, key: &str) -> f64 {
    let below = number(&row.inputs, &format!("{key}-"));
    if below.is_nan() { number(&row.inputs, key) } else { -below }
}

fn recorded(quantity: &str) -> Vec<Recorded> {
    let rows: Vec<Recorded> = solvers().into_iter().filter(|row| row.quantity == quantity).collect();
    assert!(rows.len() >= 9, "only {} recorded `{quantity}`", rows.len());
    rows
}

/// Six digits are recorded.
#[test]
fn validates_two_nodes_against_expm() {
    for quantity in ["two heat nodes, winding", "two heat nodes, shell"] {
        for row in recorded(quantity) {
            let (nodes, heating) = given(&row);
            let start = warmth(celsius(&row, "winding starts at "), celsius(&row, "shell starts at "));
            let end = after(&nodes, &heating, start, Time::seconds(number(&row.inputs, "t="))).unwrap();
            let ours = if quantity.ends_with("shell") { end.shell } else { end.winding }.as_celsius();
            assert!(
                (ours - row.value()).abs() <= 6e-6 * row.value().abs() + 1e-6,
                "{}: {ours}, {}",
                row.inputs,
                row.value()
            );
        }
    }
}

#[test]
fn validates_time_to_limit() {
    for row in recorded("time to a heat limit") {
        let (nodes, heating) = given(&row);
        let at = |key| Temperature::celsius(number(&row.inputs, key));
        let far = Temperature::celsius(1e6);
        let (limit, node) = if row.inputs.contains("winding limit=") {
            (Warmth { winding: at("winding limit="), shell: far }, Node::Winding)
        } else {
            (Warmth { winding: far, shell: at("shell limit=") }, Node::Shell)
        };
        let start = Warmth { winding: heating.air, shell: heating.air };
        let (time, first) = time_to_limit(&nodes, &heating, start, limit).unwrap().unwrap();
        assert_eq!(first, node);
        assert!(
            (time.as_seconds() / row.value() - 1.0).abs() <= 6e-6,
            "{}: {}, {}",
            row.inputs,
            time.as_seconds(),
            row.value()
        );
    }
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
