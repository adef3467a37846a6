//! The job that the benchmarks work on: a hill hub with a pinching arm, nothing left unknown.

use quantity::Quantity;
use workbench::fact::{Distribution, list};
use workbench::job::Job;

/// The job.
pub fn job() -> Job {
    let mut job = Job::new("1", "bench", 1);
    job.kind = Some("hill".to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::LOCK_KIND.id(), 0.0),
        (list::LOCK_RADIUS.id(), quantity::Length::millimetres(19.0).si()),
        (list::LOCK_LEG.id(), quantity::Length::millimetres(3.0).si()),
        (list::LOCK_TACK_LENGTH.id(), quantity::Length::millimetres(8.0).si()),
        (list::LOCK_COUNT.id(), 6.0),
        (list::ARM_SIDE.of(0), 0.0),
    ] {
        job.choose(id, value, Distribution::Exact, "bench");
    }
    for side in workbench::fact::Side::BOTH {
        job.choose(list::FREE_THREAD.of(side), 0.011, Distribution::Exact, "bench");
    }
    workbench::kinds::fill(&mut job, &[]);
    job
}
