//! Rides that are being worked out, away from the requests that ask for them: begun once for a bike as it stands,
//! looked at from any number of devices, stopped for all of them.
//!
//! Threads are there only while there is work, and never more than [`MOST_AT_ONCE`]. A ride of facts or of a hill that are
//! no longer the bike's is stopped when the next one begins; finished ones are kept until others need their place. Nothing
//! of this is in the book: after a restart the next look begins the ride anew.

use quantity::Length;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};
use workbench::job::Job;
use workbench::ride::course::Course;
use workbench::ride::options::Options;
use workbench::ride::run::{End as RideEnd, STEP_S, Watch, ride_with};
use workbench::ride::series::{Row, Series};
use workbench::ride::step::{State, Taken};
use workbench::ride::study::{RideError, Study, study_while};
use workbench::ride::went::{Tell, Went};
use workbench::say;
use workbench::words::text;

/// Rides worked out at the same time; others wait. Each one keeps a core busy.
pub const MOST_AT_ONCE: usize = 2;
/// Bikes whose ride is kept, running ones included.
pub const MOST_KEPT: usize = 24;
/// Seconds between the points of a strip, at least, and most points: a ride of days must not fill the memory.
const EVERY_S: f64 = 1.0;
const MOST_POINTS: f64 = 4000.0;
/// Share of the whole that the answers take; the two strips take the rest.
const ANSWERS: f64 = 0.76;
/// Parts into which a ride's progress is cut.
const PARTS: f64 = 1000.0;

/// A finished ride.
pub struct Ridden {
    /// Length, climb and drop of the way.
    pub way: [Length; 3],
    /// Stops on it.
    pub stops: usize,
    /// The answers.
    pub study: Study,
    /// Points of the strips with the clutch locked and free.
    pub strips: [Vec<Row>; 2],
}

/// How a ride came out.
pub enum Outcome {
    /// With answers.
    Done(Box<Ridden>),
    /// It cannot be worked out; the sentence says why.
    Failed(String),
    /// Somebody stopped it.
    Stopped,
}

/// What a ride is made from; read when its turn comes, not in the request.
pub type Make = Box<dyn FnOnce() -> Result<(Job, Course), String> + Send>;

/// One ride.
pub struct Ride {
    bike: String,
    /// What it is the ride of: facts and hill.
    of: String,
    make: Mutex<Option<Make>>,
    parts: AtomicU32,
    /// Who wants it no more; empty where it was overtaken.
    stopped_by: OnceLock<String>,
    outcome: OnceLock<Outcome>,
}

impl Ride {
    /// Share that is done, 0 to 1.
    pub fn share(&self) -> f64 {
        f64::from(self.parts.load(Ordering::Relaxed)) / PARTS
    }
    /// How it came out, as soon as it has.
    pub fn outcome(&self) -> Option<&Outcome> {
        self.outcome.get()
    }
    /// How it came out, if that comes within some time.
    pub fn outcome_within(&self, patience: Duration) -> Option<&Outcome> {
        let until = Instant::now() + patience;
        while self.outcome.get().is_none() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(5));
        }
        self.outcome()
    }
    /// Who stopped it.
    pub fn stopped_by(&self) -> Option<&str> {
        self.stopped_by.get().map(String::as_str)
    }
    fn stop(&self, who: &str) {
        // The first who says so stands.
        let _ = self.stopped_by.set(who.to_owned());
    }
    fn tell(&self, share: f64) -> bool {
        self.parts.fetch_max((share * PARTS) as u32, Ordering::Relaxed);
        self.stopped_by.get().is_none()
    }
    fn end(&self, outcome: Outcome) {
        let _ = self.outcome.set(outcome);
    }
}

#[derive(Default)]
struct Inner {
    rides: VecDeque<Arc<Ride>>,
    waiting: VecDeque<Arc<Ride>>,
    threads: usize,
}

impl Inner {
    fn stop(&mut self, ride: &Arc<Ride>, who: &str) {
        ride.stop(who);
        let before = self.waiting.len();
        self.waiting.retain(|r| !Arc::ptr_eq(r, ride));
        if self.waiting.len() < before {
            ride.end(Outcome::Stopped);
        }
    }
}

/// All of them.
#[derive(Default)]
pub struct Rides(Arc<Mutex<Inner>>);

