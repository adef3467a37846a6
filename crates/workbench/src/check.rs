//! The verdict: every link read at the shop's confidence step, the axle's state, what is missing, what is refused.
//!
//! A number is read where the chance says so, not where every worst value meets every other. The stacked worst is
//! worked out too, as background.

use crate::doubt::memory::{Memory, Reading};
use crate::doubt::{self, Draws};
use crate::fact::{self, Distribution, FactId, Origin, Side, list};
use crate::job::Job;
use crate::link::{self, AxleState, Gap, Kind, Link, Load, Off, Path, Working, World};
use crate::rules::{self, HouseRule};
use std::sync::Arc;

/// A link holds up to this share of what it can take; above it, it only just holds (WORKSHOP 3.5).
pub const HOLDS_UP_TO: f64 = 0.90;
/// A single fault leaves less room: it holds up to this share (PHYSICS-DETAIL §8).
pub const FAULT_HOLDS_UP_TO: f64 = 0.80;

/// Result of a link or of a job, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Holds.
    Holds,
    /// Just holds.
    Marginal,
    /// A fact is missing.
    NotKnown,
    /// Does not hold.
    Fails,
    /// A house rule says no.
    Refused,
}

impl Verdict {
    /// Token of JSON and of the table of words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Marginal => "marginal",
            Self::NotKnown => "not-known",
            Self::Fails => "fails",
            Self::Refused => "refused",
        }
    }
}

/// What the axle does, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// No face ever slips.
    Still,
    /// Faces slip a little at every reversal.
    Working,
    /// Turned through its play once.
    Seated,
    /// Slips through its play at every reversal.
    Rocking,
    /// No stop at all.
    Spins,
}

impl State {
    /// All, best first.
    pub const ALL: [Self; 5] = [Self::Still, Self::Working, Self::Seated, Self::Rocking, Self::Spins];
    /// Token of JSON and of the table of words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Still => "still",
            Self::Working => "working",
            Self::Seated => "seated",
            Self::Rocking => "rocking",
            Self::Spins => "spins",
        }
    }
}

impl From<AxleState> for State {
    fn from(s: AxleState) -> Self {
        match s {
            AxleState::Still => Self::Still,
            AxleState::Working { .. } => Self::Working,
            AxleState::Seated { .. } => Self::Seated,
            AxleState::Rocking => Self::Rocking,
            AxleState::Spins => Self::Spins,
        }
    }
}

/// One link, judged.
#[derive(Clone, Debug)]
pub struct LinkResult {
    /// Which.
    pub link: Link,
    /// Result.
    pub verdict: Verdict,
    /// Numbers of the draw that stands at the confidence step; none when a fact is missing.
    pub load: Option<Load>,
    /// Numbers with every fact at its middle.
    pub middle: Option<Load>,
    /// How full with every fact at its worst end, each alone judged for its direction.
    pub stacked: Option<f64>,
    /// How full in 2.5 %, half and 97.5 % of the draws.
    pub low_mid_high: Option<[f64; 3]>,
    /// Share of draws in which it fails.
    pub chance: f64,
    /// One-sided 95 % upper bound of that chance.
    pub chance_at_most: f64,
    /// Facts that are missing.
    pub missing: Vec<FactId>,
    /// Why there is no number, where it is not a missing fact.
    pub gap: Option<Gap>,
    /// Whether most of the facts that it uses are assumed.
    pub mostly_assumed: bool,
    /// Uncertain facts that it uses with the change of "how full" from one end of their doubt to the other.
    pub swings: Vec<(FactId, f64)>,
}

