//! Nothing that a person reads may show a bare key: every registry of the workbench has its words.

use std::collections::{BTreeMap, BTreeSet};
use workbench::check::{self, State, Verdict};
use workbench::fact::{Distribution, FactDef, FactId, Origin, Shape, Side, list};
use workbench::job::Job;
use workbench::link::{self, Gap, KINDS, Path, Working, World};
use workbench::{advice, conflict, kinds, reading_words, words};

/// The longest word that fits on a plate of the picture.
const PLATE_LETTERS: usize = 14;

const FILES: &[(&str, &str)] = &[
    ("app", include_str!("../words/en/app.toml")),
    ("book", include_str!("../words/en/book.toml")),
    ("cards", include_str!("../words/en/cards.toml")),
    ("facts", include_str!("../words/en/facts.toml")),
    ("input", include_str!("../words/en/input.toml")),
    ("links", include_str!("../words/en/links.toml")),
    ("page", include_str!("../words/en/page.toml")),
    ("ride", include_str!("../words/en/ride.toml")),
    ("rules", include_str!("../words/en/rules.toml")),
    ("settings", include_str!("../words/en/settings.toml")),
    ("sums", include_str!("../words/en/sums.toml")),
    ("tracks", include_str!("../words/en/tracks.toml")),
];
const LINK_CODE: &[&str] = &[
    include_str!("../src/link/axle.rs"),
    include_str!("../src/link/drive.rs"),
    include_str!("../src/link/energy.rs"),
    include_str!("../src/link/world/mod.rs"),
    include_str!("../src/link/world/arms.rs"),
    include_str!("../src/link/world/axle.rs"),
    include_str!("../src/link/world/supply.rs"),
];
const FIX_CODE: &str = include_str!("../src/advice/fix.rs");
const CONFLICT_CODE: &str = include_str!("../src/conflict.rs");

/// Keys without words, or with empty ones.
fn missing(wanted: impl IntoIterator<Item = String>) -> Vec<String> {
    wanted.into_iter().filter(|key| words::find(key).is_none_or(|text| text.trim().is_empty())).collect()
}

#[track_caller]
fn all_there(wanted: impl IntoIterator<Item = String>) {
    let gone = missing(wanted);
    assert!(gone.is_empty(), "no words for {gone:#?}");
}

/// Keys of the table below `prefix.` up to the next dot.
fn written(prefix: &str) -> BTreeSet<&'static str> {
    words::keys()
        .filter_map(|key| key.strip_prefix(prefix)?.strip_prefix('.'))
        .map(|rest| rest.split('.').next().unwrap_or(rest))
        .collect()
}

/// The text literals of a piece of code. No literal of these files holds an escaped quote.
fn literals(code: &str) -> BTreeSet<&str> {
    code.split('"').skip(1).step_by(2).collect()
}

/// The literals that follow an opening such as `Cannot(`, line breaks between them or not.
fn literals_after<'a>(code: &'a str, opening: &str) -> BTreeSet<&'a str> {
    code.split(opening).skip(1).filter_map(|rest| rest.trim_start().strip_prefix('"')?.split('"').next()).collect()
}

/// Fact tables with the place of their words.
fn facts() -> impl Iterator<Item = (String, &'static FactDef)> {
    let commons = list::COMMON.iter().map(|d| (format!("fact.{}", d.id), d));
    let sides = list::SIDE.iter().map(|d| (format!("fact.axle.side.{}", d.id), d));
    commons.chain(sides).chain(list::ARM.iter().map(|d| (format!("fact.arm.{}", d.id), d)))
}

/// A job of that kind with a pinching and a slotted arm, nothing left unknown.
fn complete(kind: &str) -> Job {
    let mut job = Job::new("1", "test", 2);
    job.kind = Some(kind.to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 13.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::ARM_KIND.of(0), 1.0),
        (list::ARM_KIND.of(1), 0.0),
        (list::ARM_SIDE.of(1), 1.0),
    ] {
        choose(&mut job, id, value);
    }
    kinds::fill(&mut job, &[]);
    job
}

fn choose(job: &mut Job, id: FactId, value_si: f64) {
    job.choose(id, value_si, Distribution::Exact, "as tested");
}

#[test]
fn every_file_can_be_read_and_no_key_stands_twice() {
    let mut homes: BTreeMap<String, &str> = BTreeMap::new();
    for (name, text) in FILES {
        let table: toml::Table = text.parse().unwrap_or_else(|e| panic!("words/en/{name}.toml: {e}"));
        let mut open: Vec<(String, toml::Value)> = table.into_iter().collect();
        while let Some((key, value)) = open.pop() {
            match value {
                toml::Value::Table(inner) => open.extend(inner.into_iter().map(|(k, v)| (format!("{key}.{k}"), v))),
                toml::Value::String(s) => {
                    assert!(!s.trim().is_empty(), "{key} in {name}.toml is empty");
                    assert_eq!(words::find(&key), Some(s.as_str()), "{key} in {name}.toml is not what the table holds");
                    if let Some(other) = homes.insert(key.clone(), name) {
                        panic!("{key} stands in {other}.toml and in {name}.toml");
                    }
                }
                other => panic!("{key} in {name}.toml is {}, not a text", other.type_str()),
            }
        }
    }
}

