//! A bike to try links on.

#![allow(dead_code, reason = "not every test asks for all of it")]

use workbench::fact::{Distribution, FactId, Side, list};
use workbench::job::Job;
use workbench::kinds;
use workbench::link::{self, Kind, Link, Off, Place, World};

/// Sets a fact without doubt.
pub fn choose(job: &mut Job, id: FactId, value_si: f64) {
    job.choose(id, value_si, Distribution::Exact, "test");
}

/// A hill hub with a pinching arm, nothing left unknown.
pub fn hill() -> Job {
    let mut job = Job::new("1", "test", 1);
    job.kind = Some("hill".to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::CHARGE_LIMIT_KEPT_BY.id(), 0.0),
        (list::LOCK_KIND.id(), 0.0),
        (list::LOCK_RADIUS.id(), 0.019),
        (list::LOCK_LEG.id(), 0.003),
        (list::LOCK_TACK_LENGTH.id(), 0.008),
        (list::LOCK_COUNT.id(), 6.0),
        (list::ARM_SIDE.of(0), 0.0),
        (list::ARM_KIND.of(0), 1.0),
    ] {
        choose(&mut job, id, value);
    }
    for side in Side::BOTH {
        choose(&mut job, list::FREE_THREAD.of(side), 0.011);
    }
    kinds::fill(&mut job, &[]);
    job
}

/// How full a link is with every fact at its middle; infinite where it cannot be worked out.
pub fn full(job: &Job, kind: Kind, place: Place) -> f64 {
    let values = job.middle();
    link::load(&World::new(&values, job.arms, &Off), Link { kind, place }).map_or(f64::INFINITY, |l| l.full)
}
