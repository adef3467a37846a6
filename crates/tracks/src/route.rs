//! The way a ride is simulated on: even in distance, heights smoothed, with what the rider did on it.

use crate::channel::Quantity;
use crate::error::{Error, Note, Notes, Place};
use crate::line::{Line, geodesic_m, lines, raw_length_m};
use crate::smooth::{resample, roughness_weight, whittaker};
use crate::track::Track;

/// How heights are resampled and smoothed: each new height is the mean over one step, then Whittaker's smoother with
/// second differences (Eilers 2003) takes out what is shorter than a hill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Smoothing {
    /// Distance from one height to the next, in metres, 1 to 1000; a little less is taken, so that steps are even.
    pub step_m: f64,
    /// Length of the wave of hills that is left half its height, in metres, from 0 (no smoothing); a wave twice as
    /// long is left 94 %, one half as long 6 %.
    pub half_length_m: f64,
}

impl Default for Smoothing {
    fn default() -> Self {
        Self { step_m: 10.0, half_length_m: 100.0 }
    }
}

/// A piece of the route with one slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it begins, in metres from the start.
    pub start_m: f64,
    /// Its length, in metres.
    pub length_m: f64,
    /// Height at its beginning, in metres.
    pub start_height_m: f64,
    /// Metres up per metre.
    pub grade: f64,
}

/// How fast the rider rode a piece of the route, standing left out. Where he set off or came to a stand it is the mean
/// of that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Where it begins, in metres from the start.
    pub start_m: f64,
    /// Where it ends, in metres from the start.
    pub end_m: f64,
    /// Speed, in metres per second.
    pub speed_m_s: f64,
}

/// A place where the rider stood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Where, in metres from the start.
    pub at_m: f64,
    /// For how long, in seconds.
    pub time_s: f64,
}

/// A route: distance from the start, heights at even steps. Segments follow each other without a way between them; at
/// such a [seam](Route::seams_m) the height may jump, and no slope counts for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    parts: Vec<Part>,
    wishes: Vec<Wish>,
    stops: Vec<Stop>,
    notes: Vec<Note>,
}

/// One line of the track.
#[derive(Clone, Debug, PartialEq)]
struct Part {
    start_m: f64,
    step_m: f64,
    /// At least two.
    heights_m: Vec<f64>,
}

/// Metres up and down, as the file has them and as a [`Route`] has them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ascents {
    /// All steps up of the heights in the file, in metres.
    pub raw_up_m: f64,
    /// All steps down of the heights in the file, in metres.
    pub raw_down_m: f64,
    /// All steps up after smoothing, in metres.
    pub smoothed_up_m: f64,
    /// All steps down after smoothing, in metres.
    pub smoothed_down_m: f64,
}

/// A stop shorter than this is none, in seconds.
const SHORTEST_STOP_S: f64 = 5.0;
/// Length of a piece with one speed, in metres.
const WISH_M: f64 = 50.0;
/// A pause whose ends are nearer than this is a stop, in metres.
const SAME_PLACE_M: f64 = 100.0;
/// A steeper slope is a fault of the heights, in metres up per metre (common practice: the steepest streets have 0.35).
const STEEPEST: f64 = 0.35;
/// Longer routes are not ridden on a bicycle, in metres.
const LONGEST_M: f64 = 5e6;

