//! What a file holds: points in segments, column by column.

use crate::error::Place;
use crate::position::Position;
use core::fmt::{Display, Formatter};
use quantity::units::Unit;
use quantity::{CrankSpeed, Length, Power, Quantity, Speed, Temperature, Time};

/// The kind of file that was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// GPS Exchange Format 1.0 or 1.1.
    Gpx,
    /// Training Center XML.
    Tcx,
    /// Flexible and Interoperable Data Transfer.
    Fit,
    /// Columns of text.
    Csv,
}

/// The channels that every reader knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channel {
    /// Latitude.
    Latitude,
    /// Longitude.
    Longitude,
    /// Height above sea level.
    Height,
    /// Time since the start.
    Time,
    /// Distance as recorded.
    Distance,
    /// Speed along the road.
    Speed,
    /// Power of the rider, or as the file has it.
    Power,
    /// Speed of the cranks.
    Cadence,
    /// Temperature of the air.
    Temperature,
}

/// Number of [`Channel`]s; the columns after them are a log's own.
pub(crate) const CHANNELS: usize = 9;

/// A channel that only this file has, such as a log's voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Extra {
    /// Its name: as the columns file says, else as the file says.
    pub name: String,
    /// The unit it was written in, where known; values are in SI all the same.
    pub unit: Option<&'static Unit>,
}

/// Points that belong together: what lies between two segments was not recorded and is never bridged.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Segment {
    len: usize,
    // Each is empty, or as long as the segment with NaN where there is no value.
    columns: Vec<Vec<f64>>,
}

impl Segment {
    /// Number of points.
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether it has no point.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    pub(crate) fn put(&mut self, column: usize, value: f64) {
        if self.columns.len() <= column {
            self.columns.resize_with(column + 1, Vec::new);
        }
        let values = &mut self.columns[column];
        if values.len() <= self.len {
            values.resize(self.len, f64::NAN);
            values.push(value);
        } else {
            values[self.len] = value;
        }
    }

    /// Ends the point that was put together.
    pub(crate) fn end_point(&mut self) {
        self.len += 1;
    }

    /// Takes back what was put for a point that is not ended.
    pub(crate) fn finish(&mut self) {
        for values in self.columns.iter_mut().filter(|values| !values.is_empty()) {
            values.resize(self.len, f64::NAN);
            if values.iter().all(|value| value.is_nan()) {
                *values = Vec::new();
            }
        }
    }

    fn column(&self, column: usize) -> &[f64] {
        self.columns.get(column).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn value(&self, column: usize, point: usize) -> Option<f64> {
        self.column(column).get(point).copied().filter(|value| !value.is_nan())
    }

    /// Whether any point has a value there.
    pub fn has(&self, channel: Channel) -> bool {
        !self.column(channel as usize).is_empty()
    }

    /// All values of a channel in SI, positions in degrees: one a point with NaN where there is none, or an empty slice.
    pub fn values_si(&self, channel: Channel) -> &[f64] {
        self.column(channel as usize)
    }

    /// All values of one of [`Track::extras`], in the same way.
    pub fn extra_si(&self, extra: usize) -> &[f64] {
        self.column(CHANNELS.saturating_add(extra))
    }

    fn quantity<Q: Quantity>(&self, channel: Channel, point: usize) -> Option<Q> {
        self.value(channel as usize, point).map(Q::from_si)
    }

    /// Where a point is.
    pub fn position(&self, point: usize) -> Option<Position> {
        let latitude = self.value(Channel::Latitude as usize, point)?;
        Position::degrees(latitude, self.value(Channel::Longitude as usize, point)?)
    }

    /// Height above sea level.
    pub fn height(&self, point: usize) -> Option<Length> {
        self.quantity(Channel::Height, point)
    }

    /// Time since [`Track::start`].
    pub fn time(&self, point: usize) -> Option<Time> {
        self.quantity(Channel::Time, point)
    }

    /// Distance as recorded, by a wheel or the recorder's own reckoning.
    pub fn distance(&self, point: usize) -> Option<Length> {
        self.quantity(Channel::Distance, point)
    }

    /// Speed as recorded.
    pub fn speed(&self, point: usize) -> Option<Speed> {
        self.quantity(Channel::Speed, point)
    }

    /// Power as recorded.
    pub fn power(&self, point: usize) -> Option<Power> {
        self.quantity(Channel::Power, point)
    }

    /// Speed of the cranks.
    pub fn cadence(&self, point: usize) -> Option<CrankSpeed> {
        self.quantity(Channel::Cadence, point)
    }

    /// Temperature of the air.
    pub fn temperature(&self, point: usize) -> Option<Temperature> {
        self.quantity(Channel::Temperature, point)
    }
}

/// Something about a file that its user should know.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What.
    pub what: Finding,
    /// How often.
    pub count: u64,
    /// Where first, if it has a place.
    pub first: Option<Place>,
}

