//! Single sums against values worked elsewhere, their errors, and their words.

use core::f64::consts::PI;
use proptest::prelude::*;
use quantity::text::Decimal;
use std::collections::BTreeSet;
use workbench::sum::{Failure, InputProblem, Need, SUMS, SumError, find, reference};
use workbench::words;

fn answer(name: &str, inputs: &[(&str, &str)]) -> serde_json::Value {
    match find(name).unwrap().answer(inputs, Decimal::Point) {
        Ok(answer) => answer.to_json(),
        Err(failure) => panic!("{name} {inputs:?}: {failure}"),
    }
}

fn value(answer: &serde_json::Value, key: &str) -> f64 {
    answer[key].as_f64().unwrap_or_else(|| panic!("{key} in {answer}"))
}

#[track_caller]
fn near(answer: &serde_json::Value, key: &str, wanted: f64, relative: f64) {
    let got = value(answer, key);
    assert!((got - wanted).abs() <= relative * wanted.abs(), "{key}: {got}, wanted {wanted}");
}

fn with<'a>(base: &[(&'a str, &'a str)], changes: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = base.iter().filter(|(key, _)| changes.iter().all(|(changed, _)| changed != key));
    kept.chain(changes.iter().filter(|(_, value)| !value.is_empty())).copied().collect()
}

/// HUB5 of the design: a made-up machine whose values were simulated apart from these formulas.
const HUB5: &[(&str, &str)] = &[
    ("reduction", "5"),
    ("pole-pairs", "8"),
    ("flux-linkage", "0.0276 Wb"),
    ("resistance", "0.045 Ω"),
    ("inductance", "0.10 mH"),
];

mod errors;
mod fasteners;
mod machines;
mod registry;
mod roads;
