//! How full every link is over all draws, block by block.

use super::sobol::LANES;
use super::{Abreast, Draws, Sketch};
use crate::check::State;
use crate::fact::{FactSet, Side, list};
use crate::job::Job;
use crate::link::abreast::{self, COUNT};
use crate::link::{self, AxleState, Gap, Link, Reads, World};
use core::cell::OnceCell;
use core::ops::Range;
use physics::axle_state::axle_state;
use quantity::Length;
use rayon::prelude::*;

/// Draws worked out at once by one thread.
const CHUNK: usize = 256;
/// Draws in memory at once.
const BLOCK: usize = 16 * CHUNK;
/// Up to so many draws it is kept which of them fail; beyond, memory would grow with them.
pub(super) const FAILING_KEPT: usize = 1 << 16;

/// What came out of all draws.
#[derive(Clone, Debug)]
pub struct Spread {
    /// One for each link, in their order.
    pub links: Vec<Filled>,
    /// The axle, if it was asked for.
    pub axle: Option<Axle>,
    /// Draws in which any link fails.
    pub failed: usize,
}

/// How full one link was.
#[derive(Clone, Debug)]
pub struct Filled {
    /// How full, over all draws.
    pub sketch: Sketch,
    /// One bit for each draw in which it fails; empty above 65,536 draws.
    pub failing: Vec<u64>,
    /// The facts that it read in any draw: with the same ones it comes out the same.
    pub reads: FactSet,
}

impl Filled {
    /// Takes the draws from number `first` on, which is a multiple of 64.
    fn add(&mut self, first: usize, full: &[f64]) {
        for (k, full) in full.iter().enumerate() {
            self.sketch.add(*full, (first + k) as u32);
        }
        let words = self.failing.iter_mut().skip(first / 64);
        words.zip(full.chunks(64)).for_each(|(word, full)| *word = failing(full));
    }
}

/// One bit for each of up to 64 draws that fails.
fn failing(full: &[f64]) -> u64 {
    full.iter().enumerate().fold(0, |bits, (k, full)| bits | u64::from(*full > 1.0) << k)
}

/// What the axle did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axle {
    /// Draws in each state, in the order of [`State::ALL`]; none where a fact is missing.
    pub states: Option<[usize; 5]>,
    /// Draws in which a working axle wears its faces.
    pub wearing: usize,
    /// The facts that it read in any draw.
    pub reads: FactSet,
}

impl Axle {
    fn unseen() -> Self {
        Self { states: Some([0; 5]), wearing: 0, reads: FactSet::default() }
    }
    fn add(&mut self, other: &Self) {
        self.states = self.states.zip(other.states).map(|(a, b)| core::array::from_fn(|i| a[i] + b[i]));
        self.wearing += other.wearing;
        self.reads.extend(&other.reads);
    }
    /// One more draw, its state and whether it wears the faces.
    fn count(&mut self, found: Option<(State, bool)>) {
        match (found, &mut self.states) {
            (Some((state, wears)), Some(counts)) => {
                counts[state as usize] += 1;
                self.wearing += usize::from(wears);
            }
            _ => self.states = None,
        }
    }
}

/// Links of a job to be worked out in many draws.
#[derive(Clone, Copy, Debug)]
pub struct Run<'a> {
    /// The job.
    pub job: &'a Job,
    /// How its facts are drawn.
    pub draws: &'a Draws,
    /// The links.
    pub links: &'a [Link],
    /// Whether the axle's state is asked for as well.
    pub axle: bool,
    /// Of other links, whose failing draws are known: one bit for each draw, as in [`Filled::failing`].
    pub beside: &'a [&'a [u64]],
}

/// What one thread works out at once, beside how full each link is.
struct Chunk {
    axle: Axle,
    /// Draws in which any link fails.
    failed: usize,
    /// What each link read.
    reads: Vec<FactSet>,
}

impl<'a> Run<'a> {
    /// The axle and these links.
    pub const fn of(job: &'a Job, draws: &'a Draws, links: &'a [Link]) -> Self {
        Self { job, draws, links, axle: true, beside: &[] }
    }

    /// Works them out in `count` draws. `went` hears how many are done.
    pub fn over(&self, count: usize, went: &(dyn Fn(usize) + Sync)) -> Spread {
        let middle = self.job.middle();
        let columns = self.links.len();
        // Most facts are read by all draws or by none: those that the middle does not read are drawn when one asks.
        let likely = self.draws.only(&self.read_in_the_middle(&middle));
        let drawn: FactSet = likely.facts().map(|(id, _)| id).collect();
        let undrawn: FactSet = self.draws.facts().map(|(id, _)| id).filter(|id| !drawn.contains(*id)).collect();
        let words = if count <= FAILING_KEPT { count.div_ceil(64) } else { 0 };
        let filled = || Filled { sketch: Sketch::default(), failing: vec![0; words], reads: FactSet::default() };
        let mut links: Vec<Filled> = std::iter::repeat_with(filled).take(columns).collect();
        let (mut axle, mut failed) = (Axle::unseen(), 0);
        // Of each chunk, one column for each link.
        let mut full = vec![vec![0.0; CHUNK * columns]; BLOCK.min(count).div_ceil(CHUNK)];
        for first in (0..count).step_by(BLOCK) {
            let chunk = |c: usize| (first + c * CHUNK).min(count)..(first + (c + 1) * CHUNK).min(count);
            let chunks: Vec<Chunk> = full
                .par_iter_mut()
                .enumerate()
                .map_init(
                    || Abreast::new(&middle),
                    |drawn, (c, full)| {
                        let found = self.draw(&likely, chunk(c), drawn, full);
                        if !found.reads.iter().chain([&found.axle.reads]).any(|reads| reads.meets(&undrawn)) {
                            return found;
                        }
                        self.draw(self.draws, chunk(c), &mut Abreast::new(&middle), full)
                    },
                )
                .collect();
            links.par_iter_mut().enumerate().for_each(|(i, link)| {
                for (c, full) in full.iter().enumerate() {
                    link.add(chunk(c).start, &full[i * CHUNK..][..chunk(c).len()]);
                }
            });
            for chunk in &chunks {
                links.iter_mut().zip(&chunk.reads).for_each(|(link, reads)| link.reads.extend(reads));
                axle.add(&chunk.axle);
                failed += chunk.failed;
            }
            went((first + BLOCK).min(count));
        }
        Spread { links, axle: self.axle.then_some(axle), failed }
    }