#[test]
fn every_fact_has_name_and_question() {
    all_there(facts().flat_map(|(key, _)| [format!("{key}.name"), format!("{key}.ask")]));
    let known: BTreeSet<String> = facts().map(|(key, _)| key).collect();
    for key in words::keys().filter(|key| key.starts_with("fact.")) {
        let fact = key.rsplit_once('.').map_or(key, |(fact, _)| fact);
        assert!(known.contains(fact), "words of a fact that does not exist: {key}");
    }
}

#[test]
fn facts_can_be_told_apart_by_name() {
    let mut seen = BTreeMap::new();
    for (key, _) in facts() {
        if let Some(other) = seen.insert(words::text(&format!("{key}.name")), key.clone()) {
            panic!("{key} and {other} have the same name");
        }
    }
}

#[test]
fn every_answer_to_choose_has_words() {
    all_there(facts().flat_map(|(_, def)| match def.shape {
        Shape::Choice(tokens) => tokens.iter().map(|t| format!("token.{t}")).collect(),
        Shape::Quantity { .. } | Shape::Count { .. } => Vec::new(),
    }));
}

#[test]
fn every_link_has_name_plate_and_reason() {
    all_there(KINDS.iter().flat_map(|k| ["name", "plate", "why"].map(|part| format!("link.{}.{part}", k.id()))));
    let ids: BTreeSet<&str> = KINDS.iter().map(|k| k.id()).collect();
    assert_eq!(written("link"), ids, "words of links that do not exist");
    for id in ids {
        let plate = words::text(&format!("link.{id}.plate"));
        assert!(plate.chars().count() <= PLATE_LETTERS, "{id}: `{plate}` is longer than {PLATE_LETTERS} letters");
    }
}

#[test]
fn every_house_rule_and_measuring_card_has_words() {
    let rules: BTreeSet<&str> = evidence::rules::rows().iter().map(|r| r.id.as_str()).collect();
    assert_eq!(written("rule"), rules);
    let cards: BTreeSet<&str> = evidence::cards::rows().iter().map(|c| c.id.as_str()).collect();
    assert_eq!(written("card"), cards);
    all_there(rules.iter().map(|id| format!("rule.{id}")));
    all_there(cards.iter().flat_map(|id| [format!("card.{id}.title"), format!("card.{id}.how")]));
    for (key, def) in facts() {
        assert!(cards.contains(def.card), "{key} is settled by card `{}`, which does not exist", def.card);
    }
}

#[test]
fn every_result_state_way_origin_and_side_has_words() {
    let verdicts = [Verdict::Holds, Verdict::Marginal, Verdict::NotKnown, Verdict::Fails, Verdict::Refused];
    all_there(verdicts.map(|v| format!("verdict.{}.word", v.token())));
    all_there(State::ALL.map(|s| format!("state.{}", s.token())));
    all_there([Path::Reaction, Path::Drive, Path::Energy, Path::Fault].map(|p| format!("path.{}", p.token())));
    all_there(Origin::ALL.map(|o| format!("origin.{}", o.token())));
    all_there(Side::BOTH.map(|s| format!("side.{}", s.token())));
    all_there(["arm".to_owned()]);
    all_there(advice::CAUTIONS.map(|c| format!("caution.{c}")));
}

#[test]
fn every_step_and_impossible_joint_named_in_the_code_has_words() {
    let said: BTreeSet<&str> = LINK_CODE.iter().flat_map(|code| literals(code)).collect();
    let steps: BTreeSet<&str> = LINK_CODE.iter().flat_map(|code| literals_after(code, "Step::new(")).collect();
    let cannot: BTreeSet<&str> = LINK_CODE.iter().flat_map(|code| literals_after(code, "Gap::Cannot(")).collect();
    assert!(steps.len() > 15 && !cannot.is_empty(), "the search no longer finds the keys: {steps:?}, {cannot:?}");
    all_there(steps.iter().map(|key| format!("step.{key}")));
    all_there(cannot.iter().map(|key| format!("cannot.{key}")));
    for key in written("step").into_iter().chain(written("cannot")) {
        assert!(said.contains(key), "words of a step or joint that no link names: {key}");
    }
}

#[test]
fn every_step_that_a_link_writes_down_has_words() {
    let mut seen = BTreeSet::new();
    for kind in kinds::KINDS {
        let job = complete(kind);
        let values = job.middle();
        for l in link::plan(&job) {
            let tape = Working::default();
            let result = link::load(&World::new(&values, job.arms, &tape), l);
            seen.extend(tape.steps().iter().map(|s| format!("step.{}", s.key)));
            if let Err(Gap::Cannot(key)) = result {
                seen.insert(format!("cannot.{key}"));
            }
        }
    }
    // Keys that the code builds from a variable, which a search of the text does not see.
    for key in ["step.drive-peak", "step.brake-peak", "step.tooth-drive", "step.tooth-brake"] {
        assert!(seen.contains(key), "no link wrote down {key}; seen: {seen:?}");
    }
    all_there(seen);
}

