//! What follows from the verdict: how tight, the hold test's pull, what to measure next, what would fix it, and the
//! most braking at each speed.

mod ceiling;
pub(crate) mod fix;

pub use ceiling::Ceiling;
pub use fix::{Change, Fix};

use crate::check::{Check, Verdict};
use crate::doubt::causes;
use crate::doubt::memory::Memory;
use crate::fact::{self, Distribution, FactId, Origin, Side, list};
use crate::job::Job;
use crate::kinds;
use crate::link::{Link, Off, World};
use physics::{thread, tightening};
use quantity::*;

/// Cautions printed with every answer, words keys below `caution.`.
pub const CAUTIONS: [&str; 6] = ["hand-brakes-first", "welding", "magnets", "battery", "shorted-wires", "local-codes"];

/// Standard gravity, for pulls read on a scale.
const GRAVITY: f64 = 9.806_65;

/// A fastener and its torque.
#[derive(Clone, Debug)]
pub struct Tighten {
    /// `nut`, `pinch` or `anchor`.
    pub key: &'static str,
    /// Side or arm.
    pub place: String,
    /// Torque that the job gives it.
    pub torque: Torque,
    /// Highest torque that its yield and threads allow, by the tool's class and low friction.
    pub at_most: Option<Torque>,
    /// Torque to give: what the job says, lowered to what bore, flats or too few threads allow.
    pub give: Torque,
    /// Tool that the job names.
    pub tool: Option<String>,
    /// What is in the thread, token of [`list::THREAD_STATES`].
    pub thread_state: Option<&'static str>,
}

/// The lever hold test.
#[derive(Clone, Copy, Debug)]
pub struct HoldTest {
    /// Torque to pull, both ways.
    pub torque: Torque,
    /// What the job asks: a quarter above the highest demand.
    pub asked: Torque,
    /// 90 % of the first yield of the solid end.
    pub limit: Torque,
    /// The same as a pull on a bar of one metre, as a luggage scale shows it.
    pub pull_at_one_metre: Mass,
}

/// A card to take next.
#[derive(Clone, Debug)]
pub struct Measure {
    /// Measuring card.
    pub card: &'static str,
    /// How long it takes.
    pub minutes: Option<f64>,
    /// What it settles.
    pub facts: Vec<FactId>,
    /// The link whose doubt it takes away, and about how much of it; none where a fact is missing.
    pub of: Option<(Link, f64)>,
}

/// Everything that follows.
#[derive(Clone, Debug)]
pub struct Advice {
    /// How tight.
    pub tighten: Vec<Tighten>,
    /// Pull of the hold test, if it can be worked out.
    pub hold_test: Option<HoldTest>,
    /// What to measure next, first things first.
    pub measure: Vec<Measure>,
    /// What would fix it.
    pub fixes: Vec<Fix>,
    /// Most braking over speed.
    pub ceiling: Vec<Ceiling>,
}

/// Works out the advice.
pub fn advise(job: &Job, c: &Check) -> Advice {
    advise_again(job, c, &Memory::default())
}

/// Works out the advice; what was read for other jobs and holds for this one is not worked out again.
pub fn advise_again(job: &Job, c: &Check, memory: &Memory) -> Advice {
    let middle = job.middle();
    let world = World::new(&middle, job.arms, &Off);
    Advice {
        tighten: tighten(job, &world),
        hold_test: hold_test(&world),
        measure: measure(job, c),
        fixes: fix::fixes(job, c, memory),
        ceiling: ceiling::ceiling(job),
    }
}

fn tool_of(job: &Job, id: FactId) -> Option<String> {
    job.fact(id).and_then(|f| f.tool.clone())
}

