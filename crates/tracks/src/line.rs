//! From the points of a segment to a line: distance, height and time without what is no riding.

use geographiclib_rs::{Geodesic, InverseGeodesic};

use crate::channel::Quantity;
use crate::error::{Notes, Place};
use crate::track::{Segment, Track};

/// Faster than this nobody rides, in metres per second. If the step is long too, in metres, the position is wrong; in a
/// short one it is the time.
const TOO_FAST: (f64, f64) = (40.0, 100.0);
/// Slower than this is standing, in metres per second.
const STANDING_M_S: f64 = 0.3;
/// Speed is looked at over at least this time, so that the jitter of positions is no riding, in seconds.
const STANDING_S: f64 = 4.0;
/// A gap in a ride with times that is worth a note: time in seconds, and distance in metres.
const GAP: (f64, f64) = (30.0, 300.0);

/// The way along one segment, or a part of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Line {
    pub points: Vec<LinePoint>,
    /// First and last position, if it has positions.
    pub ends: Option<[(f64, f64); 2]>,
    /// Times of its first and last point, in seconds; not-a-number if they have none.
    pub times_s: [f64; 2],
}

/// A point of the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LinePoint {
    /// From the start of the line.
    pub distance_m: f64,
    /// Not-a-number where there is none.
    pub height_m: f64,
    /// Time from the start of the line while moving; not-a-number where there are no times.
    pub moving_s: f64,
    /// Time spent standing here.
    pub standing_s: f64,
}

/// Length of the geodesic on WGS 84 between two positions in degrees (C. F. F. Karney, "Algorithms for geodesics",
/// Journal of Geodesy 87 (2013) 43–55).
pub(crate) fn geodesic_m(from: (f64, f64), to: (f64, f64)) -> f64 {
    if from == to {
        return 0.0;
    }
    Geodesic::wgs84().inverse(from.0, from.1, to.0, to.1)
}

/// A point as the lines are made of it.
#[derive(Clone, Copy)]
struct Raw {
    number: u64,
    position: (f64, f64),
    /// Distance as the file has it.
    recorded_m: f64,
    height_m: f64,
    time_s: f64,
    /// From the point before.
    step_m: f64,
}

impl Raw {
    fn step_to(&self, next: &Self) -> f64 {
        match self.recorded_m.is_nan() {
            true => geodesic_m(self.position, next.position),
            false => next.recorded_m - self.recorded_m,
        }
    }

    /// Whether a step to a later point cannot have been ridden.
    fn is_too_far(&self, next: &Self, step_m: f64) -> bool {
        let time_s = next.time_s - self.time_s;
        time_s > 0.0 && step_m > TOO_FAST.0 * time_s && step_m > TOO_FAST.1
    }
}

/// The points of a segment that have a place on the way: by position, or where it has none by the distance recorded.
fn placed(segment: &Segment, first_number: u64) -> Vec<Raw> {
    let column = |quantity| segment.column(quantity);
    let at = |values: Option<&[f64]>, i: usize| values.map_or(f64::NAN, |values| values[i]);
    let (latitude, longitude) = (column(Quantity::Latitude), column(Quantity::Longitude));
    let (recorded, height) = (column(Quantity::Distance), column(Quantity::Height));
    let has_position = |i: usize| at(latitude, i).is_finite() && at(longitude, i).is_finite();
    let by_position = (0..segment.len()).filter(|i| has_position(*i)).count() > 1;
    (0..segment.len())
        .filter(|i| if by_position { has_position(*i) } else { at(recorded, *i).is_finite() })
        .map(|i| Raw {
            number: first_number + i as u64,
            position: (at(latitude, i), at(longitude, i)),
            recorded_m: if by_position { f64::NAN } else { at(recorded, i) },
            height_m: at(height, i),
            time_s: segment.time_s[i],
            step_m: 0.0,
        })
        .collect()
}

/// Length of all segments, in metres, each from point to point; `None` if there is neither position nor distance.
pub(crate) fn raw_length_m(track: &Track) -> Option<f64> {
    let lines: Vec<Vec<Raw>> = track.segments.iter().map(|s| placed(s, 1)).filter(|line| line.len() > 1).collect();
    let length = |line: &Vec<Raw>| line.windows(2).map(|pair| pair[0].step_to(&pair[1])).sum::<f64>();
    (!lines.is_empty()).then(|| lines.iter().map(length).sum())
}