#[test]
fn every_lever_and_every_stop_of_the_ceiling_has_words() {
    let levers = FIX_CODE.split("const LEVERS").nth(1).and_then(|rest| rest.split("];").next()).unwrap_or("");
    let levers = literals(levers);
    assert!(!levers.is_empty(), "the list of levers was not found");
    all_there(levers.iter().map(|key| format!("lever.{key}")));
    for kind in kinds::KINDS {
        let job = complete(kind);
        let advice = advice::advise(&job, &check::check(&job));
        assert!(!advice.ceiling.is_empty(), "{kind}: no ceiling");
        all_there(advice.ceiling.iter().map(|p| format!("link.{}.name", p.stopped_by)));
        all_there(advice.measure.iter().map(|m| format!("card.{}.title", m.card)));
        all_there(advice.tighten.iter().map(|t| format!("app.tighten-{}", t.key)));
        all_there(advice.fixes.iter().flat_map(|f| f.changes.iter().map(|c| format!("lever.{}", c.key))));
    }
}

#[test]
fn contradictions_are_told_in_full_sentences() {
    let mut job = complete("hill");
    // Against the kind's own assumption, and two written values against each other.
    choose(&mut job, list::LIGHTEST.id(), 399.0);
    choose(&mut job, list::FADE_GONE.id(), 5.0);
    choose(&mut job, list::FADE_FROM.id(), 2.0);
    choose(&mut job, list::FLUX.id(), 0.0215);
    choose(&mut job, list::VOLTS_PER_SPEED.id(), 5.0);
    choose(&mut job, list::TORQUE_POINT.id(), 300.0);
    choose(&mut job, list::TORQUE_POINT_CURRENT.id(), 40.0);
    choose(&mut job, list::DRIVE.id(), 1.0);
    choose(&mut job, list::HOLD_TEST.id(), 390.0);
    let found = conflict::find(&job);
    let told: BTreeSet<&str> = found.iter().map(|c| c.key).collect();
    assert_eq!(told, written("conflict"), "a contradiction without words, or words that nobody says");
    assert!(told.iter().all(|key| literals(CONFLICT_CODE).contains(key)));
    for c in &found {
        for text in [c.message(), c.hint()] {
            assert!(text.contains(' ') && !text.contains(['{', '}']), "{}: {text}", c.key);
        }
        for id in &c.facts {
            let name = workbench::fact::describe(*id).1;
            assert!(c.message().contains(&name), "{} does not name {name}", c.key);
        }
    }
}

#[test]
fn what_is_wrong_with_a_reading_is_said_with_units_that_fit() {
    use quantity::text::{Decimal, expect, parse};
    let torque = <quantity::Torque as quantity::Quantity>::DIMENSION;
    for (text, message) in [
        ("80 N", "`80 N` is a force; expected a torque, for example in N·m or lbf·ft"),
        ("80 J", "`80 J` is an energy; expected a torque, for example in N·m or lbf·ft"),
        ("80", "`80` has no unit; expected a torque, for example in N·m or lbf·ft"),
    ] {
        let error = expect(&parse(text, Decimal::Point).expect("a reading"), torque, &["torque"]).expect_err(text);
        assert_eq!(reading_words::say(&error), message);
    }
    for text in ["", "x", "nan", "1,5", "1.2.3", "1 2", "1 xx", "1 N ± 1 J", "2 to 1", "1 (2 to 3)", "1 ± -1", "5-7 N"]
    {
        let message = reading_words::say(&parse(text, Decimal::Point).expect_err(text));
        assert!(message.len() > 15 && message.starts_with(|c: char| c.is_lowercase() || c == '`'), "{message}");
        assert!(!message.contains('{') && !message.contains("reading."), "{message}");
    }
}

#[test]
fn every_kind_of_unit_has_its_article() {
    let kinds = quantity::units::units().iter().flat_map(|u| u.kinds);
    all_there(kinds.map(|k| format!("unit-kind.{}", k.replace(' ', "-"))));
}

/// Keys that the readers of files use must have words, and no words may be left over.
#[test]
fn every_error_of_a_file_has_words() {
    const CODE: &[&str] = &[
        include_str!("../../intake/src/as_fitted.rs"),
        include_str!("../../intake/src/bench.rs"),
        include_str!("../../intake/src/card.rs"),
        include_str!("../../intake/src/name_card.rs"),
        include_str!("../../intake/src/job.rs"),
        include_str!("../../intake/src/rack.rs"),
        include_str!("../../intake/src/rules.rs"),
        include_str!("../../intake/src/diagnostic.rs"),
        include_str!("../../intake/src/lib.rs"),
    ];
    let rules = include_str!("../src/rules.rs");
    let used: BTreeSet<&str> = CODE.iter().chain([&rules]).flat_map(|c| literals(c)).collect();
    for key in written("job-file") {
        let base = key.strip_suffix("-hint").unwrap_or(key);
        let whole = format!("job-file.{key}");
        assert!(used.contains(key) || used.contains(base) || used.contains(whole.as_str()), "nobody says {whole}");
    }
}
