//! Counting how often a torque goes there and back, by range: rainflow counting, streaming.
//!
//! ASTM E1049-85 (2017), 5.4.4. Turning points smaller than [`GATE`] are not counted as a change of direction.

use super::lanes::{Lanes, by_lane};

/// A change of direction smaller than this is ripple of the model, in the unit of the signal.
pub const GATE: f64 = 0.5;
/// Width of a class, in the unit of the signal.
pub const CLASS: f64 = 5.0;

by_lane! {
    /// The branch on which a signal runs.
    pub(super) struct Branch {
        /// Its largest value; not-a-number before the first.
        pub extreme: L,
        /// One where it rises, minus one where it falls.
        way: L,
    }
}

impl Branch {
    pub(super) const NEW: Self = Self { extreme: f64::NAN, way: 1.0 };
}

impl<L: Lanes> Branch<L> {
    /// Follows the signal while it goes on; whether it has turned instead (or begins).
    #[inline(always)]
    pub(super) fn follow(&mut self, x: L) -> L::Mask {
        let ahead = self.way * (x - self.extreme);
        let on = ahead.like(0.0).up_to(ahead);
        self.extreme = L::pick(on, x, self.extreme);
        !ahead.like(-GATE).up_to(ahead)
    }
}

/// Cycles by range.
#[derive(Clone, Debug, PartialEq)]
pub struct Rainflow {
    /// Turning points that still wait for their partner.
    open: Vec<f64>,
    branch: Branch,
    /// Ranges above this count as beyond.
    beyond_range: f64,
    /// Cycles in each class; the class of a range is `range / CLASS`.
    classes: Vec<f64>,
    /// Cycles whose range passes the mark.
    beyond: f64,
}

impl Rainflow {
    /// Counts ranges above `beyond_range` separately too; not-a-number where the mark is not known.
    pub const fn new(beyond_range: f64) -> Self {
        Self { open: Vec::new(), branch: Branch::NEW, beyond_range, classes: Vec::new(), beyond: 0.0 }
    }

    /// The next value.
    #[inline(always)]
    pub fn feed(&mut self, x: f64) {
        if self.branch.follow(x) {
            self.branch = self.turn(self.branch, x);
        }
    }

    /// A branch ends before this value; the next one.
    #[inline(never)]
    pub(super) fn turn(&mut self, branch: Branch, x: f64) -> Branch {
        if branch.extreme.is_nan() {
            self.open.push(x);
            // The first branch may go either way: a falling one turns at once and drops the doubled start.
            return Branch { extreme: x, way: 1.0 };
        }
        if self.open.len() > 1 || self.open.first() != Some(&branch.extreme) {
            self.point(branch.extreme);
        }
        Branch { extreme: x, way: if x > branch.extreme { 1.0 } else { -1.0 } }
    }

    /// Three points at a time: X the newest range, Y the one before it.
    fn point(&mut self, p: f64) {
        self.open.push(p);
        while let [.., a, b, c] = self.open[..] {
            let (newest, before) = ((c - b).abs(), (b - a).abs());
            if newest < before {
                break;
            }
            if self.open.len() == 3 {
                // Y contains the start: half a cycle.
                self.count(before, 0.5);
                self.open.remove(0);
            } else {
                self.count(before, 1.0);
                let last = self.open.len() - 1;
                self.open.swap(last - 2, last);
                self.open.truncate(last - 1);
            }
        }
    }

    fn count(&mut self, range: f64, cycles: f64) {
        let class = (range / CLASS) as usize;
        if self.classes.len() <= class {
            self.classes.resize(class + 1, 0.0);
        }
        self.classes[class] += cycles;
        if range > self.beyond_range {
            self.beyond += cycles;
        }
    }

    /// Ends the signal: what is left counts as half cycles.
    pub fn finish(&mut self) {
        self.end(self.branch);
    }

    /// Ends a signal on this branch.
    pub(super) fn end(&mut self, branch: Branch) {
        if !branch.extreme.is_nan() {
            self.point(branch.extreme);
        }
        let open = core::mem::take(&mut self.open);
        for w in open.windows(2) {
            self.count((w[1] - w[0]).abs(), 0.5);
        }
        self.branch = Branch::NEW;
    }

    /// Cycles in each class of [`CLASS`].
    pub fn classes(&self) -> &[f64] {
        &self.classes
    }
    /// Cycles with a larger range than the mark, if that is known.
    pub fn beyond(&self) -> Option<f64> {
        (!self.beyond_range.is_nan()).then_some(self.beyond)
    }
    /// Cycles of at least this range, by classes.
    pub fn cycles_from(&self, range: f64) -> f64 {
        self.classes.iter().skip((range / CLASS) as usize).fold(0.0, |sum, n| sum + n)
    }
}

/// Ranges and cycles of a whole history, largest range first; the streaming counter's own algorithm without classes.
pub fn ranges(history: &[f64]) -> Vec<(f64, f64)> {
    let mut points: Vec<f64> = Vec::new();
    for &x in history {
        match points[..] {
            [.., a, b] if (b - a) * (x - b) >= 0.0 => *points.last_mut().unwrap_or(&mut 0.0) = x,
            [a] if a == x => {}
            _ => points.push(x),
        }
    }
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut add = |range: f64, cycles: f64| match out.iter_mut().find(|r| r.0 == range) {
        Some(r) => r.1 += cycles,
        None => out.push((range, cycles)),
    };
    let mut open: Vec<f64> = Vec::new();
    for p in points {
        open.push(p);
        while let [.., a, b, c] = open[..] {
            if (c - b).abs() < (b - a).abs() {
                break;
            }
            if open.len() == 3 {
                add((b - a).abs(), 0.5);
                open.remove(0);
            } else {
                add((b - a).abs(), 1.0);
                let last = open.len() - 1;
                open.swap(last - 2, last);
                open.truncate(last - 1);
            }
        }
    }
    for w in open.windows(2) {
        add((w[1] - w[0]).abs(), 0.5);
    }
    out.sort_by(|a, b| b.0.total_cmp(&a.0));
    out
}
