//! What to measure next: the doubt of one link shared out among the measuring cards that would take it away.

use super::{Draws, indices};
use crate::fact::{self, FactId, Origin, Side, list};
use crate::job::Job;
use crate::link::{self, Link, Off, Working, World};

/// What a person can do about a doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Take the card.
    Measure,
    /// It is measured; only a finer tool would help.
    Measured,
    /// No bench tool tells.
    Cannot,
    /// The lever hold test stands in for all that holds the faces.
    HoldTest,
}

/// One card and its share of the doubt.
#[derive(Clone, Debug)]
pub struct Cause {
    /// Measuring card.
    pub card: &'static str,
    /// How long it takes.
    pub minutes: Option<f64>,
    /// Facts that it settles.
    pub facts: Vec<FactId>,
    /// What can be done.
    pub way: Way,
    /// Share of the variance that goes away with it alone.
    pub first: f64,
    /// Share that it has a part in.
    pub total: f64,
}

/// Above this, a link is as bad as can be: more says nothing about doubt.
const CLIPPED: f64 = 3.0;
/// Shares smaller than this are not told from nothing.
const LEAST: f64 = 0.005;
/// Card of what no bench tool tells.
const ASSUMED: &str = "assume";
/// Card of the lever hold test.
const HOLD_TEST: &str = "m12";

/// Causes of the doubt in a link, the largest first; from `count · (2 + cards)` draws. None if a fact is missing.
pub fn causes(job: &Job, link: Link, count: usize) -> Option<Vec<Cause>> {
    some_causes(job, link, count, &|_| true)
}

/// Those causes only that some cards settle.
pub fn some_causes(job: &Job, link: Link, count: usize, wanted: &dyn Fn(&str) -> bool) -> Option<Vec<Cause>> {
    let middle = job.middle();
    let tape = Working::default();
    link::load(&World::new(&middle, job.arms, &tape), link).ok()?;
    let used = tape.facts();
    let draws = Draws::new(job).only(&used.iter().copied().collect());
    let mut cards: Vec<(&'static str, Vec<FactId>, Vec<usize>)> = Vec::new();
    let mut taken: Vec<usize> = Vec::new();
    for (id, dimension) in draws.facts() {
        let def = fact::definition(id);
        let card = def.card;
        // What no tool tells stays apart: each kind of value for itself, both ends of the axle together.
        let same = |c: &(&'static str, Vec<FactId>, Vec<usize>)| {
            c.0 == card && (card != ASSUMED || fact::definition(c.1[0]).id == def.id)
        };
        let at = cards.iter().position(same).unwrap_or_else(|| {
            cards.push((card, Vec::new(), Vec::new()));
            cards.len() - 1
        });
        cards[at].1.push(id);
        // A draw shared by facts of several cards goes with the first of them.
        if !taken.contains(&dimension) {
            taken.push(dimension);
            cards[at].2.push(dimension);
        }
    }
    if used.contains(&list::HOLD_TEST.id()) && job.fact(list::HOLD_TEST.id()).is_none() {
        let holds = |id: &FactId| {
            Side::BOTH.iter().any(|s| {
                [
                    list::FACE_FRICTION.of(*s),
                    list::THREAD_FRICTION.of(*s),
                    list::NUT_FRICTION.of(*s),
                    list::SETTLING.of(*s),
                    list::NUT_TORQUE.of(*s),
                ]
                .contains(id)
            })
        };
        let (facts, dimensions): (Vec<FactId>, Vec<usize>) = draws.facts().filter(|(id, _)| holds(id)).unzip();
        if !facts.is_empty() {
            cards.push((HOLD_TEST, facts, dimensions));
        }
    }
    cards.retain(|c| wanted(c.0));
    let groups: Vec<Vec<usize>> = cards.iter().map(|c| c.2.clone()).collect();
    let found = indices::indices(draws.dimensions(), &groups, count, 0, |point| {
        let mut values = middle.clone();
        draws.draw(point, &mut values);
        link::load(&World::new(&values, job.arms, &Off), link).map_or(CLIPPED, |l| l.full.min(CLIPPED))
    });
    let mut out: Vec<Cause> = cards
        .into_iter()
        .zip(found.groups)
        .filter(|(_, i)| i.total > LEAST)
        .map(|((card, facts, _), i)| Cause {
            card,
            minutes: evidence::cards::find(card).and_then(evidence::cards::Card::minutes),
            way: way(job, card, &facts),
            facts,
            first: i.first.clamp(0.0, 1.0),
            total: i.total.min(1.0),
        })
        .collect();
    out.sort_by(|a, b| b.first.total_cmp(&a.first));
    Some(out)
}

fn way(job: &Job, card: &str, facts: &[FactId]) -> Way {
    if card == HOLD_TEST {
        return Way::HoldTest;
    }
    if card == ASSUMED {
        return Way::Cannot;
    }
    let guessed = |id: &FactId| job.fact(*id).is_some_and(|f| matches!(f.origin, Origin::Assumed | Origin::Sheet));
    if facts.iter().any(guessed) { Way::Measure } else { Way::Measured }
}
