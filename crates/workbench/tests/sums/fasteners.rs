//! Fasteners and the axle. T numbers: design notes, section 4, simulated or derived apart from the formulas here.

use super::*;

#[test]
fn validates_long_form_against_vdi_tables() {
    // Source: VDI 2230 (2001/2003) tables as reprinted, preload and torque at 90 % of yield, μ 0.12 in thread and face,
    // hexagon heads of ISO 4014 and medium holes of ISO 273; force within 0.5 %, torque within 1.5 %.
    let cases =
        [("M8x1", "8.8", "26.1 N·m", 20_200.0, "10.315 mm"), ("M8x1", "10.9", "38.3 N·m", 29_700.0, "10.315 mm")];
    for (thread, class, torque, force, face) in cases {
        let got = answer(
            "preload",
            &[
                ("thread", thread),
                ("torque", torque),
                ("thread-friction", "0.12"),
                ("face-friction", "0.12"),
                ("face-diameter", face),
                ("class", class),
            ],
        );
        near(&got, "preload_n", force, 0.02);
        near(&got, "yield_utilisation", 0.9, 0.02);
    }
}

#[test]
fn validates_small_bolt_of_the_trade() {
    // Common practice, and design notes section 6: M5 12.9 at 12 N·m (μ 0.12, socket head 8.5 mm, hole 5.5 mm) gives 14.0 kN
    // and sits at its yield limit (1.02 times 1100 MPa); 8.8 is far past it.
    let base = [
        ("thread", "M5"),
        ("torque", "12 N·m"),
        ("thread-friction", "0.12"),
        ("face-friction", "0.12"),
        ("face-diameter", "7 mm"),
        ("class", "12.9"),
    ];
    let got = answer("preload", &base);
    near(&got, "preload_n", 14_000.0, 0.005);
    near(&got, "yield_utilisation", 1.02, 0.005);
    assert!(value(&answer("preload", &with(&base, &[("class", "8.8")])), "yield_utilisation") > 1.5);
}

#[test]
fn validates_example_axle_with_bore_yields() {
    // Design notes E11: 80 N·m at μ 0.10 (47.2 kN), M12×1.25, 10 mm flats, 6 mm bore: σ 768, σ_v 807 MPa.
    let inputs = [
        ("thread", "M12x1.25"),
        ("preload", "47.2 kN"),
        ("thread-friction", "0.10"),
        ("face-friction", "0.10"),
        ("face-diameter", "17 mm"),
    ];
    let torque = format!("{} N·m", value(&answer("tightening-torque", &inputs), "torque_nm"));
    let torque = [("torque", torque.as_str()), ("class", "8.8"), ("bore", "6 mm"), ("across-flats", "10 mm")];
    let got = answer("preload", &with(&inputs, &[("preload", "")]).into_iter().chain(torque).collect::<Vec<_>>());
    near(&got, "preload_n", 47_200.0, 1e-9);
    near(&got, "stress_mpa", 768.0, 0.005);
    near(&got, "von_mises_mpa", 807.0, 0.01);
    near(&got, "yield_utilisation", 807.0 / 640.0, 0.01);
    assert!(got["notes"][0].as_str().is_some());
}

#[test]
fn validates_t1_paths() {
    // T1: 20 kN, μ 0.12, inner face 12.5/20, outer 12.5/24 mm, M12×1.25; radii worked here from the ring's area moments.
    let radius = |inner: f64, outer: f64| {
        let n = 100_000;
        let step = (outer - inner) / 2.0 / f64::from(n);
        let rings = (0..n).map(|i| inner / 2.0 + (f64::from(i) + 0.5) * step);
        let (moment, area) = rings.fold((0.0, 0.0), |(m, a), r| (m + r * r, a + r));
        moment / area
    };
    let inner = answer(
        "face-hold",
        &[
            ("preload", "20 kN"),
            ("friction", "0.12"),
            ("inner-diameter", "12.5 mm"),
            ("outer-diameter", "20 mm"),
            ("faces", "1"),
        ],
    );
    near(&inner, "hold_uniform_pressure_nm", 19.846, 1e-3);
    assert!(value(&inner, "hold_uniform_wear_nm") < value(&inner, "hold_uniform_pressure_nm"));
    let washer = format!("{} mm", radius(12.5, 24.0));
    let outer = answer(
        "outer-hold",
        &[
            ("preload", "20 kN"),
            ("nut-friction", "0.12"),
            ("nut-radius", "20 mm"),
            ("washer-friction", "0.12"),
            ("washer-radius", &washer),
            ("thread", "M12x1.25"),
            ("thread-friction", "0.12"),
        ],
    );
    near(&outer, "tightening_nm", 19.482, 1e-3);
    near(&outer, "loosening_nm", 11.524, 1e-3);
}

