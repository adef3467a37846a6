//! A job's ride and its variants.

use crate::laws::hilly;
use quantity::*;
use workbench::fact::{Distribution, Shape, Side, describe, list};
use workbench::job::Job;
use workbench::link::{Kind, Link, Off, Place, World, load};
use workbench::ride::answers::ANSWERS;
use workbench::ride::bike::{Load, Weather};
use workbench::ride::course::Course;
use workbench::ride::ensemble::ensemble;
use workbench::ride::options::Options;
use workbench::ride::run::ride;
use workbench::ride::study::{middle_bike, study};
use workbench::ride::{demands, limits::EndsBy};

pub fn job() -> Job {
    let mut job = Job::new("1", "test", 1);
    job.kind = Some("hill".to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::CHARGE_LIMIT_KEPT_BY.id(), 0.0),
        (list::CHARGE_TO.id(), 0.7),
        (list::ARM_SIDE.of(0), 0.0),
    ] {
        job.choose(id, value, Distribution::Exact, "test");
    }
    for side in Side::BOTH {
        job.choose(list::FREE_THREAD.of(side), 0.011, Distribution::Exact, "test");
    }
    workbench::kinds::fill(&mut job, &[]);
    job
}

fn descent() -> Course {
    Course::descent(Grade::percent(6.0), Length::metres(60.0), Speed::kilometres_per_hour(24.0)).unwrap()
}

/// Same bits on one thread, two and five.
#[test]
fn law_variants_do_not_depend_on_threads() {
    let (job, course, options) = (job(), descent(), Options::read(&[]).unwrap());
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| ensemble(&job, &course, &options, 64, &|_| ()))
    };
    let bits = |e: &workbench::ride::ensemble::Ensemble| -> Vec<u64> {
        e.quantiles.iter().flatten().map(|x| x.to_bits()).collect()
    };
    let one = on(1);
    assert_eq!(one.failed.0, 0, "{:?}", one.failed.1);
    for threads in [2, 5] {
        assert_eq!(bits(&one), bits(&on(threads)));
    }
    let recovered = ANSWERS.iter().position(|a| a.key == "recovered_wh").unwrap();
    let [low, _, middle, _, high] = one.quantiles[recovered];
    assert!(0.0 < low && low < middle && middle < high, "{:?}", one.quantiles[recovered]);
}

/// More load brings back no less; the heaviest is not held longer than the lightest.
#[test]
fn law_heavier_brings_back_more_and_is_held_shorter() {
    let s = study(&job(), &descent(), &Options::read(&[]).unwrap()).unwrap();
    let wh: Vec<f64> = s.pairs.iter().map(|p| p.recovered_wh()).collect();
    assert!(wh[0] < wh[1] && wh[1] <= wh[2] + 1e-9, "{wh:?}");
    assert!(s.longest[2].height <= s.longest[0].height);
    assert_ne!(s.longest[2].ends_by, EndsBy::Nothing);
    // A hill that was held gives back less than its height (m·g·h at the tyre).
    for (p, m) in s.pairs.iter().zip(&s.masses) {
        assert!(p.recovered_wh() < m.as_kilograms() * 9.806_65 * 60.0 / 3600.0);
    }
}

/// What a descent asks is what was ridden: its slope, its speed, and a height no higher than its own.
#[test]
fn law_demands_of_an_even_descent_are_its_own() {
    let (job, options) = (job(), Options::read(&[]).unwrap());
    let asked = demands::with(&job, &demands::demands(&job, &descent(), &options).unwrap());
    let near = |a: f64, b: f64, share: f64| assert!((a / b - 1.0).abs() < share, "{a} against {b}");
    near(asked.get(list::STEEPEST).unwrap().get(), 0.06, 1e-3);
    // The speed of this kind of hub is assumed, so that the ride's own counts.
    near(asked.get(list::DOWNHILL_SPEED).unwrap().as_kilometres_per_hour(), 24.0, 1e-2);
    // The height is the one after which the link is as hot as the ride was.
    let hottest = job.get(list::HOTTEST_AIR).unwrap();
    let weather = Weather::at(hottest, descent().start_height(), Speed::ZERO).unwrap();
    let bike = middle_bike(&job, &options, Load::Usual).unwrap().with_clutch(true);
    let start = descent().start_speed().as_metres_per_second();
    let ridden = ride(&bike, &options.rider(&job), &weather, &descent(), start).unwrap();
    let values = asked.middle();
    let heat = Link { kind: Kind::WindingHeat, place: Place::Whole };
    let link = load(&World::new(&values, asked.arms, &Off), heat).unwrap();
    let hottest_c = ridden.tally.peaks.winding_c;
    assert!((link.brake - hottest_c).abs() < 0.1, "{} against {hottest_c} °C", link.brake);
}

