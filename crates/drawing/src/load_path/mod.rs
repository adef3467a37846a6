//! The load path: the bike seen from behind, its axle across, the road below, the battery above.

mod bike;
mod frame;

use crate::letters;
use crate::plate;
use crate::say;
use crate::sign;
use crate::style::{self, Theme};
use crate::svg::{Hold, Svg, escape, n};
use frame::Frame;
use workbench::check::{Check, LinkResult, Verdict};
use workbench::fact::list;
use workbench::job::Job;
use workbench::link::Kind;
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
}

impl Default for Options {
    fn default() -> Self {
        Self { format: Format::Wide, theme: Theme::Page, href: "#link-".to_owned(), heading: false }
    }
}

/// The picture.
pub fn load_path(job: &Job, check: &Check, options: &Options) -> String {
    let frame = Frame::new(job, check, options);
    let mut svg = Svg::default();
    let title = escape(&words::fill("drawing.title", &[("number", &job.number), ("name", &job.name)]));
    let front = job.answer(list::POSITION.id()) == Some("front");
    let desc = escape(&describe(check, front));
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
    if options.heading {
        heading(&mut svg, job, check, &frame);
    }
    legend(&mut svg, check, &frame);
    svg.raw("</g>").newline();
    for (l, (x, y)) in check.links.iter().zip(&frame.places) {
        if l.link.kind == Kind::AxleHold {
            bike::hub(&mut svg, l, check.state, &options.href, *x, *y);
        } else {
            plate::plate(&mut svg, l, &options.href, *x, *y);
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
    svg.text("bold", 15.0, Hold::Start, f.left(), f.side_words, &words::text("drawing.left"));
    svg.text("bold", 15.0, Hold::End, f.width - f.left(), f.side_words, &(words::text("drawing.right") + &chain));
    svg.text("quiet", 14.0, Hold::Start, f.centre + f.trunk, f.energy_words, &words::text("drawing.up"));
    svg.text("bold", 14.0, Hold::End, f.centre - f.trunk, f.energy_words, &words::text("drawing.energy"));
    svg.text("quiet", 14.0, Hold::Start, f.centre + f.trunk, f.drive_words, &words::text("drawing.down"));
    svg.text("bold", 14.0, Hold::End, f.centre - f.trunk, f.drive_words, &words::text("drawing.drive"));
    svg.text("bold", 15.0, Hold::Start, f.left(), f.fault_words, &words::text("drawing.fault"));
    let read = words::fill("drawing.read-at", &[("one_in", &say::figure(check.one_in))]);
    let line = format!("{} · {read}", words::text(seen));
    svg.text("quiet", 13.0, Hold::Start, f.left(), f.height - 12.0, &line);
    for (side, y, text) in &f.arm_words {
        let (hold, x) = if *side < 0.0 { (Hold::Start, f.left()) } else { (Hold::End, f.width - f.left()) };
        svg.text("bold", 13.0, hold, x, *y, text);
    }
}

fn heading(svg: &mut Svg, job: &Job, check: &Check, f: &Frame) {
    let (x, mut y, most) = (f.left(), 34.0, f.heading_width);
    for line in letters::wrap(&format!("{} {}", job.number, job.name), 20.0, true, most, 2) {
        svg.text("bold", 20.0, Hold::Start, x, y, &line);
        y += 26.0;
    }
    svg.raw(&format!("<svg x=\"{}\" y=\"{}\" width=\"40\" height=\"40\" class=\"sign\">", n(x), n(y - 14.0)));
    svg.raw(sign::Sign::Result(check.verdict).inside()).raw("</svg>");
    let word = words::text(&format!("verdict.{}.word", check.verdict.token()));
    svg.text("bold", 24.0, Hold::Start, x + 52.0, y + 14.0, &word);
    y += 48.0;
    let sentence = match check.refused.first() {
        Some(rule) => rule.sentence.clone(),
        None => say::headline(check),
    };
    for line in letters::wrap(&sentence, 15.0, false, most, f.heading_lines) {
        svg.text("", 15.0, Hold::Start, x, y, &line);
        y += 20.0;
    }
}

fn legend(svg: &mut Svg, check: &Check, f: &Frame) {
    let Some((x, mut y)) = f.legend else { return };
    svg.text("bold", 14.0, Hold::Start, x, y, &words::text("drawing.legend"));
    y += 22.0;
    let mut row = |svg: &mut Svg, sample: &dyn Fn(&mut Svg, f64, f64), key: &str| {
        sample(svg, x, y);
        svg.text("", 13.0, Hold::Start, x + 64.0, y, &words::text(key));
        y += 20.0;
    };
    row(
        svg,
        &|s, x, y| {
            s.path("mark", &format!("M{},{} l5,-8 h-10 Z", n(x + 24.0), n(y)));
        },
        "drawing.legend-drive",
    );
    row(
        svg,
        &|s, x, y| {
            s.path("mark hollow", &format!("M{},{} l5,8 h-10 Z", n(x + 24.0), n(y - 9.0)));
        },
        "drawing.legend-brake",
    );
    let bar = |s: &mut Svg, x: f64, y: f64| {
        s.rect("back", x, y - 9.0, 48.0, 8.0, 0.0).rect("fill", x, y - 9.0, 24.0, 8.0, 0.0);
    };
    row(
        svg,
        &|s, x, y| {
            bar(s, x, y);
            s.path("tick", &format!("M{},{} v16", n(x + 32.0), n(y - 13.0)));
        },
        "drawing.legend-tick",
    );
    row(
        svg,
        &|s, x, y| {
            bar(s, x, y);
            s.path("whisker", &format!("M{},{} h26 m0,-4 v8", n(x + 14.0), n(y - 5.0)));
        },
        "drawing.legend-whisker",
    );
    if check.links.iter().any(|l: &LinkResult| l.mostly_assumed) {
        row(
            svg,
            &|s, x, y| {
                bar(s, x, y);
                s.path("hatch", &format!("M{},{} l5,-8 m1,8 l5,-8 m1,8 l5,-8 m1,8 l5,-8", n(x + 1.0), n(y - 1.0)));
            },
            "drawing.legend-assumed",
        );
    }
}
