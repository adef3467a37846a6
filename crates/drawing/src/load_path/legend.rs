//! How to read a plate's bar.

use super::frame::Frame;
use crate::plate;
use crate::svg::{Hold, Svg, n};
use workbench::words;

/// Room that it takes.
pub const HEIGHT: f64 = 126.0;

/// Draws one sample of the legend at a place.
type Sample = fn(&mut Svg, f64, f64);

/// Draws it.
pub fn draw(svg: &mut Svg, f: &Frame) {
    let (x, mut y) = f.legend;
    svg.text("bold", 14.0, Hold::Start, x, y, &words::text("drawing.legend"));
    let samples: [(&str, Sample); 5] = [
        ("drive", |s, x, y| {
            s.path("mark", &format!("M{},{} l5,-8 h-10 Z", n(x + 24.0), n(y)));
        }),
        ("brake", |s, x, y| {
            s.path("mark hollow", &format!("M{},{} l5,8 h-10 Z", n(x + 24.0), n(y - 9.0)));
        }),
        ("tick", |s, x, y| {
            bar(s, x, y);
            s.path("tick", &format!("M{},{} v14", n(x + 32.0), n(y - 12.0)));
        }),
        ("whisker", |s, x, y| {
            bar(s, x, y);
            s.path("whisker", &format!("M{},{} h26 m0,-4 v8", n(x + 14.0), n(y - 5.0)));
        }),
        ("assumed", |s, x, y| {
            bar(s, x, y);
            s.path("hatch", &format!("M{},{} l5,-8 m1,8 l5,-8 m1,8 l5,-8 m1,8", n(x + 3.0), n(y - 1.0)));
            plate::assumed(s, x + 40.0, y - 5.0);
        }),
    ];
    for (key, sample) in samples {
        y += 21.0;
        sample(svg, x, y);
        svg.text("", 13.0, Hold::Start, x + 60.0, y, &words::text(&format!("drawing.legend-{key}")));
    }
}

fn bar(s: &mut Svg, x: f64, y: f64) {
    s.rect("back", x, y - 9.0, 48.0, 8.0, 0.0).rect("fill", x, y - 9.0, 24.0, 8.0, 0.0);
}
