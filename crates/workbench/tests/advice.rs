//! Advice: a torque that it gives is one that its links bear, and a lever answers nothing that nobody knows.

mod hub;

use hub::{choose, full, hill};
use workbench::advice;
use workbench::check::{self, Verdict};
use workbench::fact::{Distribution, Side, list};
use workbench::job::Job;
use workbench::link::{Kind, Off, Place, World};
use workbench::{fact, sister};

fn low(job: &Job, id: fact::FactId) -> f64 {
    let f = job.fact(id).unwrap();
    match f.spread {
        Distribution::Exact => f.value,
        Distribution::Normal { sigma } => f.value - 1.96 * sigma,
        Distribution::LogNormal { sigma_ln } => f.value * (-1.96 * sigma_ln).exp(),
        Distribution::Uniform { low, .. } => low,
    }
}

/// At the most that a nut is said to take, with a wrench at the high end of its doubt and everything else at the low end, neither
/// stretch nor thread is over its limit, and one of them is at it.
#[test]
fn law_the_most_for_a_nut_is_what_its_links_bear() {
    for wrench in [0.02, 0.30] {
        let mut job = hill();
        let side = Side::Left;
        let id = list::NUT_TORQUE.of(side);
        job.choose(
            id,
            40.0,
            Distribution::Uniform { low: 40.0 * (1.0 - wrench), high: 40.0 * (1.0 + wrench) },
            "wrench",
        );
        let advice = advice::advise(&job, &check::check_quickly(&job, &Default::default(), 256));
        let most = advice.tighten.iter().find(|t| t.key == "nut").unwrap().at_most.unwrap().as_newton_metres();
        let facts = [
            list::AXLE_YIELD.id(),
            list::NUT_STRENGTH.of(side),
            list::THREAD_FRICTION.of(side),
            list::NUT_FRICTION.of(side),
        ];
        let ends: Vec<f64> = facts.iter().map(|id| low(&job, *id)).collect();
        facts.iter().zip(ends).for_each(|(id, end)| choose(&mut job, *id, end));
        choose(&mut job, id, most * (1.0 + wrench.max(0.04)));
        let fullest =
            [Kind::Nut, Kind::Thread].map(|kind| full(&job, kind, Place::At(side))).into_iter().fold(0.0, f64::max);
        assert!((fullest - 1.0).abs() < 1e-9, "{fullest} at {most} N·m");
    }
}

/// What nobody knows stays unknown whatever lever is pulled.
#[test]
fn law_a_lever_answers_nothing_that_nobody_knows() {
    let mut job = hill();
    job.arms = 0;
    job.facts.truncate(fact::count(0));
    job.facts[list::AXLE_YIELD.id().index()] = None;
    let advice = advice::advise(&job, &check::check(&job));
    assert!(!advice.fixes.is_empty());
    for fix in &advice.fixes {
        assert_ne!(fix.verdict, Verdict::Holds, "{:?}", fix.changes);
    }
}

/// An arm under the nut takes of its thread: where too little is left it is not proposed.
#[test]
fn law_an_arm_is_proposed_only_where_the_thread_reaches() {
    let proposed = |free: f64| {
        let mut job = hill();
        job.arms = 0;
        job.facts.truncate(fact::count(0));
        choose(&mut job, list::FREE_THREAD.of(Side::Left), free);
        let advice = advice::advise(&job, &check::check(&job));
        advice.fixes.iter().any(|f| f.changes.iter().any(|c| c.key == "pinch-arm"))
    };
    assert!(!proposed(0.0105));
    assert!(proposed(0.0200));
}

/// The most braking at a speed is what the check allows: peaks and all, and faded where it fades.
#[test]
fn law_most_braking_is_no_more_than_the_links_hold() {
    let mut job = hill();
    for f in job.facts.iter_mut().flatten() {
        f.spread = Distribution::Exact;
    }
    for side in Side::BOTH {
        choose(&mut job, list::NUT_TORQUE.of(side), 50.0);
    }
    choose(&mut job, list::FADE_FROM.id(), 9.0 / 3.6);
    choose(&mut job, list::FADE_GONE.id(), 5.0 / 3.6);
    choose(&mut job, list::GRIP_WET.id(), 1.2);
    choose(&mut job, list::CHARGE_LIMIT_KEPT_BY.id(), 3.0);
    let advice = advice::advise(&job, &check::check_quickly(&job, &Default::default(), 256));
    let values = job.middle();
    let world = World::new(&values, job.arms, &Off);
    // At 5 km/h nothing is left but the motor's own drag.
    let rotor = world
        .machine()
        .unwrap()
        .rotor_speed(physics::motor::rolling(advice.ceiling[0].speed, world.get(list::WHEEL_RADIUS).unwrap()).unwrap());
    let drag = world.machine().unwrap().coasting_drag(rotor);
    assert!((advice.ceiling[0].torque / drag - 1.0).abs() < 1e-12);
    let fast = advice.ceiling.iter().find(|c| c.stopped_by == "axle-hold").unwrap();
    // With the brake current of that torque the axle is just full.
    let share = fast.torque.as_newton_metres() / world.first_slip().unwrap().as_newton_metres();
    let beyond = 1.0 + world.get(list::OVERSHOOT).unwrap().get() + world.get(list::CURRENT_TOLERANCE).unwrap().get();
    assert!(share < 1.0 && share > 0.9 / beyond, "{share} of the first slip, {beyond}");
}

/// What is looked at on a bike is not taken over from its sister.
#[test]
fn what_is_looked_at_is_not_taken_over() {
    for id in [
        list::CABLE_EXIT.id(),
        list::GEAR_TEETH.id(),
        list::WASHER_FLAT.of(Side::Left),
        list::WASHER_KEYED.of(Side::Right),
    ] {
        assert!(!sister::takes_over(id), "{}", fact::describe(id).1);
    }
}

/// "12 to 14 cells" is not 13.
#[test]
fn a_count_has_no_doubt() {
    let read = |text| {
        let def = fact::definition(list::CELLS_SERIES.id());
        fact::read_fact(def, text, &[], fact::Origin::Measured, quantity::text::Decimal::Point)
    };
    assert!(read("14").is_ok());
    assert!(read("14 ± 1").is_err() && read("12 to 14").is_err());
}
