//! The settings found, against trying every value, and against what no setting may do.

use rayon::prelude::*;
use workbench::check;
use workbench::doubt::Draws;
use workbench::fact::{Distribution, FactId, Side, list};
use workbench::job::Job;
use workbench::kinds;
use workbench::link::{self, Kind, Link, Off, Path, World};
use workbench::settings::{self, At, Wish};

fn choose(job: &mut Job, id: FactId, value_si: f64) {
    job.choose(id, value_si, Distribution::Exact, "test");
}

/// A complete job of a kind with a pinching arm of hardened steel.
fn job(kind: &str) -> Job {
    let mut job = Job::new("1", "test", 1);
    job.kind = Some(kind.to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::CHARGE_LIMIT_KEPT_BY.id(), 0.0),
        (list::CHARGE_LIMIT.id(), 5.0),
        (list::LOCK_KIND.id(), 0.0),
        (list::LOCK_RADIUS.id(), 0.019),
        (list::LOCK_LEG.id(), 0.003),
        (list::LOCK_TACK_LENGTH.id(), 0.008),
        (list::LOCK_COUNT.id(), 6.0),
        (list::ARM_SIDE.of(0), 0.0),
        (list::ARM_KIND.of(0), 1.0),
        (list::ARM_THICKNESS.of(0), 0.008),
        (list::ARM_YIELD.of(0), 750e6),
        (list::ARM_BEARING.of(0), 950e6),
        (list::PINCH_TORQUE.of(0), 8.0),
        (list::ANCHOR_TORQUE.of(0), 20.0),
        (list::ANCHOR_DIAMETER.of(0), 0.008),
    ] {
        choose(&mut job, id, value);
    }
    for side in Side::BOTH {
        choose(&mut job, list::FREE_THREAD.of(side), 0.011);
        choose(&mut job, list::FACES.of(side), 0.0);
        let torque = Distribution::Uniform { low: 76.8, high: 83.2 };
        job.choose(list::NUT_TORQUE.of(side), 80.0, torque, "80 N·m");
    }
    kinds::fill(&mut job, &[]);
    job.one_in = 16.0;
    job
}

const DRAWS: usize = 256;

/// Reads a link at the step from all draws, as plainly as can be.
struct Plain<'a> {
    job: &'a Job,
    rows: Vec<Vec<f64>>,
}

impl<'a> Plain<'a> {
    fn new(job: &'a Job) -> Self {
        let draws = Draws::new(job);
        let points = draws.points(DRAWS);
        let rows = points
            .chunks_exact(draws.dimensions())
            .map(|p| {
                let mut values = job.middle();
                draws.draw(p, &mut values);
                values
            })
            .collect();
        Self { job, rows }
    }

    /// Share of its room that the fullest of some links takes at the step.
    fn worst(&self, links: &[Link], dials: &[(FactId, f64)]) -> f64 {
        let middle = self.job.middle();
        let rows: Vec<Vec<f64>> = self
            .rows
            .iter()
            .map(|row| {
                let mut row = row.clone();
                for (id, v) in dials {
                    let i = id.index();
                    row[i] = v * if middle[i] == 0.0 { 1.0 } else { row[i] / middle[i] };
                }
                row
            })
            .collect();
        let at_step = |l: &Link| {
            let mut full: Vec<f64> = rows
                .iter()
                .map(|r| link::load(&World::new(r, self.job.arms, &Off), *l).map_or(f64::INFINITY, |x| x.full))
                .collect();
            full.sort_by(|a, b| b.total_cmp(a));
            let room = if l.kind.path() == Path::Fault { check::FAULT_HOLDS_UP_TO } else { check::HOLDS_UP_TO };
            full[(DRAWS as f64 / self.job.one_in).floor() as usize] / room
        };
        links.iter().map(at_step).fold(0.0, f64::max)
    }
}

fn links(job: &Job, wanted: impl Fn(Link) -> bool) -> Vec<Link> {
    let values = job.middle();
    link::plan(job)
        .into_iter()
        .filter(|l| link::load(&World::new(&values, job.arms, &Off), *l).is_ok() && wanted(*l))
        .collect()
}

/// Nuts tried: both, in steps of 5 N·m.
fn nuts() -> Vec<(f64, f64)> {
    (3..=18).flat_map(|l| (3..=18).map(move |r| (5.0 * f64::from(l), 5.0 * f64::from(r)))).collect()
}

/// Brute force over both nuts and each current, on jobs of three kinds: no pair of torques lets more current hold.
#[test]
fn validates_currents_against_every_value() {
    for kind in ["hill", "town", "hauler"] {
        let mut job = job(kind);
        // So high that the pack may open at any current: then only what turns and pulls decides.
        choose(&mut job, list::VOLTAGE_RATING.id(), 200.0);
        let wish = Wish { draws: Some(DRAWS), buy: false, ..Wish::default() };
        let solution = settings::solve(&job, &wish, &|_, _| ());
        let found = &solution.before_buying;
        let fixed = |kind: settings::Kind, at: At, id: FactId| (id, solution.get(kind, at).unwrap().value);
        let arms = [
            fixed(settings::Kind::PinchTorque, At::Arm(0), list::PINCH_TORQUE.of(0)),
            fixed(settings::Kind::AnchorTorque, At::Arm(0), list::ANCHOR_TORQUE.of(0)),
            fixed(settings::Kind::Ramp, At::Whole, list::RAMP.id()),
        ];
        let plain = Plain::new(&job);
        let all = links(&job, |l| {
            l.kind.path() != Path::Energy
                && !matches!(l.kind, Kind::WindingHeat)
                && !solution.impossible.iter().any(|i| i.link == l)
        });
        let any = |drive: f64, brake: f64| {
            nuts().par_iter().any(|(left, right)| {
                let mut dials = vec![
                    (list::DRIVE_CURRENT.id(), drive),
                    (list::BRAKE_CURRENT.id(), brake),
                    (list::NUT_TORQUE.of(Side::Left), *left),
                    (list::NUT_TORQUE.of(Side::Right), *right),
                ];
                dials.extend(arms);
                plain.worst(&all, &dials) <= 1.0
            })
        };
        let (drive, brake) = (found.drive_current.as_amperes(), found.brake_current.as_amperes());
        assert!(drive > 3.0 && brake > 3.0, "{kind}: {found:?}, {:?}", solution.impossible);
        // A grid of 5 N·m may miss the last amperes that the search finds with 1 N·m, but finds no more.
        assert!(any(drive - 3.0, 0.0), "{kind}: {drive} A of drive does not hold");
        assert!(!any(drive + 1.0, 0.0), "{kind}: more drive than {drive} A holds");
        assert!(any(1.0, brake - 3.0), "{kind}: {brake} A of braking does not hold");
        assert!(!any(1.0, brake + 1.0), "{kind}: more braking than {brake} A holds");
    }
}
