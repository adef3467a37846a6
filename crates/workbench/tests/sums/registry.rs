//! The registry: names, words, examples, and that nothing a person types can panic.

use super::*;

#[test]
fn every_example_answers_with_all_keys() {
    for sum in SUMS {
        let got = sum.answer(sum.example, Decimal::Point).unwrap_or_else(|e| panic!("{}: {e}", sum.name));
        let keys: Vec<&str> = got.entries.iter().map(|entry| entry.key).collect();
        for output in sum.outputs {
            assert!(output.optional || keys.contains(&output.key), "{}: {} is missing", sum.name, output.key);
        }
        for key in &keys {
            assert!(sum.outputs.iter().any(|output| output.key == *key), "{}: {key} is not listed", sum.name);
        }
        let ordered: Vec<&str> = sum.outputs.iter().map(|o| o.key).filter(|key| keys.contains(key)).collect();
        assert_eq!(keys, ordered, "{}", sum.name);
    }
}

#[test]
fn every_default_can_be_read_and_every_name_is_its_own() {
    let names: BTreeSet<&str> = SUMS.iter().map(|sum| sum.name).collect();
    assert_eq!(names.len(), SUMS.len());
    for sum in SUMS {
        let inputs: BTreeSet<&str> = sum.inputs.iter().map(|input| input.name).collect();
        assert_eq!(inputs.len(), sum.inputs.len(), "{}", sum.name);
        let required: Vec<_> = sum
            .example
            .iter()
            .filter(|(name, _)| {
                sum.inputs.iter().any(|input| input.name == *name && !matches!(input.need, Need::Default(_)))
            })
            .copied()
            .collect();
        if let Err(Failure::Inputs(errors)) = sum.answer(&required, Decimal::Point) {
            panic!("{}: {errors:?}", sum.name);
        }
    }
}

#[test]
fn the_table_of_the_order_is_kept() {
    // Names, inputs and keys that others call; an input in brackets may be left out.
    let table: &[(&str, &str, &str)] = &[
        (
            "preload",
            "thread torque thread-friction face-friction face-diameter class [bore] [across-flats]",
            "preload_n stress_mpa von_mises_mpa yield_utilisation",
        ),
        ("tightening-torque", "thread preload thread-friction face-friction face-diameter", "torque_nm"),
        (
            "face-hold",
            "preload friction inner-diameter outer-diameter faces",
            "hold_uniform_pressure_nm hold_uniform_wear_nm",
        ),
        (
            "outer-hold",
            "preload nut-friction nut-radius washer-friction washer-radius thread thread-friction",
            "tightening_nm loosening_nm",
        ),
        (
            "flats",
            "axle-diameter across-flats slot-width thickness yield-strength bearing-strength",
            "flat_length_mm play_deg corner_yield_nm plastic_nm",
        ),
        (
            "pinch",
            "clamp-force flat-length thickness yield-strength bearing-strength",
            "gap_nm no_yield_nm crush_limited_nm pressure_mpa",
        ),
        (
            "thread-strip",
            "thread engagement external-strength internal-strength [across-flats]",
            "external_n internal_n",
        ),
        ("anchor-slip", "preload friction faces torque arm-length", "demand_n capacity_n utilisation"),
        ("weld", "torque radius leg length", "stress_mpa"),
        ("shaft-torsion", "diameter bore across-flats torque", "stress_mpa"),
        (
            "motor-point",
            "reduction pole-pairs flux-linkage resistance inductance phase-current direction speed hysteresis eddy gear-efficiency [droop]",
            "wheel_torque_nm dc_power_w line_voltage_peak_v copper_loss_w",
        ),
        (
            "regen-current",
            "pole-pairs reduction flux-linkage resistance speed bus-voltage charge-current",
            "phase_current_a wheel_torque_nm",
        ),
        (
            "overspeed",
            "reduction pole-pairs flux-linkage wheel-radius bus-voltage [resistance] [inductance] [speed]",
            "speed_km_h",
        ),
        (
            "shorted-wires",
            "reduction pole-pairs flux-linkage resistance inductance speed gear-efficiency",
            "wheel_torque_nm worst_wheel_torque_nm",
        ),
        (
            "load-dump",
            "bus-voltage power capacitance trip-time inductance phase-current flux-linkage pole-pairs reduction speed",
            "bus_voltage_v",
        ),
        (
            "charge-limit",
            "chemistry cells-series cells-parallel state-of-charge temperature voltage-limit",
            "charge_current_a open_circuit_v",
        ),
        ("road-force", "mass grade speed rolling-resistance drag-area air-density wind", "force_n power_w"),
        ("grip", "mass grade wheelbase centre-ahead centre-height friction wheel", "force_n deceleration_m_s2"),
        ("air-density", "temperature pressure humidity", "density_kg_m3"),
    ];
    for (name, inputs, keys) in table {
        let sum = find(name).unwrap();
        let asked: Vec<&str> = inputs.split(' ').collect();
        for word in &asked {
            let input = sum.inputs.iter().find(|i| i.name == word.trim_matches(['[', ']']));
            let input = input.unwrap_or_else(|| panic!("{name}: {word}"));
            assert!(!word.starts_with('[') || input.need != Need::Required, "{name}: {word} may be left out");
        }
        for input in sum.inputs.iter().filter(|input| input.need == Need::Required) {
            assert!(asked.contains(&input.name), "{name}: {} must not be asked for", input.name);
        }
        let got = answer(name, sum.example);
        for key in keys.split(' ') {
            assert!(got.get(key).is_some(), "{name}: {key}");
        }
    }
}

