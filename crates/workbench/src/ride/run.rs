//! A whole ride: steps, stops, and what happens on the way.

use super::bike::{Bike, Rider, Weather};
use super::course::{Course, Halt};
use super::lanes::Lanes;
use super::rainflow::{Branch, Rainflow};
use super::step::{State, Stepper, Stuck, Taken};
use super::tally::{Limit, Tally};

/// Length of a step, s.
pub const STEP_S: f64 = 0.1;
/// Standing still is done in steps of this length, s.
const STAND_S: f64 = 1.0;
/// No ride lasts longer, s.
const LONGEST_S: f64 = 60.0 * 3600.0;
/// Closer than this is there, m.
const ARRIVED_M: f64 = 1e-9;
/// Weak places closer than this are one stretch, m.
const ONE_STRETCH_M: f64 = 200.0;
/// Most openings of the pack, and weak stretches, that are written down.
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

/// A stretch on which the pack was too weak for the drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Begins, m.
    pub from_m: f64,
    /// Ends, m.
    pub to_m: f64,
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
    /// Changes of the axle's torque.
    pub rainflow: Rainflow,
    /// Openings of the pack, the first fifty.
    pub openings: Vec<Opening>,
    /// Where the pack was too weak to drive as asked, the first fifty stretches.
    pub weak: Vec<Stretch>,
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
    let mut alone = Lane::new(0, bike, rider, weather, course, start_m_s, step_s);
    let mut stepper = alone.stepper.clone();
    let (mut state, mut tally, mut branch, mut until_m) = (alone.first, Tally::NEW, Branch::NEW, alone.until_m());
    loop {
        let before_m_s = state.v_m_s;
        let taken = stepper.go(&mut state, until_m, &mut tally);
        if branch.follow(taken.axle_nm) {
            branch = alone.rainflow.turn(branch, taken.axle_nm);
        }
        alone.steps += 1;
        if is_weak(&taken) {
            alone.weak(state.x_m);
        }
        if let Some(stuck) = taken.stuck() {
            return Err(stuck);
        }
        let on = watch.step(&state, &taken);
        if !on {
            alone.note(&state, &taken);
            return Ok(alone.finish(End::Stopped, state, tally, branch));
        }
        if needs_look(&state, &taken, before_m_s, until_m) {
            if let Some(end) = alone.look(&mut state, &taken, before_m_s, &mut tally, &mut branch, watch)? {
                return Ok(alone.finish(end, state, tally, branch));
            }
            until_m = alone.until_m();
        }
    }
}

/// Whether the pack is too weak to drive as asked.
#[inline(always)]
pub(super) fn is_weak<L: Lanes>(taken: &Taken<L>) -> L::Mask {
    taken.limit.same(taken.limit.like(Limit::PackWeak.code()))
}

/// Whether something happens that a [`Lane`] must see to.
#[inline(always)]
pub(super) fn needs_look<L: Lanes>(s: &State<L>, taken: &Taken<L>, before_m_s: L, until_m: L) -> L::Mask {
    let zero = until_m.like(0.0);
    let stands = s.v_m_s.up_to(zero) & before_m_s.up_to(zero);
    let hands_wait = s.t_s.below(s.hands_from_s);
    let lasts = zero.like(LONGEST_S).below(s.t_s);
    zero.below(taken.opened) | stands | hands_wait | lasts | (until_m - ARRIVED_M).up_to(s.x_m)
}

/// One ride on its way: what happens seldom.
#[derive(Clone, Debug)]
pub(super) struct Lane<'a> {
    pub who: usize,
    pub stepper: Stepper<'a>,
    pub first: State,
    pub rainflow: Rainflow,
    pub steps: u64,
    halts: core::slice::Iter<'a, Halt>,
    halt: Option<&'a Halt>,
    length_m: f64,
    mass_kg: f64,
    openings: Vec<Opening>,
    weak: Vec<Stretch>,
}

