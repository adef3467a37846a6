//! Sentences and figures that every way of showing a result shares: the command line, the page, the picture.

use crate::advice::Measure;
use crate::check::{Check, LinkResult, Verdict};
use crate::fact;
use crate::link::{Gap, Link, Place};
use crate::ride::course::CourseError;
use crate::ride::step::Stuck;
use crate::ride::study::RideError;
use crate::words;

/// Name of a judged link with its place.
pub fn name(l: &LinkResult) -> String {
    link_name(l.link)
}

/// Name of a link with its place.
pub fn link_name(l: Link) -> String {
    let name = words::text(&format!("link.{}.name", l.kind.id()));
    match l.place {
        Place::Whole => name,
        Place::At(side) => format!("{name}, {}", words::text(&format!("side.{}", side.token()))),
        Place::Arm(i) => format!("{name} {}", i + 1),
    }
}

/// Name of a fact with its place.
pub fn fact_name(id: fact::FactId) -> String {
    let (_, full) = fact::describe(id);
    let parts: Vec<&str> = full.split('.').collect();
    match parts.as_slice() {
        ["axle", side, key] => {
            format!("{}, {}", words::text(&format!("fact.axle.side.{key}.name")), words::text(&format!("side.{side}")))
        }
        ["arm", n, key] => format!("{} ({} {n})", words::text(&format!("fact.arm.{key}.name")), words::text("arm")),
        _ => words::text(&format!("fact.{full}.name")),
    }
}

/// Why a link has no number.
pub fn gap(g: &Gap) -> String {
    match g {
        Gap::Range(r) => {
            let low = figure(r.low);
            let high = figure(r.high);
            let what = r.what.replace('-', " ");
            words::fill(
                "app.out-of-range",
                &[("what", &what), ("value", &figure(r.value)), ("low", &low), ("high", &high), ("unit", r.unit)],
            )
        }
        Gap::Cannot(key) => words::text(&format!("cannot.{key}")),
        Gap::Unknown(id) => fact_name(*id),
        Gap::NotThere => String::new(),
    }
}

/// How much doubt a measuring card takes away, and from which link.
pub fn of_doubt(m: &Measure) -> Option<String> {
    let (link, share) = m.of?;
    Some(words::fill("app.of-doubt", &[("share", &percent(share)), ("link", &link_name(link))]))
}

/// A share as whole per cent; beyond ten times nobody needs the figure.
pub fn percent(share: f64) -> String {
    if share > 10.0 { "> 1000 %".to_owned() } else { format!("{:.0} %", share * 100.0) }
}

/// A number to three figures, without trailing zeros: `85.4`, `0.12`, `1 250`.
pub fn figure(value: f64) -> String {
    if !value.is_finite() {
        return "∞".to_owned();
    }
    let value = value + 0.0; // no minus before a zero
    let size = value.abs();
    let digits = if size >= 100.0 || size == 0.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        3
    };
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The result of a job in one sentence.
pub fn headline(c: &Check) -> String {
    let worst = c.worst_first();
    let full = worst
        .iter()
        .filter(|l| l.verdict == c.verdict || c.verdict == Verdict::Refused)
        .find_map(|l| l.load.map(|x| (name(l), x.full)));
    let (link, full) = full.map_or((String::new(), String::new()), |(n, f)| (n, percent(f)));
    let missing = c.missing().len().to_string();
    words::fill(
        &format!("app.headline-{}", c.verdict.token()),
        &[("link", &link), ("full", &full), ("missing", &missing)],
    )
}

/// Why there is no course.
pub fn course_error(e: &CourseError) -> String {
    match e {
        CourseError::Length { metres } => words::fill("ride.error.course-length", &[("m", &figure(*metres))]),
        CourseError::Order(n) => words::fill("ride.error.course-order", &[("n", &(n + 1).to_string())]),
        CourseError::Steep { point, percent } => {
            words::fill("ride.error.course-steep", &[("n", &(point + 1).to_string()), ("percent", &figure(*percent))])
        }
        CourseError::Wish(v) => words::fill("ride.error.course-wish", &[("v", &figure(*v))]),
    }
}

/// Why there is no ride.
pub fn ride_error(e: &RideError) -> String {
    let why = match e {
        RideError::Gap(g) => gap(g),
        RideError::Stuck(Stuck::TooFastForBridge) => words::text("ride.error.too-fast-for-bridge"),
        RideError::Stuck(Stuck::PackPower) => words::text("ride.error.pack-power"),
    };
    words::fill("ride.error.gap", &[("why", &why)])
}
