//! Filling what a job leaves out from the kind of hub: assumed values, marked as such.

use crate::conflict;
use crate::fact::{self, Fact, FactId, Origin, Side, list};
use crate::job::Job;
use crate::words;
use quantity::text::Decimal;

/// Kinds of hub from which left-out facts can be filled.
pub const KINDS: [&str; 5] = ["town", "hill", "hauler", "front", "direct"];

/// Facts that decide safety by class and therefore never get a default.
pub fn never_assumed() -> [FactId; 4] {
    [list::CHARGING_PLUG.id(), list::VOLTAGE_RATING.id(), list::CELLS_SERIES.id(), list::CLUTCH_MEMBER.id()]
}

/// The assumed value of a fact for a kind of hub, if the table has one.
pub fn assumed(id: FactId, kind: Option<&str>) -> Option<Fact> {
    if never_assumed().contains(&id) {
        return None;
    }
    let (def, name) = fact::describe(id);
    let text = evidence::kinds::default_text(&pattern(&name), kind)?;
    fact::read_fact(def, text, &[], Origin::Assumed, Decimal::Point).ok()
}

/// `axle.left.bore` is `axle.*.bore` in the table, `arm.2.kind` is `arm.*.kind`.
fn pattern(name: &str) -> String {
    let mut parts: Vec<&str> = name.split('.').collect();
    if parts.len() == 3 {
        parts[1] = "*";
    }
    parts.join(".")
}

/// Fills every fact that is neither known nor declared not known.
pub fn fill(job: &mut Job, declared_unknown: &[FactId]) {
    let kind = job.kind.clone();
    // One of these two says how strong the magnets are; a default must not contradict a measured one.
    let flux_known = [list::FLUX.id(), list::VOLTS_PER_SPEED.id()].iter().any(|f| job.fact(*f).is_some());
    for i in 0..job.facts.len() {
        let id = FactId(i as u16);
        if job.facts[i].is_some() || declared_unknown.contains(&id) {
            continue;
        }
        if flux_known && (id == list::FLUX.id() || id == list::VOLTS_PER_SPEED.id()) {
            continue;
        }
        if id == list::DROOP.id()
            && let Some(droop) = droop_of_points(job)
        {
            job.facts[i] = Some(droop);
            continue;
        }
        job.facts[i] = follows(job, id).or_else(|| assumed(id, kind.as_deref()));
    }
}

/// Holding friction and settling follow from the state of the faces, yield from the material, volts from the chemistry.
fn follows(job: &Job, id: FactId) -> Option<Fact> {
    let (def, name) = fact::describe(id);
    let read = |text: &str| fact::read_fact(def, text, &[], Origin::Assumed, Decimal::Point).ok();
    for side in Side::BOTH {
        let row = || evidence::surfaces::find(job.answer(list::FACES.of(side))?);
        if id == list::FACE_FRICTION.of(side) {
            return read(&row()?.friction);
        }
        if id == list::SETTLING.of(side) {
            return read(&row()?.settling);
        }
    }
    let own_place = |pattern: &str| match name.split('.').nth(1) {
        Some(place) => pattern.replace('*', place),
        None => pattern.to_owned(),
    };
    evidence::follows::of(&pattern(&name)).find_map(|row| {
        let given = fact::find(&own_place(&row.given), job.arms)?;
        (job.answer(given) == Some(row.answer.as_str())).then(|| read(&row.text)).flatten()
    })
}

/// Torque lost at high current, from two or more torque points: with λ(i) = λ₀/(1 + c·i), i/T is a straight line in i
/// whose slope over its start is c. Two readings of some per cent leave it known within a factor of two.
fn droop_of_points(job: &Job) -> Option<Fact> {
    let points = conflict::torque_points(job);
    let n = points.len() as f64;
    let mean = |f: fn(&(f64, f64)) -> f64| points.iter().map(f).sum::<f64>() / n;
    let (x, y) = (mean(|p| p.0), mean(|p| p.0 / p.1));
    let spread: f64 = points.iter().map(|p| (p.0 - x) * (p.0 - x)).sum();
    let slope = points.iter().map(|p| (p.0 - x) * (p.0 / p.1 - y)).sum::<f64>() / spread;
    let start = y - slope * x;
    let droop = slope / start;
    // A line that falls says more torque per ampere at high current: the points contradict each other or hide the drag.
    if points.len() < 2 || spread < 1.0 || !droop.is_finite() || droop < 0.0 || start <= 0.0 {
        return None;
    }
    Some(Fact {
        value: droop,
        spread: fact::Distribution::Uniform { low: droop / 2.0, high: droop * 2.0 },
        origin: Origin::Measured,
        tool: None,
        text: words::fill("app.droop-of-points", &[("points", &points.len().to_string())]),
    })
}
