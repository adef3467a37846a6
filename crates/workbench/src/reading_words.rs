//! What is wrong with a reading, in words.

use crate::words::{fill, text};
use quantity::text::{Problem, TextError};
use quantity::units::{System, Unit, fits, preferred_unit};

/// A lower-case fragment: "`80 N` is a force; expected a torque, for example in N·m or lbf·ft".
pub fn say(error: &TextError) -> String {
    let place = error.text.trim();
    let say = |key: &str, values: &[(&str, &str)]| {
        let values: Vec<(&str, &str)> = values.iter().copied().chain([("text", place)]).collect();
        fill(&format!("reading.{key}"), &values)
    };
    let plain = |key| say(key, &[]);
    match &error.problem {
        Problem::Empty => plain("empty"),
        Problem::NotANumber if place.is_empty() => plain("no-number"),
        Problem::NotANumber => plain("not-a-number"),
        Problem::NotFinite => plain("not-finite"),
        Problem::AmbiguousComma => plain("comma"),
        Problem::AmbiguousPoint => plain("point"),
        Problem::BadGrouping => plain("grouping"),
        Problem::UnknownUnit { nearest: None } => plain("unknown-unit"),
        Problem::UnknownUnit { nearest: Some(unit) } => {
            say("unknown-unit-near", &[("unit", unit.symbol), ("kind", unit.kind())])
        }
        Problem::MissingUnit { expected } => say("missing-unit", &[("expected", &wanted(expected))]),
        Problem::WrongKind { found, expected } => {
            say("wrong-kind", &[("found", &a_kind(found)), ("expected", &wanted(expected))])
        }
        Problem::UnitsDiffer { first, second } if first.kind() == second.kind() => {
            say("units-do-not-fit", &[("first", first.symbol), ("second", second.symbol)])
        }
        Problem::UnitsDiffer { first, second } => {
            say("units-differ", &[("first", &a_kind(first)), ("second", &a_kind(second))])
        }
        Problem::ReversedRange => plain("reversed"),
        Problem::ValueOutsideRange => plain("outside-range"),
        Problem::NegativeSpread => plain("negative-spread"),
        Problem::PercentOfPercent => plain("percent-of-percent"),
        Problem::PercentOfTemperature => plain("percent-of-temperature"),
        Problem::HyphenRange => plain("hyphen"),
        Problem::OpenParen => plain("open-parenthesis"),
        Problem::NotARange => plain("not-a-range"),
        Problem::Trailing => plain("trailing"),
    }
}

fn a_kind(unit: &Unit) -> String {
    kind(unit.kind())
}

/// "a torque": the kind of a unit with its article.
fn kind(name: &str) -> String {
    text(&format!("unit-kind.{}", name.replace(' ', "-")))
}

fn wanted(kinds: &[&'static str]) -> String {
    if kinds.is_empty() {
        return text("reading.another-dimension");
    }
    let each: Vec<String> = kinds.iter().map(|name| with_units(name)).collect();
    each.join(&text("reading.or"))
}

fn with_units(name: &str) -> String {
    let kind = kind(name);
    if name == "pure number" {
        return fill("reading.pure-number", &[("kind", &kind)]);
    }
    let metric = preferred_unit(name, System::Metric).map(|unit| unit.symbol);
    let imperial = preferred_unit(name, System::Imperial).map(|unit| unit.symbol);
    let second = fits(name).into_iter().find(|symbol| Some(*symbol) != metric);
    match (metric, imperial.filter(|symbol| Some(*symbol) != metric).or(second)) {
        (Some(first), Some(second)) => {
            fill("reading.in-two-units", &[("kind", &kind), ("first", first), ("second", second)])
        }
        (Some(first), None) => fill("reading.in-one-unit", &[("kind", &kind), ("first", first)]),
        _ => kind,
    }
}