impl Route {
    /// The route of a track.
    ///
    /// # Errors
    /// If the track has no heights, or neither positions nor distances (it can still be read as a log).
    pub fn of(track: &Track, smoothing: Smoothing) -> Result<Self, Error> {
        let Smoothing { step_m, half_length_m } = smoothing;
        if !(1.0..=1e3).contains(&step_m) || !(0.0..=1e5).contains(&half_length_m) {
            return Err(Error::new(Place::File, "route-smoothing", &[]));
        }
        let positioned = track.has(Quantity::Latitude) && track.has(Quantity::Longitude);
        if !positioned && !track.has(Quantity::Distance) {
            return Err(Error::new(Place::File, "route-no-way", &[]));
        }
        if !track.has(Quantity::Height) {
            return Err(Error::new(Place::File, "route-no-height", &[]));
        }
        let mut notes = Notes::default();
        let mut route = Self { parts: Vec::new(), wishes: Vec::new(), stops: Vec::new(), notes: Vec::new() };
        let mut before: Option<Line> = None;
        for line in lines(track, &mut notes) {
            let start_m = route.length_m();
            let Some(part) = part(&line, start_m, smoothing, &mut notes) else { continue };
            if let Some(before) = &before {
                route.stop_between(before, &line, start_m);
                notes.add(Place::File, "route-seam", "");
            }
            route.parts.push(part);
            if route.length_m() > LONGEST_M {
                return Err(Error::new(Place::File, "route-too-long", &[]));
            }
            route.stops.extend(
                line.points
                    .iter()
                    .filter(|point| point.standing_s >= SHORTEST_STOP_S)
                    .map(|point| Stop { at_m: start_m + point.distance_m, time_s: point.standing_s }),
            );
            route.wishes.extend(wishes(&line, start_m));
            before = Some(line);
        }
        if route.parts.is_empty() {
            return Err(Error::new(Place::File, "route-no-length", &[]));
        }
        if route.stretches().any(|stretch| stretch.grade.abs() > STEEPEST) {
            notes.add(Place::File, "route-steep", "");
        }
        route.notes = notes.as_slice().to_vec();
        Ok(route)
    }

    /// A pause between two segments at the same place is a stop.
    fn stop_between(&mut self, before: &Line, after: &Line, at_m: f64) {
        let time_s = after.times_s[0] - before.times_s[1];
        let near = match (before.ends, after.ends) {
            (Some([_, end]), Some([start, _])) => geodesic_m(end, start) < SAME_PLACE_M,
            _ => true,
        };
        if time_s >= SHORTEST_STOP_S && near {
            self.stops.push(Stop { at_m, time_s });
        }
    }

    /// Its length, in metres.
    pub fn length_m(&self) -> f64 {
        self.parts.last().map_or(0.0, Part::end_m)
    }

    /// Height at a distance from the start, in metres; beyond its ends that of the end, at a seam that after it.
    pub fn height_at(&self, distance_m: f64) -> f64 {
        let stretch = self.stretch_at(distance_m);
        stretch.start_height_m + stretch.grade * (distance_m - stretch.start_m).clamp(0.0, stretch.length_m)
    }

    /// Metres up per metre at a distance from the start; beyond its ends zero.
    pub fn grade_at(&self, distance_m: f64) -> f64 {
        if (0.0..=self.length_m()).contains(&distance_m) { self.stretch_at(distance_m).grade } else { 0.0 }
    }

    fn stretch_at(&self, distance_m: f64) -> Stretch {
        let after = self.parts.partition_point(|part| part.start_m <= distance_m);
        let part = &self.parts[after.saturating_sub(1)];
        part.stretch(((distance_m - part.start_m) / part.step_m).max(0.0) as usize)
    }

    /// Its stretches one after the other, those of a segment of the same length.
    pub fn stretches(&self) -> impl Iterator<Item = Stretch> + '_ {
        self.parts.iter().flat_map(|part| (0..part.heights_m.len() - 1).map(|at| part.stretch(at)))
    }

    /// Where segments follow each other without a way between them, in metres from the start.
    pub fn seams_m(&self) -> impl Iterator<Item = f64> + '_ {
        self.parts.iter().skip(1).map(|part| part.start_m)
    }

    /// How fast the rider rode; empty if the file has no times.
    pub fn wishes(&self) -> &[Wish] {
        &self.wishes
    }

    /// Where the rider stood for five seconds or more; empty if the file has no times.
    pub fn stops(&self) -> &[Stop] {
        &self.stops
    }

    /// What was left out or looks odd.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }
}

impl Part {
    fn end_m(&self) -> f64 {
        self.start_m + self.step_m * (self.heights_m.len() - 1) as f64
    }

    fn stretch(&self, at: usize) -> Stretch {
        let at = at.min(self.heights_m.len() - 2);
        let (from, to) = (self.heights_m[at], self.heights_m[at + 1]);
        Stretch {
            start_m: self.start_m + at as f64 * self.step_m,
            length_m: self.step_m,
            start_height_m: from,
            grade: (to - from) / self.step_m,
        }
    }
}

