//! Road, grip, air and heat.

use super::*;

const COMMUTER: &[(&str, &str)] = &[
    ("mass", "100 kg"),
    ("rolling-resistance", "0.0077"),
    ("drag-area", "0.559 m²"),
    ("air-density", "1.225 kg/m³"),
    ("wind", "0 m/s"),
];

#[test]
fn validates_hold_power_on_grades() {
    // Source: reference values, closed form with the mean utility cyclist of Tengattini and Bigazzi (557 coast-downs):
    // power to hold 25 km/h at the tyre, and the speed at which the air holds.
    for (grade, hold_w) in [("-3 %", 37.1337), ("-5 %", 173.046), ("-8 %", 376.1426), ("-15 %", 843.7012)] {
        let got = answer("road-force", &with(COMMUTER, &[("grade", grade), ("speed", "25 km/h")]));
        near(&got, "power_w", -hold_w, 1e-5);
    }
    for (grade, speed) in [("-5 %", "39.6007 km/h"), ("-8 %", "51.7226 km/h"), ("-15 %", "72.2754 km/h")] {
        let got = answer("road-force", &with(COMMUTER, &[("grade", grade), ("speed", speed)]));
        assert!(value(&got, "force_n").abs() < 0.01, "{grade}: {got}");
    }
}

#[test]
fn validates_air_power_of_martin() {
    // Source: Martin et al. 1998, appendix I: 158.8 W against the air at 8.362 m/s with 2.546 m/s of head wind.
    let got = answer(
        "road-force",
        &[
            ("mass", "90 kg"),
            ("grade", "0 %"),
            ("speed", "8.36229 m/s"),
            ("rolling-resistance", "0"),
            ("drag-area", "0.2609 m²"),
            ("air-density", "1.2234 kg/m³"),
            ("wind", "2.5461 m/s"),
        ],
    );
    assert!((value(&got, "power_w") - 158.8).abs() < 0.1, "{got}");
    // E16: a tail wind faster than the bike pushes.
    let pushed = [("grade", "0 %"), ("speed", "5 km/h"), ("wind", "-40 km/h"), ("rolling-resistance", "0")];
    assert!(value(&answer("road-force", &with(COMMUTER, &pushed)), "force_n") < 0.0);
}

#[test]
fn validates_t23_grip() {
    let base = [
        ("mass", "120 kg"),
        ("grade", "-8 %"),
        ("wheelbase", "1.1 m"),
        ("centre-ahead", "0.45 m"),
        ("centre-height", "1.1 m"),
        ("friction", "0.5"),
        ("wheel", "rear"),
    ];
    let rear = answer("grip", &base);
    near(&rear, "force_n", 231.06, 1e-3);
    near(&rear, "deceleration_m_s2", 1.1434, 1e-3);
    near(&answer("grip", &with(&base, &[("other-brake", "200 N")])), "force_n", 164.39, 1e-3);
    let all = [("other-brake", "200 N"), ("rolling-resistance", "0.01"), ("drag", "80 N"), ("drag-height", "1.2 m")];
    let all = answer("grip", &with(&base, &all));
    near(&all, "force_n", 162.90, 1e-3);
    near(&all, "deceleration_m_s2", 3.0066, 1e-3);
}

#[test]
fn validates_measured_bicycle_and_rider() {
    // Source: Moore 2012, bicycle and rider measured: centre 0.9902 m high, 0.3184 m ahead, wheelbase 1.121 m.
    // Rear alone at μ 0.8: 0.3356 g; front alone at μ 0.6: 0.3626 g; pitching over at 0.8106 g.
    let base = [
        ("mass", "93 kg"),
        ("grade", "0 %"),
        ("wheelbase", "1.121 m"),
        ("centre-ahead", "0.3184 m"),
        ("centre-height", "0.9902 m"),
        ("friction", "0.8"),
        ("wheel", "rear"),
    ];
    let g = 9.80665;
    near(&answer("grip", &base), "deceleration_m_s2", 0.3356 * g, 1e-3);
    let front = [("friction", "0.6"), ("wheel", "front")];
    near(&answer("grip", &with(&base, &front)), "deceleration_m_s2", 0.3626 * g, 1e-3);
    // A bend that takes 0.3 of 0.5 leaves 0.4 (3, 4, 5); 0.3·g in a bend of 25 m is 8.576 m/s.
    let speed = format!("{} km/h", (0.3 * g * 25.0_f64).sqrt() * 3.6);
    let bend = with(&base, &[("friction", "0.5"), ("bend-radius", "25 m"), ("speed", &speed), ("grade", "0 %")]);
    near(&answer("grip", &bend), "friction_left", 0.4, 1e-9);
    // On the steepest slope the brake just keeps the speed.
    let steepest = format!("{} %", value(&answer("grip", &base), "steepest_percent"));
    let there = answer("grip", &with(&base, &[("grade", &steepest)]));
    assert!(value(&there, "deceleration_m_s2").abs() < 1e-9, "{there}");
    let lifts = answer("grip", &with(&base, &[("friction", "1.4"), ("wheel", "front")]));
    near(&lifts, "deceleration_m_s2", 0.8106 * g, 1e-3);
    assert!(lifts["notes"].is_array());
}

