//! A route file as a course for the ride, with its stops, the speeds ridden and the traffic that was asked for.

use quantity::{Grade, Length, Speed, Time};
use workbench::job::Job;
use workbench::ride::course::{Course, Stop};
use workbench::ride::options::Options;
use workbench::say;

/// Reads a route; with it what the reader noted of the file.
///
/// # Errors
/// Why it is no course, in words.
pub fn read_route(job: &Job, options: &Options, bytes: &[u8]) -> Result<(Course, Vec<String>), String> {
    let told = |e: tracks::Error| e.to_string();
    let track = tracks::read(bytes, &tracks::Columns::default()).map_err(told)?;
    let route = tracks::Route::of(&track, tracks::Smoothing::default()).map_err(told)?;
    let m = Length::metres;
    let stretches = route.stretches().map(|s| (m(s.length_m), Grade::new(s.grade)));
    let ridden: Vec<_> =
        route.wishes().iter().map(|w| (m(w.start_m), m(w.end_m), Speed::metres_per_second(w.speed_m_s))).collect();
    let mut stops: Vec<Stop> =
        route.stops().iter().map(|s| Stop { at: m(s.at_m), wait: Time::seconds(s.time_s) }).collect();
    stops.extend(options.traffic(m(route.length_m())));
    let wishes = options.wishes(job);
    let course = Course::along(m(route.height_at(0.0)), stretches, &ridden, &stops, &wishes)
        .map_err(|e| say::course_error(&e))?;
    Ok((course, route.notes().iter().map(ToString::to_string).collect()))
}