#[test]
fn validates_plate_clutch_textbook() {
    // Source: Bhandari, Introduction to Machine Design, example 11.1: μ 0.2, 1 MPa at the inner edge, 200/100 mm,
    // uniform wear: 235 619 N·mm. Axial force 2π·p·r_i·(r_o − r_i) = 15 708 N.
    let got = answer(
        "face-hold",
        &[
            ("preload", "15707.963 N"),
            ("friction", "0.2"),
            ("inner-diameter", "100 mm"),
            ("outer-diameter", "200 mm"),
            ("faces", "1"),
        ],
    );
    near(&got, "hold_uniform_wear_nm", 235.619_449, 1e-6);
}

#[test]
fn validates_t3_t4_flats() {
    let base = find("flats").unwrap().example;
    for (d, s, w, play) in [("12", "10", "10.2", 1.7690), ("14", "10", "10.3", 1.7829), ("10", "8", "8.1", 0.9658)] {
        let (d, s, w) = (format!("{d} mm"), format!("{s} mm"), format!("{w} mm"));
        let got = answer("flats", &with(base, &[("axle-diameter", &d), ("across-flats", &s), ("slot-width", &w)]));
        near(&got, "play_deg", play, 1e-4);
    }
    let got = answer("flats", base);
    near(&got, "flat_length_mm", 6.6332, 1e-4);
    near(&got, "corner_yield_nm", 1.151, 5e-3);
    near(&got, "plastic_nm", 23.76, 5e-3);
    near(&answer("flats", &with(base, &[("slot-width", "10 mm")])), "corner_yield_nm", 10.34, 5e-3);
    let free = answer("flats", &with(base, &[("slot-width", "12 mm")]));
    assert!(free["play_deg"].is_null() && value(&free, "plastic_nm") == 0.0 && free["notes"].is_array());
}

#[test]
fn validates_t5_t6_pinch() {
    let base = find("pinch").unwrap().example;
    let got = answer("pinch", base);
    near(&got, "gap_nm", 33.17, 2e-3);
    near(&got, "no_yield_nm", 13.77, 2e-3);
    near(&got, "crush_limited_nm", 29.19, 2e-3);
    near(&got, "pressure_mpa", 282.7, 2e-3);
    let best = answer("pinch", &with(base, &[("clamp-force", "10.61 kN")]));
    near(&best, "no_yield_nm", 23.47, 2e-3);
    for force in ["9 kN", "10.3 kN", "11 kN", "14 kN"] {
        let other = answer("pinch", &with(base, &[("clamp-force", force)]));
        assert!(value(&other, "no_yield_nm") < value(&best, "no_yield_nm"), "{force}");
    }
    // E3: two M5 12.9 at 28 kN crush mild steel on tightening; with 600 MPa the plastic limit is 22.4 N·m.
    let crushed = answer("pinch", &with(base, &[("clamp-force", "28 kN"), ("bearing-strength", "600 MPa")]));
    near(&crushed, "crush_limited_nm", 22.4, 5e-3);
    assert_eq!(value(&crushed, "no_yield_nm"), 0.0);
    near(&crushed, "pressure_mpa", 528.0, 2e-3);
}

#[test]
fn validates_t10_strip() {
    // T10: A12, 8 mm: 155.9 and 165.5 mm²; strip shear strength 0.6·R_m.
    let got = answer("thread-strip", find("thread-strip").unwrap().example);
    near(&got, "external_n", 0.6 * 800.0 * 155.9, 2e-3);
    near(&got, "internal_n", 0.6 * 600.0 * 165.5, 2e-3);
    assert!(got["notes"].is_array(), "8 mm is less than 0.8 of 12 mm");
}

