//! A chain plate: one link with its name, word, number and bar. It cracks when it only just holds and breaks when it does
//! not; a dashed one is not known.

use crate::letters;
use crate::svg::{Hold, Svg, escape, n};
use workbench::check::{LinkResult, Verdict};
use workbench::fact;
use workbench::link::{Load, Path, Place};
use workbench::say;
use workbench::words;

/// Width of a plate.
pub const WIDTH: f64 = 152.0;
/// Height of a plate.
pub const HEIGHT: f64 = 46.0;
/// From the plate's middle to the lowest line below it.
pub const BELOW: f64 = 64.0;
/// From row to row.
pub const PITCH: f64 = 100.0;
/// From column to column.
pub const STEP: f64 = 160.0;
/// Part of the bar's length that is 100 %.
const FULL: f64 = 1.0 / 1.5;

const NAME: f64 = 14.0;
const WORD: f64 = 13.5;
const NUMBER: f64 = 18.0;
const SMALL: f64 = 12.5;

/// One plate around (x, y).
pub fn plate(svg: &mut Svg, l: &LinkResult, href: &str, number: Option<usize>, x: f64, y: f64) {
    open(svg, l, href);
    svg.rect("halo", x - WIDTH / 2.0 - 4.0, y - HEIGHT / 2.0 - 5.0, WIDTH + 8.0, HEIGHT / 2.0 + BELOW + 9.0, 14.0);
    let shift = shape(svg, l.verdict, x, y);
    let name = short_name(l);
    // A broken plate has less room; its name shrinks rather than leave it.
    let room = if shift == 0.0 { WIDTH - 20.0 } else { WIDTH - 48.0 };
    let size = NAME * (room / letters::width(&name, NAME, true)).min(1.0);
    svg.text("bold", size, Hold::Middle, x + shift, y - 3.5, &name);
    svg.text("", WORD, Hold::Middle, x + shift, y + 13.5, &word(l));
    below(svg, l, x, y + HEIGHT / 2.0);
    if let Some(number) = number {
        key(svg, number, x - WIDTH / 2.0 + 6.0, y - HEIGHT / 2.0 - 3.0);
    }
    svg.raw("</a>").newline();
}

/// A plate in the world of a fault: one that has let go, or one that carries instead. Its own number does not count there.
pub fn in_fault(svg: &mut Svg, l: &LinkResult, gone: bool, href: &str, number: Option<usize>, x: f64, y: f64) {
    let word = words::text(if gone { "drawing.world.gone" } else { "drawing.world.carries" });
    open_as(svg, l, href, &format!("{}: {word}", say::name(l)));
    svg.rect("halo", x - WIDTH / 2.0 - 4.0, y - HEIGHT / 2.0 - 5.0, WIDTH + 8.0, HEIGHT + 10.0, 14.0);
    svg.rect(
        if gone { "plate gone" } else { "plate heavy" },
        x - WIDTH / 2.0,
        y - HEIGHT / 2.0,
        WIDTH,
        HEIGHT,
        HEIGHT / 2.0,
    );
    let name = short_name(l);
    let size = NAME * ((WIDTH - 20.0) / letters::width(&name, NAME, true)).min(1.0);
    let ink = |class: &str| if gone { format!("{class} quiet").trim().to_owned() } else { class.to_owned() };
    svg.text(&ink("bold"), size, Hold::Middle, x, y - 3.5, &name);
    svg.text(&ink(""), WORD, Hold::Middle, x, y + 13.5, &word);
    if gone {
        svg.path("crack", &format!("M{},{} l10,10 m0,-10 l-10,10", n(x + WIDTH / 2.0 - 24.0), n(y - 5.0)));
    }
    if let Some(number) = number {
        key(svg, number, x - WIDTH / 2.0 + 6.0, y - HEIGHT / 2.0 - 3.0);
    }
    svg.raw("</a>").newline();
}

/// Opens the element that makes a link reachable by key and readable aloud.
pub fn open(svg: &mut Svg, l: &LinkResult, href: &str) {
    open_as(svg, l, href, &label(l));
}

fn open_as(svg: &mut Svg, l: &LinkResult, href: &str, label: &str) {
    let id = l.link.id();
    let label = escape(label);
    svg.raw(&format!(
        "<a class=\"link\" href=\"{href}{id}\" data-link=\"{id}\" data-state=\"{}\" data-full=\"{}\" aria-label=\"{label}\"><title>{label}</title>",
        l.verdict.token(),
        escape(&l.load.map_or_else(String::new, |x| say::percent(x.full))),
        href = escape(href),
    ));
}

