//! House rules: what a workshop refuses or warns of, read against the facts of a job.

use crate::fact::{self, ArmKey, FactId, Shape, Side, list};
use crate::job::Job;
use crate::words;
use quantity::Ratio;
use quantity::text::{self, Decimal};
use std::sync::{Arc, OnceLock};

pub use evidence::rules::{Condition, Effect, Test, read_conditions};

/// One rule of a workshop.
#[derive(Clone, Debug, PartialEq)]
pub struct HouseRule {
    /// Its name.
    pub id: String,
    /// It is hit when all of these are met …
    pub when: Vec<Condition>,
    /// … unless all of these are met too; empty: no way out.
    pub unless: Vec<Condition>,
    /// What it does.
    pub effect: Effect,
    /// The sentence that the shop says.
    pub sentence: String,
}

/// The rules that hold unless a shop writes its own.
pub fn built_in() -> &'static [Arc<HouseRule>] {
    static RULES: OnceLock<Vec<Arc<HouseRule>>> = OnceLock::new();
    RULES.get_or_init(|| {
        let rule = |r: &evidence::rules::Rule| HouseRule {
            id: r.id.clone(),
            when: r.when.clone(),
            unless: r.unless.clone(),
            effect: r.effect,
            sentence: words::text(&format!("rule.{}", r.id)),
        };
        evidence::rules::rows().iter().map(|r| Arc::new(rule(r))).collect()
    })
}

/// The rules that refuse the job, and those that warn.
pub fn hits(job: &Job) -> (Vec<Arc<HouseRule>>, Vec<Arc<HouseRule>>) {
    let hit = |r: &&Arc<HouseRule>| all(job, &r.when) && (r.unless.is_empty() || !all(job, &r.unless));
    job.rules.iter().filter(hit).cloned().partition(|r| r.effect == Effect::Refuse)
}

/// Facts that nobody knows and on which a refusing rule still hangs: what is not known has not passed.
pub fn undecided(job: &Job) -> Vec<FactId> {
    let mut out = Vec::new();
    for r in job.rules.iter().filter(|r| r.effect == Effect::Refuse) {
        if !r.unless.is_empty() && all(job, &r.unless) {
            continue;
        }
        let unknown = |c: &Condition| -> Vec<FactId> {
            places(job, &c.fact).into_iter().filter(|f| job.fact(*f).is_none()).collect()
        };
        let met = |c: &Condition| places(job, &c.fact).into_iter().any(|f| met(job, f, &c.test));
        if r.when.iter().all(|c| met(c) || !unknown(c).is_empty()) && !all(job, &r.when) {
            for f in r.when.iter().filter(|c| !met(c)).flat_map(unknown) {
                if !out.contains(&f) {
                    out.push(f);
                }
            }
        }
    }
    out
}

/// Why a condition can never be met by any job, as key below `job-file.` and values for its words.
pub fn faulty(c: &Condition) -> Option<(&'static str, Vec<(&'static str, String)>)> {
    let name = c
        .fact
        .replace("axle.*.", "axle.left.")
        .replace("arm.*.", "arm.1.")
        .replace("arm.left.", "arm.1.")
        .replace("arm.right.", "arm.1.");
    let Some(id) = fact::find(&name, 1) else { return Some(("rule-fact", vec![("given", c.fact.clone())])) };
    let shape = fact::definition(id).shape;
    let quantity = |given: &str, unit: &str| {
        let wanted = quantity::units::find_unit(unit)?;
        let reading = text::parse(given, Decimal::Point).ok()?;
        reading.unit.matches(wanted).then_some(())
    };
    let wrong = |given: &str, allowed: String| {
        Some(("rule-answer", vec![("fact", c.fact.clone()), ("given", given.to_owned()), ("allowed", allowed)]))
    };
    match (&c.test, shape) {
        (Test::OneOf(answers), Shape::Choice(tokens)) => {
            answers.iter().find(|a| !tokens.contains(&a.as_str())).and_then(|a| wrong(a, tokens.join(", ")))
        }
        (Test::OneOf(answers), Shape::Count { low, high }) => {
            let counted = |a: &&String| a.parse::<f64>().is_ok_and(|n| (low..=high).contains(&n));
            answers.iter().find(|a| !counted(a)).and_then(|a| wrong(a, format!("{low} to {high}")))
        }
        (Test::OneOf(answers), Shape::Quantity { unit, .. }) => {
            answers.iter().find(|a| quantity(a, unit).is_none()).and_then(|a| wrong(a, unit.to_owned()))
        }
        (Test::Below(given) | Test::Above(given), Shape::Choice(tokens)) => wrong(given, tokens.join(", ")),
        (Test::Below(given) | Test::Above(given), Shape::Count { low, high }) => {
            if given.parse::<f64>().is_ok() {
                None
            } else {
                wrong(given, format!("{low} to {high}"))
            }
        }
        (Test::Below(given) | Test::Above(given), Shape::Quantity { unit, .. }) => {
            if quantity(given, unit).is_some() {
                None
            } else {
                wrong(given, unit.to_owned())
            }
        }
    }
}

fn all(job: &Job, conditions: &[Condition]) -> bool {
    conditions.iter().all(|c| places(job, &c.fact).into_iter().any(|f| met(job, f, &c.test)))
}

/// Every place that a rule's fact can mean.
fn places(job: &Job, name: &str) -> Vec<FactId> {
    let find = |n: &str| fact::find(n, job.arms);
    if let Some(rest) = name.strip_prefix("axle.*.") {
        return Side::BOTH.iter().filter_map(|s| find(&format!("axle.{}.{rest}", s.token()))).collect();
    }
    if let Some(rest) = name.strip_prefix("arm.*.") {
        return (1..=job.arms).filter_map(|i| find(&format!("arm.{i}.{rest}"))).collect();
    }
    let side: ArmKey<Ratio> = list::ARM_SIDE;
    for s in Side::BOTH {
        if let Some(rest) = name.strip_prefix(&format!("arm.{}.", s.token())) {
            let on_side = |i: &usize| job.answer(side.of(*i)) == Some(s.token());
            return (0..job.arms).filter(on_side).filter_map(|i| find(&format!("arm.{}.{rest}", i + 1))).collect();
        }
    }
    find(name).into_iter().collect()
}

fn met(job: &Job, id: FactId, test: &Test) -> bool {
    let Some(f) = job.fact(id) else { return false };
    let shape = fact::definition(id).shape;
    let number = |text: &str| text::parse(text, Decimal::Point).ok().map(|r| r.value_si);
    match test {
        Test::OneOf(answers) => answers.iter().any(|a| match shape {
            Shape::Choice(tokens) => tokens.get(f.value as usize) == Some(&a.as_str()),
            _ => number(a) == Some(f.value),
        }),
        Test::Below(limit) => number(limit).is_some_and(|l| f.value < l),
        Test::Above(limit) => number(limit).is_some_and(|l| f.value > l),
    }
}