#[test]
fn validates_t22_descent_hold() {
    // T22: HUB5, 120 kg, CdA 0.6, 300 W of charge, −8 %: unstable at 16.5, stable at 42.9 km/h. E6: 500 W, −10 %:
    // 22.3 and 46.3 km/h. With P and k = ½ρCdA alone: (P/2k)^⅓ = 26.9 km/h.
    let base = find("descent-hold").unwrap().example;
    let got = answer("descent-hold", base);
    near(&got, "unstable_km_h", 16.5, 0.01);
    near(&got, "runaway_km_h", 42.9, 0.01);
    near(&got, "constant_power_unstable_below_km_h", 26.9, 0.01);
    assert!(value(&got, "available_n") > value(&got, "needed_n"), "15 km/h is held: {got}");
    let steep = answer("descent-hold", &with(base, &[("grade", "-10 %"), ("charge-power", "500 W")]));
    near(&steep, "unstable_km_h", 22.3, 0.01);
    near(&steep, "runaway_km_h", 46.3, 0.01);
    let flat = answer("descent-hold", &with(base, &[("grade", "0 %")]));
    assert!(flat["unstable_km_h"].is_null() && flat["runaway_km_h"].is_null());
    let weak = answer("descent-hold", &with(base, &[("phase-limit", "1 A")]));
    assert!(weak["unstable_km_h"].is_null() && value(&weak, "runaway_km_h") > 42.0);
}

#[test]
fn validates_air_density() {
    // Source: CIPM-2007 equation (Picard et al. 2008) evaluated, to within 0.05 % of an ideal-gas sum.
    for (temperature, pressure, humidity, density) in [
        ("20 °C", "1013.25 hPa", "50 %", 1.199314),
        ("30 °C", "1013.25 hPa", "80 %", 1.150012),
        ("0 °C", "1013.25 hPa", "0 %", 1.293049),
        ("10 °C", "900 hPa", "0.7", 1.103782),
    ] {
        let got =
            answer("air-density", &[("temperature", temperature), ("pressure", pressure), ("humidity", humidity)]);
        near(&got, "density_kg_m3", density, 6e-4);
    }
}

#[test]
fn validates_two_node_heat() {
    // Source: Modelica Standard Library, thermal motor example, run: winding 2500 J/K, core 25 000 J/K, 10 and 25 W/K,
    // core loss 500 W, 20 °C; copper 100 W then 1000 W at 95 °C with 0.00303/K there: 77.27 % of that at 20 °C.
    let base = [
        ("winding-capacity", "2500 J/K"),
        ("shell-capacity", "25 kJ/K"),
        ("winding-conductance", "10 W/K"),
        ("shell-conductance", "25 W/K"),
        ("shell-loss", "500 W"),
        ("ambient", "20 °C"),
    ];
    let first = answer("two-node-heat", &with(&base, &[("winding-loss", "77.275 W"), ("time", "360 s")]));
    assert!((value(&first, "winding_c") - 29.0816).abs() < 0.03, "{first}");
    assert!((value(&first, "shell_c") - 26.2461).abs() < 0.03, "{first}");
    let hot = [
        ("winding-loss", "772.75 W"),
        ("time", "240 s"),
        ("winding-start", "29.0816 °C"),
        ("shell-start", "26.2461 °C"),
    ];
    let second = answer("two-node-heat", &with(&base, &hot));
    assert!((value(&second, "winding_c") - 85.1144).abs() < 0.2, "{second}");
    assert!((value(&second, "shell_c") - 31.9072).abs() < 0.05, "{second}");
}

#[test]
fn validates_heat_limits() {
    // By SciPy's matrix exponential (350 and 2200 J/K, 4 and 5 W/K, 250 W of copper, 60 W of iron, 35 °C): the winding is at
    // 120 °C after 208.502 s; the shell at 70 °C only after 372.623 s.
    let base = [
        ("winding-capacity", "350 J/K"),
        ("shell-capacity", "2200 J/K"),
        ("winding-conductance", "4 W/K"),
        ("shell-conductance", "5 W/K"),
        ("winding-loss", "250 W"),
        ("shell-loss", "60 W"),
        ("time", "208.5021996649 s"),
        ("ambient", "35 °C"),
        ("winding-limit", "120 °C"),
        ("shell-limit", "70 °C"),
    ];
    let got = answer("two-node-heat", &base);
    near(&got, "time_to_limit_s", 208.502_199_7, 1e-8);
    near(&got, "short_time_winding_loss_w", 250.0, 1e-8);
    near(&answer("two-node-heat", &with(&base, &[("winding-limit", "250 °C")])), "time_to_limit_s", 372.622_522, 1e-8);
    // With the continuous loss it settles at the nearer limit: 70 °C of the shell, H·35 K = 175 W in all, 115 W of it copper.
    let loss = value(&got, "continuous_winding_loss_w");
    near(&got, "continuous_winding_loss_w", 115.0 / (1.0 + 0.00393 * (70.0 + 115.0 / 4.0 - 20.0)), 1e-9);
    let loss = format!("{loss} W");
    near(
        &answer("two-node-heat", &with(&base, &[("winding-loss", &loss)])),
        "steady_winding_c",
        70.0 + 115.0 / 4.0,
        1e-9,
    );
}
