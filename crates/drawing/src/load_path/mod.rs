//! The load path: the bike seen from behind, its axle across, the road below, the battery above.

mod bike;
mod frame;
mod heading;
mod hub;
mod legend;

use crate::letters;
use crate::plate;
use crate::sign::Sign;
use crate::style::{self, Theme};
use crate::svg::{Hold, Svg, escape, n};
use frame::Frame;
use workbench::check::{Check, Verdict};
use workbench::fact::list;
use workbench::job::Job;
use workbench::link::aftermath::{Role, role};
use workbench::link::{Kind, Link};
use workbench::say;
use workbench::words;

/// How much room there is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// A desk's screen, or paper across: the whole cross.
    #[default]
    Wide,
    /// A tablet upright, or paper upright.
    Tall,
    /// A phone.
    Narrow,
}

/// How to draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// How much room there is.
    pub format: Format,
    /// Where it is shown.
    pub theme: Theme,
    /// What stands before a link's identifier in its address: `#link-`, or a page's own path.
    pub href: String,
    /// Number, name and result of the job in the picture itself; a page says them outside.
    pub heading: bool,
    /// The single fault in whose world it is drawn: what lets go, what carries instead, what is left.
    pub fault: Option<Link>,
    /// Each link's number in the order of the check, for a table beside the picture.
    pub numbered: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            format: Format::Wide,
            theme: Theme::Page,
            href: "#link-".to_owned(),
            heading: false,
            fault: None,
            numbered: false,
        }
    }
}

/// The picture.
pub fn load_path(job: &Job, check: &Check, options: &Options) -> String {
    let frame = Frame::new(job, check, options);
    let mut svg = Svg::default();
    let title = escape(&words::fill("drawing.title", &[("number", &job.number), ("name", &job.name)]));
    let desc = escape(&describe(check, frame.front));
    let (w, h) = (n(frame.width), n(frame.height));
    svg.raw(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing load-path\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" \
         role=\"group\" aria-label=\"{title}\"><title>{title}</title><desc>{desc}</desc>"
    ));
    svg.raw(&style::element(options.theme)).newline();
    if options.theme != Theme::Page {
        svg.rect("ground", 0.0, 0.0, frame.width, frame.height, 0.0);
    }
    svg.raw("<g aria-hidden=\"true\">").newline();
    bike::draw(&mut svg, &frame);
    frame.lines(&mut svg);
    words_around(&mut svg, job, check, &frame);
    if let Some(heading) = &frame.heading {
        heading.draw(&mut svg, frame.margin);
    }
    legend::draw(&mut svg, &frame);
    svg.raw("</g>").newline();
    for i in &frame.order {
        let (l, (x, y)) = (&check.links[*i], frame.places[*i]);
        let number = options.numbered.then_some(i + 1);
        let happened = options.fault.and_then(|f| check.links.iter().find(|l| l.link == f));
        let role = options.fault.map_or(Role::AsEver, |f| role(f, l.link));
        match (l.link.kind, role, happened) {
            // What is left at the axle is the result of the fault.
            (Kind::AxleHold, Role::Carries, Some(fault)) => {
                hub::hub(&mut svg, fault, None, true, &options.href, number, x, y);
            }
            (Kind::AxleHold, ..) => hub::hub(&mut svg, l, check.state, false, &options.href, number, x, y),
            (_, Role::Gone | Role::Carries, Some(_)) => {
                plate::in_fault(&mut svg, l, role == Role::Gone, &options.href, number, x, y);
            }
            _ => plate::plate(&mut svg, l, &options.href, number, x, y),
        }
    }
    svg.raw("</svg>\n");
    svg.finish()
}

fn describe(check: &Check, front: bool) -> String {
    let counts: Vec<String> = [Verdict::Fails, Verdict::NotKnown, Verdict::Marginal, Verdict::Holds]
        .iter()
        .filter_map(|v| {
            let n = check.links.iter().filter(|l| l.verdict == *v).count();
            let word = words::text(&format!("verdict.{}.word", v.token()));
            (n > 0).then(|| words::fill("drawing.count", &[("n", &n.to_string()), ("word", &word)]))
        })
        .collect();
    let key = if front { "drawing.desc-front" } else { "drawing.desc" };
    words::fill(key, &[("links", &check.links.len().to_string()), ("counts", &counts.join(", "))])
}

fn words_around(svg: &mut Svg, job: &Job, check: &Check, f: &Frame) {
    let seen = match job.answer(list::POSITION.id()) {
        Some("front") => "drawing.seen-front",
        Some("both") => "drawing.seen-both",
        _ => "drawing.seen-rear",
    };
    let chain =
        if seen == "drawing.seen-front" { String::new() } else { format!(" · {}", words::text("drawing.chain")) };
    svg.text("bold", 15.0, Hold::Start, f.margin, f.side_words, &words::text("drawing.left"));
    svg.text("bold", 15.0, Hold::End, f.width - f.margin, f.side_words, &(words::text("drawing.right") + &chain));
    svg.text("quiet", 14.0, Hold::Start, f.centre + f.trunk, f.energy_words, &words::text("drawing.up"));
    svg.text("bold", 14.0, Hold::End, f.centre - f.trunk, f.energy_words, &words::text("drawing.energy"));
    svg.text("quiet", 14.0, Hold::Start, f.centre + f.trunk, f.drive_words, &words::text("drawing.down"));
    svg.text("bold", 14.0, Hold::End, f.centre - f.trunk, f.drive_words, &words::text("drawing.drive"));
    svg.text("bold", 15.0, Hold::Start, f.margin, f.fault_words, &words::text("drawing.fault"));
    let read = words::fill("drawing.read-at", &[("one_in", &say::figure(check.one_in))]);
    let line = format!("{} · {read}", words::text(seen));
    let lines = letters::wrap(&line, 13.0, false, f.width - 2.0 * f.margin, 2);
    for (i, line) in lines.iter().rev().enumerate() {
        svg.text("quiet", 13.0, Hold::Start, f.margin, f.height - 12.0 - 17.0 * i as f64, line);
    }
    for (side, x, y) in &f.gaps {
        svg.raw(&format!(
            "<svg x=\"{}\" y=\"{}\" width=\"28\" height=\"28\" viewBox=\"0 0 40 40\">",
            n(x - 14.0),
            n(y - 14.0)
        ));
        svg.raw(Sign::NotFitted.inside()).raw("</svg>");
        let hold = if *side < 0.0 { Hold::End } else { Hold::Start };
        let edge = f.centre + side * (f.dropout + 12.0);
        let room = f.centre - f.margin - f.dropout - 12.0;
        for (i, line) in letters::wrap(&words::text("drawing.not-fitted"), 13.0, false, room, 2).iter().enumerate() {
            svg.text("quiet", 13.0, hold, edge, y + 28.0 + 16.0 * i as f64, line);
        }
    }
    for (side, y, text) in &f.arm_words {
        let (hold, x) = if *side < 0.0 { (Hold::Start, f.margin) } else { (Hold::End, f.width - f.margin) };
        svg.text("bold", 13.0, hold, x, *y, text);
    }
}
