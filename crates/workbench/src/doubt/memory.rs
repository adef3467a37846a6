//! What was read off the draws of one job and holds for the next: a link whose facts did not change is not drawn again.
//!
//! A link comes out the same to the bit if every fact that it read in any draw has the same value, the same doubt and
//! the same coordinate. So one changed fact costs only the links that read it.

use super::spread::{Axle, FAILING_KEPT, Filled, Run};
use super::{Draws, Kept, Line};
use crate::fact::{FactId, FactSet, MOST_ARMS};
use crate::job::Job;
use crate::link::Link;
use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};

/// What a verdict needs to know of one link.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The draw that stands at the confidence step: so many are fuller, and no more.
    pub at: Option<Kept>,
    /// How full in 2.5 %, half and 97.5 % of the draws.
    pub low_mid_high: [f64; 3],
    /// Draws in which it fails.
    pub failed: usize,
    failing: Vec<u64>,
}

/// What a verdict needs to know of all links.
#[derive(Clone, Debug)]
pub struct Readings {
    /// One for each link, in their order.
    pub links: Vec<Arc<Reading>>,
    /// The axle.
    pub axle: Axle,
    /// Draws in which any link fails.
    pub failed: usize,
}

/// Readings kept for each link, and for the axle; the oldest goes first.
const KEPT: usize = 64;

/// What a reading depends on beside its facts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Terms {
    count: usize,
    arms: usize,
    one_in: u64,
}

/// How one fact is drawn; not at all, if nobody knows it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Drawn {
    Unknown,
    Exact(u64),
    Along(Line),
}

#[derive(Debug)]
struct Remembered<V> {
    reads: FactSet,
    facts: Vec<Drawn>,
    value: V,
}

type Shelf<K, V> = Mutex<HashMap<(Terms, K), VecDeque<Remembered<V>>>>;

/// Readings of earlier jobs.
#[derive(Debug, Default)]
pub struct Memory {
    links: Shelf<Link, Arc<Reading>>,
    axles: Shelf<(), Axle>,
}

impl Memory {
    /// Reads the axle and some links off `count` draws, those that are not remembered. `went` hears how many draws are done.
    pub fn read(&self, job: &Job, links: &[Link], count: usize, went: &(dyn Fn(usize) + Sync)) -> Readings {
        let draws = Draws::new(job);
        let terms = Terms { count, arms: job.arms, one_in: job.one_in.to_bits() };
        // What is remembered must say in which draws it fails.
        let remembers = count <= FAILING_KEPT && job.arms <= MOST_ARMS;
        let drawn: Vec<Drawn> = if remembers { drawn(job, &draws) } else { Vec::new() };
        let known: Vec<Option<Arc<Reading>>> =
            links.iter().map(|l| remembers.then(|| recall(&self.links, (terms, *l), &drawn)).flatten()).collect();
        let axle = remembers.then(|| recall(&self.axles, (terms, ()), &drawn)).flatten();
        let new: Vec<Link> = links.iter().zip(&known).filter(|(_, k)| k.is_none()).map(|(l, _)| *l).collect();
        let beside: Vec<&[u64]> = known.iter().flatten().map(|r| r.failing.as_slice()).collect();
        let (found, failed) = if new.is_empty() && axle.is_some() {
            (None, any(&beside))
        } else {
            let run = Run { axle: axle.is_none(), beside: &beside, ..Run::of(job, &draws, &new) };
            let spread = run.over(count, went);
            let failed = spread.failed;
            (Some(spread), failed)
        };
        let (mut fresh, found_axle) = found.map_or((Vec::new().into_iter(), None), |s| (s.links.into_iter(), s.axle));
        let axle = axle.or(found_axle).expect("the axle is remembered or was just read");
        if remembers && found_axle.is_some() {
            keep(&self.axles, (terms, ()), &drawn, axle.reads, axle);
        }
        let links = links.iter().zip(known).map(|(link, known)| {
            known.unwrap_or_else(|| {
                let filled = fresh.next().expect("each link that was not remembered was read");
                let reads = filled.reads;
                let reading = Arc::new(reading(filled, job.one_in));
                if remembers {
                    keep(&self.links, (terms, *link), &drawn, reads, reading.clone());
                }
                reading
            })
        });
        Readings { links: links.collect(), axle, failed }
    }
}

fn any(beside: &[&[u64]]) -> usize {
    let words = beside.iter().map(|b| b.len()).max().unwrap_or(0);
    (0..words).map(|w| beside.iter().fold(0, |all, bits| all | bits[w]).count_ones() as usize).sum()
}

fn reading(filled: Filled, one_in: f64) -> Reading {
    let sketch = &filled.sketch;
    let beyond = super::beyond(sketch.total(), one_in);
    Reading {
        at: sketch.with_beyond(beyond),
        low_mid_high: [0.025, 0.5, 0.975].map(|share| sketch.quantile(share).map_or(f64::NAN, |k| k.full)),
        failed: sketch.failed(),
        failing: filled.failing,
    }
}

/// How each fact of a job is drawn, by its place.
fn drawn(job: &Job, draws: &Draws) -> Vec<Drawn> {
    let mut out: Vec<Drawn> =
        job.facts.iter().map(|f| f.as_ref().map_or(Drawn::Unknown, |f| Drawn::Exact(f.value.to_bits()))).collect();
    for line in &draws.lines {
        out[line.fact] = Drawn::Along(*line);
    }
    out
}

fn at(reads: &FactSet, drawn: &[Drawn]) -> impl Iterator<Item = Drawn> {
    reads.iter().map(|id: FactId| drawn.get(id.index()).copied().unwrap_or(Drawn::Unknown))
}

fn recall<K: Eq + std::hash::Hash, V: Clone>(shelf: &Shelf<K, V>, key: (Terms, K), drawn: &[Drawn]) -> Option<V> {
    let shelf = shelf.lock().unwrap_or_else(PoisonError::into_inner);
    // The newest first: most often one fact of the same job has changed.
    let found = shelf.get(&key)?.iter().rev().find(|r| at(&r.reads, drawn).eq(r.facts.iter().copied()))?;
    Some(found.value.clone())
}

fn keep<K: Eq + std::hash::Hash, V>(shelf: &Shelf<K, V>, key: (Terms, K), drawn: &[Drawn], reads: FactSet, value: V) {
    let facts = at(&reads, drawn).collect();
    let mut shelf = shelf.lock().unwrap_or_else(PoisonError::into_inner);
    let kept = shelf.entry(key).or_default();
    if kept.len() == KEPT {
        kept.pop_front();
    }
    kept.push_back(Remembered { reads, facts, value });
}
