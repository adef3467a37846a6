//! The hub's plate: the axle in its frame, with what the axle does.

use crate::letters;
use crate::plate;
use crate::sign;
use crate::svg::{Hold, Svg, n};
use workbench::check::{LinkResult, State, Verdict};
use workbench::say;
use workbench::words;

/// Radius of the plate.
pub const RADIUS: f64 = 60.0;
/// From its middle to the lowest line below it.
pub const BELOW: f64 = RADIUS + 40.0;

/// The plate around (x, y).
///
/// In the world of a fault `l` is that fault, and what the axle does then is told by its word alone.
pub fn hub(
    svg: &mut Svg,
    l: &LinkResult,
    state: Option<State>,
    fault: bool,
    href: &str,
    number: Option<usize>,
    x: f64,
    y: f64,
) {
    plate::open(svg, l, href);
    svg.circle("halo", x, y, RADIUS + 5.0);
    let x_words = x + shape(svg, l.verdict, x, y);
    let word = words::text(&format!("verdict.{}.word", l.verdict.token()));
    if !fault {
        sign::axle_state(svg, state, x_words, y - 22.0, 1.2);
    }
    let name = words::text(&format!("link.{}.plate", l.link.kind.id()));
    let does = state.map_or("unknown", State::token);
    let does = words::text(&if fault { "drawing.world.left".to_owned() } else { format!("drawing.state.{does}") });
    // The path passes behind the words.
    let half = letters::width(&name, 14.0, true).max(letters::width(&does, 14.0, false)) / 2.0 + 4.0;
    svg.rect("ground", x - half, y - RADIUS - 40.0, 2.0 * half, 36.0, 4.0);
    svg.text("bold", 14.0, Hold::Middle, x, y - RADIUS - 26.0, &name);
    svg.text("", 14.0, Hold::Middle, x, y - RADIUS - 9.0, &does);
    if let Some(load) = l.load {
        let full = say::percent(load.full);
        let size = if full.len() > 6 { 15.0 } else { 19.0 };
        svg.text("bold", size, Hold::Middle, x_words, y + 24.0, &full);
        svg.text("", 12.5, Hold::Middle, x_words, y + 41.0, &word);
        svg.rect("ground", x - 50.0, y + RADIUS + 4.0, 100.0, 37.0, 4.0);
        plate::bar(svg, l, &load, x - 45.0, y + RADIUS + 12.0, 90.0, 8.0);
        svg.text("quiet", 12.5, Hold::Middle, x, y + RADIUS + 37.0, &plate::pair(l, &load));
        if l.mostly_assumed {
            plate::assumed(svg, x + 60.0, y + RADIUS + 33.0);
        }
    } else {
        svg.text("", 13.0, Hold::Middle, x_words, y + 30.0, &word);
    }
    if let Some(number) = number {
        plate::key(svg, number, x - 44.0, y - 46.0);
    }
    svg.raw("</a>").newline();
}

/// The round plate; says how far its words move aside.
fn shape(svg: &mut Svg, verdict: Verdict, x: f64, y: f64) -> f64 {
    let r = RADIUS;
    match verdict {
        Verdict::Holds | Verdict::Refused => {
            svg.circle("plate", x, y, r);
        }
        Verdict::Marginal => {
            svg.circle("plate heavy", x, y, r);
            svg.path("crack", &format!("M{},{} l-9,7 l7,7 l-8,9", n(x + 41.0), n(y - 43.0)));
        }
        Verdict::NotKnown => {
            svg.circle("plate unknown", x, y, r);
        }
        Verdict::Fails => {
            // Cut along a jagged chord; the piece beyond it has dropped.
            let (chord, half) = (38.0, 46.4);
            let jag = "l8,-28 l-12,-34";
            let (a, top, foot) = (n(x + chord), n(y - half), n(y + half));
            svg.path("plate heavy", &format!("M{a},{top} A{r},{r} 0 1 0 {a},{foot} {jag} Z"));
            let (a, top, foot) = (n(x + chord + 11.0), n(y - half + 9.0), n(y + half + 9.0));
            svg.path("plate heavy", &format!("M{a},{top} A{r},{r} 0 0 1 {a},{foot} {jag} Z"));
            return -12.0;
        }
    }
    0.0
}