#[test]
fn every_word_is_there_and_none_is_left_over() {
    let mut wanted = BTreeSet::new();
    for sum in SUMS {
        wanted.insert(format!("sum.{}.help", sum.name));
        wanted.extend(sum.inputs.iter().map(|input| format!("sum.{}.in.{}", sum.name, input.name)));
        wanted.extend(sum.outputs.iter().map(|output| format!("sum.{}.out.{}", sum.name, output.key)));
        let cards = sum.inputs.iter().filter_map(|input| input.recipe).chain(sum.recipe);
        for card in cards {
            assert!(evidence::cards::rows().iter().any(|row| row.id == card), "{}: no card {card}", sum.name);
        }
    }
    for key in &wanted {
        assert!(words::find(key).is_some_and(|text| !text.trim().is_empty()), "no words for {key}");
    }
    for key in words::keys().filter(|key| key.starts_with("sum.") && !key.contains(".note.")) {
        assert!(wanted.contains(key), "words that nobody uses: {key}");
    }
}

/// The code of the sums, to find the keys of words in it.
const CODE: [&str; 13] = [
    include_str!("../../src/sum/answer.rs"),
    include_str!("../../src/sum/axle.rs"),
    include_str!("../../src/sum/battery.rs"),
    include_str!("../../src/sum/error.rs"),
    include_str!("../../src/sum/fastener.rs"),
    include_str!("../../src/sum/given.rs"),
    include_str!("../../src/sum/heat.rs"),
    include_str!("../../src/sum/input.rs"),
    include_str!("../../src/sum/mod.rs"),
    include_str!("../../src/sum/motor.rs"),
    include_str!("../../src/sum/reference.rs"),
    include_str!("../../src/sum/road.rs"),
    include_str!("../../src/sum/workshop.rs"),
];

#[test]
fn notes_and_errors_have_words_and_none_is_left_over() {
    // A note without words would show its key.
    let literals: BTreeSet<&str> = CODE.iter().flat_map(|code| code.split('"').skip(1).step_by(2)).collect();
    for key in literals.iter().filter(|text| text.contains(".note.") || text.starts_with("sum-error.")) {
        let key = key.trim_end_matches(|c: char| !c.is_ascii_alphanumeric());
        assert!(words::find(key).is_some() || key == "sum-error", "no words for {key}");
    }
    for key in
        words::keys().filter(|key| key.contains(".note.") && key.starts_with("sum.") || key.starts_with("sum-error."))
    {
        assert!(literals.contains(key), "words that nobody uses: {key}");
    }
    for key in words::keys().filter(|key| key.starts_with("sum-reference.")) {
        let end = key.trim_start_matches("sum-reference.");
        assert!(literals.contains(key) || literals.contains(end), "words that nobody uses: {key}");
    }
}

#[test]
fn every_formula_names_its_source() {
    for sum in SUMS {
        assert!(!sum.formulas.is_empty(), "{}", sum.name);
        assert!(sum.formulas.iter().all(|f| !f.source.is_empty() && !f.equation.is_empty()), "{}", sum.name);
    }
}

#[test]
fn the_reference_shows_every_sum() {
    let text = reference();
    for sum in SUMS {
        assert!(text.contains(&format!("## {}\n", sum.name)));
        assert!(sum.inputs.iter().all(|input| text.contains(&format!("| `{}` |", input.name))));
        assert!(sum.outputs.iter().all(|output| text.contains(&format!("| `{}` |", output.key))));
    }
    assert!(
        !text.contains("sum-reference.") && !text.contains("sum-error.") && !text.contains("| sum."),
        "a word is missing"
    );
}

proptest! {
    #[test]
    fn no_text_panics(
        which in 0..SUMS.len(),
        inputs in proptest::collection::vec((0..40_usize, "\\PC{0,24}|[-+0-9.,eE ]{0,8} ?(N·m|N|mm|V|A|%|km/h|rad/s|°C)?"), 0..16),
        comma in any::<bool>(),
    ) {
        let sum = SUMS[which];
        let named: Vec<(&str, &str)> = inputs
            .iter()
            .map(|(at, text)| (sum.inputs.get(*at).map_or(text.as_str(), |input| input.name), text.as_str()))
            .collect();
        let decimal = if comma { Decimal::Comma } else { Decimal::Point };
        match sum.answer(&named, decimal) {
            Ok(answer) => { answer.to_json(); }
            Err(failure) => prop_assert!(!failure.to_string().is_empty()),
        }
    }

    #[test]
    fn no_value_in_range_panics(which in 0..SUMS.len(), place in 0..16_usize, share in 0.0..=1.0_f64) {
        use workbench::sum::Shape;
        let sum = SUMS[which];
        let Some(input) = sum.inputs.get(place) else { return Ok(()) };
        let text = match input.shape {
            Shape::Quantity { unit, low, high, .. } => format!("{} {unit}", low + share * (high - low)),
            Shape::Count { low, high } => format!("{}", low + (share * f64::from(high - low)) as u32),
            Shape::Speed { high_rad_s, .. } => format!("{} rad/s", share * high_rad_s),
            _ => return Ok(()),
        };
        let changed = with(sum.example, &[(input.name, &text)]);
        match sum.answer(&changed, Decimal::Point) {
            Ok(answer) => prop_assert!(answer.entries.iter().all(|e| e.value.is_none_or(f64::is_finite))),
            Err(Failure::Sum(error)) => prop_assert!(!error.to_string().is_empty()),
            Err(Failure::Inputs(errors)) => prop_assert!(false, "{}: {text}: {errors:?}", sum.name),
        }
    }

    #[test]
    fn unknown_names_never_panic(name in "\\PC{0,80}") {
        if let Err(error) = find(&name) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}