fn tighten(job: &Job, w: &World<'_>) -> Vec<Tighten> {
    let mut out = Vec::new();
    for side in Side::BOTH {
        let id = list::NUT_TORQUE.of(side);
        let Some(torque) = job.side(list::NUT_TORQUE, side) else { continue };
        let at_most = nut_limit(job, w, side);
        out.push(Tighten {
            key: "nut",
            place: crate::words::text(&format!("side.{}", side.token())),
            torque,
            at_most,
            give: at_most.map_or(torque, |m| m.min(torque)),
            tool: tool_of(job, id),
            thread_state: job.answer(list::THREAD_STATE.of(side)),
        });
    }
    for i in 0..job.arms {
        for (key, torque) in [("pinch", list::PINCH_TORQUE), ("anchor", list::ANCHOR_TORQUE)] {
            if key == "pinch" && job.answer(list::ARM_KIND.of(i)) != Some("pinching") {
                continue;
            }
            if let Some(t) = job.arm(torque, i) {
                let at_most = small_limit(job, w, i, key);
                out.push(Tighten {
                    key,
                    place: format!("{}", i + 1),
                    torque: t,
                    at_most,
                    give: at_most.map_or(t, |m| m.min(t)),
                    tool: tool_of(job, torque.of(i)),
                    thread_state: job.answer(list::BOLT_THREAD_STATE.of(i)),
                });
            }
        }
    }
    out
}

/// A fact at the low end of its doubt (2.5 %): a friction where a torque makes the most clamp force, a strength.
fn low_end<Q: Quantity>(job: &Job, id: FactId) -> Option<Q> {
    let f = job.fact(id)?;
    Some(Q::from_si(match f.spread {
        Distribution::Exact => f.value,
        Distribution::Normal { sigma } => f.value - 1.96 * sigma,
        Distribution::LogNormal { sigma_ln } => f.value * libm::exp(-1.96 * sigma_ln),
        Distribution::Uniform { low, .. } => low,
    }))
}

/// How far a torque may be above what was aimed at, as a share.
fn tool_deviation(job: &Job, id: FactId) -> Ratio {
    let class = tool_of(job, id).and_then(|t| job.rack.iter().find(|r| r.id == t).map(|r| r.share));
    // Without a tool the wrench is taken as the usual class of ISO 6789.
    let class = class.unwrap_or(0.04);
    let Some(f) = job.fact(id) else { return Ratio::new(class) };
    let above = match f.spread {
        Distribution::Exact => 0.0,
        Distribution::Normal { sigma } => 1.96 * sigma / f.value,
        Distribution::LogNormal { sigma_ln } => libm::expm1(1.96 * sigma_ln),
        Distribution::Uniform { high, .. } => high / f.value - 1.0,
    };
    Ratio::new(class.max(above))
}

fn nut_limit(job: &Job, w: &World<'_>, side: Side) -> Option<Torque> {
    let mut turning = w.turning(side).ok()?;
    turning.thread_friction = low_end(job, list::THREAD_FRICTION.of(side))?;
    turning.face_friction = low_end(job, list::NUT_FRICTION.of(side))?;
    let section = w.section(side).ok()?;
    let yields: Stress = low_end(job, list::AXLE_YIELD.id())?;
    let nut: Stress = low_end(job, list::NUT_STRENGTH.of(side))?;
    let strip = thread::strip_forces(section, w.engagement(side).ok()?, yields, nut).ok()?;
    let tool = tool_deviation(job, list::NUT_TORQUE.of(side));
    tightening::torque_limit(section, &turning, yields, Ratio::new(tightening::YIELD_USE), strip, tool)
        .ok()
        .map(|l| l.torque)
}

