//! Name cards load, are refused with all their faults, and turn settings into what the device shows, on the safe side.

use intake::{load_name_card, read_name_card, render};
use proptest::prelude::*;
use std::path::Path;
use workbench::fact::{Distribution, list};
use workbench::job::Job;
use workbench::settings::{At, Card, Keyed, Kind, Safe, Setting};

fn card(text: &str) -> Card {
    read_name_card(text).unwrap_or_else(|e| panic!("{}", render("card.toml", text, &e)))
}

fn one(text: &str) -> Card {
    card(&format!("device = \"test\"\n[[value]]\nname = \"a\"\n{text}"))
}

fn setting(kind: Kind, value: f64) -> Setting {
    Setting { kind, at: At::Whole, value: kind.to_si(value), now: None, binds: None, keeper: "controller" }
}

fn key(card: &Card, job: &Job, s: &Setting) -> Keyed {
    card.sheet(job, core::slice::from_ref(s)).remove(0).keyed
}

fn shown(k: &Keyed) -> &str {
    match k {
        Keyed::Value { text, .. } => text,
        other => panic!("{other:?}"),
    }
}

fn job() -> Job {
    Job::new("1", "test", 0)
}

#[test]
fn the_demo_card_loads_in_its_own_order() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/cards/thrannel-two.toml");
    let card = load_name_card(&path).unwrap();
    assert_eq!(card.entries.len(), 11);
    assert_eq!(card.entries[0].kind, Kind::DriveCurrent);
    assert_eq!(card.entries[2].name, "Strength");
    assert!(card.firmware.contains(&("controller".to_owned(), "0.9.12".to_owned())));
}

/// Worked by hand: 48 A of 90 A are 53.3 %; 32 A of peak are 22.63 A RMS; 24 km/h on a line from 0.8 V at rest to 4.2 V at
/// 50 km/h are 2.432 V; on a falling line from 4.2 V to 0.8 V they are 2.568 V, and less speed is more volts.
#[test]
fn values_are_scaled_and_rounded_to_the_safe_side() {
    let j = job();
    let share = one("is = \"drive-current\"\nfull_scale = \"90 A\"\nstep = \"1 %\"");
    assert_eq!(shown(&key(&share, &j, &setting(Kind::DriveCurrent, 48.0))), "53 %");
    let rms = one("is = \"brake-current\"\nmeans = \"rms\"\nstep = \"0.5 A\"");
    assert_eq!(shown(&key(&rms, &j, &setting(Kind::BrakeCurrent, 32.0))), "22.5 A");
    let rising = one(
        "is = \"hold-fastest\"\nfull_scale = \"50 km/h\"\nat_zero = \"0.8 V\"\nat_full = \"4.2 V\"\nstep = \"0.05 V\"",
    );
    assert_eq!(shown(&key(&rising, &j, &setting(Kind::HoldFastest, 24.0))), "2.40 V");
    let falling = one(
        "is = \"hold-fastest\"\nfull_scale = \"50 km/h\"\nat_zero = \"4.2 V\"\nat_full = \"0.8 V\"\nstep = \"0.05 V\"",
    );
    assert_eq!(shown(&key(&falling, &j, &setting(Kind::HoldFastest, 24.0))), "2.60 V");
    let ramp = one("is = \"ramp\"\nstep = \"50 ms\"");
    assert_eq!(shown(&key(&ramp, &j, &setting(Kind::Ramp, 280.0))), "300 ms");
}

#[test]
fn a_job_in_rms_is_turned_into_amplitude() {
    let mut j = job();
    j.choose(list::CURRENT_MEANS.id(), 1.0, Distribution::Exact, "rms");
    let peak = one("is = \"brake-current\"\nmeans = \"amplitude\"\nstep = \"1 A\"");
    assert_eq!(shown(&key(&peak, &j, &setting(Kind::BrakeCurrent, 20.0))), "28 A");
    let same = one("is = \"brake-current\"\nstep = \"1 A\"");
    assert_eq!(shown(&key(&same, &j, &setting(Kind::BrakeCurrent, 20.0))), "20 A");
}

