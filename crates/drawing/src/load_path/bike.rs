//! What stands still in the picture: battery, hub, wheel, road; and the hub's own plate in the middle.

use super::Format;
use super::frame::Frame;
use crate::plate;
use crate::say;
use crate::sign;
use crate::svg::{Hold, Svg, n};
use workbench::check::{LinkResult, State, Verdict};
use workbench::words;

/// Radius of the hub's plate.
const RADIUS: f64 = 58.0;

/// Battery, hub shell, wheel and road.
pub fn draw(svg: &mut Svg, f: &Frame) {
    let (cx, ay) = (f.centre, f.axle);
    // Battery with its two poles.
    let half = (f.trunk - 5.0).min(26.0);
    svg.rect("part solid", cx - half, f.up + 6.0, 2.0 * half, 30.0, 4.0);
    svg.path(
        "part",
        &format!(
            "M{},{} v-5 h8 v5 M{},{} v-5 h8 v5",
            n(cx - half * 0.6 - 4.0),
            n(f.up + 6.0),
            n(cx + half * 0.6 - 4.0),
            n(f.up + 6.0)
        ),
    );
    // Road.
    let reach = (f.centre - f.left()).min(300.0);
    svg.path("line", &format!("M{},{} H{}", n(cx - reach), n(f.down), n(cx + reach)));
    let mut d = String::new();
    let mut x = cx - reach + 14.0;
    while x < cx + reach {
        d += &format!("M{},{} l-9,9 ", n(x), n(f.down));
        x += 22.0;
    }
    svg.path("part thin", d.trim_end());
    if f.format != Format::Wide {
        return;
    }
    // Tyre seen edge on, from the hub down to the road, and its upper part cut off.
    let t = 21.0;
    svg.path(
        "part",
        &format!(
            "M{},{} V{} q0,14 {},14 q{},0 {},-14 V{}",
            n(cx - t),
            n(ay + 84.0),
            n(f.down - 14.0),
            n(t),
            n(t),
            n(t),
            n(ay + 84.0)
        ),
    );
    // Spokes, shell, flanges.
    for s in [-1.0, 1.0] {
        for way in [-1.0, 1.0] {
            svg.path(
                "part thin",
                &format!("M{},{} L{},{}", n(cx + s * 104.0), n(ay + way * 50.0), n(cx + s * 12.0), n(ay + way * 104.0)),
            );
        }
        svg.path(
            "part solid",
            &format!("M{},{} h{} v104 h{} Z", n(cx + s * 98.0), n(ay - 52.0), n(s * 12.0), n(-s * 12.0)),
        );
        svg.path(
            "part solid",
            &format!(
                "M{},{} L{},{} V{} L{},{} Z",
                n(cx + s * 110.0),
                n(ay - 40.0),
                n(cx + s * 140.0),
                n(ay - 26.0),
                n(ay + 26.0),
                n(cx + s * 110.0),
                n(ay + 40.0)
            ),
        );
    }
    svg.rect("part solid", cx - 98.0, ay - 46.0, 196.0, 92.0, 8.0);
}

/// The hub's plate: the axle in its frame, with what the axle does.
pub fn hub(svg: &mut Svg, l: &LinkResult, state: Option<State>, href: &str, x: f64, y: f64) {
    plate::open(svg, l, href);
    let r = RADIUS;
    svg.circle("halo", x, y, r + 5.0);
    match l.verdict {
        Verdict::Holds | Verdict::Refused => {
            svg.circle("plate", x, y, r);
        }
        Verdict::Marginal => {
            svg.circle("plate heavy", x, y, r);
            svg.path("crack", &format!("M{},{} l-9,8 l7,8 l-8,8", n(x + 38.0), n(y - 43.0)));
        }
        Verdict::NotKnown => {
            svg.circle("plate unknown", x, y, r);
        }
        Verdict::Fails => {
            let (a, b) = (n(x + 30.0), n(y - 49.6));
            svg.path("plate heavy", &format!("M{a},{b} A{r},{r} 0 1 0 {a},{} l7,-22 l-10,-26 l10,-26 Z", n(y + 49.6)));
            svg.path(
                "plate heavy",
                &format!(
                    "M{},{} A{r},{r} 0 0 1 {},{} l7,-21 l-10,-25 l10,-25 Z",
                    n(x + 40.0),
                    n(y - 37.0),
                    n(x + 37.0),
                    n(y + 52.0)
                ),
            );
        }
    }
    let word = words::text(&format!("verdict.{}.word", l.verdict.token()));
    let name = words::text(&format!("link.{}.plate", l.link.kind.id()));
    let shift = if l.verdict == Verdict::Fails { -10.0 } else { 0.0 };
    svg.text("bold", 14.0, Hold::Middle, x + shift, y - 30.0, &name);
    sign::axle_state(svg, state, x + shift, y - 2.0);
    if let Some(load) = l.load {
        svg.text("bold", 16.0, Hold::Middle, x + shift, y + 36.0, &say::percent(load.full));
    }
    svg.text("", 13.0, Hold::Middle, x, y + r + 17.0, &word);
    let doing = state.map_or_else(
        || words::text("drawing.axle-unknown"),
        |s| words::fill("drawing.axle", &[("state", &words::text(&format!("drawing.state.{}", s.token())))]),
    );
    svg.text("bold", 13.0, Hold::Middle, x, y - r - 9.0, &doing);
    svg.raw("</a>").newline();
}
