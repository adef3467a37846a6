//! A whole ride: steps, stops, and what happens on the way.

use super::bike::{Bike, Rider, Weather};
use super::course::Course;
use super::step::{State, Stepper, Stuck, Taken};
use super::tally::Tally;

/// Length of a step, s.
pub const STEP_S: f64 = 0.1;
/// Standing still is done in steps of this length, s.
const STAND_S: f64 = 1.0;
/// No ride lasts longer, s.
const LONGEST_S: f64 = 60.0 * 3600.0;
/// Most openings of the pack that are written down.
const MOST_EVENTS: usize = 50;

/// How a ride ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// At the end of the course.
    Arrived,
    /// Stood still where rider and motor together cannot climb.
    TooSteep,
    /// Lasted longer than 60 hours.
    TooLong,
    /// A watcher had seen enough.
    Stopped,
}

/// The pack's electronics opened while braking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// When, s.
    pub t_s: f64,
    /// Where along the road, m.
    pub x_m: f64,
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// Slope, sine.
    pub slope: f64,
    /// Deceleration by the motor that is gone at once, m/s².
    pub lost_m_s2: f64,
    /// Power into the pack at that moment, W.
    pub power_w: f64,
    /// Motor current at that moment, A.
    pub phase_a: f64,
    /// Supply volts at that moment.
    pub bus_v: f64,
    /// Speed gained until the hands brake, m/s.
    pub gained_m_s: f64,
}

/// A finished ride.
#[derive(Clone, Debug)]
pub struct Ride {
    /// How it ended.
    pub end: End,
    /// Where it stood at the start.
    pub first: State,
    /// Where it stood at the end.
    pub last: State,
    /// The account.
    pub tally: Tally,
    /// Openings of the pack, the first fifty.
    pub openings: Vec<Opening>,
    /// Steps taken.
    pub steps: u64,
}

/// Sees every step.
pub trait Watch {
    /// After a step; `false` ends the ride.
    fn step(&mut self, state: &State, taken: &Taken) -> bool;
}

/// Sees nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nobody;

impl Watch for Nobody {
    #[inline(always)]
    fn step(&mut self, _: &State, _: &Taken) -> bool {
        true
    }
}

/// Rides a course in steps of [`STEP_S`].
///
/// # Errors
/// [`Stuck`] where no formula reaches.
pub fn ride(bike: &Bike, rider: &Rider, weather: &Weather, course: &Course, start_m_s: f64) -> Result<Ride, Stuck> {
    ride_with(bike, rider, weather, course, start_m_s, STEP_S, &mut Nobody)
}

/// Rides a course in steps of a given length, watched.
///
/// # Errors
/// As [`ride`].
pub fn ride_with(
    bike: &Bike,
    rider: &Rider,
    weather: &Weather,
    course: &Course,
    start_m_s: f64,
    step_s: f64,
    watch: &mut impl Watch,
) -> Result<Ride, Stuck> {
    let stepper = Stepper::new(bike, rider, weather, course, step_s);
    let mut tally = Tally::new(bike);
    let mut state = stepper.start(start_m_s);
    let first = state;
    let length_m = course.length().as_metres();
    let mut openings: Vec<Opening> = Vec::new();
    let mut steps = 0;
    let mut halts = course.halts.iter();
    let mut halt = halts.next();
    let mut end = End::Arrived;
    'ride: loop {
        let until_m = halt.map_or(length_m, |h| h.x_m);
        while state.x_m < until_m - 1e-9 {
            let before = state.v_m_s;
            let taken = stepper.step(&mut state, until_m, &mut tally)?;
            steps += 1;
            if taken.opened && openings.len() < MOST_EVENTS {
                openings.push(opening(&state, &taken, bike));
            }
            if !watch.step(&state, &taken) {
                end = End::Stopped;
                break 'ride;
            }
            if state.v_m_s <= 0.0 && before <= 0.0 {
                end = End::TooSteep;
                break 'ride;
            }
            if state.t_s < state.hands_from_s
                && let Some(o) = openings.last_mut()
            {
                o.gained_m_s = o.gained_m_s.max(state.v_m_s - o.speed_m_s);
            }
            if state.t_s > LONGEST_S {
                end = End::TooLong;
                break 'ride;
            }
        }
        let Some(h) = halt else { break };
        tally.halted(stepper.kinetic_j(&state));
        state.v_m_s = 0.0;
        let mut left = h.wait_s;
        while left > 0.0 {
            let taken = stepper.stand(&mut state, left.min(STAND_S), &mut tally)?;
            left -= taken.h_s;
            watch.step(&state, &taken);
        }
        halt = halts.next();
    }
    tally.ledger.kinetic_j = stepper.kinetic_j(&state) - stepper.kinetic_j(&first);
    tally.ledger.pairs_j = stepper.pairs_j(&state) - stepper.pairs_j(&first);
    tally.rainflow.finish();
    Ok(Ride { end, first, last: state, tally, openings, steps })
}

fn opening(s: &State, taken: &Taken, bike: &Bike) -> Opening {
    Opening {
        t_s: s.t_s,
        x_m: s.x_m,
        speed_m_s: s.v_m_s,
        slope: taken.slope,
        lost_m_s2: (-taken.motor_n).max(0.0) / bike.mass_kg,
        power_w: -taken.battery_a * taken.bus_v,
        phase_a: taken.phase_a,
        bus_v: taken.bus_v,
        gained_m_s: 0.0,
    }
}
