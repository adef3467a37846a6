//! The motor and the battery. T, E and M numbers: design notes, simulated or derived apart from the formulas here.

use super::*;

#[test]
fn validates_t13_droop() {
    // T13: c 1/315, λ₀ 0.02756892 Wb, 70 A, 25 km/h: braking −1604.2 W; shaft 1935.0 W.
    let base = find("motor-point").unwrap().example;
    let droop = format!("{} 1/A", 1.0 / 315.0);
    let inputs = with(base, &[("flux-linkage", "0.02756892 Wb"), ("droop", &droop)]);
    let got = answer("motor-point", &inputs);
    near(&got, "dc_power_w", -1604.2, 1e-3);
    // Copper 3/2·R·î².
    near(&got, "copper_loss_w", 1.5 * 0.045 * 4900.0, 1e-9);
    // The trade's 90 N·m at 70 A (common practice; driving, drag left out).
    let no_drag = with(
        &inputs,
        &[("hysteresis", "0 N·m"), ("eddy", "0 N·m·s"), ("direction", "drive"), ("gear-efficiency", "100 %")],
    );
    near(&answer("motor-point", &no_drag), "wheel_torque_nm", 94.7, 2e-3);
}

#[test]
fn validates_t12_gears() {
    // T12: 25 km/h, rotor torque 0/0.5 N·m: −1.1147 and +1.3689 N·m at the wheel. Torque constant 1.5·8·0.0276.
    let base = find("motor-point").unwrap().example;
    let free = with(base, &[("direction", "drive"), ("droop", "0 1/A"), ("phase-current", "0 A")]);
    near(&answer("motor-point", &free), "wheel_torque_nm", -1.1147, 1e-3);
    let current = format!("{} A", 0.5 / (1.5 * 8.0 * 0.0276));
    near(&answer("motor-point", &with(&free, &[("phase-current", &current)])), "wheel_torque_nm", 1.3689, 1e-3);
}

#[test]
fn validates_lossy_gear_both_ways() {
    // Source: lossy gear of the Modelica Standard Library: i 5, η 0.95, rotor ±2.4 N·m: 11.4 and 12.6315789 N·m.
    let current = format!("{} A", 2.4 / (1.5 * 8.0 * 0.01));
    let base = [
        ("reduction", "5"),
        ("pole-pairs", "8"),
        ("flux-linkage", "0.01 Wb"),
        ("resistance", "0.08 Ω"),
        ("inductance", "0.2 mH"),
        ("phase-current", current.as_str()),
        ("speed", "20 rad/s"),
        ("hysteresis", "0 N·m"),
        ("eddy", "0 N·m·s"),
        ("gear-efficiency", "0.95"),
    ];
    near(&answer("motor-point", &with(&base, &[("direction", "drive")])), "wheel_torque_nm", 11.4, 1e-9);
    near(&answer("motor-point", &with(&base, &[("direction", "brake")])), "wheel_torque_nm", 12.6315789, 1e-8);
}

#[test]
fn validates_machine_of_the_drive_libraries() {
    // Source: motulator 0.5.0 and gym-electric-motor 3.0.3 agree: p 8, R 0.08 Ω, L 0.2 mH, ψ 0.01 Wb, 200 rad/s at the
    // rotor: i_q 30 A takes 828 W at u_d −9.6, u_q 18.4 V; torque 3.6 N·m.
    let got = answer(
        "motor-point",
        &[
            ("reduction", "1"),
            ("pole-pairs", "8"),
            ("flux-linkage", "10 mWb"),
            ("resistance", "80 mΩ"),
            ("inductance", "200 µH"),
            ("phase-current", "30 A"),
            ("direction", "drive"),
            ("speed", "200 rad/s"),
            ("hysteresis", "0 N·m"),
            ("eddy", "0 N·m·s"),
            ("gear-efficiency", "100 %"),
        ],
    );
    near(&got, "dc_power_w", 828.0, 1e-9);
    near(&got, "line_voltage_peak_v", 3.0_f64.sqrt() * 9.6_f64.hypot(18.4), 1e-9);
    near(&got, "wheel_torque_nm", 3.6, 1e-9);
}

#[test]
fn validates_t14_charge_limit() {
    // T14: 720 W, loss-free inverter: 22.277 A at 25 km/h, 13.533 A at 40 km/h, never binds at 10 km/h.
    let base = find("regen-current").unwrap().example;
    near(&answer("regen-current", base), "phase_current_a", 22.277, 1e-3);
    near(&answer("regen-current", &with(base, &[("speed", "40 km/h")])), "phase_current_a", 13.533, 1e-3);
    let slow = answer("regen-current", &with(base, &[("speed", "10 km/h")]));
    assert!(slow["phase_current_a"].is_null() && slow["wheel_torque_nm"].is_null() && slow["notes"].is_array());
}