pub(crate) fn small_limit(job: &Job, w: &World<'_>, i: usize, key: &str) -> Option<Torque> {
    let (d, mu, grade, id) = if key == "pinch" {
        (list::PINCH_DIAMETER, list::PINCH_FRICTION, list::PINCH_GRADE, list::PINCH_TORQUE.of(i))
    } else {
        (list::ANCHOR_DIAMETER, list::ANCHOR_THREAD_FRICTION, list::ANCHOR_GRADE, list::ANCHOR_TORQUE.of(i))
    };
    let friction = low_end(job, mu.of(i))?;
    let turning = w.small_turning(job.arm(d, i)?, friction).ok()?;
    let yields = evidence::bolts::find(job.answer(grade.of(i))?)?.yield_strength;
    let section = thread::ThreadedSection::solid(turning.thread);
    let force = tightening::preload_at_yield(section, friction, yields, Ratio::new(tightening::YIELD_USE)).ok()?;
    tightening::nut_torque(&turning, force).ok().map(|t| t / (1.0 + tool_deviation(job, id).get()))
}

fn hold_test(w: &World<'_>) -> Option<HoldTest> {
    let d = w.demand().ok()?;
    let asked = Torque::newton_metres(1.25 * d.drive.max(d.brake).as_newton_metres());
    let limit = w.hold_test_limit().ok()?;
    let torque = asked.min(limit);
    let pull = Mass::kilograms(torque.as_newton_metres() / GRAVITY);
    Some(HoldTest { torque, asked, limit, pull_at_one_metre: pull })
}

/// Draws in each half of the indices behind a share of doubt: good for a tenth; `backdrive doubt` takes more.
const QUICK_HALF: usize = 512;

/// Missing facts first: those that may end the job, then the quickest. Then what would take away most doubt.
fn measure(job: &Job, c: &Check) -> Vec<Measure> {
    let mut out: Vec<Measure> = Vec::new();
    let mut add = |id: FactId| {
        let card = fact::definition(id).card;
        match out.iter_mut().find(|m| m.card == card) {
            Some(m) if !m.facts.contains(&id) => m.facts.push(id),
            Some(_) => {}
            None => out.push(Measure {
                card,
                minutes: evidence::cards::find(card).and_then(evidence::cards::Card::minutes),
                facts: vec![id],
                of: None,
            }),
        }
    };
    let mut missing = c.missing();
    let enders = kinds::never_assumed();
    for id in enders {
        if job.fact(id).is_none() && !missing.contains(&id) {
            missing.push(id);
        }
    }
    missing.into_iter().for_each(&mut add);
    let may_end = |m: &Measure| m.facts.iter().any(|f| enders.contains(f));
    out.sort_by(|a, b| {
        let minutes = |m: &Measure| m.minutes.unwrap_or(0.0);
        may_end(b).cmp(&may_end(a)).then(minutes(a).total_cmp(&minutes(b)))
    });
    let mut later: Vec<Measure> = Vec::new();
    for l in c.worst_first().into_iter().filter(|l| l.verdict != Verdict::Holds || l.load.is_some_and(|x| x.full > 0.6))
    {
        for (id, _) in l.swings.iter().take(2) {
            let card = fact::definition(*id).card;
            let assumed = job.fact(*id).is_some_and(|f| f.origin == Origin::Assumed);
            if assumed && card != "assume" && !out.iter().chain(&later).any(|m| m.card == card) {
                let minutes = evidence::cards::find(card).and_then(evidence::cards::Card::minutes);
                later.push(Measure { card, minutes, facts: vec![*id], of: Some((l.link, 0.0)) });
            }
        }
    }
    later.truncate(4);
    let links: Vec<Link> = later.iter().filter_map(|m| Some(m.of?.0)).collect();
    for (i, link) in links.iter().enumerate().filter(|(i, l)| !links[..*i].contains(l)) {
        let cards: Vec<&str> =
            later[i..].iter().filter(|m| m.of.is_some_and(|o| o.0 == *link)).map(|m| m.card).collect();
        let found = causes::some_causes(job, *link, QUICK_HALF, &|card| cards.contains(&card)).unwrap_or_default();
        for m in later[i..].iter_mut().filter(|m| cards.contains(&m.card)) {
            m.of = found.iter().find(|c| c.card == m.card).map(|c| (*link, c.first));
        }
    }
    out.extend(later);
    out
}
