//! Finding room for a word beside what it belongs to.

use crate::letters;
use crate::svg::Hold;

/// A box that is taken.
#[derive(Clone, Copy, Debug)]
struct Taken {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

/// A field in which words are placed so that none covers another.
#[derive(Debug)]
pub struct Field {
    bounds: Taken,
    taken: Vec<Taken>,
    lines: Vec<Taken>,
}

/// A word's place.
#[derive(Clone, Copy, Debug)]
pub struct Placed {
    /// Where it is held.
    pub hold: Hold,
    /// Held there.
    pub x: f64,
    /// Its baseline.
    pub y: f64,
}

impl Field {
    /// A field with these edges.
    pub const fn new(left: f64, right: f64, top: f64, bottom: f64) -> Self {
        Self { bounds: Taken { left, right, top, bottom }, taken: Vec::new(), lines: Vec::new() }
    }

    /// Keeps words away from a box.
    pub fn take(&mut self, left: f64, right: f64, top: f64, bottom: f64) {
        self.taken.push(Taken { left, right, top, bottom });
    }

    /// Keeps words off a point of a line, as far as there is room elsewhere.
    pub fn line(&mut self, x: f64, y: f64) {
        self.lines.push(Taken { left: x - 2.0, right: x + 2.0, top: y - 2.0, bottom: y + 2.0 });
    }

    /// Puts a text at the first of these places where it fits.
    pub fn put(&mut self, text: &str, size: f64, bold: bool, places: &[Placed]) -> Option<Placed> {
        let wide = letters::width(text, size, bold);
        for beside_lines in [true, false] {
            for p in places {
                let left = match p.hold {
                    Hold::Start => p.x,
                    Hold::Middle => p.x - wide / 2.0,
                    Hold::End => p.x - wide,
                };
                let this = Taken { left, right: left + wide, top: p.y - 0.8 * size, bottom: p.y + 0.25 * size };
                let clear = !beside_lines || self.lines.iter().all(|t| this.apart(t));
                if this.inside(&self.bounds) && clear && self.taken.iter().all(|t| this.apart(t)) {
                    self.taken.push(this);
                    return Some(*p);
                }
            }
        }
        None
    }
}

impl Taken {
    fn apart(&self, other: &Self) -> bool {
        self.left >= other.right || other.left >= self.right || self.top >= other.bottom || other.top >= self.bottom
    }
    fn inside(&self, b: &Self) -> bool {
        self.left >= b.left && self.right <= b.right && self.top >= b.top && self.bottom <= b.bottom
    }
}
