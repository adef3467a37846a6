//! The demo jobs load, and faulty files are refused with all their faults, each in its place.

use intake::{LoadError, Shop, load_job, read_job, read_rack, read_rules, render};
use std::path::{Path, PathBuf};
use workbench::fact::{Origin, Side, list};
use workbench::job::Job;

const JOBS: [&str; 5] = [
    "0117-bread-longtail.toml",
    "0109-bread-longtail-as-found.toml",
    "0121-folding-commuter.toml",
    "0124-compact-hauler.toml",
    "0126-second-hauler.toml",
];

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo")
}

fn load(name: &str) -> Job {
    match load_job(&demo().join(name)) {
        Ok(job) => job,
        Err(LoadError::Content { path, text, errors }) => panic!("{}", render(&path, &text, &errors)),
        Err(LoadError::File { path, why }) => panic!("{path}: {why}"),
    }
}

#[test]
fn all_demo_jobs_load() {
    for name in JOBS {
        let job = load(name);
        assert!(name.starts_with(&job.number), "{name} holds number {}", job.number);
        assert_eq!((job.one_in, job.arms), (1000.0, 1), "{name}");
        assert!(!job.notes.is_empty(), "{name} has no notes");
    }
}

#[test]
fn every_job_file_of_the_demo_is_in_the_list() {
    let mut found: Vec<String> = std::fs::read_dir(demo())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml") && !["prices.toml", "rack.toml", "shelf.toml"].contains(&name.as_str()))
        .collect();
    found.sort();
    let mut listed = JOBS.map(str::to_owned).to_vec();
    listed.sort();
    assert_eq!(found, listed);
}

#[test]
fn what_is_left_out_is_assumed_and_what_is_not_known_stays_unknown() {
    let known = load("0117-bread-longtail.toml");
    let torque = known.fact(list::NUT_TORQUE.of(Side::Left)).unwrap();
    assert_eq!((torque.value, torque.origin, torque.tool.as_deref()), (80.0, Origin::Chosen, Some("W2")));
    assert_eq!(known.fact(list::WINDING_CAPACITY.id()).unwrap().origin, Origin::Assumed);
    assert!(known.fact(list::HOLD_TEST.id()).is_none(), "nobody has pulled at this axle yet");

    let phoned = load("0126-second-hauler.toml");
    for id in [
        list::CHARGING_PLUG.id(),
        list::CELLS_SERIES.id(),
        list::VOLTAGE_RATING.id(),
        list::ACROSS_FLATS.id(),
        list::SLOT_WIDTH.of(Side::Left),
        list::DROPOUT_THICKNESS.of(Side::Right),
        list::NUT_TORQUE.of(Side::Left),
        list::FACES.of(Side::Right),
        list::FACE_FRICTION.of(Side::Right),
        list::FLUX.id(),
        list::VOLTS_PER_SPEED.id(),
        list::HARDWARE_CURRENT.id(),
        list::CLUTCH_MEMBER.id(),
        list::FREE_THREAD.of(Side::Left),
    ] {
        assert!(phoned.fact(id).is_none(), "{}", workbench::fact::describe(id).1);
    }
    assert!(phoned.fact(list::WHEELBASE.id()).is_some(), "the kind fills what nobody declared unknown");
}

const FAULTY: &str = r#"number = "0200"
name = "Three mistakes"

[bike]
weelbase = "1.20 m"

[axle.left]
nut_torque = "80 V, chosen"
bore = "6 mm, guessed"
"#;

/// Line of each error, counted by hand in the text above: what a reader's editor shows.
#[test]
fn three_mistakes_give_three_errors_in_their_lines() {
    let errors = read_job(FAULTY, &Shop::default()).unwrap_err();
    let text = render("faulty.toml", FAULTY, &errors);
    assert_eq!(errors.len(), 3, "{text}");
    let places: Vec<&str> = text.lines().filter_map(|l| l.trim().strip_prefix("--> ")).collect();
    assert_eq!(places, ["faulty.toml:5:1", "faulty.toml:8:14", "faulty.toml:9:8"], "{text}");
    assert!(text.contains("did you mean `bike.wheelbase`?"), "{text}");
    assert!(text.contains("measured, plate, sheet, chosen, assumed"), "{text}");
    assert!(text.ends_with("3 errors, nothing used\n"), "{text}");
}