/// The smoothed heights of a line; none if it has no heights.
fn part(line: &Line, start_m: f64, smoothing: Smoothing, notes: &mut Notes) -> Option<Part> {
    let length_m = line.points.last()?.distance_m;
    let mut heights: Vec<(f64, f64)> = Vec::with_capacity(line.points.len() + 2);
    let known = line.points.iter().filter(|point| point.height_m.is_finite());
    heights.extend(known.map(|point| (point.distance_m, point.height_m)));
    let (Some(first), Some(last)) = (heights.first().copied(), heights.last().copied()) else {
        notes.add(Place::File, "route-segment-without-height", "");
        return None;
    };
    if heights.len() < line.points.len() {
        notes.add(Place::File, "route-missing-heights", "");
    }
    // Before the first and after the last known height it is level.
    if first.0 > 0.0 {
        heights.insert(0, (0.0, first.1));
    }
    if last.0 < length_m {
        heights.push((length_m, last.1));
    }
    let count = libm::ceil(length_m / smoothing.step_m).clamp(1.0, LONGEST_M) as usize;
    let step_m = length_m / count as f64;
    let mut heights_m = resample(&heights, count);
    whittaker(&mut heights_m, roughness_weight(step_m, smoothing.half_length_m));
    Some(Part { start_m, step_m, heights_m })
}

/// Speeds of a line, piece by piece.
fn wishes(line: &Line, start_m: f64) -> Vec<Wish> {
    let points = &line.points;
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return Vec::new() };
    if first.moving_s.is_nan() || last.moving_s.is_nan() {
        return Vec::new();
    }
    let count = libm::ceil(last.distance_m / WISH_M).clamp(1.0, LONGEST_M) as usize;
    let length_m = last.distance_m / count as f64;
    let mut at = 0;
    let mut time_at = |distance_m: f64| {
        while at + 2 < points.len() && points[at + 1].distance_m < distance_m {
            at += 1;
        }
        let (a, b) = (points[at], points[at + 1]);
        let share =
            if b.distance_m > a.distance_m { (distance_m - a.distance_m) / (b.distance_m - a.distance_m) } else { 1.0 };
        a.moving_s + share.clamp(0.0, 1.0) * (b.moving_s - a.moving_s)
    };
    let mut before_s = first.moving_s;
    let mut found = Vec::with_capacity(count);
    for piece in 0..count {
        let (from, to) = (piece as f64 * length_m, (piece + 1) as f64 * length_m);
        let after_s = if piece + 1 == count { last.moving_s } else { time_at(to) };
        let speed_m_s = length_m / (after_s - before_s);
        before_s = after_s;
        // Where times repeat or the clock steps back there is no speed to be had.
        if speed_m_s > 0.0 && speed_m_s < 60.0 {
            found.push(Wish { start_m: start_m + from, end_m: start_m + to, speed_m_s });
        }
    }
    found
}

/// Metres up and down of a track, raw and smoothed.
///
/// # Errors
/// As [`Route::of`].
pub fn ascents(track: &Track, smoothing: Smoothing) -> Result<Ascents, Error> {
    let route = Route::of(track, smoothing)?;
    let (smoothed_up_m, smoothed_down_m) =
        up_and_down(route.stretches().map(|stretch| stretch.grade * stretch.length_m));
    let ridden = track.segments.iter().any(|segment| !segment.planned);
    let counted = track.segments.iter().filter(|segment| !segment.planned || !ridden);
    let heights = counted.filter_map(|segment| segment.column(Quantity::Height));
    let raw = heights.flat_map(|heights| {
        let known: Vec<f64> = heights.iter().copied().filter(|height| height.is_finite()).collect();
        known.windows(2).map(|pair| pair[1] - pair[0]).collect::<Vec<_>>()
    });
    let (raw_up_m, raw_down_m) = up_and_down(raw);
    Ok(Ascents { raw_up_m, raw_down_m, smoothed_up_m, smoothed_down_m })
}

fn up_and_down(rises_m: impl Iterator<Item = f64>) -> (f64, f64) {
    rises_m.fold((0.0, 0.0), |(up, down), rise| (up + rise.max(0.0), down - rise.min(0.0)))
}

impl Track {
    /// Length of all segments from point to point, in metres: geodesics on WGS 84 (Karney 2013), or the distance recorded
    /// where there are no positions; `None` if there is neither.
    pub fn length_m(&self) -> Option<f64> {
        raw_length_m(self)
    }
}
