//! House rules: what a workshop refuses or warns of, read against the facts of a job.

use crate::fact::{self, ArmKey, FactId, Shape, Side, list};
use crate::job::Job;
use evidence::rules::{Condition, Effect, Test};
use quantity::Ratio;
use quantity::text::{self, Decimal};

pub use evidence::rules::Rule;

/// The rules that refuse the job, and those that warn.
pub fn hits(job: &Job) -> (Vec<&'static Rule>, Vec<&'static Rule>) {
    let hit = |r: &&Rule| all(job, &r.when) && (r.unless.is_empty() || !all(job, &r.unless));
    evidence::rules::rows().iter().filter(hit).partition(|r| r.effect == Effect::Refuse)
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
    let shape = fact::describe(id).0.shape;
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