/// A job, judged.
#[derive(Clone, Debug)]
pub struct Check {
    /// Result of the whole.
    pub verdict: Verdict,
    /// House rules that say no.
    pub refused: Vec<Arc<HouseRule>>,
    /// Facts that nobody knows and on which a refusing rule hangs.
    pub undecided: Vec<FactId>,
    /// House rules that warn.
    pub cautions: Vec<Arc<HouseRule>>,
    /// The axle's state at the confidence step; none when a fact is missing.
    pub state: Option<State>,
    /// Share of draws in each state, in the order of [`State::ALL`].
    pub state_shares: [f64; 5],
    /// Play of the axle from stop to stop in degrees, with every fact at its middle.
    pub rocks_degrees: Option<f64>,
    /// All links, in the order of the picture.
    pub links: Vec<LinkResult>,
    /// One bike in how many.
    pub one_in: f64,
    /// Share of draws in which any link fails, of those that can be worked out.
    pub chance: f64,
    /// One-sided 95 % upper bound of that chance.
    pub chance_at_most: f64,
    /// Draws made.
    pub draws: usize,
}

impl Check {
    /// The links that decide, worst first; among equals the fullest first.
    pub fn worst_first(&self) -> Vec<&LinkResult> {
        let mut all: Vec<&LinkResult> = self.links.iter().collect();
        all.sort_by(|a, b| {
            let full = |r: &LinkResult| r.load.map_or(0.0, |l| l.full);
            b.verdict.cmp(&a.verdict).then(full(b).total_cmp(&full(a)))
        });
        all
    }
    /// All facts missing for any link, each once.
    pub fn missing(&self) -> Vec<FactId> {
        let mut out = Vec::new();
        for f in self.links.iter().flat_map(|l| &l.missing).chain(&self.undecided) {
            if !out.contains(f) {
                out.push(*f);
            }
        }
        out
    }
}

/// Draws needed so that 16 of them lie beyond the confidence step, and enough to see the middle.
pub fn draws_for(one_in: f64) -> usize {
    let wanted = (16.0 * one_in).clamp(4096.0, 4_194_304.0) as usize;
    wanted.next_power_of_two()
}

/// Judges a job.
pub fn check(job: &Job) -> Check {
    check_drawn(job, draws_for(job.one_in), &|_| ())
}

/// Judges a job by so many draws; `went` hears how many are done.
pub fn check_drawn(job: &Job, count: usize, went: &(dyn Fn(usize) + Sync)) -> Check {
    checked(job, &Memory::default(), count, went, true)
}

/// Judges a job; what was read for other jobs and holds for this one is not worked out again. The result is the same.
pub fn check_again(job: &Job, memory: &Memory) -> Check {
    checked(job, memory, draws_for(job.one_in), &|_| (), true)
}

/// Judges a job by so many draws, without the background of each link: stacked worst and swings.
pub fn check_quickly(job: &Job, memory: &Memory, count: usize) -> Check {
    checked(job, memory, count, &|_| (), false)
}

fn checked(job: &Job, memory: &Memory, count: usize, went: &(dyn Fn(usize) + Sync), background: bool) -> Check {
    let links = link::plan(job);
    let middle = job.middle();
    let studies: Vec<Study> = links.iter().map(|l| study(job, &middle, *l)).collect();
    let live: Vec<Link> = studies.iter().filter(|s| s.middle.is_some()).map(|s| s.link).collect();
    let draws = Draws::new(job);
    let readings = memory.read(job, &live, count, went);
    let mut results: Vec<LinkResult> = Vec::new();
    let mut column = 0;
    for s in studies {
        if matches!(s.gap, Some(Gap::NotThere)) {
            continue;
        }
        let full = s.middle.is_some().then(|| {
            column += 1;
            &*readings.links[column - 1]
        });
        results.push(judge(job, &middle, &draws, s, full, count, background));
    }
    let axle = readings.axle;
    let (state, state_shares) = state_of(axle.states, count, job.one_in);
    // A working axle is accepted at best as just holding: slip that wears nothing, and no washer that turns its nut along.
    // Its faces slip by definition, and what they do not hold is what the arms are judged by.
    let accepted = state == Some(State::Working) && keyed(job) && axle.wearing as f64 <= count as f64 / job.one_in;
    for r in results.iter_mut().filter(|r| accepted && matches!(r.link.kind, Kind::AxleHold | Kind::Faces)) {
        r.verdict = r.verdict.min(Verdict::Marginal);
    }
    let (refused, cautions) = rules::hits(job);
    let worst = results.iter().map(|r| r.verdict).max().unwrap_or(Verdict::NotKnown);
    let axle = match state {
        None => Verdict::NotKnown,
        Some(State::Still) => Verdict::Holds,
        Some(State::Working) if accepted => Verdict::Marginal,
        Some(_) => Verdict::Fails,
    };
    let undecided = rules::undecided(job);
    let ruled = if undecided.is_empty() { Verdict::Holds } else { Verdict::NotKnown };
    let verdict = if refused.is_empty() { worst.max(axle).max(ruled) } else { Verdict::Refused };
    let play = World::new(&middle, job.arms, &Off).play();
    Check {
        verdict,
        refused,
        undecided,
        cautions,
        state,
        state_shares,
        rocks_degrees: play.ok().flatten().map(|p| 2.0 * p.as_degrees()),
        links: results,
        one_in: job.one_in,
        chance: readings.failed as f64 / count as f64,
        chance_at_most: doubt::chance_at_most(readings.failed, count),
        draws: count,
    }
}