/// What a [`Note`] is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Finding {
    /// Points without a height, in a file that has heights.
    HeightMissing,
    /// Points without a time, in a file that has times.
    TimeMissing,
    /// Points without a position, in a file that has positions.
    PositionMissing,
    /// Points at the same time as the one before.
    TimeRepeated,
    /// Points earlier than the one before.
    TimeBackwards,
    /// Steps of more than 10 s in which the bicycle moved less than 30 m.
    Pause,
    /// Steps of more than 10 s in which it moved 30 m or more, or nobody knows.
    Gap,
    /// Segments without a point; left out.
    EmptySegment,
    /// The file does not say which version of its format it is.
    VersionMissing,
    /// Times without a zone, taken as UTC.
    ZoneMissing,
    /// Values that cannot be read, left out; where they stand.
    Unreadable(String),
    /// Points of planned routes, left out because the file has a recorded track.
    PlannedLeftOut,
    /// The file has planned routes only; they were read.
    PlannedOnly,
    /// More than one session: each starts a segment.
    Sessions,
    /// The recorder was stopped, and moved before it was started again: a new segment.
    MovedWhileStopped,
    /// Numbers without a unit, kept as they are.
    UnitMissing(String),
    /// The checksum does not fit.
    Checksum,
}

impl Display for Finding {
    fn fmt(&self, f: &mut Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::HeightMissing => "points without a height",
            Self::TimeMissing => "points without a time",
            Self::PositionMissing => "points without a position",
            Self::TimeRepeated => "points at the time of the one before",
            Self::TimeBackwards => "points earlier than the one before",
            Self::Pause => "pauses of more than 10 s",
            Self::Gap => "gaps of more than 10 s",
            Self::EmptySegment => "empty segments, left out",
            Self::VersionMissing => "no version is named",
            Self::ZoneMissing => "times without a zone, taken as UTC",
            Self::Unreadable(name) => return write!(f, "values of `{name}` that cannot be read, left out"),
            Self::PlannedLeftOut => "planned points, left out beside the recorded track",
            Self::PlannedOnly => "planned routes, no recorded track",
            Self::Sessions => "sessions, each its own segment",
            Self::MovedWhileStopped => "moves while the recorder was stopped, not bridged",
            Self::UnitMissing(name) => return write!(f, "`{name}` has no unit; its numbers are kept as they are"),
            Self::Checksum => "the checksum does not fit: the file may be damaged",
        })
    }
}

/// A recorded ride, a planned route, or a log.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// What kind of file it comes from.
    pub format: Format,
    /// Time zero, as time since 1970-01-01T00:00:00Z; none where the file has no clock or counts from zero.
    pub start: Option<Time>,
    /// The points.
    pub segments: Vec<Segment>,
    /// The channels of its own.
    pub extras: Vec<Extra>,
    /// What its user should know.
    pub notes: Vec<Note>,
}

impl Track {
    /// Number of points in all segments.
    pub fn points(&self) -> usize {
        self.segments.iter().map(Segment::len).sum()
    }

    /// Whether any point has a value there.
    pub fn has(&self, channel: Channel) -> bool {
        self.segments.iter().any(|segment| segment.has(channel))
    }

    /// Whether any point has a position.
    pub fn has_positions(&self) -> bool {
        self.has(Channel::Latitude) && self.has(Channel::Longitude)
    }

    /// The note about something, if there is one.
    pub fn note(&self, what: &Finding) -> Option<&Note> {
        self.notes.iter().find(|note| &note.what == what)
    }
}
