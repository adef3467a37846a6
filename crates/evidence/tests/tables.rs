//! The built-in tables: that they can be read, that they agree with each other, and with the standards they quote.

use evidence::rules::{Condition, Test};
use evidence::{Grade, bolts, cards, follows, kinds, rules, surfaces, threads};
use quantity::text::{Decimal, parse};
use std::collections::BTreeSet;

/// Class decides safety for these, not degree; and two must be seen on the bike.
const NEVER_ASSUMED: [&str; 9] = [
    "battery.charging_through_discharge_plug",
    "controller.voltage_rating",
    "battery.cells_series",
    "motor.clutch_member",
    "motor.lock_radius",
    "motor.lock_count",
    "axle.hold_test",
    "motor.torque_point",
    "motor.flux_linkage",
];

#[test]
fn every_table_can_be_read() {
    assert_eq!(evidence::problems(), Vec::<String>::new());
    assert!(kinds::rows().len() > 100, "{} facts have a default", kinds::rows().len());
    assert_eq!(surfaces::rows().len(), 4);
    assert_eq!(bolts::rows().len(), 7);
    assert_eq!(cards::rows().len(), 48);
}

#[test]
fn nothing_stands_twice() {
    let unique = |names: Vec<String>| {
        let all = names.len();
        assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), all, "{names:?}");
    };
    unique(kinds::rows().iter().map(|row| row.fact.clone()).collect());
    unique(surfaces::rows().iter().map(|row| row.state.clone()).collect());
    unique(bolts::rows().iter().map(|row| row.bolt.clone()).collect());
    unique(threads::rows().iter().map(|row| row.name.clone()).collect());
    unique(cards::rows().iter().map(|row| row.id.clone()).collect());
    unique(rules::rows().iter().map(|row| row.id.clone()).collect());
    unique(follows::rows().iter().map(|row| format!("{} {} {}", row.fact, row.given, row.answer)).collect());
}

/// Every text that begins like a number is a quantity that the readers of job files understand.
#[test]
fn numbers_can_be_read() {
    let texts = kinds::rows().iter().flat_map(|row| row.by_kind.iter().chain([&row.any]).flatten());
    let texts = texts.chain(follows::rows().iter().map(|row| &row.text));
    let texts = texts.chain(surfaces::rows().iter().flat_map(|row| [&row.friction, &row.settling]));
    let mut numbers = 0;
    for text in texts.filter(|text| text.starts_with(|c: char| c.is_ascii_digit())) {
        // Bolt grades look like numbers and are answers.
        if bolts::find(text).is_none() {
            assert!(parse(text, Decimal::Point).is_ok(), "{text}: {:?}", parse(text, Decimal::Point));
            numbers += 1;
        }
    }
    assert!(numbers > 200, "{numbers}");
}

#[test]
fn what_decides_by_class_is_never_assumed() {
    for fact in NEVER_ASSUMED {
        assert!(kinds::find(fact).is_none(), "{fact}");
        assert_eq!(kinds::default_text(fact, Some("hill")), None);
    }
    for kind in ["town", "hill", "hauler", "front"] {
        assert_eq!(kinds::default_text("motor.lock", Some(kind)), None, "how a clutch was locked must be seen");
    }
}

#[test]
fn a_kind_answers_before_any_and_an_unknown_kind_is_no_kind() {
    assert_eq!(kinds::default_text("motor.drive", Some("direct")), Some("direct"));
    assert_eq!(kinds::default_text("motor.drive", None), None);
    assert_eq!(kinds::default_text("motor.drive", Some("coach")), None);
    assert_eq!(kinds::default_text("axle.*.faces", Some("town")), Some("painted"));
    assert_eq!(kinds::default_text("axle.*.faces", None), Some("painted"));
    assert_eq!(kinds::default_text("axle.*.nothing", Some("town")), None);
}

/// What is only known by kind is known for all five: a job never loses a link because of a hole in the table. A hub
/// without gears has no teeth, and only such a hub says how it is locked.
#[test]
fn no_kind_has_a_hole() {
    for row in kinds::rows().iter().filter(|row| row.any.is_none() && row.fact != "motor.lock") {
        let geared = &row.by_kind[..4];
        assert!(geared.iter().all(Option::is_some), "{}", row.fact);
        let teeth =
            ["sun", "planet", "gear_module", "gear_width", "gear_strength"].iter().any(|t| row.fact.contains(t));
        assert_eq!(row.by_kind[4].is_none(), teeth, "{}", row.fact);
    }
}

/// Teeth of a planet stage with the ring on the wheel: ring = sun + 2 planets, reduction = ring / sun.
#[test]
fn assumed_teeth_give_the_assumed_reduction() {
    let number = |fact: &str, kind: &str| {
        let text = kinds::default_text(fact, Some(kind)).expect("has a default");
        parse(text, Decimal::Point).expect("is a number").bounds_si()
    };
    for kind in ["town", "hill", "hauler", "front"] {
        let (sun, planet) = (number("motor.sun_teeth", kind).0, number("motor.planet_teeth", kind).0);
        let (low, high) = number("motor.reduction", kind);
        let reduction = 1.0 + 2.0 * planet / sun;
        assert!(low < reduction && reduction < high, "{kind}: {reduction} not in {low} to {high}");
        let ring = sun + 2.0 * planet;
        assert_eq!((sun + ring) % number("motor.planets", kind).0, 0.0, "{kind}: equally spaced planets do not go in");
    }
}