#[test]
fn a_device_that_cannot_go_so_far_says_so() {
    let j = job();
    let high = one("is = \"charge-limit\"\nstep = \"1 A\"\nleast = \"5 A\"\nmost = \"30 A\"");
    assert!(matches!(key(&high, &j, &setting(Kind::ChargeLimit, 3.0)), Keyed::OutOfReach { .. }));
    // Its most is below what would hold: safe.
    assert_eq!(shown(&key(&high, &j, &setting(Kind::ChargeLimit, 45.0))), "30 A");
    let short = one("is = \"ramp\"\nstep = \"10 ms\"\nmost = \"200 ms\"");
    assert!(matches!(key(&short, &j, &setting(Kind::Ramp, 280.0)), Keyed::OutOfReach { .. }));
}

#[test]
fn all_faults_come_at_once() {
    let text = "device = 3\ncolour = \"red\"\n[[value]]\nname = \"a\"\nis = \"brake-curent\"\nstep = \"1 %\"\n\
                [[value]]\nname = \"b\"\nis = \"drive-current\"\nstep = \"1 %\"\n\
                [[value]]\nis = \"ramp\"\nleast = \"1 V\"\nstep = \"0 ms\"\nmeans = \"rms\"\n\
                [[value]]\nname = \"c\"\nis = \"nut-torque\"\nstep = \"1 N·m\"\n\
                [[value]]\nname = \"d\"\nis = \"charge-limit\"\nstep = \"1 A\"\nat_zero = \"0 A\"\nleast = \"9 A\"\nmost = \"3 A\"\n";
    let errors = read_name_card(text).unwrap_err();
    let all = render("card.toml", text, &errors);
    for wanted in [
        "`device` has the wrong form",
        "`colour` is not known",
        "did you mean `brake-current`?",
        "`step` is in %, but drive-current is in A",
        "`name` is missing",
        "`least` is in V",
        "`step` is above zero",
        "`means` belongs to a motor current",
        "which one?",
        "`at_zero` needs `full_scale`",
        "`most` is not above `least`",
    ] {
        assert!(all.contains(wanted), "no “{wanted}” in\n{all}");
    }
}

proptest! {
    /// Whatever the device's line and step: what it makes of the value never lies on the unsafe side.
    #[test]
    fn law_keyed_values_are_on_the_safe_side(
        value in 0.5..200.0f64,
        full in 1.0..400.0f64,
        zero in 0.0..5.0f64,
        end in 0.0..5.0f64,
        step in 0.001..1.0f64,
        which in 0..4usize,
    ) {
        prop_assume!((zero - end).abs() > 0.01);
        let (kind, unit) = [(Kind::DriveCurrent, "A"), (Kind::ChargeLimit, "A"), (Kind::HoldFastest, "km/h"), (Kind::FadeFrom, "km/h")][which];
        let card = one(&format!(
            "is = \"{}\"\nfull_scale = \"{full} {unit}\"\nat_zero = \"{zero} V\"\nat_full = \"{end} V\"\nstep = \"{step} V\"",
            kind.id()
        ));
        let s = setting(kind, value);
        if let Keyed::Value { setting, .. } = key(&card, &job(), &s) {
            let slack = 1e-9 * s.value.abs();
            match kind.safe() {
                Safe::Down => prop_assert!(setting <= s.value + slack),
                Safe::Up => prop_assert!(setting >= s.value - slack),
                Safe::Between => {}
            }
        }
    }
    /// Any text gives a card or errors.
    #[test]
    fn any_text_is_read_or_refused(text in "(device|value|is|step|name|\\[\\[|\\]\\]|=|\"|\n|[0-9]|%| |A|brake-current){0,40}") {
        if let Err(errors) = read_name_card(&text) {
            prop_assert!(!render("x", &text, &errors).is_empty());
        }
    }
}
