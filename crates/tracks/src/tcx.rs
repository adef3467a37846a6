//! TCX: activities and courses.
//!
//! An activity or course is a session. Within one, a new lap or track is a break only where the recorder moved in
//! between; laps are marks on one ride.

use crate::builder::Builder;
use crate::error::{ReadError, quoted};
use crate::position::Position;
use crate::text::{Number, moment, number};
use crate::track::{Channel, Finding, Format, Track};
use crate::xml::{Item, Walk};
use quantity::{CrankSpeed, Quantity};

pub(crate) fn read_tcx(text: &str) -> Result<Track, ReadError> {
    let mut walk = Walk::new(text);
    let mut builder = Builder::new(Format::Tcx);
    let mut point = false;
    let mut track_start = 0;
    let (mut latitude, mut longitude) = (None, None);
    loop {
        match walk.next()? {
            Item::Open(_) => match (walk.name(), walk.depth()) {
                ("TrainingCenterDatabase", 1) => {}
                (_, 1) => {
                    let found = quoted(walk.name());
                    let what = format!("the first element is {found}, not TrainingCenterDatabase");
                    return Err(walk.fail(what, "export the ride as TCX or GPX"));
                }
                ("Trackpoint", _) => {
                    (point, latitude, longitude) = (true, None, None);
                }
                ("Activity" | "Course", _) => {
                    if builder.points() > 0 {
                        builder.note(Finding::Sessions, || Some(walk.place()));
                    }
                    builder.end_segment();
                }
                ("Track", _) => {
                    track_start = builder.points();
                    builder.stop();
                }
                _ => {}
            },
            Item::Close if point => match walk.name() {
                "Trackpoint" => {
                    // Half a position is none.
                    if let (Some(latitude), Some(longitude)) = (latitude, longitude) {
                        builder.put_position(position(&walk, latitude, longitude)?);
                    }
                    builder.end_point();
                    point = false;
                }
                "LatitudeDegrees" => latitude = needed(&walk)?,
                "LongitudeDegrees" => longitude = needed(&walk)?,
                "AltitudeMeters" => put(&walk, &mut builder, Channel::Height, 1.0)?,
                "DistanceMeters" => put(&walk, &mut builder, Channel::Distance, 1.0)?,
                "Speed" => put(&walk, &mut builder, Channel::Speed, 1.0)?,
                "Watts" => put(&walk, &mut builder, Channel::Power, 1.0)?,
                "Cadence" => {
                    put(&walk, &mut builder, Channel::Cadence, CrankSpeed::revolutions_per_minute(1.0).si())?;
                }
                "Time" => match moment(walk.content()) {
                    Some((moment, no_zone)) => {
                        builder.put_moment(moment);
                        if no_zone {
                            builder.note(Finding::ZoneMissing, || Some(walk.place()));
                        }
                    }
                    None if walk.content().trim().is_empty() => {}
                    None => {
                        let what = format!("time {} cannot be read", quoted(walk.content()));
                        return Err(walk.fail(what, "times are written like 2024-05-01T12:30:00Z"));
                    }
                },
                _ => {}
            },
            Item::Close => {
                if walk.name() == "Track" && builder.points() == track_start {
                    builder.note(Finding::EmptySegment, || Some(walk.place()));
                }
            }
            Item::End => return builder.finish(),
        }
    }
}

fn needed(walk: &Walk<'_>) -> Result<Option<f64>, ReadError> {
    match number(walk.content()) {
        Number::Value(value) => Ok(Some(value)),
        Number::Missing => Ok(None),
        Number::Wrong => {
            let what = format!("{} {} is not a number", walk.name(), quoted(walk.content()));
            Err(walk.fail(what, "correct the line, or export the file again; numbers have a decimal point"))
        }
    }
}

fn put(walk: &Walk<'_>, builder: &mut Builder, channel: Channel, factor: f64) -> Result<(), ReadError> {
    if let Some(value) = needed(walk)? {
        builder.put(channel, value * factor);
    }
    Ok(())
}

fn position(walk: &Walk<'_>, latitude: f64, longitude: f64) -> Result<Position, ReadError> {
    Position::degrees(latitude, longitude).ok_or_else(|| {
        let what = format!("no place on earth is at latitude {latitude}, longitude {longitude}");
        walk.fail(what, "latitudes are −90 to 90 and longitudes −180 to 180 degrees: correct the point or leave it out")
    })
}
