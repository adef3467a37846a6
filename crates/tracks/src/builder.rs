//! Puts a track together, and looks over what came of it.

use crate::error::{Place, ReadError};
use crate::position::Position;
use crate::text::Moment;
use crate::track::{CHANNELS, Channel, Extra, Finding, Format, Note, Segment, Track};
use quantity::Time;
use quantity::units::Unit;
use std::collections::HashMap;

/// A recorder that was stopped and moved farther than this before it was started again starts a new segment.
const MOVED_M: f64 = 100.0;
/// A longer step in time is a pause or a gap.
const LONG_STEP_S: f64 = 10.0;
/// A pause is a long step that moves less than this: about what a resting receiver wanders.
const RESTING_M: f64 = 30.0;
/// Most channels of its own that a file may have.
pub(crate) const MOST_EXTRAS: usize = 256;

pub(crate) struct Builder {
    track: Track,
    current: Segment,
    start: Option<i64>,
    last_position: Option<Position>,
    stopped: bool,
    extra_index: HashMap<String, usize>,
}

impl Builder {
    pub(crate) fn new(format: Format) -> Self {
        let track = Track { format, start: None, segments: Vec::new(), extras: Vec::new(), notes: Vec::new() };
        let (current, extra_index) = (Segment::default(), HashMap::new());
        Self { track, current, start: None, last_position: None, stopped: false, extra_index }
    }

    pub(crate) fn note(&mut self, what: Finding, place: impl FnOnce() -> Option<Place>) {
        self.note_many(what, 1, place);
    }

    fn note_many(&mut self, what: Finding, count: u64, place: impl FnOnce() -> Option<Place>) {
        match self.track.notes.iter_mut().find(|note| note.what == what) {
            Some(note) => note.count += count,
            None if count > 0 => self.track.notes.push(Note { what, count, first: place() }),
            None => {}
        }
    }

    pub(crate) fn put(&mut self, channel: Channel, value_si: f64) {
        self.current.put(channel as usize, value_si);
    }

    pub(crate) fn put_position(&mut self, position: Position) {
        if self.stopped {
            self.stopped = false;
            if self.last_position.is_some_and(|last| last.roughly_to_m(position) > MOVED_M) {
                self.note(Finding::MovedWhileStopped, || None);
                self.end_segment();
            }
        }
        self.last_position = Some(position);
        self.put(Channel::Latitude, position.latitude_degrees());
        self.put(Channel::Longitude, position.longitude_degrees());
    }

    pub(crate) fn put_moment(&mut self, moment: Moment) {
        let start = *self.start.get_or_insert(moment.second);
        self.put(Channel::Time, moment.since_s(start));
    }

    /// Puts a value of a channel of the file's own; beyond [`MOST_EXTRAS`] such channels they are dropped with a note.
    pub(crate) fn put_extra(&mut self, name: &str, unit: Option<&'static Unit>, value_si: f64) {
        let index = match self.extra_index.get(name) {
            Some(index) => *index,
            None if self.track.extras.len() < MOST_EXTRAS => self.add_extra(name, unit),
            None => return self.note(Finding::Unreadable("one channel too many".to_owned()), || None),
        };
        self.current.put(CHANNELS + index, value_si);
    }

    pub(crate) fn add_extra(&mut self, name: &str, unit: Option<&'static Unit>) -> usize {
        let index = self.track.extras.len();
        self.track.extras.push(Extra { name: name.to_owned(), unit });
        self.extra_index.insert(name.to_owned(), index);
        index
    }

    pub(crate) fn put_column(&mut self, column: usize, value_si: f64) {
        self.current.put(column, value_si);
    }

    pub(crate) fn end_point(&mut self) {
        self.current.end_point();
    }

    /// The recorder was stopped: a new segment follows only if it moves before it is started again.
    pub(crate) fn stop(&mut self) {
        self.stopped = true;
    }

    pub(crate) fn end_segment(&mut self) {
        self.last_position = None;
        self.stopped = false;
        if !self.current.is_empty() {
            let mut segment = core::mem::take(&mut self.current);
            segment.finish();
            self.track.segments.push(segment);
        }
    }

    pub(crate) fn points(&self) -> usize {
        self.track.points() + self.current.len()
    }

    pub(crate) fn set_start(&mut self, second: i64) {
        self.start = Some(second);
    }

    pub(crate) fn drop_segments(&mut self, keep: impl Fn(usize) -> bool) {
        let mut index = 0;
        self.track.segments.retain(|_| (keep(index), index += 1).0);
    }

    pub(crate) fn segments(&self) -> &[Segment] {
        &self.track.segments
    }

    pub(crate) fn finish(mut self) -> Result<Track, ReadError> {
        self.end_segment();
        if self.track.segments.is_empty() {
            return Err(ReadError::whole(
                "the file holds no point",
                "check that it is a recorded ride, a route or a log, and was saved whole",
            ));
        }
        self.track.start = self.start.map(|second| Time::seconds(second as f64));
        self.look_over();
        Ok(self.track)
    }

    fn look_over(&mut self) {
        let segments = core::mem::take(&mut self.track.segments);
        let has = |channel: Channel| segments.iter().any(|segment| segment.has(channel));
        let missing = |channel: Channel| {
            let one = |s: &Segment| {
                let values = s.values_si(channel);
                s.len() - values.iter().filter(|value| !value.is_nan()).count()
            };
            if has(channel) { segments.iter().map(one).sum::<usize>() as u64 } else { 0 }
        };
        for (channel, what) in [
            (Channel::Height, Finding::HeightMissing),
            (Channel::Time, Finding::TimeMissing),
            (Channel::Latitude, Finding::PositionMissing),
        ] {
            self.note_many(what, missing(channel), || None);
        }
        for segment in &segments {
            self.look_over_times(segment);
        }
        self.track.segments = segments;
    }

    fn look_over_times(&mut self, segment: &Segment) {
        let mut before: Option<(usize, f64)> = None;
        for (point, &time_s) in segment.values_si(Channel::Time).iter().enumerate() {
            if time_s.is_nan() {
                continue;
            }
            if let Some((last, last_s)) = before {
                let step_s = time_s - last_s;
                if step_s == 0.0 {
                    self.note(Finding::TimeRepeated, || None);
                } else if step_s < 0.0 {
                    self.note(Finding::TimeBackwards, || None);
                } else if step_s > LONG_STEP_S {
                    let moved_m = match (segment.position(last), segment.position(point)) {
                        (Some(from), Some(to)) => Some(from.roughly_to_m(to)),
                        _ => segment.distance(last).zip(segment.distance(point)).map(|(a, b)| (b - a).as_metres().abs()),
                    };
                    let resting = moved_m.is_some_and(|moved_m| moved_m < RESTING_M);
                    self.note(if resting { Finding::Pause } else { Finding::Gap }, || None);
                }
            }
            before = Some((point, time_s));
        }
    }
}
