//! The same ride a thousand times: other bikes within the doubts of the facts, other riders, loads and days.
//!
//! Draws are scrambled Sobol points, as everywhere; each variant has a lane of its own in the vector units and its answers stand
//! in their own place, so that the numbers are the same on any machine and any number of threads. Only the answers are kept: memory does not grow
//! with the length of the ride.

use super::answers::{ANSWERS, Worth, pair_of};
use super::bike::{Bike, Load, Rider};
use super::course::Course;
use super::options::Options;
use super::run::End;
use super::side_by_side::{Entry, ride_all};
use super::study::{RideError, with_charge};
use crate::doubt::sobol::Sequence;
use crate::doubt::{Draws, normal_quantile};
use crate::job::Job;
use crate::link::{Off, World};
use quantity::*;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Dimensions besides the facts: legs, assist, load, charge, air, wind.
const MORE: usize = 6;
/// So many variants are ridden by a thread at a time: enough that lanes are seldom empty.
const TOGETHER: core::ops::RangeInclusive<usize> = 16..=256;
/// Portions for each thread, so that all end at about the same time.
const PORTIONS: usize = 4;
/// Most variants at once.
pub const MOST: usize = 100_000;
/// Variants are ridden in steps twice as long, s: what that changes (`docs/validation.md`) is far below what they differ by.
pub const STEP_S: f64 = 0.2;
/// Shares at which each answer is read.
pub const SHARES: [f64; 5] = [0.05, 0.25, 0.50, 0.75, 0.95];

/// Spread of legs (lognormal deviation), of assist (share each way), of the start's charge (below the agreed), of the air
/// (K) and of the wind (m/s): own choice of a year of everyday riding, grade D.
const LEGS: f64 = 0.25;
const ASSIST: f64 = 0.3;
const CHARGE: f64 = 0.10;
const AIR_K: f64 = 8.0;
const WIND_M_S: f64 = 1.5;

/// Quantiles of every answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Ensemble {
    /// Variants asked for.
    pub variants: usize,
    /// Those that could not be worked out, and the first reason.
    pub failed: (usize, Option<RideError>),
    /// For each of [`ANSWERS`] its values at [`SHARES`], of those that have one; not-a-number where none has.
    pub quantiles: Vec<[f64; 5]>,
    /// Share of all that arrives; who could not be worked out does not.
    pub arrives: f64,
    /// Share of all that does the ride with nothing passed, likewise.
    pub survives: f64,
    /// Share of all for each kind of worth, in the order of [`WORTHS`]; the rest could not be worked out.
    pub worth: [f64; 5],
}

/// The order of [`Ensemble::worth`].
pub const WORTHS: [Worth; 5] = [Worth::Range, Worth::Pads, Worth::Hardly, Worth::No, Worth::NotLikeThis];

/// One variant's answers.
struct Variant {
    numbers: Vec<Option<f64>>,
    arrives: bool,
    survives: bool,
    worth: Worth,
}

/// Rides all variants; tells how many are done.
pub fn ensemble(
    job: &Job,
    course: &Course,
    options: &Options,
    variants: usize,
    went: &(dyn Fn(usize) + Sync),
) -> Ensemble {
    let variants = variants.clamp(1, MOST);
    let draws = Draws::new(job);
    let dims = draws.dimensions() + MORE;
    let mut points = vec![0.0; dims * variants];
    Sequence::new(dims, 0).fill(0, &mut points);
    let middle = job.middle();
    let so_far = AtomicUsize::new(0);
    let portion = (variants / (rayon::current_num_threads() * PORTIONS)).clamp(*TOGETHER.start(), *TOGETHER.end());
    let done: Vec<Vec<Result<Variant, RideError>>> = points
        .par_chunks(dims * portion)
        .map(|points| {
            let mut values = middle.clone();
            let entries = points.chunks(dims).map(|point| {
                draws.draw(&point[..dims - MORE], &mut values);
                entry(job, &values, course, options, &point[dims - MORE..])
            });
            // Two rides a variant.
            together(entries.collect(), course, &|| went(so_far.fetch_add(1, Ordering::Relaxed).div_ceil(2)))
        })
        .collect();
    summary(variants, done.into_iter().flatten().collect())
}