#[test]
fn validates_overspeed() {
    // E4: HUB5 onset 39 V 25.0 km/h, 54.6 V 34.9 km/h. T18: time-domain bridge, within 10 %.
    let base = with(HUB5, &[("wheel-radius", "340 mm"), ("bus-voltage", "54.6 V")]);
    let onset = answer("overspeed", &with(&base, &[("resistance", ""), ("inductance", "")]));
    near(&onset, "speed_km_h", 34.9, 2e-3);
    assert_eq!(onset.as_object().unwrap().len(), 1, "no more is known: {onset}");
    near(&answer("overspeed", &with(&base, &[("bus-voltage", "39 V")])), "speed_km_h", 25.0, 3e-3);
    for (omega_e, current, rotor_nm) in [(1370.6, 37.34, 12.59), (1713.2, 110.4, 32.53), (2284.3, 180.2, 42.96)] {
        let speed = format!("{} rad/s", omega_e / 40.0);
        let got = answer("overspeed", &with(&base, &[("speed", &speed)]));
        near(&got, "charge_current_a", current, 0.10);
        near(&got, "wheel_torque_nm", 5.0 * rotor_nm, 0.10);
    }
    let below = answer("overspeed", &with(&base, &[("speed", "30 km/h")]));
    assert_eq!(value(&below, "charge_current_a"), 0.0);
}

#[test]
fn validates_shorted_wires() {
    // M1: HUB5 at the wheel: worst 241 N·m (at 13.8 km/h), 203 N·m at 25 km/h. T21: bound 91.41 N·m at the rotor.
    let got = answer("shorted-wires", find("shorted-wires").unwrap().example);
    near(&got, "worst_wheel_torque_nm", 241.0, 3e-3);
    near(&got, "wheel_torque_nm", 203.0, 3e-3);
    near(&got, "worst_speed_rpm", 13.8 / 3.6 / 0.34 * 30.0 / PI, 5e-3);
    near(&got, "first_peak_bound_nm", 5.0 * 91.41 / 0.95, 1e-3);
    // M1 and M9: first peaks of 359 N·m at the wheel and 249 A against the magnet.
    near(&got, "first_peak_nm", 359.0, 2e-3);
    near(&got, "against_magnet_a", 249.3, 2e-3);
    // From 70 A of braking, by SciPy (dq equations): 251.17 A and 69.64 N·m at the rotor.
    let speed = format!("{} rad/s", 817.0 / 40.0);
    let braked = with(find("shorted-wires").unwrap().example, &[("phase-current", "70 A"), ("speed", &speed)]);
    let braked = answer("shorted-wires", &braked);
    near(&braked, "against_magnet_a", 251.17391, 1e-6);
    near(&braked, "first_peak_nm", 69.640208 * 5.0 / 0.95, 1e-6);
}

#[test]
fn validates_t16_fade() {
    // T16: 70 A; fading from 0.8 to 0.3 m/s draws up to 58.0 W, from 2.5 m/s nothing; v_zero 0.9701 m/s.
    let base = find("fade-out").unwrap().example;
    let got = answer("fade-out", base);
    near(&got, "drawn_w", 58.0, 5e-3);
    near(&got, "zero_recovery_km_h", 0.9701 * 3.6, 5e-3);
    assert_eq!(value(&answer("fade-out", &with(base, &[("full-speed", "9 km/h")])), "drawn_w"), 0.0);
}

#[test]
fn validates_best_recovery() {
    // Source: hub motor of a drive library (motulator 0.5.0): p 8, R 80 mΩ, λ 10 mWb at 60 rad/s: 30 A bring 108 W; with 60 A
    // nothing is left, so 60 A at 60 rad/s is zero recovery.
    let base = [
        ("pole-pairs", "8"),
        ("reduction", "1"),
        ("flux-linkage", "0.01 Wb"),
        ("resistance", "80 mΩ"),
        ("speed", "60 rad/s"),
        ("bus-voltage", "36 V"),
        ("charge-current", "2 A"),
    ];
    let got = answer("regen-current", &base);
    near(&got, "best_phase_current_a", 30.0, 1e-9);
    near(&got, "best_power_w", 108.0, 1e-9);
    // The current that the limit leaves gives just the limit, below the best; its own zero-recovery speed is lower by as
    // much as it is below 60 A.
    let current = value(&got, "phase_current_a");
    assert!(current < 30.0);
    near(&got, "zero_recovery_rpm", 60.0 * current / 60.0 * 30.0 / PI, 1e-9);
}