/// NASA-STD-5020B (2021) 4.4.6b: without a test at most 0.20 for clean, dry, bare metal.
#[test]
fn validates_holding_friction_against_nasa() {
    for row in surfaces::rows() {
        let (low, high) = parse(&row.friction, Decimal::Point).expect("is a number").bounds_si();
        let (bare_low, bare_high) = (0.12, 0.20);
        assert!(high <= bare_high + 1e-12, "{}: {high}", row.state);
        assert!(row.state == "bare" || low < bare_low, "{}: {low}", row.state);
    }
}

/// EN ISO 898-1:2013 Table 3 and ISO 3506-1:2020, as read in reprints; yield of 5.6 and 8.8 and of A2-70 from memory.
#[test]
fn validates_bolt_grades_against_iso() {
    let published = [
        ("4.6", 240.0, 400.0),
        ("5.6", 300.0, 500.0),
        ("8.8", 640.0, 800.0),
        ("10.9", 940.0, 1040.0),
        ("12.9", 1100.0, 1220.0),
        ("A2-70", 450.0, 700.0),
        ("A4-80", 600.0, 800.0),
    ];
    for ((bolt, yield_mpa, strength_mpa), row) in published.into_iter().zip(bolts::rows()) {
        assert_eq!(row.bolt, bolt, "the order of the grades is part of the job file");
        assert!((row.yield_strength.as_megapascals() - yield_mpa).abs() < 1e-9, "{bolt}");
        assert!((row.tensile_strength.as_megapascals() - strength_mpa).abs() < 1e-9, "{bolt}");
    }
}

/// EN ISO 898-1:2013 Table 3: nominal stress under proof load over least yield, printed with two digits. Nominal proof
/// stress from the same table; it catches a slip in the yield column, which the table of proof loads does not contain.
#[test]
fn validates_yield_against_proof_stress() {
    for (bolt, proof_mpa, ratio) in
        [("4.6", 225.0, 0.94), ("5.6", 280.0, 0.93), ("8.8", 580.0, 0.91), ("10.9", 830.0, 0.88), ("12.9", 970.0, 0.88)]
    {
        let row = bolts::find(bolt).expect("is a grade");
        let ours = proof_mpa / row.yield_strength.as_megapascals();
        assert!((ours - ratio).abs() <= 0.005, "{bolt}: {ours}");
    }
}

/// EN ISO 898-1:2013 Tables 4 and 6, nominal stress areas in mm² (fine threads from memory): a wrong pitch shows.
/// Tolerance: half the last printed digit.
#[test]
fn validates_pitches_against_stress_areas() {
    for (name, area_mm2, half_digit) in [
        ("M5x0.8", 14.2, 0.05),
        ("M6", 20.1, 0.05),
        ("M8x1.25", 36.6, 0.05),
        ("M10", 58.0, 0.05),
        ("M12x1.75", 84.3, 0.05),
        ("M14x2", 115.0, 0.5),
        ("M16", 157.0, 0.5),
        ("M10x1.0", 64.5, 0.05),
        ("M12×1.25", 92.1, 0.05),
        ("M14x1.5", 125.0, 0.5),
    ] {
        let row = threads::find(name).unwrap_or_else(|| panic!("no thread {name}"));
        let (d, p) = (row.diameter.as_millimetres(), row.pitch.as_millimetres());
        // Mean of pitch and root diameter: half of 0.649519 + 1.226869 pitches below the crest (ISO 68-1).
        let mean = d - 0.938_194 * p;
        let ours = std::f64::consts::FRAC_PI_4 * mean * mean;
        assert!((ours - area_mm2).abs() <= half_digit, "{name}: {ours}");
    }
    assert!(threads::find("M12x3").is_none() && threads::find("M7").is_none());
}

#[test]
fn three_eighths_looks_like_m10() {
    let inch = threads::find("3/8-26").expect("is a thread");
    assert!((inch.diameter.as_inches() - 0.375).abs() < 1e-9);
    assert!((25.4 / inch.pitch.as_millimetres() - 26.0).abs() < 0.001, "26 turns an inch");
}

#[test]
fn every_card_but_one_takes_time() {
    for card in cards::rows() {
        assert_eq!(card.minutes().is_none(), card.id == "assume", "{}", card.id);
        assert!(card.minutes().is_none_or(|minutes| (0.5..=10.0).contains(&minutes)), "{}", card.id);
    }
    for number in 1..=44 {
        assert!(cards::find(&format!("m{number}")).is_some(), "m{number}");
    }
}

#[test]
fn conditions_are_read() {
    let one = |text: &str| rules::read_conditions(text).expect("is a condition").remove(0);
    assert_eq!(
        one("battery.condition = opened | swollen-or-wet"),
        Condition {
            fact: "battery.condition".to_owned(),
            test: Test::OneOf(vec!["opened".to_owned(), "swollen-or-wet".to_owned()])
        }
    );
    assert_eq!(one("bike.rear_brake_alone < 2.2 m/s²").test, Test::Below("2.2 m/s²".to_owned()));
    assert_eq!(rules::read_conditions("a.b = c and d.e > 3 kg").expect("two").len(), 2);
    for wrong in ["a.b", "= c", "a.b =", "a b = c"] {
        assert!(rules::read_conditions(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn what_was_not_read_does_not_pretend() {
    let claims = bolts::rows().iter().map(|row| &row.source).chain(surfaces::rows().iter().map(|row| &row.source));
    let claims = claims.chain(kinds::rows().iter().map(|row| &row.source));
    for source in claims {
        assert!(source.grade != Grade::B, "nothing here was measured by us: {source:?}");
        if source.source.contains("memory") && !source.source.contains("reprint") {
            assert_eq!(source.grade, Grade::D, "{source:?}");
        }
    }
}