#[test]
fn a_wrong_unit_names_units_that_fit() {
    let of = |value: &str| {
        let source = format!("number = \"1\"\nname = \"Wrong unit\"\n[axle.left]\nnut_torque = \"{value}\"\n");
        let errors = read_job(&source, &Shop::default()).unwrap_err();
        assert_eq!(errors.len(), 1);
        render("unit.toml", &source, &errors)
    };
    for wrong in ["80 V", "80 J", "80", "80 N·m ± 3 mm"] {
        let text = of(wrong);
        assert!(text.contains("N·m"), "{wrong}: {text}");
        assert!(text.contains("unit.toml:4:14"), "{wrong}: {text}");
    }
    for wrong in ["80 V", "80"] {
        assert!(of(wrong).contains("lbf·ft"), "a unit beside the fact's own: {}", of(wrong));
    }
}

#[test]
fn a_wrong_class_in_the_rack_is_refused_where_it_stands() {
    let source = "[[tool]]\nid = \"C9\"\nclass = \"0.03 mm\"\n\n[[tool]]\nid = \"C9\"\nclass = \"± 0.03 mm\"\n";
    let errors = read_rack(source).unwrap_err();
    let text = render("rack.toml", source, &errors);
    assert_eq!(errors.len(), 2, "{text}");
    assert!(text.contains("rack.toml:3:") && text.contains("two tools `C9`"), "{text}");
}

const HOUSE: &str = r#"without = ["wheel-out-often"]

[[rule]]
id = "no-steep-hills"
when = "bike.steepest_descent > 12 % and motor.drive = geared"
effect = "refuse"
says = "We do not lock geared hubs for hills above 12 %."

[[rule]]
id = "under-nut"
when = "bike.hitch_or_stand_under_nut = yes"
effect = "refuse"
says = "Nothing of ours goes under an axle nut."
"#;

fn steep(hitch: &str) -> String {
    format!(
        "number = \"1\"\nname = \"Steep\"\nkind = \"hill\"\n[bike]\nsteepest_descent = \"15 %\"\n\
         hitch_or_stand_under_nut = \"{hitch}\"\nwheel_taken_out_often = \"yes\"\n"
    )
}

#[test]
fn a_shops_own_rules_add_replace_and_leave_out() {
    let shop = Shop { rules: read_rules(HOUSE).unwrap(), ..Shop::default() };
    let hits = |job: &Job| {
        let (refused, warned) = workbench::rules::hits(job);
        let names = |list: &[std::sync::Arc<workbench::rules::HouseRule>]| {
            list.iter().map(|r| r.id.clone()).collect::<Vec<_>>()
        };
        (names(&refused), names(&warned))
    };
    let own = read_job(&steep("yes"), &shop).unwrap();
    assert_eq!(hits(&own), (vec!["no-steep-hills".to_owned(), "under-nut".to_owned()], vec![]));
    assert_eq!(own.rules_without, ["wheel-out-often"]);
    let built_in = read_job(&steep("yes"), &Shop::default()).unwrap();
    assert_eq!(hits(&built_in), (vec![], vec!["under-nut".to_owned(), "wheel-out-often".to_owned()]));
}

#[test]
fn faulty_house_rules_are_refused_all_at_once() {
    let source = "without = [\"no-such\"]\n[[rule]]\nid = \"a\"\nwhen = \"axle.*.dropout_material = carbn\"\n\
                  effect = \"refuse\"\nsays = \"No.\"\n[[rule]]\nid = \"b\"\nwhen = \"axle.*.bore > 3 V\"\n\
                  effect = \"forbid\"\nsays = \"No.\"\n[[rule]]\nid = \"c\"\nwhen = \"axle.*.bore > 3 V\"\n\
                  effect = \"caution\"\nsays = \"No.\"\n[[rule]]\nid = \"d\"\n";
    let text = render("rules.toml", source, &read_rules(source).unwrap_err());
    for (line, word) in [(1, "no-such"), (4, "carbn"), (10, "forbid"), (14, "3 V"), (17, "needs")] {
        assert!(text.contains(&format!("rules.toml:{line}:")) && text.contains(word), "{word}: {text}");
    }
}
