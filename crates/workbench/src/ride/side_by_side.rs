//! Many rides of one course, several at a time through the vector units: as one ends, the next takes its lane.

use super::bike::{Bike, Rider, Weather};
use super::course::Course;
use super::lanes::{ByLane as _, Lanes, each};
use super::params::Kind;
use super::rainflow::Branch;
use super::run::{Lane, Nobody, Ride, is_weak, needs_look, ride_with};
use super::step::{State, Stepper, Stuck};
use super::tally::Tally;
use fearless_simd::{Level, Simd, dispatch, f64x8};

/// Who rides a course.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The bike.
    pub bike: Bike,
    /// The rider.
    pub rider: Rider,
    /// The air.
    pub weather: Weather,
}

/// Rides all of them, each to the bit as alone; tells when one has ended.
pub fn ride_all(
    entries: &[Entry],
    course: &Course,
    start_m_s: f64,
    step_s: f64,
    ended: &dyn Fn(),
) -> Vec<Result<Ride, Stuck>> {
    ride_all_at(Level::new(), entries, course, start_m_s, step_s, ended)
}

/// The same with the vector units named; which they are changes no bit.
pub fn ride_all_at(
    level: Level,
    entries: &[Entry],
    course: &Course,
    start_m_s: f64,
    step_s: f64,
    ended: &dyn Fn(),
) -> Vec<Result<Ride, Stuck>> {
    let kinds = |k: Kind| entries.iter().all(|e| Kind::of(&e.bike) == k);
    let alike = entries.first().is_some_and(|e| kinds(Kind::of(&e.bike)));
    if entries.len() < 2 || !alike {
        let alone = |e: &Entry| {
            let ride = ride_with(&e.bike, &e.rider, &e.weather, course, start_m_s, step_s, &mut Nobody);
            ended();
            ride
        };
        return entries.iter().map(alone).collect();
    }
    dispatch!(level, simd => abreast(simd, entries, course, start_m_s, step_s, ended))
}

#[inline(always)]
fn abreast<S: Simd>(
    simd: S,
    entries: &[Entry],
    course: &Course,
    start_m_s: f64,
    step_s: f64,
    ended: &dyn Fn(),
) -> Vec<Result<Ride, Stuck>> {
    run::<f64x8<S>>(simd, entries, course, start_m_s, step_s, ended)
}

#[inline(always)]
fn run<L: Lanes>(
    unit: L::Unit,
    entries: &[Entry],
    course: &Course,
    start_m_s: f64,
    step_s: f64,
    ended: &dyn Fn(),
) -> Vec<Result<Ride, Stuck>> {
    let mut waiting = entries
        .iter()
        .enumerate()
        .map(|(who, e)| Lane::new(who, &e.bike, &e.rider, &e.weather, course, start_m_s, step_s));
    let mut out: Vec<Option<Result<Ride, Stuck>>> = entries.iter().map(|_| None).collect();
    let Some(first) = waiting.next() else { return Vec::new() };
    let mut stepper: Stepper<'_, L> = Stepper::wide(unit, &first.stepper);
    let mut state: State<L> = State::alike(unit, &first.first);
    let mut tally: Tally<L> = Tally::alike(unit, &Tally::NEW);
    let mut branch: Branch<L> = Branch::alike(unit, &Branch::NEW);
    let mut until_m = L::all(unit, first.until_m());
    let mut lanes: Vec<Option<Lane<'_>>> = vec![Some(first)];
    lanes.resize(L::COUNT, None);
    // Lanes in which somebody rides; the others go along unseen.
    let mut busy = 1;
    for (i, lane) in lanes.iter_mut().enumerate().skip(1) {
        if let Some(next) = waiting.next() {
            stepper.replace(i, &next.stepper);
            state.put(i, &next.first);
            until_m.put(i, &next.until_m());
            *lane = Some(next);
            busy |= 1 << i;
        }
    }
    let mut taken_so_far = 0;
    while busy != 0 {
        let before_m_s = state.v_m_s;
        let taken = stepper.go(&mut state, until_m, &mut tally);
        let turned = branch.follow(taken.axle_nm);
        let zero = before_m_s.like(0.0);
        if L::any(turned) {
            each(L::bits(turned) & busy, |i| {
                if let Some(lane) = &mut lanes[i] {
                    let next = lane.rainflow.turn(branch.lane(i), taken.axle_nm.lane(i));
                    branch.put(i, &next);
                }
            });
        }
        let weak = is_weak(&taken);
        if L::any(weak) {
            each(L::bits(weak) & busy, |i| {
                if let Some(lane) = &mut lanes[i] {
                    lane.weak(state.x_m.lane(i));
                }
            });
        }
        let look = needs_look(&state, &taken, before_m_s, until_m) | zero.below(taken.stuck);
        taken_so_far += 1;
        if !L::any(look) {
            continue;
        }
        each(L::bits(look) & busy, |i| {
            let Some(mut lane) = lanes[i].take() else { return };
            let (mut one, mut account, mut on, step) = (state.lane(i), tally.lane(i), branch.lane(i), taken.lane(i));
            let seen = match step.stuck() {
                Some(stuck) => Err(stuck),
                None => lane.look(&mut one, &step, before_m_s.lane(i), &mut account, &mut on, &mut Nobody),
            };
            let done = match seen {
                Ok(None) => {
                    state.put(i, &one);
                    tally.put(i, &account);
                    branch.put(i, &on);
                    until_m.put(i, &lane.until_m());
                    lanes[i] = Some(lane);
                    return;
                }
                Ok(Some(end)) => {
                    lane.steps = taken_so_far - lane.steps;
                    (lane.who, Ok(lane.finish(end, one, account, on)))
                }
                Err(stuck) => (lane.who, Err(stuck)),
            };
            out[done.0] = Some(done.1);
            ended();
            match waiting.next() {
                Some(mut next) => {
                    next.steps = taken_so_far;
                    stepper.replace(i, &next.stepper);
                    state.put(i, &next.first);
                    tally.put(i, &Tally::NEW);
                    branch.put(i, &Branch::NEW);
                    until_m.put(i, &next.until_m());
                    lanes[i] = Some(next);
                }
                None => {
                    until_m.put(i, &f64::INFINITY);
                    busy &= !(1 << i);
                }
            }
        });
    }
    out.into_iter().flatten().collect()
}
