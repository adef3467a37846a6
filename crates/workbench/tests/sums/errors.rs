//! What is wrong with the inputs, all of it at once, with what is allowed.

use super::*;

fn problems(name: &str, inputs: &[(&str, &str)], decimal: Decimal) -> Vec<(String, InputProblem, String)> {
    match find(name).unwrap().answer(inputs, decimal) {
        Err(Failure::Inputs(errors)) => {
            errors.into_iter().map(|e| (e.name.clone(), e.problem.clone(), e.to_string())).collect()
        }
        other => panic!("{name}: {other:?}"),
    }
}

#[test]
fn all_errors_come_at_once() {
    let inputs = [
        ("thread", "M12x1.25"),
        ("torqe", "80 N·m"),
        ("thread-friction", "0.12 N"),
        ("face-friction", "7"),
        ("face-diameter", "17"),
        ("class", "9.9.9"),
        ("thread", "M12"),
    ];
    let problems = problems("preload", &inputs, Decimal::Point);
    let of = |name: &str| problems.iter().find(|p| p.0 == name).unwrap_or_else(|| panic!("{name}: {problems:?}"));
    assert!(matches!(of("torqe").1, InputProblem::Unknown { nearest: Some("torque"), .. }));
    assert!(matches!(of("torque").1, InputProblem::Missing { .. }));
    assert!(of("torque").2.contains("80 N·m"), "{}", of("torque").2);
    assert!(matches!(of("thread-friction").1, InputProblem::Unreadable { .. }));
    assert!(matches!(of("face-friction").1, InputProblem::OutOfRange { .. }));
    assert!(of("face-friction").2.contains("0.01") && of("face-friction").2.contains("1.5"));
    assert!(of("face-diameter").2.contains("mm"), "says which units fit: {}", of("face-diameter").2);
    assert!(of("class").2.contains("8.8"));
    assert!(matches!(of("thread").1, InputProblem::Twice));
    assert_eq!(problems.len(), 7);
}

#[test]
fn a_wrong_unit_says_which_fit() {
    let sum = find("tightening-torque").unwrap();
    let problems = problems("tightening-torque", &with(sum.example, &[("preload", "30 N·m")]), Decimal::Point);
    assert_eq!(problems.len(), 1);
    assert!(problems[0].2.contains("torque") && problems[0].2.contains("force") && problems[0].2.contains('N'));
}

#[test]
fn road_speed_asks_for_the_wheel() {
    let sum = find("motor-point").unwrap();
    let problems = problems("motor-point", &with(sum.example, &[("wheel-radius", "")]), Decimal::Point);
    assert!(matches!(problems[..], [(_, InputProblem::NeededFor { other: "speed" }, _)]), "{problems:?}");
    let turning = with(sum.example, &[("wheel-radius", ""), ("speed", "20.424837 rad/s")]);
    let by_radius = answer("motor-point", sum.example);
    near(&answer("motor-point", &turning), "wheel_torque_nm", value(&by_radius, "wheel_torque_nm"), 1e-6);
}

#[test]
fn nothing_that_is_not_a_finite_value_in_range_is_taken() {
    let sum = find("road-force").unwrap();
    for text in ["NaN kg", "inf kg", "-90 kg", "1e400 kg", "", "90", "90 kg ± 5 kg", "80 to 90 kg", "9e9 kg"] {
        let problems = problems("road-force", &with(sum.example, &[("mass", text)]), Decimal::Point);
        if !text.is_empty() {
            assert_eq!(problems.len(), 1, "{text}: {problems:?}");
        }
    }
    let empty: Vec<_> = sum.example.iter().map(|(k, v)| (*k, if *k == "mass" { "" } else { *v })).collect();
    assert_eq!(problems("road-force", &empty, Decimal::Point).len(), 1);
}

#[test]
fn forms_that_people_write() {
    let sum = find("preload").unwrap();
    let plain = answer("preload", sum.example);
    for thread in ["M12×1.25", "m12 x 1.25", "M12X1.25", "M12*1.25"] {
        assert_eq!(answer("preload", &with(sum.example, &[("thread", thread)])), plain, "{thread}");
    }
    let coarse = answer("preload", &with(sum.example, &[("thread", "M12")]));
    assert_eq!(coarse, answer("preload", &with(sum.example, &[("thread", "M12x1.75")])));
    let by_strength = answer("preload", &with(sum.example, &[("class", "640 MPa")]));
    assert_eq!(by_strength, plain, "class 8.8 has at least 640 MPa (ISO 898-1)");
    let percent = answer(
        "preload",
        &with(sum.example, &[("thread-friction", "12 %"), ("Face_Friction", "0.12")])
            .iter()
            .filter(|(key, _)| *key != "face-friction")
            .copied()
            .collect::<Vec<_>>(),
    );
    near(&percent, "preload_n", value(&plain, "preload_n"), 1e-12);
    let comma = find("preload").unwrap().answer(
        &[
            ("thread", "M12x1,25"),
            ("torque", "80,0 N·m"),
            ("thread-friction", "0,12"),
            ("face-friction", "0,12"),
            ("face-diameter", "17 mm"),
            ("class", "8,8"),
            ("bore", "6 mm"),
            ("across-flats", "10 mm"),
        ],
        Decimal::Comma,
    );
    assert_eq!(comma.unwrap().to_json(), plain);
}

#[test]
fn nothing_needs_no_unit_but_a_temperature_does() {
    let sum = find("preload").unwrap();
    let solid = answer("preload", &with(sum.example, &[("bore", "0")]));
    assert_eq!(solid, answer("preload", &with(sum.example, &[("bore", "0 mm")])));
    let rest = find("motor-point").unwrap().example;
    let rest = answer("motor-point", &with(rest, &[("speed", "0"), ("wheel-radius", "")]));
    assert!(value(&rest, "dc_power_w") > 0.0, "at rest braking costs its copper loss: {rest}");
    let air = find("air-density").unwrap();
    assert_eq!(problems("air-density", &with(air.example, &[("temperature", "0")]), Decimal::Point).len(), 1);
}

#[test]
fn a_cell_voltage_is_not_taken_for_that_of_the_pack() {
    let sum = find("charge-limit").unwrap();
    let cell = with(sum.example, &[("voltage-limit", "4.2 V")]);
    assert!(matches!(sum.answer(&cell, Decimal::Point), Err(Failure::Sum(SumError::Refused(_)))));
}

#[test]
fn a_formula_that_cannot_be_used_says_why() {
    let sum = find("flats").unwrap();
    let too_narrow = with(sum.example, &[("slot-width", "9.9 mm")]);
    let Err(Failure::Sum(error)) = sum.answer(&too_narrow, Decimal::Point) else { panic!("taken") };
    assert!(matches!(&error, SumError::OutOfRange(out) if out.what == "slot-width"), "{error:?}");
    assert!(error.to_string().contains("9.9") && error.to_string().contains("10"), "{error}");
}

#[test]
fn a_sum_that_does_not_exist_suggests_one() {
    let error = find("prelod").unwrap_err();
    assert_eq!(error.nearest, Some("preload"));
    assert!(error.to_string().contains("`preload`"));
    assert_eq!(find("zzzzzzzzzzzzz").unwrap_err().nearest, None);
    assert_eq!(find(" Preload ").unwrap().name, "preload");
}