    fn read_in_the_middle(&self, middle: &[f64]) -> FactSet {
        let tape = Reads::default();
        let world = World::new(middle, self.job.arms, &tape);
        // What cannot be worked out has read what it asks for all the same.
        for l in self.links {
            let _ = link::load(&world, *l);
        }
        if self.axle {
            let _ = judged(world.state(), || &world);
        }
        tape.take()
    }

    fn draw(&self, draws: &Draws, numbers: Range<usize>, drawn: &mut Abreast, full: &mut [f64]) -> Chunk {
        let reads = vec![FactSet::default(); self.links.len()];
        let mut chunk = Chunk { axle: Axle::unseen(), failed: 0, reads };
        for k in (0..numbers.len()).step_by(COUNT) {
            if k % LANES == 0 {
                draws.abreast(numbers.start + k, drawn);
            }
            self.eight(drawn, k, numbers.len() - k, full, &mut chunk);
        }
        for k in (0..numbers.len()).step_by(64) {
            let many = 64.min(numbers.len() - k);
            let beside = self.beside.iter().fold(0, |any, bits| any | bits[(numbers.start + k) / 64]);
            let any = full.chunks(CHUNK).fold(beside, |any, full| any | failing(&full[k..][..many]));
            chunk.failed += any.count_ones() as usize;
        }
        chunk
    }

    /// Eight draws at once; where a formula takes another course in one of them than in the others, each alone.
    fn eight(&self, drawn: &Abreast, k: usize, wanted: usize, full: &mut [f64], chunk: &mut Chunk) {
        let arms = self.job.arms;
        let tape = Reads::default();
        let together = abreast::World::of(drawn.lanes(k % LANES), arms, &tape);
        let alone: OnceCell<[World<'_, Reads>; COUNT]> = OnceCell::new();
        let each = || core::array::from_fn(|lane| World::of(drawn.lane(k % LANES + lane), arms, &tape));
        for ((l, full), reads) in self.links.iter().zip(full.chunks_mut(CHUNK)).zip(&mut chunk.reads) {
            abreast::forget_apart();
            let found = abreast::load(&together, *l);
            let full = &mut full[k..][..COUNT];
            // A draw in which the parts cannot be used at all does not hold.
            if abreast::apart() {
                for (full, world) in full.iter_mut().zip(alone.get_or_init(each)) {
                    *full = link::load(world, *l).map_or(f64::INFINITY, |x| x.full);
                }
            } else {
                full.copy_from_slice(&found.map_or([f64::INFINITY; COUNT], |x| x.full.lanes()));
            }
            reads.extend(&tape.take());
        }
        if self.axle {
            abreast::forget_apart();
            let found = abreast::axle(&together);
            let together = (!abreast::apart()).then_some(found);
            for lane in 0..COUNT.min(wanted) {
                let world = || &alone.get_or_init(each)[lane];
                let found = match &together {
                    Some(found) => found.and_then(|axle| Ok(axle_state(axle[lane].0, &axle[lane].1)?)),
                    None => world().state(),
                };
                chunk.axle.count(judged(found, world));
            }
            chunk.axle.reads.extend(&tape.take());
        }
    }
}

fn judged<'w, 'v: 'w>(
    found: Result<AxleState, Gap>,
    world: impl FnOnce() -> &'w World<'v, Reads>,
) -> Option<(State, bool)> {
    match found {
        Ok(s) => Some((s.into(), wears(&s, world))),
        Err(Gap::Unknown(_)) => None,
        Err(_) => Some((State::Spins, false)),
    }
}

/// Whether a working axle wears its faces: slip at the washer's rim above 0.02 mm (assumed), or not known.
fn wears<'w, 'v: 'w>(state: &AxleState, world: impl FnOnce() -> &'w World<'v, Reads>) -> bool {
    const WEARS_NOTHING: Length = Length::millimetres(0.02);
    let AxleState::Working { slip } = state else { return false };
    let world = world();
    let rim =
        Side::BOTH.iter().filter_map(|s| world.at(list::FACE_OUTER, *s).ok()).fold(Length::ZERO, Length::max) / 2.0;
    slip.is_none_or(|angle| rim * angle.as_radians() > WEARS_NOTHING)
}
