//! All draws of a job with its settings turned: how full each link is at the confidence step.
//!
//! A link's reading at the step is decided by the few draws that fill it most, and turning a setting keeps their order
//! nearly as it is. So the search looks at these draws only ([`Field::look`]) and [`Field::measure`] reads all of them
//! again, adding what it missed, until both agree.

use crate::check;
use crate::doubt::{self, Draws};
use crate::fact::FactId;
use crate::job::Job;
use crate::link::{self, Link, Off, Path, Working, World};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Settings by fact, in SI.
pub type Dials = Vec<(FactId, f64)>;

/// Draws of a tail kept for each one that lies beyond the step.
const KEPT: usize = 6;
const CHUNK: usize = 256;
/// The value of a dial.
pub fn value(dials: &Dials, id: FactId) -> Option<f64> {
    dials.iter().find(|(f, _)| *f == id).map(|(_, v)| *v)
}

/// The dials with one of them turned.
#[must_use]
pub fn turned(dials: &Dials, id: FactId, to: f64) -> Dials {
    let mut out = dials.clone();
    match out.iter_mut().find(|(f, _)| *f == id) {
        Some(d) => d.1 = to,
        None => out.push((id, to)),
    }
    out
}

/// Room that a link leaves: full up to this share it holds.
pub fn room(l: Link) -> f64 {
    if l.kind.path() == Path::Fault { check::FAULT_HOLDS_UP_TO } else { check::HOLDS_UP_TO }
}

/// A link that is judged, with the draws that fill it most.
struct Watched {
    link: Link,
    uses: Vec<FactId>,
    tail: Vec<usize>,
}

/// The draws of one job.
pub struct Field<'a> {
    job: &'a Job,
    draws: Draws,
    count: usize,
    beyond: usize,
    middle: Vec<f64>,
    watched: Vec<Watched>,
    /// Values of all facts in the draws that any tail has.
    kept: Vec<Vec<f64>>,
    places: BTreeMap<u32, usize>,
}

impl<'a> Field<'a> {
    /// A field of `count` draws. Links that miss a fact, or that this bike has not, are left out.
    pub fn new(job: &'a Job, count: usize, seed: u64, dials: &Dials) -> Self {
        let mut middle = job.middle();
        for (id, v) in dials {
            middle[id.index()] = *v;
        }
        let watched = link::plan(job)
            .into_iter()
            .filter_map(|link| {
                let tape = Working::default();
                link::load(&World::new(&middle, job.arms, &tape), link).ok()?;
                Some(Watched { link, uses: tape.facts(), tail: Vec::new() })
            })
            .collect();
        Self {
            job,
            draws: Draws::seeded(job, seed),
            count,
            beyond: doubt::beyond(count, job.one_in),
            middle: job.middle(),
            watched,
            kept: Vec::new(),
            places: BTreeMap::new(),
        }
    }

    /// The links judged.
    pub fn links(&self) -> Vec<Link> {
        self.watched.iter().map(|w| w.link).collect()
    }
    /// The job.
    pub const fn job(&self) -> &Job {
        self.job
    }

    /// The links that a setting changes.
    pub fn depending(&self, on: &[FactId]) -> Vec<usize> {
        (0..self.watched.len()).filter(|i| on.iter().any(|f| self.watched[*i].uses.contains(f))).collect()
    }

    /// Where the links of these kinds stand.
    pub fn find(&self, wanted: impl Fn(Link) -> bool) -> Vec<usize> {
        (0..self.watched.len()).filter(|i| wanted(self.watched[*i].link)).collect()
    }

    /// A torque is drawn about its own middle: the wrench is off by the same share whatever it is set to.
    fn turn(&self, values: &mut [f64], dials: &Dials) {
        for (id, v) in dials {
            let middle = self.middle[id.index()];
            let drawn = values[id.index()];
            let share = if drawn.is_finite() && middle != 0.0 { drawn / middle } else { 1.0 };
            values[id.index()] = v * share;
        }
    }

    /// Hands the draws of one chunk to `each`, with their numbers and the settings turned.
    fn turned(&self, chunk: usize, dials: &Dials, mut each: impl FnMut(usize, &[f64])) {
        let first = chunk * CHUNK;
        let mut values = self.middle.clone();
        self.draws.each(first, CHUNK.min(self.count - first), &mut values, |k, values| {
            self.turn(values, dials);
            each(first + k, values);
            // A dial that is no uncertain fact is not written over by the next draw.
            for (id, _) in dials {
                values[id.index()] = self.middle[id.index()];
            }
        });
    }

