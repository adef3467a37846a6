//! GPX 1.0 and 1.1, as recorders and planners write it.
//!
//! Power, cadence, speed and temperature are taken from any extension, whatever its namespace; other numbers in
//! extensions become channels of the file's own. Waypoints are no track and are passed over.

use crate::builder::Builder;
use crate::error::{ReadError, quoted};
use crate::position::Position;
use crate::text::{Number, moment, number};
use crate::track::{Channel, Finding, Format, Track};
use crate::xml::{Item, Tag, Walk, local};
use quantity::{CrankSpeed, Quantity, Temperature};

const POINT_NEXT: &str = "a track point needs lat=\"-90 to 90\" and lon=\"-180 to 180\" in degrees with a decimal point: \
                          correct the line or export the file again";

/// Which points of the file are wanted.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Recorded,
    Planned,
}

pub(crate) fn read_gpx(text: &str) -> Result<Track, ReadError> {
    let mut walk = Walk::new(text);
    let mut builder = Builder::new(Format::Gpx);
    // Per finished segment, and the one that is open.
    let mut kinds: Vec<Kind> = Vec::new();
    let mut inside: Option<Kind> = None;
    let mut segment_start = 0;
    let mut point_depth: Option<usize> = None;
    loop {
        match walk.next()? {
            Item::Open(tag) => match (walk.name(), walk.depth()) {
                ("gpx", 1) => {
                    if tag.attribute("version").is_none() {
                        builder.note(Finding::VersionMissing, || Some(walk.place()));
                    }
                }
                (_, 1) => {
                    let found = quoted(walk.name());
                    return Err(walk.fail(format!("the first element is {found}, not gpx"), "export the ride as GPX"));
                }
                ("trkseg" | "rte", _) if point_depth.is_none() => {
                    inside = Some(if walk.name() == "rte" { Kind::Planned } else { Kind::Recorded });
                    segment_start = builder.points();
                }
                ("trkpt", _) if inside == Some(Kind::Recorded) && point_depth.is_none() => {
                    builder.put_position(position(&walk, tag)?);
                    point_depth = Some(walk.depth());
                }
                ("rtept", _) if inside == Some(Kind::Planned) && point_depth.is_none() => {
                    builder.put_position(position(&walk, tag)?);
                    point_depth = Some(walk.depth());
                }
                _ => {}
            },
            Item::Close => match point_depth {
                Some(depth) if walk.depth() == depth => {
                    builder.end_point();
                    point_depth = None;
                }
                Some(depth) => value(&walk, &mut builder, walk.depth() - depth)?,
                None if inside.is_some() && matches!(walk.name(), "trkseg" | "rte") => {
                    if builder.points() == segment_start {
                        builder.note(Finding::EmptySegment, || Some(walk.place()));
                    } else {
                        kinds.extend(inside);
                        builder.end_segment();
                    }
                    inside = None;
                }
                None => {}
            },
            Item::End => break,
        }
    }
    let recorded = kinds.contains(&Kind::Recorded);
    if kinds.contains(&Kind::Planned) {
        builder.note(if recorded { Finding::PlannedLeftOut } else { Finding::PlannedOnly }, || None);
    }
    if recorded {
        builder.drop_segments(|index| kinds.get(index) == Some(&Kind::Recorded));
    }
    builder.finish()
}

fn position(walk: &Walk<'_>, tag: Tag<'_>) -> Result<Position, ReadError> {
    let degrees = |name: &str| match tag.attribute(name) {
        None => Err(walk.fail(format!("a point without {name}"), POINT_NEXT)),
        Some(text) => match number(text) {
            Number::Value(value) => Ok(value),
            _ => Err(walk.fail(format!("{name}={} is not a number", quoted(text)), POINT_NEXT)),
        },
    };
    let (latitude, longitude) = (degrees("lat")?, degrees("lon")?);
    Position::degrees(latitude, longitude)
        .ok_or_else(|| walk.fail(format!("no place on earth is at lat=\"{latitude}\" lon=\"{longitude}\""), POINT_NEXT))
}

/// Takes the value of the element that closes, `below` levels below its point.
fn value(walk: &Walk<'_>, builder: &mut Builder, below: usize) -> Result<(), ReadError> {
    let (name, content) = (walk.name(), walk.content());
    match name {
        "ele" if below == 1 => match number(content) {
            Number::Value(height_m) => builder.put(Channel::Height, height_m),
            Number::Missing => {}
            Number::Wrong => {
                let what = format!("height {} is not a number", quoted(content));
                return Err(walk.fail(what, "heights are in metres with a decimal point; leave the element out where none is known"));
            }
        },
        "time" if below == 1 => {
            if content.trim().is_empty() {
                return Ok(());
            }
            match moment(content) {
                Some((moment, no_zone)) => {
                    builder.put_moment(moment);
                    if no_zone {
                        builder.note(Finding::ZoneMissing, || Some(walk.place()));
                    }
                }
                None => {
                    let what = format!("time {} cannot be read", quoted(content));
                    return Err(walk.fail(what, "times are written like 2024-05-01T12:30:00Z"));
                }
            }
        }
        // Parts of the format that no ride needs: names, fixes, precision, the heading of a compass.
        "name" | "cmt" | "desc" | "src" | "link" | "text" | "type" | "sym" | "fix" | "sat" | "hdop" | "vdop" | "pdop"
        | "ageofdgpsdata" | "dgpsid" | "magvar" | "geoidheight" | "course" | "extensions" | "ele" | "time" => {}
        _ => extension(walk, builder),
    }
    Ok(())
}

/// Values that a recorder adds to a point, under any namespace.
fn extension(walk: &Walk<'_>, builder: &mut Builder) {
    let (name, content) = (local(walk.name()), walk.content());
    // An element that holds elements has blanks for text.
    if content.trim().is_empty() {
        return;
    }
    let Number::Value(value) = number(content) else {
        if number(content) == Number::Wrong {
            builder.note(Finding::Unreadable(name.to_owned()), || Some(walk.place()));
        }
        return;
    };
    let (channel, value_si) = match name.to_ascii_lowercase().as_str() {
        "power" | "powerinwatts" | "watts" => (Channel::Power, value),
        "cad" | "cadence" => (Channel::Cadence, CrankSpeed::revolutions_per_minute(value).si()),
        "speed" => (Channel::Speed, value),
        "atemp" | "temp" | "temperature" => (Channel::Temperature, Temperature::celsius(value).si()),
        "distance" => (Channel::Distance, value),
        "hr" | "heartrate" => return,
        _ => return builder.put_extra(name, None, value),
    };
    builder.put(channel, value_si);
}
