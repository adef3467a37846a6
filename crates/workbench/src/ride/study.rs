//! The whole answer to one course: lightest, usual and heaviest load, how far it goes, how full the battery may be.

use super::answers::{Pair, pair_while};
use super::bike::{Bike, Load, Rider, Weather};
use super::course::Course;
use super::limits::{LongestDescent, highest_charge, longest_descent};
use super::options::Options;
use super::step::Stuck;
use super::went::Tell;
use crate::fact::list;
use crate::job::Job;
use crate::link::{Gap, Off, World};
use physics::OutOfRange;
use quantity::*;

/// Why there is no ride.
#[derive(Clone, Debug, PartialEq)]
pub enum RideError {
    /// A fact is missing or cannot be used.
    Gap(Gap),
    /// No formula reaches there.
    Stuck(Stuck),
}

impl From<Gap> for RideError {
    fn from(e: Gap) -> Self {
        Self::Gap(e)
    }
}
impl From<OutOfRange> for RideError {
    fn from(e: OutOfRange) -> Self {
        Self::Gap(Gap::Range(e))
    }
}
impl From<Stuck> for RideError {
    fn from(e: Stuck) -> Self {
        Self::Stuck(e)
    }
}

/// The loads that are ridden, with their words' keys.
pub const LOADS: [(Load, &str); 3] =
    [(Load::Lightest, "lightest"), (Load::Usual, "usual"), (Load::Heaviest, "heaviest")];

/// The whole answer.
#[derive(Clone, Debug)]
pub struct Study {
    /// One pair of rides for each of [`LOADS`].
    pub pairs: Vec<Pair>,
    /// All-up masses of the loads.
    pub masses: Vec<Mass>,
    /// Longest descent at the job's steepest slope, for each load.
    pub longest: Vec<LongestDescent>,
    /// Slope and speed of the longest descent.
    pub held: (Grade, Speed),
    /// Highest charge at which the set braking current works in full at that speed.
    pub highest_charge: Option<StateOfCharge>,
    /// Speed below which a hold at the charge limit is unstable (PHYSICS-DETAIL E6), where a charge limit is kept.
    pub least_stable: Option<Speed>,
    /// The bike with the usual load, for series.
    pub usual: Bike,
    /// The rider.
    pub rider: Rider,
    /// The air.
    pub weather: Weather,
}

impl Study {
    /// The pair that speaks for all, with its load: the first that does not do the ride, else the usual.
    pub fn speaks(&self) -> Option<(&'static str, &Pair)> {
        let all = || LOADS.iter().map(|(_, key)| *key).zip(&self.pairs);
        all().find(|(_, p)| !p.survives()).or_else(|| all().nth(1)).or_else(|| all().next())
    }
}

/// A job's bike with every fact at its middle.
///
/// # Errors
/// [`Gap`] where a needed fact is missing.
pub fn middle_bike(job: &Job, options: &Options, load: Load) -> Result<Bike, Gap> {
    let values = job.middle();
    let world = World::new(&values, job.arms, &Off);
    let bike = Bike::new(&world, load)?;
    Ok(with_charge(bike, options))
}

/// The charge at the start as said.
pub(super) fn with_charge(bike: Bike, options: &Options) -> Bike {
    let start_charge = options.si("charge").unwrap_or(bike.start_charge);
    Bike { start_charge, ..bike }
}

/// Rides a course with all loads.
///
/// # Errors
/// [`RideError`] where a fact is missing or a formula does not reach.
pub fn study(job: &Job, course: &Course, options: &Options) -> Result<Study, RideError> {
    Ok(study_while(job, course, options, &|_| true)?.expect("who always says yes is not stopped"))
}

/// The same, telling how far it is; nothing if it was told not to go on.
///
/// # Errors
/// As [`study`].
pub fn study_while(job: &Job, course: &Course, options: &Options, tell: &Tell<'_>) -> Result<Option<Study>, RideError> {
    let rider = options.rider(job);
    let weather = options.weather(options.air(), course.start_height(), options.wind())?;
    let values = job.middle();
    let world = World::new(&values, job.arms, &Off);
    let grade = world.get(list::STEEPEST)?;
    let speed = world.hold_speed()?;
    let mut out = Study {
        pairs: Vec::new(),
        masses: Vec::new(),
        longest: Vec::new(),
        held: (grade, speed),
        highest_charge: None,
        least_stable: None,
        usual: middle_bike(job, options, Load::Usual)?,
        rider,
        weather,
    };
    let hot = Weather { air_c: world.get(list::HOTTEST_AIR)?.as_celsius(), ..weather };
    // A current that nobody keeps may rise above what is set, but no hold counts on that.
    let set_a = world.amplitude(world.get(list::BRAKE_CURRENT)?)?.as_amperes();
    let share = 1.0 / LOADS.len() as f64;
    for (n, (load, _)) in LOADS.into_iter().enumerate() {
        let bike = middle_bike(job, options, load)?;
        let Some(pair) = pair_while(&bike, &rider, &weather, course, (tell, share * n as f64, share))? else {
            return Ok(None);
        };
        out.pairs.push(pair);
        out.masses.push(Mass::kilograms(bike.mass_kg));
        let brake_a = bike.brake_a.min(set_a);
        out.longest.push(longest_descent(&Bike { brake_a, ..bike }, &rider, &hot, grade, speed)?);
    }
    out.highest_charge = highest_charge(&out.usual, &weather, speed);
    if out.usual.charge_a.is_finite() {
        let volts = out.usual.pack.at(out.usual.start_charge, weather.pack_c, 0.0).open_v;
        out.least_stable = physics::hold::least_stable_speed(
            Power::watts(out.usual.charge_a * volts),
            Density::kilograms_per_cubic_metre(weather.density_kg_m3),
            world.get(list::DRAG_AREA)?,
        )
        .ok();
    }
    Ok(tell(1.0).then_some(out))
}
