//! What a ride asks of the job's links: facts that the job only assumes, in place of them taken from its own way.
//!
//! A link reads its demand from facts (fastest descent, steepest slope, height held, charge at the start); the ride says what
//! they are on this way. The rest of the doubt stays. The height held is the one after which the link's own model is as hot
//! as the ride was, so that stops, bends and flats on the way down count.

use super::bike::Load;
use super::course::Course;
use super::options::Options;
use super::run::{STEP_S, Watch, ride_with};
use super::step::{State, Taken};
use super::study::{RideError, middle_bike};
use crate::fact::{Distribution, FactId, Origin, Shape, describe, list, range};
use crate::job::Job;
use crate::link::{self, Kind, Link, Off, Place, World};
use quantity::units::find_unit;

/// A slope must last this far to count as one that is held, m.
const HELD_FOR_M: f64 = 100.0;

/// A fact as the ride has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Which.
    pub fact: FactId,
    /// Its value in SI, within what the fact allows.
    pub value_si: f64,
}

impl Demand {
    /// Its value with its unit.
    pub fn text(&self) -> String {
        let unit = match describe(self.fact).0.shape {
            Shape::Quantity { unit, .. } => unit,
            _ => "",
        };
        let value = find_unit(unit).map_or(self.value_si, |u| u.from_si(self.value_si));
        format!("{value:.1} {unit}")
    }
}

/// Steepest slope held while braking and fastest speed of one ride.
struct Seen {
    span: Vec<(f64, f64)>,
    steepest: f64,
}

impl Watch for Seen {
    fn step(&mut self, s: &State, t: &Taken) -> bool {
        if t.motor_n + t.legs_n - t.hands_n > 0.0 {
            self.span.clear();
            return true;
        }
        self.span.push((s.x_m, t.slope));
        let from = s.x_m - HELD_FOR_M;
        if self.span.first().is_some_and(|p| p.0 <= from) {
            let first = self.span.partition_point(|p| p.0 <= from);
            let mean = self.span[first..].iter().map(|p| p.1).sum::<f64>() / (self.span.len() - first).max(1) as f64;
            self.steepest = self.steepest.max(-mean);
            if first > 2000 {
                self.span.drain(..first);
            }
        }
        true
    }
}

/// The demands of a course, ridden with the usual load, as the links judge it, in the hottest air.
///
/// # Errors
/// [`RideError`] where a fact is missing or a formula does not reach.
pub fn demands(job: &Job, course: &Course, options: &Options) -> Result<Vec<Demand>, RideError> {
    let said = options.air();
    let hottest = job.get(list::HOTTEST_AIR).filter(|t| *t > said).unwrap_or(said);
    let weather = options.weather(hottest, course.start_height(), options.wind())?;
    let rider = options.rider(job);
    let bike = middle_bike(job, options, Load::Usual)?.with_clutch(true);
    let mut seen = Seen { span: Vec::new(), steepest: 0.0 };
    let start = course.start_speed().as_metres_per_second();
    let ride = ride_with(&bike, &rider, &weather, course, start, STEP_S, &mut seen)?;
    let mut out = Vec::new();
    higher(&mut out, job, list::DOWNHILL_SPEED.id(), ride.tally.peaks.speed_m_s);
    if seen.steepest > 0.0 {
        higher(&mut out, job, list::STEEPEST.id(), seen.steepest / (1.0 - seen.steepest * seen.steepest).sqrt());
    }
    higher(&mut out, job, list::CHARGE_TO.id(), bike.start_charge);
    let height = equal_height(&with(job, &out), ride.tally.peaks.winding_c);
    higher(&mut out, job, list::DESCENT_HEIGHT.id(), height);
    Ok(out)
}

/// A job with the demands in place of its facts.
#[must_use]
pub fn with(job: &Job, demands: &[Demand]) -> Job {
    let mut out = job.clone();
    for d in demands {
        out.choose(d.fact, d.value_si, Distribution::Exact, &d.text());
    }
    out
}

/// What the job knows or has chosen is not lowered: one ride does not show that the bike is never ridden faster or steeper.
fn higher(out: &mut Vec<Demand>, job: &Job, fact: FactId, value_si: f64) {
    let known = job.fact(fact).filter(|f| f.origin != Origin::Assumed);
    if known.is_none_or(|f| f.value < value_si) {
        put(out, fact, value_si);
    }
}

fn put(out: &mut Vec<Demand>, fact: FactId, value_si: f64) {
    let (low, high) = range(describe(fact).0);
    out.push(Demand { fact, value_si: value_si.max(low).min(high) });
}

/// Height of a steady descent after which the winding is as hot as on the ride, by the link's own model.
fn equal_height(job: &Job, winding_c: f64) -> f64 {
    let (low, most) = range(describe(list::DESCENT_HEIGHT.id()).0);
    let mut values = job.middle();
    let mut hot = |height: f64| {
        values[list::DESCENT_HEIGHT.id().index()] = height;
        let world = World::new(&values, job.arms, &Off);
        link::load(&world, Link { kind: Kind::WindingHeat, place: Place::Whole }).map_or(f64::INFINITY, |l| l.brake)
    };
    let (mut a, mut b) = (low, most);
    if hot(b) < winding_c {
        return b;
    }
    while b - a > 0.1 {
        let mid = (a + b) / 2.0;
        if hot(mid) < winding_c { a = mid } else { b = mid }
    }
    b
}
