//! What stands still in the picture: battery, hub, wheel, road.

use super::Format;
use super::frame::Frame;
use crate::svg::{Svg, n};

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
    let reach = (f.centre - f.margin).min(300.0);
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
    // Tyre seen edge on, from the hub down to the road.
    let (t, low) = (21.0, f.down - 16.0);
    let from = n(ay + 132.0);
    svg.path("part", &format!("M{},{from} V{} q2,16 {},16 q19,0 {},-16 V{from}", n(cx - t), n(low), n(t), n(t)));
    for s in [-1.0, 1.0] {
        for way in [-1.0, 1.0] {
            let (flange, rim) = ((cx + s * 112.0, ay + way * 58.0), (cx + s * 22.0, ay + way * 134.0));
            if way > 0.0 {
                svg.path("part thin", &format!("M{},{} L{},{}", n(flange.0), n(flange.1), n(rim.0), n(rim.1)));
                svg.path(
                    "part thin",
                    &format!("M{},{} L{},{}", n(flange.0), n(flange.1 - 14.0), n(rim.0), n(rim.1 - 6.0)),
                );
            }
        }
        // Flange and end cover.
        svg.rect("part solid", cx + s * 112.0 - 5.0, ay - 62.0, 10.0, 124.0, 3.0);
        let (a, b) = (n(cx + s * 117.0), n(cx + s * 144.0));
        svg.path(
            "part solid",
            &format!("M{a},{} L{b},{} V{} L{a},{} Z", n(ay - 46.0), n(ay - 26.0), n(ay + 26.0), n(ay + 46.0)),
        );
    }
    svg.rect("part solid", cx - 107.0, ay - 54.0, 214.0, 108.0, 10.0);
    // Brake rotor on the left, sprockets on the right.
    svg.rect("part solid", cx - 176.0, ay - 78.0, 5.0, 156.0, 2.0);
    if !f.front {
        for (i, half) in [66.0, 56.0, 48.0, 41.0, 35.0].into_iter().enumerate() {
            svg.rect("part solid", cx + 158.0 + 10.0 * i as f64, ay - half, 5.0, 2.0 * half, 2.0);
        }
    }
    // Locknuts inside the dropouts, washers outside.
    for s in [-1.0, 1.0] {
        let x = cx + s * f.dropout;
        svg.rect("part solid", x - s * 26.0 - 9.0, ay - 18.0, 18.0, 36.0, 2.0);
    }
}
