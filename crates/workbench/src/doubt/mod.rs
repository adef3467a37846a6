//! Doubt: drawing all uncertain facts together, so that chances come out and not stacked worst cases.
//!
//! [`Draws`] maps points of the unit cube ([`sobol`]) to values of all uncertain facts: the wrench that tightened several
//! nuts is one draw; facts that say "same surface" share theirs. [`spread`] reads all links over the draws, block by
//! block, so that memory does not grow with their number; [`indices`] says which fact causes how much of the doubt;
//! [`rare`] finds chances too small to be counted. Same job, same numbers, on any machine and any number of threads.

pub mod causes;
pub mod indices;
pub mod memory;
mod normal;
pub mod rare;
mod sketch;
pub mod sobol;
pub mod spread;
mod tail;

use crate::fact::{self, Distribution, FactSet, Side, list};
use crate::job::Job;
use crate::link::{Values, abreast};
use fearless_simd::{Level, Simd, dispatch};
use normal::Quantile;
pub use normal::{normal_quantile, normal_share};
pub use sketch::{Kept, Sketch};
use sobol::{LANES, Sequence};
pub use tail::{chance_at_least, chance_at_most};

/// Draws of `count` that lie beyond the step "1 in so many": so many may be fuller than what is read at it.
pub fn beyond(count: usize, one_in: f64) -> usize {
    (count as f64 / one_in).floor() as usize
}

/// One uncertain fact and the dimension that draws it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Line {
    fact: usize,
    middle: f64,
    spread: Distribution,
    /// Number of the coordinate among those of this job.
    dimension: usize,
    /// Number of the coordinate among all: the place of the first fact that it draws. A change elsewhere in the job leaves
    /// it as it is.
    axis: usize,
    /// Shares of the distribution below the ends of what the fact can be: it is drawn between them. No gear gives back
    /// more than it takes, however wide its doubt.
    between: (f64, f64),
}

/// How the uncertain facts of a job are drawn.
#[derive(Clone, Debug)]
pub struct Draws {
    lines: Vec<Line>,
    sequence: Sequence,
}

impl Draws {
    /// Plans the draws of a job.
    pub fn new(job: &Job) -> Self {
        Self::seeded(job, 0)
    }

    /// Plans other draws of the same job: another scrambling, independent of that of any other seed.
    pub fn seeded(job: &Job, seed: u64) -> Self {
        let mut lines = Vec::new();
        let mut shared: Vec<(String, usize)> = Vec::new();
        let mut axes: Vec<usize> = Vec::new();
        for (i, f) in job.facts.iter().enumerate() {
            let Some(f) = f else { continue };
            if f.spread == Distribution::Exact {
                continue;
            }
            let group = group_of(job, i);
            let known = group.as_ref().and_then(|g| shared.iter().find(|(name, _)| name == g)).map(|(_, d)| *d);
            let dimension = known.unwrap_or_else(|| {
                axes.push(i);
                if let Some(g) = group {
                    shared.push((g, axes.len() - 1));
                }
                axes.len() - 1
            });
            let between = between(fact::definition(fact::FactId(i as u16)), f);
            lines.push(Line { fact: i, middle: f.value, spread: f.spread, dimension, axis: axes[dimension], between });
        }
        Self { lines, sequence: Sequence::along(&axes, seed) }
    }

    /// The same draws of some facts only, in as many dimensions as they need; the others stay at their middle.
    pub fn only(&self, wanted: &FactSet) -> Self {
        let mut lines: Vec<Line> =
            self.lines.iter().filter(|l| wanted.contains(fact::FactId(l.fact as u16))).copied().collect();
        let mut kept: Vec<usize> = Vec::new();
        for l in &mut lines {
            l.dimension = kept.iter().position(|d| *d == l.dimension).unwrap_or_else(|| {
                kept.push(l.dimension);
                kept.len() - 1
            });
        }
        Self { lines, sequence: self.sequence.only(&kept) }
    }

    /// Facts drawn, with the dimension that draws each.
    pub fn facts(&self) -> impl Iterator<Item = (fact::FactId, usize)> + '_ {
        self.lines.iter().map(|l| (fact::FactId(l.fact as u16), l.dimension))
    }

    /// Number of independent draws.
    pub const fn dimensions(&self) -> usize {
        self.sequence.dimensions()
    }

    /// Points of the unit cube, one after another: `count × dimensions` numbers strictly between 0 and 1.
    pub fn points(&self, count: usize) -> Vec<f64> {
        let mut out = vec![0.0; count * self.dimensions()];
        self.sequence.fill(0, &mut out);
        out
    }

    /// The points from `first` on, as many as `out` has room for.
    pub fn fill(&self, first: usize, out: &mut [f64]) {
        self.sequence.fill(first, out);
    }

    /// The point of that number.
    pub fn point(&self, number: usize) -> Vec<f64> {
        let mut out = vec![0.0; self.dimensions()];
        self.sequence.fill(number, &mut out);
        out
    }

    /// Writes one draw over the middle values.
    pub fn draw(&self, point: &[f64], values: &mut [f64]) {
        let normal = Quantile::table();
        for l in &self.lines {
            values[l.fact] = l.at(point[l.dimension], normal);
        }
    }

    /// Writes one draw after another over the middle values, from number `first` on, which is a multiple of [`LANES`], and
    /// hands each to `each`: the same bits as [`Self::draw`] at the point of that number.
    pub fn each(&self, first: usize, count: usize, values: &mut [f64], mut each: impl FnMut(usize, &mut [f64])) {
        let mut abreast = Abreast::new(values);
        for block in (0..count).step_by(LANES) {
            self.abreast(first + block, &mut abreast);
            for k in 0..LANES.min(count - block) {
                for l in &self.lines {
                    values[l.fact] = abreast.numbers[abreast.start + l.fact * WIDE + k];
                }
                each(block + k, values);
            }
        }
    }

    /// Writes the draws from number `first` on, which is a multiple of [`LANES`]: the same bits as [`Self::draw`] at the
    /// point of each number.
    pub fn abreast(&self, first: usize, out: &mut Abreast) {
        dispatch!(Level::new(), simd => self.columns(simd, first, out));
    }

    /// The loops are compiled for each kind of vector unit; every operation is one of IEEE 754 in each lane.
    #[inline(always)]
    fn columns<S: Simd>(&self, _: S, first: usize, out: &mut Abreast) {
        let normal = Quantile::table();
        for l in &self.lines {
            let Some(column) = out.column(l.fact) else { continue };
            self.sequence.column(l.dimension, first, column);
            l.along(column, normal);
        }
    }
}