fn locked(inner: &Mutex<Inner>) -> MutexGuard<'_, Inner> {
    inner.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Rides {
    /// The ride of a bike as it stands; begun if there is none.
    pub fn of(&self, bike: &str, of: &str, make: Make) -> Arc<Ride> {
        let mut inner = locked(&self.0);
        if let Some(at) = inner.rides.iter().position(|r| r.bike == bike) {
            let there = inner.rides.remove(at).expect("the position was just found");
            if there.of == of {
                inner.rides.push_back(there.clone());
                return there;
            }
            inner.stop(&there, "");
        }
        while inner.rides.len() >= MOST_KEPT {
            if let Some(oldest) = inner.rides.pop_front() {
                inner.stop(&oldest, "");
            }
        }
        let ride = Arc::new(Ride {
            bike: bike.to_owned(),
            of: of.to_owned(),
            make: Mutex::new(Some(make)),
            parts: AtomicU32::new(0),
            stopped_by: OnceLock::new(),
            outcome: OnceLock::new(),
        });
        inner.rides.push_back(ride.clone());
        inner.waiting.push_back(ride.clone());
        if inner.threads < MOST_AT_ONCE {
            inner.threads += 1;
            let all = self.0.clone();
            if std::thread::Builder::new().name("ride".to_owned()).spawn(move || run(&all)).is_err() {
                inner.threads -= 1;
                inner.waiting.retain(|r| !Arc::ptr_eq(r, &ride));
                ride.end(Outcome::Failed(text("page.our-fault")));
            }
        }
        ride
    }

    /// The ride of a bike, if one was begun.
    pub fn there(&self, bike: &str) -> Option<Arc<Ride>> {
        locked(&self.0).rides.iter().find(|r| r.bike == bike).cloned()
    }

    /// Stops a bike's ride for everybody who looks at it. One that waits is over at once, one that runs within milliseconds.
    pub fn stop(&self, bike: &str, who: &str) {
        let mut inner = locked(&self.0);
        if let Some(ride) = inner.rides.iter().find(|r| r.bike == bike && r.outcome().is_none()).cloned() {
            inner.stop(&ride, who);
        }
    }

    /// Forgets a bike's ride that is over, so that the next look begins it anew.
    pub fn forget(&self, bike: &str) {
        locked(&self.0).rides.retain(|r| r.bike != bike || r.outcome().is_none());
    }

    /// Threads that are working now.
    #[cfg(test)]
    fn threads(&self) -> usize {
        locked(&self.0).threads
    }
}

impl Drop for Rides {
    fn drop(&mut self) {
        let mut inner = locked(&self.0);
        for ride in core::mem::take(&mut inner.rides) {
            inner.stop(&ride, "");
        }
    }
}

/// Works out what waits, until nothing does.
fn run(all: &Mutex<Inner>) {
    loop {
        let ride = {
            let mut inner = locked(all);
            let Some(ride) = inner.waiting.pop_front() else {
                inner.threads -= 1;
                return;
            };
            ride
        };
        let made = catch_unwind(AssertUnwindSafe(|| work(&ride)));
        ride.end(made.unwrap_or_else(|_| Outcome::Failed(text("page.our-fault"))));
    }
}

fn work(ride: &Ride) -> Outcome {
    if ride.stopped_by().is_some() {
        return Outcome::Stopped;
    }
    let make = ride.make.lock().unwrap_or_else(PoisonError::into_inner).take();
    let Some(make) = make else { return Outcome::Stopped };
    let made = make().and_then(|(job, course)| {
        let ridden = all_of(&job, course, &|share| ride.tell(share));
        ridden.map_err(|e| say::ride_error(&e))
    });
    match made {
        Ok(Some(ridden)) => Outcome::Done(Box::new(ridden)),
        Ok(None) => Outcome::Stopped,
        Err(why) => Outcome::Failed(why),
    }
}

/// Answers and strips; nothing if it shall not go on.
fn all_of(job: &Job, course: Course, tell: &Tell<'_>) -> Result<Option<Ridden>, RideError> {
    let options = Options::read(&[]).expect("what holds if nothing is said can be read");
    let Some(study) = study_while(job, &course, &options, &|share| tell(share * ANSWERS))? else { return Ok(None) };
    let half = (1.0 - ANSWERS) / 2.0;
    let mut strips = [Vec::new(), Vec::new()];
    for (n, strip) in strips.iter_mut().enumerate() {
        let bike = study.usual.with_clutch(n == 0);
        let length_m = course.length().as_metres();
        let went = Went::new(tell, length_m, ANSWERS + half * n as f64, half);
        let lasts_s = study.pairs.iter().map(|p| p.locked.last.t_s.max(p.free.last.t_s)).fold(0.0, f64::max);
        let every_s = EVERY_S.max(lasts_s / MOST_POINTS);
        let mut both = Both { series: Series::new(&course, every_s), went, stopped: false };
        let start = course.start_speed().as_metres_per_second();
        let done = ride_with(&bike, &study.rider, &study.weather, &course, start, STEP_S, &mut both);
        if done.map_err(RideError::Stuck)?.end == RideEnd::Stopped {
            return Ok(None);
        }
        *strip = both.series.rows;
    }
    let way = [course.length(), course.climb(), course.drop()];
    Ok(tell(1.0).then_some(Ridden { way, stops: course.stops(), study, strips }))
}