    /// Reads all draws: how full each link is at the step. The fullest draws join the tails.
    pub fn measure(&mut self, dials: &Dials) -> Vec<f64> {
        let keep = KEPT * (self.beyond + 1) + 16;
        let links = self.watched.len();
        let fullest: Vec<Vec<(f64, u32)>> = (0..self.count.div_ceil(CHUNK))
            .into_par_iter()
            .fold(
                || vec![Vec::new(); links],
                |mut top: Vec<Vec<(f64, u32)>>, c| {
                    self.turned(c, dials, |k, values| {
                        let world = World::new(values, self.job.arms, &Off);
                        for (w, top) in self.watched.iter().zip(&mut top) {
                            top.push((full(&world, w.link), k as u32));
                        }
                    });
                    top.iter_mut().for_each(|t| fullest(t, keep));
                    top
                },
            )
            .reduce(
                || vec![Vec::new(); links],
                |a, b| {
                    a.into_iter()
                        .zip(b)
                        .map(|(mut a, b)| {
                            a.extend(b);
                            fullest(&mut a, keep);
                            a
                        })
                        .collect()
                },
            );
        let mut out = Vec::with_capacity(links);
        for (i, mut top) in fullest.into_iter().enumerate() {
            top.sort_by(order);
            out.push(top.get(self.beyond).map_or(0.0, |t| t.0));
            for (_, draw) in &top {
                let place = self.keep(*draw);
                if !self.watched[i].tail.contains(&place) {
                    self.watched[i].tail.push(place);
                }
            }
        }
        out
    }

    fn keep(&mut self, draw: u32) -> usize {
        if let Some(place) = self.places.get(&draw) {
            return *place;
        }
        let mut values = self.middle.clone();
        self.draws.draw(&self.draws.point(draw as usize), &mut values);
        self.kept.push(values);
        self.places.insert(draw, self.kept.len() - 1);
        self.kept.len() - 1
    }

    /// How full one link is at the step, by its tail only.
    pub fn look(&self, i: usize, dials: &Dials) -> f64 {
        let w = &self.watched[i];
        let mut values = Vec::with_capacity(self.middle.len());
        let mut full: Vec<f64> = w
            .tail
            .iter()
            .map(|k| {
                values.clear();
                values.extend_from_slice(&self.kept[*k]);
                self.turn(&mut values, dials);
                full(&World::new(&values, self.job.arms, &Off), w.link)
            })
            .collect();
        if full.len() <= self.beyond {
            return f64::INFINITY;
        }
        let (_, at, _) = full.select_nth_unstable_by(self.beyond, |a, b| b.total_cmp(a));
        *at
    }

    /// The fullest of some links relative to its room, and which it is.
    pub fn worst(&self, links: &[usize], dials: &Dials) -> (f64, Option<usize>) {
        let shares: Vec<f64> = links.par_iter().map(|i| self.look(*i, dials) / room(self.watched[*i].link)).collect();
        let mut out = (0.0, None);
        for (share, i) in shares.into_iter().zip(links) {
            if share > out.0 {
                out = (share, Some(*i));
            }
        }
        out
    }

    /// A number read off each draw, at the low or high confidence step; from all draws. Draws without one are left out.
    pub fn number(&self, dials: &Dials, high: bool, read: impl Fn(&World<'_>) -> Option<f64> + Sync) -> Option<f64> {
        let mut all: Vec<f64> = (0..self.count.div_ceil(CHUNK))
            .into_par_iter()
            .flat_map_iter(|c| {
                let mut found = Vec::with_capacity(CHUNK);
                self.turned(c, dials, |_, values| found.extend(read(&World::new(values, self.job.arms, &Off))));
                found
            })
            .collect();
        if all.is_empty() {
            return None;
        }
        let at = self.beyond.min(all.len() - 1);
        let (_, x, _) = all.select_nth_unstable_by(at, |a, b| if high { b.total_cmp(a) } else { a.total_cmp(b) });
        Some(*x)
    }
}

/// How full a link is in one draw; one whose parts cannot be used at all does not hold.
fn full(w: &World<'_>, link: Link) -> f64 {
    link::load(w, link).map_or(f64::INFINITY, |l| l.full)
}

fn order(a: &(f64, u32), b: &(f64, u32)) -> core::cmp::Ordering {
    b.0.total_cmp(&a.0).then(a.1.cmp(&b.1))
}

/// Keeps the fullest.
fn fullest(all: &mut Vec<(f64, u32)>, keep: usize) {
    if all.len() > keep {
        all.select_nth_unstable_by(keep, order);
        all.truncate(keep);
    }
}
