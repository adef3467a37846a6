//! What each change of the bike would buy: the search again with one thing changed.

use super::Wish;
use super::solve::gain_of;
use crate::advice;
use crate::fact::{Distribution, Side, list};
use crate::job::Job;
use quantity::*;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What settings bring.
#[derive(Clone, Debug, PartialEq)]
pub struct Gain {
    /// Braking torque at the wheel, at each speed asked for.
    pub braking: Vec<(Speed, WheelTorque)>,
    /// Fastest speed held on the steepest hill; zero if none.
    pub hold_fastest: Speed,
    /// Drive current.
    pub drive_current: PhaseCurrent,
    /// Braking current.
    pub brake_current: PhaseCurrent,
    /// Charge limit.
    pub charge_limit: BatteryCurrent,
    /// Charge-to level.
    pub charge_to: StateOfCharge,
}

/// One change and what the settings bring with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Buy {
    /// Words key below `settings.buy.`.
    pub key: &'static str,
    /// Its value in words, where it has one.
    pub value: String,
    /// What it brings.
    pub gain: Gain,
    /// Links fewer (negative: more) that no setting can meet.
    pub mended: isize,
}

type Change = (&'static str, fn(&mut Job) -> Option<String>);

/// Changes in the order in which a workshop would think of them; each says its value, or that it changes nothing here.
pub const CHANGES: &[Change] = &[
    ("nuts-as-now", nuts_as_now),
    ("bare-faces", advice::fix::bare_faces),
    ("pinch-arm", advice::fix::pinch_arm),
    ("larger-pack", larger_pack),
    ("warmer-pack", warmer_pack),
    ("charge-lower", charge_lower),
    ("better-tyre", better_tyre),
    ("controller-keeps", controller_keeps),
];

/// All that change anything, on a job of which so many links are `impossible` now.
pub fn buys(job: &Job, wish: &Wish, impossible: usize, draws: usize, went: &(dyn Fn(usize) + Sync)) -> Vec<Buy> {
    let done = AtomicUsize::new(0);
    let all: Vec<Option<Buy>> = CHANGES
        .par_iter()
        .map(|(key, change)| {
            let mut changed = job.clone();
            let buy = change(&mut changed).map(|value| {
                let (gain, left) = gain_of(&changed, wish, draws);
                Buy { key, value, gain, mended: impossible as isize - left as isize }
            });
            went(done.fetch_add(1, Ordering::Relaxed) + 1);
            buy
        })
        .collect();
    all.into_iter().flatten().collect()
}

/// Nuts left as the job has them: what tightening them is worth.
fn nuts_as_now(job: &mut Job) -> Option<String> {
    if job.fact(list::HOLD_TEST.id()).is_some() {
        return None;
    }
    let torques = Side::BOTH.map(|s| job.side(list::NUT_TORQUE, s));
    let text = format!("{:.0} / {:.0} N·m", torques[0]?.as_newton_metres(), torques[1]?.as_newton_metres());
    // A hold test of nothing proves nothing and keeps the nuts as they are.
    job.choose(list::HOLD_TEST.id(), 0.0, Distribution::Exact, "none");
    Some(text)
}

fn larger_pack(job: &mut Job) -> Option<String> {
    let parallel = job.get(list::CELLS_PARALLEL)?.get();
    let more = (parallel * 1.5).ceil();
    job.choose(list::CELLS_PARALLEL.id(), more, Distribution::Exact, "larger");
    let resistance = job.fact(list::PACK_RESISTANCE.id())?.clone();
    let share = parallel / more;
    let spread = match resistance.spread {
        Distribution::Normal { sigma } => Distribution::Normal { sigma: sigma * share },
        Distribution::Uniform { low, high } => Distribution::Uniform { low: low * share, high: high * share },
        same => same,
    };
    job.choose(list::PACK_RESISTANCE.id(), resistance.value * share, spread, "larger");
    // Its electronics and plug grow with it.
    for id in [list::ELECTRONICS_CHARGE.id(), list::PLUG_RATING.id()] {
        if let Some(f) = job.fact(id).cloned() {
            job.choose(id, f.value / share, Distribution::Exact, "larger");
        }
    }
    Some(format!("{parallel:.0}p → {more:.0}p"))
}

fn warmer_pack(job: &mut Job) -> Option<String> {
    const WARM: Temperature = Temperature::celsius(15.0);
    if job.get(list::COLDEST)? >= WARM {
        return None;
    }
    job.choose(list::COLDEST.id(), WARM.si(), Distribution::Exact, "15 °C");
    Some("15 °C".to_owned())
}

fn charge_lower(job: &mut Job) -> Option<String> {
    const LOWER: f64 = 0.70;
    if job.get(list::CHARGE_TO)?.si() <= LOWER {
        return None;
    }
    job.choose(list::CHARGE_TO.id(), LOWER, Distribution::Exact, "70 %");
    Some("70 %".to_owned())
}

fn better_tyre(job: &mut Job) -> Option<String> {
    let now = job.get(list::GRIP_WET)?.get();
    let better = now * 1.2;
    job.choose(list::GRIP_WET.id(), better, Distribution::Exact, "better");
    Some(format!("{now:.2} → {better:.2}"))
}

fn controller_keeps(job: &mut Job) -> Option<String> {
    if job.answer(list::CHARGE_LIMIT_KEPT_BY.id()) == Some("controller") {
        return None;
    }
    job.choose(list::CHARGE_LIMIT_KEPT_BY.id(), 0.0, Distribution::Exact, "controller");
    Some(String::new())
}
