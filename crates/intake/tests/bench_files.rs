//! Bench files and come-back cards of the demo load; faulty ones are refused with all their faults, each in its place.

use intake::{load_bench, load_card, load_job, read_bench, read_card, render};
use proof::bench::{Turned, When};
use proof::follow::{Day, Done};
use std::path::{Path, PathBuf};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

#[test]
fn the_demo_bench_files_load_with_their_tools() {
    let rack = load_job(&demo().join("0117-bread-longtail.toml")).unwrap().rack;
    let before = load_bench(&demo().join("bench/0117-before.toml"), &rack).unwrap();
    let after = load_bench(&demo().join("bench/0117-after.toml"), &rack).unwrap();
    assert_eq!((before.when, before.locked, after.when, after.locked), (When::Before, false, When::After, true));
    assert_eq!((before.no_load.len(), after.levers.len(), after.spin_downs[0].points.len()), (3, 3, 7));
    // Clamp A1: ± 2 % ± 0.05 A. Its share is one error in all its readings, the rest is each reading's own.
    let amperes = &after.no_load[0].amperes;
    assert_eq!((amperes.value, amperes.tool.as_deref()), (1.66, Some("A1")));
    assert!((amperes.gain - 0.02 / 3f64.sqrt()).abs() < 1e-12 && (amperes.sigma - 0.05 / 3f64.sqrt()).abs() < 1e-12);
    // 416 g at the rim as a force, good to 8 % (card m24).
    let pull = &before.pulls[0];
    assert_eq!(pull.turned, Turned::Backwards);
    assert!((pull.newtons.value - 0.416 * 9.806_65).abs() < 1e-9);
    assert!((pull.newtons.sigma / pull.newtons.value - 0.08 / 1.959_963_985).abs() < 1e-9);
    assert!((before.celsius.unwrap() - 19.0).abs() < 1e-9);
    for file in ["bench/0113-before.toml", "bench/0113-after.toml"] {
        load_bench(&demo().join(file), &[]).unwrap();
    }
}

#[test]
fn a_force_and_a_weight_are_both_a_pull() {
    let file = |pull: &str| {
        format!(
            "job = \"1\"\nwhen = \"before\"\nclutch = \"free\"\n[[pull]]\npull = \"{pull}\"\nturned = \"backwards\"\n"
        )
    };
    let value = |pull: &str| read_bench(&file(pull), "x", &[]).unwrap().pulls[0].newtons.value;
    assert!((value("4.08 N") - 4.08).abs() < 1e-12);
    assert!((value("0.416 kg") - 0.416 * 9.806_65).abs() < 1e-9);
}

#[test]
fn all_faults_of_a_bench_file_come_at_once_in_their_lines() {
    let text = "job = \"1\"\nwhen = \"befor\"\nclutch = \"free\"\n[[no_load]]\nsupply = \"52 A\"\ncurrent = \"1.6\"\n[[pull]]\npul = \"3 g\"\nturned = \"sideways\"\n";
    let errors = read_bench(text, "x", &[]).unwrap_err();
    let shown = render("x.toml", text, &errors);
    for place in ["x.toml:2:8", "x.toml:4:1", "x.toml:5:10", "x.toml:6:11", "x.toml:7:1", "x.toml:8:1", "x.toml:9:10"] {
        assert!(shown.contains(place), "{place} in\n{shown}");
    }
    assert!(shown.contains("did you mean `before`?") && shown.contains("did you mean `pull`?"), "{shown}");
}

#[test]
fn come_back_cards_load_and_a_day_must_be_one() {
    let card = load_card(&demo().join("come-back/0117-2.toml"), &[]).unwrap();
    assert_eq!((card.day, card.odometer), (Day::parse("2026-03-16").unwrap(), 1_225_000.0));
    assert_eq!((card.nuts, card.moved), ([Some(78.0), Some(76.0)], [Some(0.0); 4]));
    let text = "job = \"1\"\ndate = \"2026-03-16\"\nodometer = \"5 km\"\ndecision = \"opened\"\n";
    assert_eq!(read_card(text, "c", &[]).unwrap().done, Some(Done::Opened));
    let text = "job = \"1\"\ndate = \"31 June\"\nodometer = \"5 h\"\ndecision = \"stopp\"\n[marks]\nleft_nut = \"12 °\"\nbolt = \"1 °\"\n";
    let shown = render("c.toml", text, &read_card(text, "c", &[]).unwrap_err());
    for place in ["c.toml:2:8", "c.toml:3:12", "c.toml:4:12", "c.toml:7:1"] {
        assert!(shown.contains(place), "{place} in\n{shown}");
    }
}