#[test]
fn validates_t20_load_dump() {
    // T20: ω_e 817, 70 A, 54.6 V, 1 mF, trip 0: bound 71.23 V, over the simulated 68.4 V.
    let speed = format!("{} rad/s", 817.0 / 40.0);
    let base = with(find("load-dump").unwrap().example, &[("speed", &speed), ("wheel-radius", "")]);
    let got = answer("load-dump", &base);
    near(&got, "bus_voltage_v", 71.23, 2e-3);
    near(&got, "likely_bus_voltage_v", 68.4, 1e-2);
    assert!(value(&got, "bound_bus_voltage_v") > 68.4 && value(&got, "bound_bus_voltage_v") < 71.23);
    // Source: constant power into a capacitor (drive library): 600 W, 1 mF, 42 V: 54.4426 V after 1 ms.
    let power = [("bus-voltage", "42 V"), ("power", "600 W"), ("trip-time", "1 ms"), ("phase-current", "0 A")];
    let still = answer("load-dump", &with(&with(&base, &power), &[("speed", "0 rad/s")]));
    near(&still, "bus_voltage_v", 54.4426, 1e-6);
}

#[test]
fn validates_touch_voltage() {
    // M8: 60 V at 38.4 km/h for HUB5.
    let got = answer("battery-out-speed", find("battery-out-speed").unwrap().example);
    near(&got, "speed_km_h", 38.4, 2e-3);
    near(&got, "open_voltage_v", 60.0 * 45.0 / 38.4, 2e-3);
}

#[test]
fn validates_charge_limit() {
    // Source: PyBaMM 26.10.1.1, Chen2020, 25 °C: 4.04208 V at 80 %, 4.09666 V at 90 %; a cell held at 4.20 V takes
    // 4.827 A and 2.984 A for 10 s (the assumed resistance within 20 % of it).
    let base = find("charge-limit").unwrap().example;
    let one = with(
        base,
        &[("cells-series", "1"), ("cells-parallel", "1"), ("voltage-limit", "4.20 V"), ("cell-charge-current", "50 A")],
    );
    for (charge, rest_v, current) in [("80 %", 4.04208, 4.8271), ("0.9", 4.09666, 2.9843)] {
        let got = answer("charge-limit", &with(&one, &[("state-of-charge", charge)]));
        near(&got, "open_circuit_v", rest_v, 1e-6);
        near(&got, "charge_current_a", current, 0.20);
    }
    let pack = answer("charge-limit", base);
    near(&pack, "open_circuit_v", 13.0 * 4.04208, 1e-6);
    near(&pack, "charge_current_a", 7.5, 1e-9);
    // Series cells share a current, parallel ones add.
    let many = with(&one, &[("cells-series", "13"), ("cells-parallel", "4"), ("voltage-limit", "54.6 V")]);
    near(
        &answer("charge-limit", &many),
        "charge_current_a",
        4.0 * value(&answer("charge-limit", &one), "charge_current_a"),
        1e-9,
    );
    // JEITA practice: nothing below 0 °C, reduced up to 10 °C, nothing above 60 °C.
    for (temperature, share) in [("-1 °C", 0.0), ("5 °C", 0.3), ("10 °C", 1.0), ("50 °C", 0.3), ("61 °C", 0.0)] {
        let got = answer("charge-limit", &with(base, &[("temperature", temperature)]));
        assert!((value(&got, "charge_current_a") - 7.5 * share).abs() < 1e-9, "{temperature}: {got}");
    }
    // A two-cell charger (data sheet SLUSD89B) charges to 8.4 V, above 45 °C to 8.0 V: there a pack at 4.04 V a cell is full.
    let warm = with(base, &[("temperature", "50 °C"), ("warm-lowering", "200 mV")]);
    assert_eq!(value(&answer("charge-limit", &warm), "charge_current_a"), 0.0);
    // At the fullest charge the voltage leaves just the wanted current.
    let fullest = value(&answer("charge-limit", &with(base, &[("wanted-current", "5 A")])), "fullest_percent");
    let there = format!("{fullest} %");
    near(&answer("charge-limit", &with(base, &[("state-of-charge", &there)])), "voltage_limit_a", 5.0, 1e-6);
    let beyond = answer("charge-limit", &with(base, &[("wanted-current", "8 A")]));
    assert!(beyond["fullest_percent"].is_null());
    let full = answer("charge-limit", &with(base, &[("state-of-charge", "100 %")]));
    assert_eq!(value(&full, "charge_current_a"), 0.0);
}