/// Whether both washers are keyed to the axle's flats.
fn keyed(job: &Job) -> bool {
    Side::BOTH.iter().all(|s| job.answer(list::WASHER_KEYED.of(*s)) == Some("yes"))
}

/// What one link needs and gives with every fact at its middle.
struct Study {
    link: Link,
    middle: Option<Load>,
    missing: Vec<FactId>,
    gap: Option<Gap>,
    used: Vec<FactId>,
}

/// Finds all missing facts of a link by putting a plausible value in place of each until none is missing.
fn study(job: &Job, middle: &[f64], link: Link) -> Study {
    let mut values = middle.to_vec();
    let mut missing = Vec::new();
    loop {
        let tape = Working::default();
        let answer = link::load(&World::new(&values, job.arms, &tape), link);
        match answer {
            // Either of two facts would do; the tape has both, the second one counts.
            Err(Gap::Unknown(id)) if !missing.contains(&id) => {
                missing.push(id);
                values[id.index()] = plausible(id);
            }
            answer => {
                let known = missing.is_empty();
                let gap = answer.err().filter(|_| known || answer == Err(Gap::NotThere));
                let middle = if known { answer.ok() } else { None };
                return Study { link, middle, missing, gap, used: tape.facts() };
            }
        }
    }
}

/// Facts that a link misses.
pub fn missing_of(job: &Job, link: Link) -> Vec<FactId> {
    study(job, &job.middle(), link).missing
}

/// A value in the middle of the allowed range, only to see what else is asked.
fn plausible(id: FactId) -> f64 {
    let def = fact::definition(id);
    fact::middle_of_range(def)
}

fn state_of(states: Option<[usize; 5]>, count: usize, one_in: f64) -> (Option<State>, [f64; 5]) {
    let Some(states) = states else { return (None, [0.0; 5]) };
    let shares = states.map(|n| n as f64 / count as f64);
    let mut beyond = 0.0;
    for s in State::ALL.into_iter().rev() {
        beyond += shares[s as usize];
        if beyond > 1.0 / one_in {
            return (Some(s), shares);
        }
    }
    (Some(State::Still), shares)
}