/// Keeps the points and listens.
struct Both<'a> {
    series: Series<'a>,
    went: Went<'a>,
    stopped: bool,
}

impl Watch for Both<'_> {
    fn step(&mut self, state: &State, taken: &Taken) -> bool {
        let on = self.series.step(state, taken);
        self.stopped |= !self.went.step(state, taken);
        on && !self.stopped
    }
}

#[cfg(test)]
mod tests {
    use super::{MOST_AT_ONCE, MOST_KEPT, Outcome, Ride, Rides};
    use quantity::{Acceleration, Grade, Length, Speed};
    use std::sync::Arc;
    use std::time::{Duration, Instant};
    use workbench::job::Job;
    use workbench::ride::course::{Course, Wishes};

    fn job() -> Job {
        let text = include_str!("../../../demo/0117-bread-longtail.toml");
        let rack = intake::read_rack(include_str!("../../../demo/rack.toml")).expect("a rack");
        intake::read_job(text, &intake::Shop { rack, rules: intake::Rules::default() }).expect("a job")
    }

    /// A course that takes long: 1,800 km up and down.
    fn long() -> Course {
        let stretches = (0..3600).map(|i| (Length::metres(500.0), Grade::new(if i % 2 == 0 { 0.02 } else { -0.02 })));
        let wishes = Wishes {
            cruise: Speed::kilometres_per_hour(32.0),
            downhill: Speed::kilometres_per_hour(35.0),
            slowing: Acceleration::metres_per_second_squared(1.0),
        };
        Course::along(Length::metres(300.0), stretches, &[], &[], &wishes).expect("a course")
    }

    fn begin(rides: &Rides, bike: &str, of: &str) -> Arc<Ride> {
        rides.of(bike, of, Box::new(|| Ok((job(), long()))))
    }

    fn until(what: &str, mut yes: impl FnMut() -> bool) {
        let from = Instant::now();
        while !yes() {
            assert!(from.elapsed() < Duration::from_secs(120), "{what} did not come");
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    #[test]
    fn a_ride_that_is_stopped_stops_and_its_threads_go() {
        let rides = Rides::default();
        let ride = begin(&rides, "0117", "a");
        until("progress", || ride.share() > 0.01);
        assert!(ride.outcome().is_none(), "long enough to be stopped on the way");
        rides.stop("0117", "Mirra");
        until("the end", || ride.outcome().is_some());
        assert!(matches!(ride.outcome(), Some(Outcome::Stopped)));
        assert!(ride.share() < 0.9, "stopped at {}", ride.share());
        assert_eq!(ride.stopped_by(), Some("Mirra"));
        until("no thread", || rides.threads() == 0);
        // It stays stopped for whoever looks, until somebody wants it again.
        assert!(Arc::ptr_eq(&ride, &begin(&rides, "0117", "a")));
        rides.forget("0117");
        assert!(!Arc::ptr_eq(&ride, &begin(&rides, "0117", "a")));
    }

    #[test]
    fn the_same_ride_is_worked_out_once_and_an_overtaken_one_stops() {
        let rides = Rides::default();
        let first = begin(&rides, "0117", "a");
        assert!(Arc::ptr_eq(&first, &begin(&rides, "0117", "a")));
        let second = begin(&rides, "0117", "b");
        until("the overtaken one", || matches!(first.outcome(), Some(Outcome::Stopped)));
        assert!(second.outcome().is_none());
        drop(rides);
        until("all ended with their owner", || second.outcome().is_some());
    }

    #[test]
    fn many_bikes_at_once_wait_for_their_turn() {
        let rides = Rides::default();
        let all: Vec<_> = (0..2 * MOST_KEPT).map(|i| begin(&rides, &i.to_string(), "a")).collect();
        assert_eq!(rides.threads(), MOST_AT_ONCE);
        let last = all.last().expect("some");
        rides.stop(&(2 * MOST_KEPT - 1).to_string(), "Mirra");
        assert!(matches!(last.outcome(), Some(Outcome::Stopped)), "one that waits is over at once");
        assert!(rides.there("0").is_none() && all[0].stopped_by().is_some(), "the oldest made room");
        for i in 0..2 * MOST_KEPT {
            rides.stop(&i.to_string(), "");
        }
        until("no thread", || rides.threads() == 0);
        assert!(all.iter().all(|r| r.outcome().is_some()));
    }

    #[test]
    fn a_ride_that_breaks_ends_as_our_fault_and_the_next_one_goes_on() {
        let rides = Rides::default();
        let broken = rides.of("1", "a", Box::new(|| panic!("on purpose")));
        until("its end", || matches!(broken.outcome(), Some(Outcome::Failed(_))));
        let ride = begin(&rides, "2", "a");
        until("progress", || ride.share() > 0.0);
    }
}