/// One variant's bike, rider and day.
fn entry(job: &Job, values: &[f64], course: &Course, options: &Options, more: &[f64]) -> Result<Entry, RideError> {
    let [legs, assist, load, charge, air, wind] = more else { return Err(RideError::Gap(crate::link::Gap::NotThere)) };
    let usual = options.rider(job);
    let rider = Rider {
        power_w: usual.power_w * libm::exp(LEGS * normal_quantile(*legs)),
        assist: usual.assist * (1.0 + ASSIST * (2.0 * assist - 1.0)),
        ..usual
    };
    let air = Temperature::kelvins((options.air().as_kelvins() + AIR_K * normal_quantile(*air)).clamp(250.0, 320.0));
    let wind = options.wind() + Speed::metres_per_second(WIND_M_S * normal_quantile(*wind));
    let weather = options.weather(air, course.start_height(), wind)?;
    let world = World::new(values, job.arms, &Off);
    let bike = with_charge(Bike::new(&world, Load::Between(*load))?, options);
    let bike = Bike { start_charge: (bike.start_charge - CHARGE * charge).max(0.05), ..bike };
    Ok(Entry { bike, rider, weather })
}

/// Rides some variants with the clutch locked and free, and answers for each.
fn together(
    entries: Vec<Result<Entry, RideError>>,
    course: &Course,
    ended: &dyn Fn(),
) -> Vec<Result<Variant, RideError>> {
    let ride = |locked: bool| {
        let with = |e: &Entry| Entry { bike: e.bike.with_clutch(locked), ..e.clone() };
        let all: Vec<Entry> = entries.iter().flatten().map(with).collect();
        ride_all(&all, course, course.start_speed().as_metres_per_second(), STEP_S, ended).into_iter()
    };
    let (mut locked, mut free) = (ride(true), ride(false));
    let answer = |e: Result<Entry, RideError>| {
        let e = e?;
        let (Some(locked), Some(free)) = (locked.next(), free.next()) else {
            return Err(RideError::Gap(crate::link::Gap::NotThere));
        };
        let pair = pair_of(&e.bike, course, locked?, free?);
        Ok(Variant {
            numbers: ANSWERS.iter().map(|a| (a.of)(&pair)).collect(),
            arrives: pair.locked.end == End::Arrived,
            survives: pair.survives(),
            worth: pair.worth(),
        })
    };
    entries.into_iter().map(answer).collect()
}

fn summary(variants: usize, done: Vec<Result<Variant, RideError>>) -> Ensemble {
    let mut failed = (0, None);
    let mut good: Vec<Variant> = Vec::with_capacity(done.len());
    for d in done {
        match d {
            Ok(v) => good.push(v),
            Err(e) => {
                failed.0 += 1;
                failed.1.get_or_insert(e);
            }
        }
    }
    let share = |yes: &dyn Fn(&Variant) -> bool| good.iter().filter(|v| yes(v)).count() as f64 / variants as f64;
    let quantiles = (0..ANSWERS.len())
        .map(|i| {
            let mut column: Vec<f64> = good.iter().filter_map(|v| v.numbers[i]).collect();
            column.sort_by(f64::total_cmp);
            SHARES.map(|s| quantile(&column, s))
        })
        .collect();
    Ensemble {
        variants,
        failed,
        quantiles,
        arrives: share(&|v| v.arrives),
        survives: share(&|v| v.survives),
        worth: WORTHS.map(|w| share(&|v| v.worth == w)),
    }
}

/// Straight between the order statistics (definition 7 of Hyndman and Fan 1996).
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let at = share * last as f64;
    let i = at as usize;
    let (a, b) = (sorted[i], sorted[(i + 1).min(last)]);
    if a == b { a } else { a + (at - i as f64) * (b - a) }
}
