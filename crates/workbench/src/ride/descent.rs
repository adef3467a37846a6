//! One even descent instead of a route: `"8 %, 300 m"`.

use super::course::{Course, CourseError};
use super::options::Options;
use crate::job::Job;
use crate::link::{Off, World};
use quantity::text::{Decimal, expect, parse};
use quantity::units::find_unit;
use quantity::{Grade, Length, Quantity, Speed};

/// Speed where neither the options nor the job say one.
const USUAL: Speed = Speed::kilometres_per_hour(25.0);

/// Slope (0.5 to 60 %) and height (5 to 3000 m) of such a text; none where it cannot be read or lies outside.
pub fn slope_and_height(text: &str) -> Option<(Grade, Length)> {
    let (slope, height) = text.rsplit_once(',')?;
    let read = |text: &str, unit: &str| {
        let reading = parse(text.trim(), Decimal::Point).ok()?;
        let unit = find_unit(unit)?;
        expect(&reading, unit.dimension, unit.kinds).ok()?;
        Some(reading.value_si)
    };
    let (grade, height) = (Grade::from_si(read(slope, "%")?.abs()), Length::from_si(read(height, "m")?));
    let fits = (0.5..=60.0).contains(&grade.as_percent()) && (5.0..=3000.0).contains(&height.as_metres());
    fits.then_some((grade, height))
}

/// The course down it, at the speed that the options say, else the one that the job holds.
///
/// # Errors
/// [`CourseError`] for a speed that no course has.
pub fn course(job: &Job, options: &Options, grade: Grade, height: Length) -> Result<Course, CourseError> {
    let values = job.middle();
    let held = World::new(&values, job.arms, &Off).hold_speed().unwrap_or(USUAL);
    let speed = options.si("downhill").map_or(held, Speed::metres_per_second);
    Course::descent(grade, height, speed)
}
