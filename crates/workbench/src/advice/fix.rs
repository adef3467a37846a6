//! What would fix it: the levers of a workshop, each tried alone and all that help together.

use super::nut_limit;
use crate::check::{self, Check, Verdict};
use crate::doubt::memory::Memory;
use crate::fact::{self, Distribution, FactId, Side, list};
use crate::job::Job;
use crate::kinds;
use crate::link::{Gap, Off, World};
use quantity::*;

/// One change of the job.
#[derive(Clone, Debug)]
pub struct Change {
    /// Words key below `lever.`.
    pub key: &'static str,
    /// Its new value in words.
    pub value: String,
}

/// Changes and what they would give.
#[derive(Clone, Debug)]
pub struct Fix {
    /// What to change, all together.
    pub changes: Vec<Change>,
    /// The verdict then.
    pub verdict: Verdict,
    /// Fullest link then.
    pub fullest: String,
    /// How full it is.
    pub full: f64,
}

type Lever = (&'static str, fn(&mut Job) -> Option<String>);

/// Levers in the order in which a workshop would pull them.
const LEVERS: [Lever; 8] = [
    ("nut-torque", raise_nuts),
    ("bare-faces", bare_faces),
    ("pinch-arm", pinch_arm),
    ("brake-less", brake_less),
    ("drive-less", |job| lower_current(job, list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY, LESS)),
    ("charge-less", charge_less),
    ("charge-lower", charge_lower),
    ("slower", slower),
];

fn raise_nuts(job: &mut Job) -> Option<String> {
    let mut said = None;
    for side in Side::BOTH {
        let values = job.middle();
        // Where the thread is not known yet, the usual upper value is tried; its own link goes on asking.
        let limit = nut_limit(job, &World::new(&values, job.arms, &Off), side).unwrap_or(Torque::newton_metres(80.0));
        let now = job.side(list::NUT_TORQUE, side)?;
        // The trade's usual upper value, or what this end can take.
        let aim = (limit.as_newton_metres().min(80.0) / 5.0).floor() * 5.0;
        if aim > now.as_newton_metres() + 2.0 {
            let half = aim * 0.04;
            let spread = Distribution::Uniform { low: aim - half, high: aim + half };
            job.choose(list::NUT_TORQUE.of(side), aim, spread, &format!("{aim} N·m"));
            said = Some(format!("{aim:.0} N·m"));
        }
    }
    said
}

/// Facts that nobody knows: what a lever fills in must not answer them.
fn not_known(job: &Job) -> Vec<FactId> {
    (0..job.facts.len()).filter(|i| job.facts[*i].is_none()).map(|i| FactId(i as u16)).collect()
}

pub(crate) fn bare_faces(job: &mut Job) -> Option<String> {
    let mut said = None;
    let unknown = not_known(job);
    for side in Side::BOTH {
        if job.answer(list::FACES.of(side)) != Some("bare") {
            job.choose(list::FACES.of(side), 0.0, Distribution::Exact, "bare");
            job.facts[list::FACE_FRICTION.of(side).index()] = None;
            job.facts[list::SETTLING.of(side).index()] = None;
            said = Some(String::new());
        }
    }
    kinds::fill(job, &unknown);
    said
}

/// Thickness of the arm that is tried, and the least thread that a nut may be left with, m (assumed).
const PINCH_ARM: f64 = 0.008;
const LEAST_THREAD: f64 = 0.003;

pub(crate) fn pinch_arm(job: &mut Job) -> Option<String> {
    if (0..job.arms).any(|i| job.answer(list::ARM_KIND.of(i)) == Some("pinching")) {
        return None;
    }
    // The arm lies under the nut and takes of its thread; with too little left it cannot be fitted like this.
    let free = list::FREE_THREAD.of(Side::Left);
    let left = job.fact(free).map(|f| (f.value - PINCH_ARM, f.spread));
    if let Some((left, spread)) = left {
        if left < LEAST_THREAD {
            return None;
        }
        job.choose(free, left, spread, "under the arm");
    }
    let unknown = not_known(job);
    job.arms += 1;
    job.facts.resize(fact::count(job.arms), None);
    let arm = job.arms - 1;
    job.choose(list::ARM_KIND.of(arm), 1.0, Distribution::Exact, "pinching");
    job.choose(list::ARM_SIDE.of(arm), 0.0, Distribution::Exact, "left");
    // Eight millimetres of hardened steel: softer jaws are crushed by their own bolts.
    for (key, value_si) in [
        (list::ARM_THICKNESS.of(arm), PINCH_ARM),
        (list::ARM_YIELD.of(arm), 750e6),
        (list::ARM_BEARING.of(arm), 950e6),
        (list::PINCH_TORQUE.of(arm), 8.0),
        (list::ANCHOR_DIAMETER.of(arm), 0.008),
        (list::ANCHOR_TORQUE.of(arm), 20.0),
    ] {
        job.choose(key, value_si, Distribution::Exact, "hardened");
    }
    kinds::fill(job, &unknown);
    Some(String::new())
}

/// A charge limit that the controller keeps, at half of what the warm cells take.
fn charge_less(job: &mut Job) -> Option<String> {
    let cells = job.get(list::CELL_CHARGE)?.as_amperes() * job.get(list::CELLS_PARALLEL)?.get();
    let aim = (cells * 0.5).floor().max(1.0);
    let kept = job.answer(list::CHARGE_LIMIT_KEPT_BY.id()) == Some("controller");
    if kept && job.get(list::CHARGE_LIMIT).is_some_and(|now| now.as_amperes() <= aim) {
        return None;
    }
    job.choose(list::CHARGE_LIMIT.id(), aim, Distribution::Exact, &format!("{aim} A"));
    job.choose(list::CHARGE_LIMIT_KEPT_BY.id(), 0.0, Distribution::Exact, "controller");
    Some(format!("{aim:.0} A"))
}

fn charge_lower(job: &mut Job) -> Option<String> {
    // What nobody keeps is a full pack.
    let kept = job.answer(list::CHARGE_TO_KEPT_BY.id()) != Some("nobody");
    if kept && job.get(list::CHARGE_TO)? <= StateOfCharge::percent(80.0) {
        return None;
    }
    job.choose(list::CHARGE_TO.id(), 0.8, Distribution::Exact, "80 %");
    if !kept {
        job.choose(list::CHARGE_TO_KEPT_BY.id(), 2.0, Distribution::Exact, "rider");
    }
    Some("80 %".to_owned())
}

/// Share of a current that is tried.
const LESS: f64 = 0.6;

/// Less braking, and no more than a wet road holds with the lightest load, with a fifth in reserve.
fn brake_less(job: &mut Job) -> Option<String> {
    let values = job.middle();
    let w = World::new(&values, job.arms, &Off);
    let wet = || -> Result<f64, Gap> {
        let asked = w.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?;
        let holds = w.wet_grip_torque()?.as_newton_metres() / w.steady()?.brake.as_newton_metres();
        Ok(0.8 * holds * asked.as_amperes() / w.amplitude(w.get(list::BRAKE_CURRENT)?)?.as_amperes())
    };
    let share = wet().map_or(LESS, |wet| wet.min(LESS));
    lower_current(job, list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY, share)
}

/// A lower current that the controller keeps: what nobody keeps is no limit.
fn lower_current(job: &mut Job, key: fact::Key<PhaseCurrent>, kept_by: fact::Key<Ratio>, share: f64) -> Option<String> {
    let now = job.get(key)?.as_amperes();
    let aim = (now * share).floor();
    if aim.is_nan() || aim < 1.0 {
        return None;
    }
    job.choose(key.id(), aim, Distribution::Exact, &format!("{aim} A"));
    job.choose(kept_by.id(), 0.0, Distribution::Exact, "controller");
    Some(format!("{aim:.0} A"))
}

fn slower(job: &mut Job) -> Option<String> {
    let now = job.get(list::DOWNHILL_SPEED)?.as_kilometres_per_hour();
    let aim = (now * 0.6 / 5.0).floor() * 5.0;
    if aim < 10.0 {
        return None;
    }
    job.choose(
        list::DOWNHILL_SPEED.id(),
        Speed::kilometres_per_hour(aim).si(),
        Distribution::Exact,
        &format!("{aim} km/h"),
    );
    if job.answer(list::DOWNHILL_KEPT_BY.id()) == Some("nobody") {
        job.choose(list::DOWNHILL_KEPT_BY.id(), 2.0, Distribution::Exact, "rider");
    }
    Some(format!("{aim:.0} km/h"))
}

/// Draws in which a lever is tried: enough to see whether it helps, and no fewer than the bikes of which one may fail. What
/// all levers together give is read in full.
const TRIED_IN: usize = 1024;

fn tried(job: &Job, memory: &Memory) -> Check {
    check::check_quickly(job, memory, TRIED_IN.max(job.one_in.ceil() as usize))
}

fn failing(c: &Check) -> usize {
    c.links.iter().filter(|l| l.verdict == Verdict::Fails).count()
}

/// How far all failing links are beyond what they can take.
fn beyond(c: &Check) -> f64 {
    let fails = c.links.iter().filter(|l| l.verdict == Verdict::Fails);
    fails.map(|l| l.load.map_or(1e3, |x| x.full.min(1e3))).sum()
}

/// Each lever alone where it helps, then all that help together.
pub fn fixes(job: &Job, c: &Check, memory: &Memory) -> Vec<Fix> {
    if c.verdict != Verdict::Fails {
        return Vec::new();
    }
    let before = tried(job, memory);
    let mut out = Vec::new();
    let (mut all, mut now) = (job.clone(), None);
    let mut together = Vec::new();
    for (key, pull) in LEVERS {
        let mut one = job.clone();
        let alone = pull(&mut one).map(|value| (value, tried(&one, memory)));
        let mut next = all.clone();
        let Some(value) = pull(&mut next) else { continue };
        let after = match (&now, &alone) {
            (None, Some((_, alone))) => alone.clone(),
            _ => tried(&next, memory),
        };
        if beyond(&after) < beyond(now.as_ref().unwrap_or(&before))
            || after.state < now.as_ref().unwrap_or(&before).state
        {
            together.push(Change { key, value });
            (all, now) = (next, Some(after));
        }
        if let Some((value, alone)) = alone
            && (failing(&alone) < failing(&before) || alone.state < before.state)
        {
            out.push(fix(vec![Change { key, value }], &alone));
        }
    }
    if together.len() > 1 {
        out.push(fix(together, &check::check_again(&all, memory)));
    }
    out
}

fn fix(changes: Vec<Change>, after: &Check) -> Fix {
    let fullest = after.worst_first().into_iter().find(|l| l.load.is_some());
    Fix {
        changes,
        verdict: after.verdict,
        fullest: fullest.map_or_else(String::new, |l| crate::say::link_name(l.link)),
        full: fullest.and_then(|l| l.load).map_or(0.0, |l| l.full),
    }
}