/// [`LANES`] draws side by side: a column for each fact.
#[derive(Clone, Debug)]
pub struct Abreast {
    numbers: Vec<f64>,
    /// Where the first column begins, so that eight draws fill one line of a cache and do not lie across two.
    start: usize,
}

/// From one fact's column to the next one's: so wide that the same draw of many facts does not fall on the same few lines
/// of a cache.
const WIDE: usize = LANES + LINE;
/// Numbers in a line of a cache.
const LINE: usize = 8;

impl Abreast {
    /// All draws at these values.
    pub fn new(values: &[f64]) -> Self {
        let mut numbers = vec![0.0; values.len() * WIDE + LINE - 1];
        let start = numbers.as_ptr().align_offset(LINE * size_of::<f64>()).min(LINE - 1);
        numbers[start..].chunks_exact_mut(WIDE).zip(values).for_each(|(column, v)| column.fill(*v));
        Self { numbers, start }
    }
    fn column(&mut self, fact: usize) -> Option<&mut [f64; LANES]> {
        self.numbers.get_mut(self.start + fact * WIDE..)?.first_chunk_mut()
    }
    /// Eight of the draws, from one on.
    pub fn lanes(&self, k: usize) -> abreast::Values<'_> {
        abreast::Values::among(&self.numbers, self.start + k, WIDE)
    }
    /// One of the draws.
    pub fn lane(&self, k: usize) -> Values<'_> {
        Values::among(&self.numbers, self.start + k, WIDE)
    }
}

impl Line {
    fn at(&self, u: f64, normal: &Quantile) -> f64 {
        let mut one = [u];
        self.along(&mut one, normal);
        one[0]
    }

    /// Turns a column of coordinates into values.
    #[inline(always)]
    fn along(&self, column: &mut [f64], normal: &Quantile) {
        let (from, width, middle) = (self.between.0, self.between.1 - self.between.0, self.middle);
        let within = |u: f64| from + u * width;
        match self.spread {
            Distribution::Exact => column.fill(middle),
            Distribution::Normal { sigma } => {
                column.iter_mut().for_each(|u| *u = middle + sigma * normal.at(within(*u)));
            }
            Distribution::LogNormal { sigma_ln } => {
                column.iter_mut().for_each(|u| *u = sigma_ln * normal.at(within(*u)));
                column.iter_mut().for_each(|x| *x = middle * libm::exp(*x));
            }
            Distribution::Uniform { low, high } => {
                column.iter_mut().for_each(|u| *u = low + (high - low) * within(*u));
            }
        }
    }
}

fn between(def: &fact::FactDef, f: &fact::Fact) -> (f64, f64) {
    let (low, high) = fact::range(def);
    let share = |z: f64| if z.is_nan() { 0.5 } else { normal_share(z) };
    match f.spread {
        Distribution::Exact => (0.0, 1.0),
        Distribution::Normal { sigma } => (share((low - f.value) / sigma), share((high - f.value) / sigma)),
        Distribution::LogNormal { sigma_ln } => {
            let at = |end: f64| if end > 0.0 { share(libm::log(end / f.value) / sigma_ln) } else { 0.0 };
            (at(low), at(high))
        }
        Distribution::Uniform { low: from, high: to } => {
            let at = |end: f64| ((end - from) / (to - from)).clamp(0.0, 1.0);
            if to > from { (at(low), at(high)) } else { (0.0, 1.0) }
        }
    }
}

fn group_of(job: &Job, i: usize) -> Option<String> {
    let f = job.facts[i].as_ref()?;
    if job.same_surface {
        for (key, name) in
            [(list::FACE_FRICTION, "faces"), (list::THREAD_FRICTION, "threads"), (list::NUT_FRICTION, "nut faces")]
        {
            if Side::BOTH.iter().any(|s| key.of(*s).index() == i) {
                return Some(name.to_owned());
            }
        }
    }
    let tool = f.tool.as_ref()?;
    job.rack.iter().find(|t| t.id == *tool && t.shares_error).map(|t| t.id.clone())
}