#[test]
fn validates_anchor_of_e1() {
    // E1: M5 at 3 kN, μ 0.10, one face, arm 80 mm, safety 1.25: 19.2 N·m.
    let got = answer("anchor-slip", find("anchor-slip").unwrap().example);
    near(&got, "utilisation", 1.0, 1e-9);
    near(&got, "demand_n", 240.0, 1e-9);
    assert!(
        value(
            &answer(
                "anchor-slip",
                &[
                    ("preload", "3 kN"),
                    ("friction", "0.1"),
                    ("faces", "2"),
                    ("torque", "12 N·m"),
                    ("arm-length", "80 mm"),
                ]
            ),
            "capacity_n"
        ) == 600.0
    );
}

#[test]
fn validates_t11_torsion() {
    // T11: A12 at 40 N·m, bore 0/5/6/7: exact (St-Venant) 170.8/181.1/194.1/221.0 MPa; never above the bound.
    for (bore, exact) in [("0 mm", 170.8), ("5 mm", 181.1), ("6 mm", 194.1), ("7 mm", 221.0)] {
        let got = answer("shaft-torsion", &with(find("shaft-torsion").unwrap().example, &[("bore", bore)]));
        assert!(value(&got, "stress_mpa") >= exact, "{bore}: {got}");
        near(&got, "estimate_mpa", exact, 0.03);
    }
    // Source: round tube, Gere, Mechanics of Materials: τ = T·r/J by summing thin rings.
    let (outer, inner, torque) = (12.0, 6.0, 40_000.0);
    let n = 100_000;
    let step = (outer - inner) / 2.0 / f64::from(n);
    let polar: f64 =
        (0..n).map(|i| inner / 2.0 + (f64::from(i) + 0.5) * step).map(|r| 2.0 * PI * r * r * r * step).sum();
    let got = answer("shaft-torsion", &[("diameter", "12 mm"), ("bore", "6 mm"), ("torque", "40 N·m")]);
    near(&got, "stress_mpa", torque * outer / 2.0 / polar, 1e-3);
}

#[test]
fn validates_weld() {
    // E12: r 15, leg 3, full ring: 36.7 MPa at 110 N·m, 44.0 MPa at 1.2 times that.
    let base = find("weld").unwrap().example;
    near(&answer("weld", base), "stress_mpa", 36.7, 2e-3);
    near(&answer("weld", &with(base, &[("torque", "132 N·m")])), "stress_mpa", 44.0, 2e-3);
    // Source: Bhandari form, d 50 mm, 2500 N·m, 140 MPa: throat 4.547 mm, so leg 4.547/0.707.
    let got = answer("weld", &[("torque", "2500 N·m"), ("radius", "25 mm"), ("leg", "6.4314 mm"), ("length", "full")]);
    near(&got, "stress_mpa", 140.0, 1e-3);
    let half =
        answer("weld", &[("torque", "2500 N·m"), ("radius", "25 mm"), ("leg", "6.4314 mm"), ("length", "78.54 mm")]);
    near(&half, "stress_mpa", 280.0, 1e-3);
}

#[test]
fn validates_spokes_by_coordinates() {
    // The spoke's lever arm from its two ends, by the cross product.
    let got = answer("spoke-load", find("spoke-load").unwrap().example);
    let beta = 720.0_f64.to_radians() * 2.0 / 36.0;
    let (rim, hole) = ((0.270, 0.0), (0.060 * beta.cos(), 0.060 * beta.sin()));
    let along: (f64, f64) = (rim.0 - hole.0, rim.1 - hole.1);
    let arm = (hole.0 * along.1 - hole.1 * along.0).abs() / along.0.hypot(along.1);
    near(&got, "change_n", 90.0 / (36.0 * arm), 1e-9);
    near(&got, "lowest_n", 900.0 - 90.0 / (36.0 * arm), 1e-9);
    let slack = answer("spoke-load", &with(find("spoke-load").unwrap().example, &[("tension", "50 N")]));
    assert!(slack["lowest_n"].is_null() && slack["notes"].is_array());
}