fn judge(
    job: &Job,
    middle: &[f64],
    draws: &Draws,
    s: Study,
    full: Option<&Reading>,
    count: usize,
    background: bool,
) -> LinkResult {
    let assumed = s.used.iter().filter(|f| job.fact(**f).is_some_and(|x| x.origin == Origin::Assumed)).count();
    let mut out = LinkResult {
        link: s.link,
        verdict: Verdict::NotKnown,
        load: None,
        middle: s.middle,
        stacked: None,
        low_mid_high: None,
        chance: 0.0,
        chance_at_most: 1.0,
        missing: s.missing,
        gap: s.gap,
        mostly_assumed: 2 * assumed > s.used.len(),
        swings: Vec::new(),
    };
    if matches!(out.gap, Some(Gap::Range(_) | Gap::Cannot(_))) {
        out.verdict = Verdict::Fails;
        return out;
    }
    let Some(full) = full else { return out };
    let Some(at) = full.at else { return out };
    let mut values = middle.to_vec();
    draws.draw(&draws.point(at.draw as usize), &mut values);
    let quantile = at.full;
    out.load = link::load(&World::new(&values, job.arms, &Off), s.link)
        .ok()
        .or(out.middle)
        .map(|l| Load { full: quantile, ..l });
    out.low_mid_high = Some(full.low_mid_high);
    out.chance = full.failed as f64 / count as f64;
    out.chance_at_most = doubt::chance_at_most(full.failed, count);
    let room = if s.link.kind.path() == Path::Fault { FAULT_HOLDS_UP_TO } else { HOLDS_UP_TO };
    out.verdict = if quantile > 1.0 {
        Verdict::Fails
    } else if quantile > room {
        Verdict::Marginal
    } else {
        Verdict::Holds
    };
    if background {
        (out.stacked, out.swings) = stacked(job, middle, s.link, &s.used);
    }
    out
}

/// Every fact at the end of its doubt that fills the link more, all at once; and how much each swings it alone.
fn stacked(job: &Job, middle: &[f64], link: Link, used: &[FactId]) -> (Option<f64>, Vec<(FactId, f64)>) {
    let full = |values: &[f64]| link::load(&World::new(values, job.arms, &Off), link).map_or(f64::INFINITY, |l| l.full);
    let mut worst = middle.to_vec();
    let mut values = middle.to_vec();
    let mut swings = Vec::new();
    for id in used {
        let Some((low, high)) = job.fact(*id).and_then(ends) else { continue };
        values[id.index()] = low;
        let at_low = full(&values);
        values[id.index()] = high;
        let at_high = full(&values);
        values[id.index()] = middle[id.index()];
        worst[id.index()] = if at_low > at_high { low } else { high };
        if (at_high - at_low).abs() > 1e-9 {
            swings.push((*id, at_high - at_low));
        }
    }
    swings.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    (Some(full(&worst)), swings)
}

/// Ends of a fact's doubt: 2.5 and 97.5 %, or the ends of its range.
fn ends(f: &fact::Fact) -> Option<(f64, f64)> {
    const Z: f64 = 1.959_963_984_540_054;
    match f.spread {
        Distribution::Exact => None,
        Distribution::Normal { sigma } => Some((f.value - Z * sigma, f.value + Z * sigma)),
        Distribution::LogNormal { sigma_ln } => {
            Some((f.value * libm::exp(-Z * sigma_ln), f.value * libm::exp(Z * sigma_ln)))
        }
        Distribution::Uniform { low, high } => Some((low, high)),
    }
}

/// The working of one link, with every fact at its middle.
///
/// # Errors
/// [`Gap`] when it cannot be worked out.
pub fn explain(job: &Job, link: Link) -> (Result<Load, Gap>, Working) {
    let values = job.middle();
    let tape = Working::default();
    let answer = link::load(&World::new(&values, job.arms, &tape), link);
    (answer, tape)
}

/// Chance of failing of one link by importance sampling, where it is too rare to be counted.
pub fn rare(job: &Job, link: Link, count: usize) -> Option<doubt::rare::Rare> {
    let draws = Draws::new(job);
    let middle = job.middle();
    doubt::rare::chance(draws.dimensions(), count, 0, |point| {
        let mut values = middle.clone();
        draws.draw(point, &mut values);
        link::load(&World::new(&values, job.arms, &Off), link).map_or(f64::INFINITY, |l| l.full)
    })
}

/// How much each uncertain fact swings one link from one end of its doubt to the other, largest first.
pub fn check_one(job: &Job, link: Link) -> Vec<(FactId, f64)> {
    let middle = job.middle();
    let s = study(job, &middle, link);
    if s.middle.is_some() { stacked(job, &middle, link, &s.used).1 } else { Vec::new() }
}