impl<'a> Lane<'a> {
    pub(super) fn new(
        who: usize,
        bike: &'a Bike,
        rider: &Rider,
        weather: &Weather,
        course: &'a Course,
        start_m_s: f64,
        step_s: f64,
    ) -> Self {
        let stepper = Stepper::new(bike, rider, weather, course, step_s);
        let mut halts = course.halts.iter();
        Self {
            who,
            first: stepper.start(start_m_s),
            stepper,
            rainflow: Rainflow::new(2.0 * bike.axle_still_nm),
            steps: 0,
            halt: halts.next(),
            halts,
            length_m: course.length().as_metres(),
            mass_kg: bike.mass_kg,
            openings: Vec::new(),
            weak: Vec::new(),
        }
    }

    /// Where the next stop or the end is.
    pub(super) fn until_m(&self) -> f64 {
        self.halt.map_or(self.length_m, |h| h.x_m)
    }

    /// Writes down that the pack is too weak here.
    pub(super) fn weak(&mut self, x_m: f64) {
        let count = self.weak.len();
        match self.weak.last_mut() {
            Some(last) if x_m < last.to_m + ONE_STRETCH_M => last.to_m = x_m,
            _ if count < MOST_EVENTS => self.weak.push(Stretch { from_m: x_m, to_m: x_m }),
            _ => {}
        }
    }

    /// Writes down that the pack opened.
    fn note(&mut self, state: &State, taken: &Taken) {
        if taken.opened() && self.openings.len() < MOST_EVENTS {
            self.openings.push(opening(state, taken, self.mass_kg));
        }
    }

    /// After a step that [`needs_look`]: how the ride ended, if it did.
    pub(super) fn look(
        &mut self,
        state: &mut State,
        taken: &Taken,
        before_m_s: f64,
        tally: &mut Tally,
        branch: &mut Branch,
        watch: &mut impl Watch,
    ) -> Result<Option<End>, Stuck> {
        self.note(state, taken);
        if state.v_m_s <= 0.0 && before_m_s <= 0.0 {
            return Ok(Some(End::TooSteep));
        }
        if state.t_s < state.hands_from_s
            && let Some(o) = self.openings.last_mut()
        {
            o.gained_m_s = o.gained_m_s.max(state.v_m_s - o.speed_m_s);
        }
        if state.t_s > LONGEST_S {
            return Ok(Some(End::TooLong));
        }
        while state.x_m >= self.until_m() - ARRIVED_M {
            let Some(h) = self.halt else { return Ok(Some(End::Arrived)) };
            tally.halted(self.stepper.kinetic_j(state));
            state.v_m_s = 0.0;
            let mut left = h.wait_s;
            while left > 0.0 {
                let taken = self.stepper.stand(state, left.min(STAND_S), tally)?;
                left -= taken.h_s;
                if branch.follow(taken.axle_nm) {
                    *branch = self.rainflow.turn(*branch, taken.axle_nm);
                }
                watch.step(state, &taken);
            }
            self.halt = self.halts.next();
        }
        Ok(None)
    }

    pub(super) fn finish(mut self, end: End, last: State, mut tally: Tally, branch: Branch) -> Ride {
        let (s, first) = (&self.stepper, &self.first);
        tally.ledger.kinetic_j = s.kinetic_j(&last) - s.kinetic_j(first);
        tally.ledger.pairs_j = s.pairs_j(&last) - s.pairs_j(first);
        self.rainflow.end(branch);
        let Self { first, rainflow, openings, weak, steps, .. } = self;
        Ride { end, first, last, tally, rainflow, openings, weak, steps }
    }
}

fn opening(s: &State, taken: &Taken, mass_kg: f64) -> Opening {
    Opening {
        t_s: s.t_s,
        x_m: s.x_m,
        speed_m_s: s.v_m_s,
        slope: taken.slope,
        lost_m_s2: (-taken.motor_n).max(0.0) / mass_kg,
        power_w: -taken.battery_a * taken.bus_v,
        phase_a: taken.phase_a,
        bus_v: taken.bus_v,
        gained_m_s: 0.0,
    }
}