/// The name on a plate; a fault says where, because faults do not stand at their place.
fn short_name(l: &LinkResult) -> String {
    let name = words::text(&format!("link.{}.plate", l.link.kind.id()));
    if l.link.kind.path() != Path::Fault {
        return name;
    }
    match l.link.place {
        Place::Whole => name,
        Place::At(side) => format!("{name} {}", words::text(&format!("side.{}", side.token()))),
        Place::Arm(i) => format!("{name} {}", i + 1),
    }
}

/// The whole sentence of a link.
pub fn label(l: &LinkResult) -> String {
    let name = say::name(l);
    let word = words::text(&format!("verdict.{}.word", l.verdict.token()));
    let Some(load) = l.load else {
        return match &l.gap {
            Some(gap) => words::fill("drawing.label-gap", &[("name", &name), ("word", &word), ("why", &say::gap(gap))]),
            None => {
                let facts: Vec<String> = l.missing.iter().map(|f| say::fact_name(*f)).collect();
                words::fill("drawing.label-unknown", &[("name", &name), ("word", &word), ("facts", &facts.join(", "))])
            }
        };
    };
    let sentence = words::fill(
        "drawing.label",
        &[
            ("name", &name),
            ("word", &word),
            ("full", &say::percent(load.full)),
            ("drive", &say::figure(load.drive)),
            ("brake", &say::figure(load.brake)),
            ("capacity", &say::figure(load.capacity)),
            ("unit", l.link.kind.unit()),
        ],
    )
    .replace(" .", ".");
    if l.mostly_assumed { sentence + &words::text("drawing.label-assumed") } else { sentence }
}

fn word(l: &LinkResult) -> String {
    words::text(&format!("verdict.{}.word", l.verdict.token()))
}

/// The plate itself; says how far its words move aside.
fn shape(svg: &mut Svg, verdict: Verdict, x: f64, y: f64) -> f64 {
    let (a, r) = (WIDTH / 2.0, HEIGHT / 2.0);
    let (top, foot, from, to) = (n(y - r), n(y + r), n(x - a + r), n(x + a - r));
    // Like the plate of a chain: two round ends and a slight waist, long enough for its words.
    let end = format!("A{r},{r} 0 0 1 {from},{top} Z");
    let (waist_top, waist_foot) = (n(y - r + 4.0), n(y + r - 4.0));
    let whole = format!(
        "M{from},{top} Q{x},{waist_top} {to},{top} A{r},{r} 0 0 1 {to},{foot} Q{x},{waist_foot} {from},{foot} {end}",
        x = n(x)
    );
    match verdict {
        Verdict::Holds => {
            svg.path("plate", &whole);
        }
        Verdict::Marginal => {
            svg.path("plate heavy", &whole);
            svg.path("crack", &format!("M{},{} l-4,9 l7,5 l-5,9", n(x + a - 13.0), n(y - r + 1.0)));
        }
        Verdict::NotKnown => {
            svg.path("plate unknown", &whole);
            return 0.0;
        }
        Verdict::Refused => {
            let c = 13.0;
            svg.path(
                "plate heavy",
                &format!(
                    "M{},{} H{} L{},{} V{} L{},{} H{} L{},{} V{} Z",
                    n(x - a + c),
                    n(y - r),
                    n(x + a - c),
                    n(x + a),
                    n(y - r + c),
                    n(y + r - c),
                    n(x + a - c),
                    n(y + r),
                    n(x - a + c),
                    n(x - a),
                    n(y + r - c),
                    n(y - r + c)
                ),
            );
            svg.path("crack", &format!("M{},{} l20,-20", n(x + a - 26.0), n(y + r - 2.0)));
        }
        Verdict::Fails => {
            // The break: both pieces have the same jagged edge, the outer one has dropped.
            let edge = x + a - 34.0;
            svg.path("plate heavy", &format!("M{from},{top} H{} l-5,10 l9,11 l-9,11 l5,14 H{from} {end}", n(edge)));
            let (ex, ey) = (n(edge + 10.0), n(y - r + 8.0));
            svg.path("plate heavy", &format!("M{ex},{ey} l-5,9 l9,10 l-8,10 l5,13 q17,-1 19,-21 q0,-18 -20,-21 Z"));
            return -17.0;
        }
    }
    svg.circle("rivet", x - a + 8.0, y, 2.6).circle("rivet", x + a - 8.0, y, 2.6);
    0.0
}

