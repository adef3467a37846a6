//! Tools and arrows that several drawings share.

use super::Art;
use crate::svg::{Hold, n};

impl Art {
    /// A calliper around something `gap` wide that starts at `x`; its tips reach down to `y`.
    pub fn calliper(&mut self, x: f64, y: f64, gap: f64) {
        let (top, right) = (y - 98.0, x + gap);
        self.svg.rect("tool", x - 46.0, top - 20.0, gap + 160.0, 20.0, 2.0);
        self.tool(&format!(
            "M{},{} V{} H{} V{} L{},{} Z",
            n(x),
            n(y),
            n(top),
            n(x - 34.0),
            n(y - 72.0),
            n(x - 8.0),
            n(y)
        ));
        let edge = [n(right), n(y), n(top), n(right + 34.0), n(y - 72.0), n(right + 8.0)];
        self.tool(&format!("M{},{} V{} H{} V{} L{},{} Z", edge[0], edge[1], edge[2], edge[3], edge[4], edge[5], n(y)));
        self.svg.rect("tool", right, top - 27.0, 84.0, 34.0, 4.0);
        self.svg.rect("display", right + 11.0, top - 20.0, 50.0, 20.0, 2.0);
        let mut d = String::new();
        let mut at = x - 36.0;
        while at < right - 4.0 {
            d += &format!("M{},{} v6 ", n(at), n(top));
            at += 8.0;
        }
        self.svg.path("part thin", &d.replace("v6", "v-6"));
    }

    /// The small jaws of a calliper inside a slot `gap` wide that starts at `x`; their tips reach up to `y`.
    pub fn calliper_inside(&mut self, x: f64, y: f64, gap: f64) {
        let (foot, right) = (y + 66.0, x + gap);
        self.svg.rect("tool", x - 46.0, foot, gap + 160.0, 20.0, 2.0);
        self.tool(&format!(
            "M{},{} h7 L{},{foot} H{} L{},{} Z",
            n(x),
            n(y),
            n(x + 16.0),
            n(x - 14.0),
            n(x),
            n(y + 44.0),
            foot = n(foot)
        ));
        self.tool(&format!(
            "M{},{} h-7 L{},{foot} H{} L{},{} Z",
            n(right),
            n(y),
            n(right - 16.0),
            n(right + 14.0),
            n(right),
            n(y + 44.0),
            foot = n(foot)
        ));
        self.svg.rect("tool", right - 8.0, foot - 7.0, 84.0, 34.0, 4.0);
        self.svg.rect("display", right + 6.0, foot, 50.0, 20.0, 2.0);
    }

    /// A measure from one point to another, with short lines at its ends.
    pub fn measure(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
        let long = ((x2 - x1) * (x2 - x1) + (y2 - y1) * (y2 - y1)).sqrt();
        let (ux, uy) = ((x2 - x1) / long, (y2 - y1) / long);
        self.svg.path("dim", &format!("M{},{} L{},{}", n(x1), n(y1), n(x2), n(y2)));
        for (x, y, s) in [(x1, y1, 1.0), (x2, y2, -1.0)] {
            let at = |along: f64, aside: f64| (x + s * along * ux - aside * uy, y + s * along * uy + aside * ux);
            let (a, b, c, d) = (at(9.0, 4.5), at(9.0, -4.5), at(0.0, 9.0), at(0.0, -9.0));
            self.svg.path("dim-head", &format!("M{},{} L{},{} L{},{} Z", n(x), n(y), n(a.0), n(a.1), n(b.0), n(b.1)));
            self.svg.path("dim", &format!("M{},{} L{},{}", n(c.0), n(c.1), n(d.0), n(d.1)));
        }
    }

    /// An arrow along a path that ends at (x, y) in the direction (dx, dy).
    pub fn arrow(&mut self, d: &str, (x, y): (f64, f64), (dx, dy): (f64, f64)) {
        let long = (dx * dx + dy * dy).sqrt();
        let (ux, uy) = (dx / long, dy / long);
        self.svg.path("dim", d);
        let (bx, by) = (x - 11.0 * ux, y - 11.0 * uy);
        let (px, py) = (5.5 * uy, -5.5 * ux);
        self.svg.path(
            "dim-head",
            &format!("M{},{} L{},{} L{},{} Z", n(x), n(y), n(bx + px), n(by + py), n(bx - px), n(by - py)),
        );
    }

    /// A hanging scale with its dial around (x, y).
    pub fn scale(&mut self, x: f64, y: f64) {
        self.svg.circle("tool", x, y, 19.0);
        self.tool(&format!("M{},{} l8,-11", n(x), n(y)));
        self.svg.path("part thin", &format!("M{},{} a13,13 0 0 1 26,0", n(x - 13.0), n(y)));
    }

    /// A meter that shows a unit, its upper left corner at (x, y).
    pub fn meter(&mut self, x: f64, y: f64, shows: &str) {
        self.svg.rect("tool", x, y, 62.0, 86.0, 7.0);
        self.svg.rect("display", x + 8.0, y + 9.0, 46.0, 26.0, 3.0);
        self.svg.text("bold", 14.0, Hold::Middle, x + 31.0, y + 27.0, shows);
        self.svg.circle("tool", x + 31.0, y + 56.0, 12.0);
        self.tool(&format!("M{},{} v-8", n(x + 31.0), n(y + 56.0)));
    }

    /// The end of an axle around (x, y), flats left and right or above and below.
    pub fn axle_end(&mut self, x: f64, y: f64, radius: f64, flat: f64, upright: bool) {
        let half = (radius * radius - flat * flat).sqrt();
        let r = n(radius);
        if upright {
            let (a, b, t, f) = (n(x - flat), n(x + flat), n(y - half), n(y + half));
            self.part(&format!("M{a},{t} A{r},{r} 0 0 1 {b},{t} V{f} A{r},{r} 0 0 1 {a},{f} Z"));
        } else {
            let (a, b, t, f) = (n(x - half), n(x + half), n(y - flat), n(y + flat));
            self.part(&format!("M{a},{t} H{b} A{r},{r} 0 0 1 {b},{f} H{a} A{r},{r} 0 0 1 {a},{t} Z"));
        }
    }

    /// A wheel with its hub and some spokes.
    pub fn wheel(&mut self, x: f64, y: f64, radius: f64) {
        self.svg.circle("piece", x, y, radius).circle("part thin", x, y, radius - 8.0).circle(
            "part",
            x,
            y,
            radius * 0.2,
        );
        // Eight spokes; half of a square's diagonal is 0.707 of its side.
        let mut d = String::new();
        for (a, b) in [
            (1.0, 0.0),
            (0.707, 0.707),
            (0.0, 1.0),
            (-0.707, 0.707),
            (-1.0, 0.0),
            (-0.707, -0.707),
            (0.0, -1.0),
            (0.707, -0.707),
        ] {
            let (i, o) = (radius * 0.2, radius - 8.0);
            d += &format!("M{},{} L{},{} ", n(x + i * a), n(y + i * b), n(x + o * a), n(y + o * b));
        }
        self.thin(d.trim_end());
    }

    /// The ground from one x to another.
    pub fn ground(&mut self, from: f64, to: f64, y: f64) {
        self.svg.path("line", &format!("M{},{} H{}", n(from), n(y), n(to)));
        let mut d = String::new();
        let mut x = from + 12.0;
        while x < to {
            d += &format!("M{},{} l-7,7 ", n(x), n(y));
            x += 18.0;
        }
        self.svg.path("part thin", d.trim_end());
    }
}
