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

/// Nuts tried: both, in steps of 7 N·m over all, and of 1 N·m about those found.
fn nuts(found: [f64; 2]) -> Vec<(f64, f64)> {
    let coarse = (3..=13).flat_map(|l| (3..=13).map(move |r| (7.0 * f64::from(l), 7.0 * f64::from(r))));
    let fine = (-3..=3).flat_map(|l| (-3..=3).map(move |r| (found[0] + f64::from(l), found[1] + f64::from(r))));
    coarse.chain(fine).collect()
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
        let torque = |side| solution.get(settings::Kind::NutTorque, At::Side(side)).unwrap().value;
        let nuts = nuts(Side::BOTH.map(torque));
        let plain = Plain::new(&job);
        let all = links(&job, |l| {
            l.kind.path() != Path::Energy
                && !matches!(l.kind, Kind::WindingHeat)
                && !solution.impossible.iter().any(|i| i.link == l)
        });
        let any = |drive: f64, brake: f64| {
            nuts.par_iter().any(|(left, right)| {
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
        // The grid may miss the last amperes that the search finds, but finds no more.
        assert!(any(drive - 3.0, 0.0), "{kind}: {drive} A of drive does not hold");
        assert!(!any(drive + 1.0, 0.0), "{kind}: more drive than {drive} A holds");
        assert!(any(1.0, brake - 3.0), "{kind}: {brake} A of braking does not hold");
        assert!(!any(1.0, brake + 1.0), "{kind}: more braking than {brake} A holds");
    }
}

/// Every link, setting, rule and change has its words.
#[test]
fn nothing_shows_a_bare_key() {
    use workbench::words;
    let mut keys: Vec<String> = link::KINDS.iter().map(|k| format!("settings.hardware.{}", k.id())).collect();
    keys.extend(settings::Kind::ALL.iter().map(|k| format!("settings.name.{}", k.id())));
    for code in [include_str!("../src/settings/values.rs"), include_str!("../src/settings/speeds.rs")] {
        for opening in ["rule(\"", "Rule(\""] {
            keys.extend(
                code.split(opening).skip(1).filter_map(|r| r.split('"').next()).map(|k| format!("settings.rule.{k}")),
            );
        }
    }
    let buy = include_str!("../src/settings/buy.rs");
    let changes = buy.split("CHANGES: &[Change] = &[").nth(1).and_then(|r| r.split("];").next()).unwrap();
    keys.extend(changes.split("(\"").skip(1).filter_map(|r| r.split('"').next()).map(|k| format!("settings.buy.{k}")));
    keys.extend(["controller", "battery", "rider", "nobody", "workshop"].map(|k| format!("keeper.{k}")));
    assert!(keys.len() > 60, "{}", keys.len());
    let gone: Vec<&String> = keys.iter().filter(|k| words::find(k).is_none()).collect();
    assert!(gone.is_empty(), "no words for {gone:?}");
}

/// Brute force over braking current and charge limit: no pair that the pack's own limits and the load dump allow brakes
/// more at the speeds asked for.
#[test]
fn validates_charge_limit_against_every_value() {
    let mut job = job("hill");
    choose(&mut job, list::VOLTAGE_RATING.id(), 72.0);
    choose(&mut job, list::COLDEST.id(), quantity::Quantity::si(quantity::Temperature::celsius(18.0)));
    let wish = Wish { draws: Some(DRAWS), buy: false, ..Wish::default() };
    let solution = settings::solve(&job, &wish, &|_, _| ());
    let found = &solution.before_buying;
    let plain = Plain::new(&job);
    let dump = links(&job, |l| l.kind == Kind::PackCutsOut);
    let pack = links(&job, |l| matches!(l.kind, Kind::ChargeAmps | Kind::PlugAndWire | Kind::Cold | Kind::ChargeVolts));
    let hardware = job.get(list::HARDWARE_CURRENT).unwrap().as_amperes();
    let usual = quantity::Quantity::si(job.get(list::DOWNHILL_SPEED).unwrap());
    let level = (list::CHARGE_TO.id(), 0.8);
    // Largest braking current that holds without any charge, as the search finds it.
    let top = {
        let mut free = job.clone();
        choose(&mut free, list::VOLTAGE_RATING.id(), 200.0);
        settings::solve(&free, &wish, &|_, _| ()).before_buying.brake_current.as_amperes()
    };
    let holds = |brake: f64, charge: f64| {
        let set = |b: f64| vec![level, (list::BRAKE_CURRENT.id(), b), (list::CHARGE_LIMIT.id(), charge)];
        // The dump at every speed down to a fifth of the usual one.
        let all_speeds = (0..=16).all(|k| {
            let mut dials = set(brake);
            dials.push((list::DOWNHILL_SPEED.id(), usual * (1.0 - 0.05 * f64::from(k))));
            plain.worst(&dump, &dials) <= 1.0
        });
        all_speeds && plain.worst(&pack, &set(hardware)) <= 1.0
    };
    let worth = |brake: f64, charge: f64| {
        let mut with = job.clone();
        for (id, v) in [level, (list::BRAKE_CURRENT.id(), brake), (list::CHARGE_LIMIT.id(), charge)] {
            choose(&mut with, id, v);
        }
        let values = with.middle();
        let w = World::new(&values, with.arms, &Off);
        let torque = |v, b, c| settings::torque(&w, v, b, c).unwrap().0.as_newton_metres();
        found.braking.iter().map(|(v, _)| torque(*v, brake, Some(charge)) / torque(*v, top, None)).sum::<f64>() / 2.0
    };
    let all: Vec<(f64, f64)> =
        (1..=top as i32).flat_map(|b| (0..=50).map(move |c| (f64::from(b), 0.5 * f64::from(c)))).collect();
    let best = all
        .par_iter()
        .filter(|(b, c)| holds(*b, *c))
        .map(|(b, c)| (worth(*b, *c), *b, *c))
        .reduce(|| (0.0, 0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a });
    let (brake, charge) = (found.brake_current.as_amperes(), found.charge_limit.as_amperes());
    let ours = worth(brake, charge);
    assert!(holds(brake, charge), "{brake} A with {charge} A into the pack does not hold");
    assert!(ours >= best.0 * 0.995, "{brake} A, {charge} A: {ours}; better {best:?}");
}
