//! What a ride must not pass to count as done.

use crate::machine::{calm, hub5, rider, slope};
use crate::variants::job;
use quantity::*;
use workbench::fact::{Distribution, Side, list};
use workbench::job::Job;
use workbench::ride::answers::{ANSWERS, Pair, Worth, pair};
use workbench::ride::bike::Bike;
use workbench::ride::course::Course;
use workbench::ride::ensemble::{Ensemble, ensemble};
use workbench::ride::options::Options;
use workbench::ride::run::End;
use workbench::ride::study::study;
use workbench::ride::tally::Limit;

/// A job whose axle was seen to hold more than any motor here asks of it.
fn held(mut job: Job) -> Job {
    job.choose(list::HOLD_TEST.id(), 150.0, Distribution::Exact, "test");
    job
}

fn down(bike: &Bike, kmh: f64) -> Pair {
    let course = slope(-8.0, 800.0, Speed::kilometres_per_hour(kmh));
    let p = pair(bike, &rider(), &calm(), &course, 0.1).unwrap();
    assert_eq!(p.locked.end, End::Arrived);
    p
}

/// The axle of the example machine holds; one that turns at a part of the same torque has not done the ride.
#[test]
fn law_a_ride_on_which_the_axle_turns_is_not_done() {
    let holds = Bike { axle_still_nm: 1000.0, ..hub5() };
    assert!(down(&holds, 25.0).survives());
    let turns = down(&Bike { axle_still_nm: 2.0, ..hub5() }, 25.0);
    assert!(!turns.survives());
    assert_eq!(turns.worth(), Worth::NotLikeThis);
}

/// PHYSICS-DETAIL T19: let run on 8 %, the locked hub settles on the bridge and charges without a command.
#[test]
fn law_charging_without_a_command_is_a_limit_that_is_passed() {
    let holds = Bike { axle_still_nm: 1000.0, ..hub5() };
    let p = down(&holds, 60.0);
    assert!(p.locked.tally.in_limit_s(Limit::TooFast) > 1.0);
    assert!(!p.survives());
}

/// Variants that no formula reaches neither arrive nor count as done.
#[test]
fn law_variants_without_an_answer_are_not_done() {
    let (job, options) = (job(), Options::read(&[]).unwrap());
    let ride = |kmh: f64| -> Ensemble {
        let speed = Speed::kilometres_per_hour(kmh);
        let course = Course::descent(Grade::percent(15.0), Length::metres(60.0), speed).unwrap();
        ensemble(&job, &course, &options, 64, &|_| ())
    };
    // Somewhere some are too fast for the formulas and some are not.
    let some = (8..30).map(|n| ride(5.0 * f64::from(n))).find(|e| (4..60).contains(&e.failed.0)).unwrap();
    let rest = 1.0 - some.failed.0 as f64 / 64.0;
    assert!(some.arrives <= rest && some.survives <= rest, "{} {} of {rest}", some.arrives, some.survives);
    assert!((some.worth.iter().sum::<f64>() - rest).abs() < 1e-12);
}

/// Who speaks for all loads has passed a limit if anybody has.
#[test]
fn law_the_load_that_fails_speaks_for_all() {
    let (job, options) = (held(job()), Options::read(&[]).unwrap());
    let course = Course::descent(Grade::percent(6.0), Length::metres(60.0), Speed::kilometres_per_hour(24.0)).unwrap();
    let mut s = study(&job, &course, &options).unwrap();
    let before: Vec<bool> = s.pairs.iter().map(Pair::survives).collect();
    assert_eq!(before, [true; 3]);
    assert_eq!(s.speaks().unwrap().0, "usual");
    s.pairs[2].locked.end = End::TooSteep;
    let (load, p) = s.speaks().unwrap();
    assert!(load == "heaviest" && p.worth() == Worth::NotLikeThis);
}

/// Nobody knows what the axle holds: then it has not been passed nought times.
#[test]
fn law_cycles_beyond_a_hold_that_is_not_known_are_not_known() {
    let options = Options::read(&[]).unwrap();
    let course = Course::descent(Grade::percent(6.0), Length::metres(60.0), Speed::kilometres_per_hour(24.0)).unwrap();
    let beyond = ANSWERS.iter().find(|a| a.key == "reversals_beyond_hold").unwrap();
    let known = study(&held(job()), &course, &options).unwrap();
    assert_eq!((beyond.of)(&known.pairs[1]), Some(0.0));
    // A washer that bends: no formula says what it holds.
    let mut job = held(job());
    job.choose(list::WASHER_FLAT.of(Side::Left), 0.0, Distribution::Exact, "no");
    let s = study(&job, &course, &options).unwrap();
    assert_eq!((beyond.of)(&s.pairs[1]), None);
    assert_eq!(beyond.absent(), "not known");
    let many = ensemble(&job, &course, &options, 16, &|_| ());
    assert_eq!(many.failed.0, 0, "{:?}", many.failed.1);
    let at = ANSWERS.iter().position(|a| a.key == "reversals_beyond_hold").unwrap();
    assert!(many.quantiles[at].iter().all(|q| q.is_nan()));
}