/// Number, bar and the plain pair below a plate whose lower edge is at `top`.
fn below(svg: &mut Svg, l: &LinkResult, x: f64, top: f64) {
    let left = x - WIDTH / 2.0;
    let Some(load) = l.load else {
        let lines = match (&l.gap, l.missing.first()) {
            (Some(_), _) => vec![words::text("drawing.cannot")],
            (None, Some(id)) => {
                let card = words::text(&format!("card.{}.title", fact::describe(*id).0.card));
                letters::wrap(&card, SMALL, false, WIDTH, 2)
            }
            (None, None) => Vec::new(),
        };
        for (i, line) in lines.iter().enumerate() {
            svg.text("quiet", SMALL, Hold::Middle, x, top + 17.0 + 15.0 * i as f64, line);
        }
        return;
    };
    let number = say::percent(load.full);
    let size = if letters::width(&number, NUMBER, true) > 65.0 { 14.0 } else { NUMBER };
    let wide = letters::width(&number, size, true).max(60.0) + 4.0;
    svg.text("bold", size, Hold::Start, left, top + 20.0, &number);
    bar(svg, l, &load, left + wide, top + 10.0, WIDTH - wide - 8.0, 8.0);
    let room = if l.mostly_assumed { WIDTH - 20.0 } else { WIDTH };
    let pair = letters::cut(&pair(l, &load), SMALL, false, room);
    if !pair.is_empty() {
        svg.text("quiet", SMALL, Hold::Start, left, top + 37.0, &pair);
    }
    if l.mostly_assumed {
        assumed(svg, left + WIDTH - 8.0, top + 33.0);
    }
}

/// What is asked of what it can take.
pub fn pair(l: &LinkResult, load: &Load) -> String {
    // A link without unit is a plain yes or no; its word says it.
    if l.link.kind.unit().is_empty() {
        return String::new();
    }
    let values = [
        ("demand", &*say::figure(load.drive.max(load.brake))),
        ("capacity", &say::figure(load.capacity)),
        ("unit", l.link.kind.unit()),
    ];
    words::fill("drawing.pair", &values).trim_end().to_owned()
}

/// A number that a table below the picture repeats.
pub fn key(svg: &mut Svg, number: usize, x: f64, y: f64) {
    svg.circle("key", x, y, 9.5).text("bold reverse", 11.0, Hold::Middle, x, y + 4.0, &number.to_string());
}

/// The mark of a link whose values are mostly assumed.
pub fn assumed(svg: &mut Svg, x: f64, y: f64) {
    svg.circle("ring", x, y, 7.0).text("bold", 10.5, Hold::Middle, x, y + 3.6, &words::text("drawing.assumed-letter"));
}

/// The bar: 0 to 150 %, a tick at 100 %, a filled mark above for driving, a hollow one below for braking.
pub fn bar(svg: &mut Svg, l: &LinkResult, load: &Load, x: f64, y: f64, length: f64, thick: f64) {
    let at = |share: f64| x + (share * FULL).clamp(0.0, 1.0) * length;
    svg.rect("back", x, y, length, thick, 0.0);
    let end = at(load.full);
    svg.rect("fill", x, y, end - x, thick, 0.0);
    if l.mostly_assumed {
        let mut d = String::new();
        let mut stripe = x + 2.0;
        while stripe + thick * 0.6 < end {
            d += &format!("M{},{} L{},{} ", n(stripe), n(y + thick), n(stripe + thick * 0.6), n(y));
            stripe += 6.0;
        }
        if !d.is_empty() {
            svg.path("hatch", d.trim_end());
        }
    }
    if let (Some(middle), Some(stacked)) = (l.middle, l.stacked) {
        let (from, to) = (at(middle.full.min(load.full)), at(stacked.max(load.full)));
        let mid = y + thick / 2.0;
        svg.path("whisker", &format!("M{},{} H{}", n(from), n(mid), n(to)));
        if stacked < 1.5 {
            svg.path("whisker", &format!("M{},{} V{}", n(to), n(y), n(y + thick)));
        }
    }
    svg.path("tick", &format!("M{},{} V{}", n(at(1.0)), n(y - 4.0), n(y + thick + 4.0)));
    if load.full > 1.5 {
        svg.path(
            "tick",
            &format!(
                "M{},{} l4,{h} l-4,{h} m5,-{t} l4,{h} l-4,{h}",
                n(x + length + 1.0),
                n(y),
                h = n(thick / 2.0),
                t = n(thick)
            ),
        );
    }
    let most = load.drive.max(load.brake);
    if most > 0.0 && most.is_finite() {
        // A link whose "how full" is no plain quotient shows its marks at the same share.
        let place = |demand: f64| at(load.full * (demand / most));
        if load.drive > 0.0 {
            svg.path("mark", &format!("M{},{} l4,-7 h-8 Z", n(place(load.drive)), n(y - 1.0)));
        }
        if load.brake > 0.0 {
            svg.path("mark hollow", &format!("M{},{} l4,7 h-8 Z", n(place(load.brake)), n(y + thick + 1.0)));
        }
    }
}