/// Where the pack never opens, the figure says what it would do all the same, and is not the ordinary supply.
#[test]
fn law_a_pack_that_stays_closed_has_a_cut_out_above_its_supply() {
    let s = study(&job(), &descent(), &Options::read(&[]).unwrap()).unwrap();
    let of = |key: &str| ANSWERS.iter().find(|a| a.key == key).unwrap().of;
    for p in &s.pairs {
        assert!(p.locked.openings.is_empty());
        let (surge, supply) = (of("surge_v")(p).unwrap(), of("supply_highest_v")(p).unwrap());
        assert!(surge > supply + 0.5, "{surge} V against {supply}");
    }
    // Uphill nothing charges: there is no such figure.
    let up = hilly(&[0.05, 0.06, 0.05], 1.0, 1.0);
    for p in study(&job(), &up, &Options::read(&[]).unwrap()).unwrap().pairs {
        assert!(p.recovered_wh() > 0.0 || of("surge_v")(&p).is_none());
    }
}

/// What is set and kept by nobody is ridden as the links judge it: with the hardware's own limit.
#[test]
fn law_currents_that_nobody_keeps_are_ridden_as_the_links_judge_them() {
    let options = Options::read(&[]).unwrap();
    let ridden = |keeper: &str| {
        let mut job = job();
        for key in [list::BRAKE_CURRENT_KEPT_BY, list::DRIVE_CURRENT_KEPT_BY] {
            let Shape::Choice(keepers) = describe(key.id()).0.shape else { panic!("a choice") };
            let at = keepers.iter().position(|k| *k == keeper).unwrap();
            job.choose(key.id(), at as f64, Distribution::Exact, "test");
        }
        for (key, amps) in [(list::BRAKE_CURRENT, 31.0), (list::DRIVE_CURRENT, 33.0), (list::HARDWARE_CURRENT, 90.0)] {
            job.choose(key.id(), amps, Distribution::Exact, "test");
        }
        let values = job.middle();
        let world = World::new(&values, job.arms, &Off);
        let judged = [
            world.set_current(list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY),
            world.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY),
        ];
        let bike = middle_bike(&job, &options, Load::Usual).unwrap();
        assert_eq!(judged.map(|i| i.unwrap().as_amperes()), [bike.drive_a, bike.brake_a]);
        (bike.brake_a, study(&job, &descent(), &options).unwrap())
    };
    let ((kept_a, kept), (free_a, free)) = (ridden("controller"), ridden("nobody"));
    assert!((free_a / kept_a - 90.0 / 31.0).abs() < 1e-9, "{free_a} A against {kept_a}");
    // No hold counts on a current that happens not to be kept.
    for (a, b) in kept.longest.iter().zip(&free.longest) {
        assert!((a.height.as_metres() - b.height.as_metres()).abs() < 1e-6);
    }
}

/// A job with both wheels driven is ridden with two hubs.
#[test]
fn both_wheels_driven_are_ridden_as_two_hubs() {
    let mut job = job();
    let hubs = |job: &Job| middle_bike(job, &Options::read(&[]).unwrap(), Load::Usual).unwrap().hubs;
    assert!((hubs(&job) - 1.0).abs() < 1e-12);
    job.choose(list::POSITION.id(), 2.0, Distribution::Exact, "test");
    assert_eq!(job.answer(list::POSITION.id()), Some("both"));
    assert!((hubs(&job) - 2.0).abs() < 1e-12);
}