/// The lines of a track: at least one a segment that has a way.
pub(crate) fn lines(track: &Track, notes: &mut Notes) -> Vec<Line> {
    let mut found = Vec::new();
    let mut first_number = 1;
    let is_ridden = |segment: &Segment| !segment.planned && placed(segment, 1).len() > 1;
    let ridden = track.segments.iter().any(|s| s.planned) && track.segments.iter().any(is_ridden);
    for segment in &track.segments {
        // A plan beside the ride is the same way again.
        if segment.planned && ridden {
            notes.add(Place::Point(first_number), "way-planned", "");
            first_number += segment.len() as u64;
            continue;
        }
        let points = placed(segment, first_number);
        if points.len() < segment.len() {
            notes.add(Place::Point(first_number), "segment-unplaced", "");
        }
        for part in cut(points, notes) {
            found.extend(line(&part, notes));
        }
        first_number += segment.len() as u64;
    }
    found
}

/// Leaves out single points far off the way, and cuts where the way itself jumps.
fn cut(points: Vec<Raw>, notes: &mut Notes) -> Vec<Vec<Raw>> {
    let mut parts: Vec<Vec<Raw>> = Vec::new();
    let mut part: Vec<Raw> = Vec::new();
    let mut rest = points.into_iter().peekable();
    while let Some(mut point) = rest.next() {
        let Some(last) = part.last() else {
            part.push(point);
            continue;
        };
        point.step_m = last.step_to(&point);
        if point.step_m < 0.0 {
            notes.add(Place::Point(point.number), "distance-back", "");
        } else if last.is_too_far(&point, point.step_m) {
            let returns = rest.peek().is_some_and(|next| !last.is_too_far(next, last.step_to(next)));
            if returns {
                notes.add(Place::Point(point.number), "point-astray", "");
                continue;
            }
            notes.add(Place::Point(point.number), "way-jumps", "");
        } else {
            if point.time_s - last.time_s > GAP.0 && point.step_m > GAP.1 {
                notes.add(Place::Point(point.number), "way-gap", "");
            }
            part.push(point);
            continue;
        }
        point.step_m = 0.0;
        parts.push(std::mem::replace(&mut part, vec![point]));
    }
    parts.push(part);
    parts
}

fn line(points: &[Raw], notes: &mut Notes) -> Option<Line> {
    let (first, last) = (points.first()?, points.last()?);
    let standing = standing(points);
    let timed = first.time_s.is_finite() && points.len() > 1;
    let mut line = Line { times_s: [first.time_s, last.time_s], ..Line::default() };
    if first.position.0.is_finite() {
        line.ends = Some([first.position, last.position]);
    }
    let mut now = LinePoint {
        distance_m: 0.0,
        height_m: first.height_m,
        moving_s: if timed { 0.0 } else { f64::NAN },
        standing_s: 0.0,
    };
    line.points.push(now);
    let mut wandered_m = 0.0;
    let mut heights_here = 1.0;
    for (point, (stands, before)) in points.iter().skip(1).zip(standing.iter().zip(points)) {
        let passed_s = (point.time_s - before.time_s).max(0.0);
        if *stands {
            // Height drifts while standing; its mean counts.
            wandered_m += point.step_m;
            let here = line.points.last_mut()?;
            here.standing_s += passed_s;
            if point.height_m.is_finite() {
                heights_here += 1.0;
                here.height_m = match here.height_m.is_finite() {
                    true => here.height_m + (point.height_m - here.height_m) / heights_here,
                    false => point.height_m,
                };
            }
            continue;
        }
        now.distance_m += point.step_m;
        now.moving_s += passed_s;
        now.height_m = point.height_m;
        heights_here = 1.0;
        line.points.push(now);
    }
    if wandered_m > 1.0 {
        notes.add(Place::Point(first.number), "wandered", "");
    }
    (now.distance_m > 0.0).then_some(line)
}

/// For each step from one point to the next, whether the rider stands.
fn standing(points: &[Raw]) -> Vec<bool> {
    let mut stands = vec![false; points.len().saturating_sub(1)];
    let mut end = 0;
    for start in 0..stands.len() {
        end = end.max(start + 1);
        while end + 1 < points.len() && points[end].time_s - points[start].time_s < STANDING_S {
            end += 1;
        }
        let (a, b) = (&points[start], &points[end]);
        let time_s = b.time_s - a.time_s;
        if time_s >= STANDING_S && near_m(a, b) < STANDING_M_S * time_s {
            stands[start..end].fill(true);
        }
    }
    stands
}

/// Distance of two points close to each other; exact enough to tell standing from riding.
fn near_m(a: &Raw, b: &Raw) -> f64 {
    const METRES_PER_DEGREE: f64 = 111_200.0;
    if !a.recorded_m.is_nan() {
        return (b.recorded_m - a.recorded_m).abs();
    }
    let north = b.position.0 - a.position.0;
    let east = (b.position.1 - a.position.1) * libm::cos(a.position.0.to_radians());
    METRES_PER_DEGREE * libm::sqrt(north * north + east * east)
}
