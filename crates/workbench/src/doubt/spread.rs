//! How full every link is over all draws, block by block.

use super::sobol::LANES;
use super::{Abreast, Draws, Sketch};
use crate::check::State;
use crate::fact::{FactSet, Side, list};
use crate::job::Job;
use crate::link::abreast::{self, COUNT};
use crate::link::{self, AxleState, Gap, Link, Reads, World};
use core::cell::OnceCell;
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

/// Works out the axle and all links in `count` draws. `went` hears how many are done.
pub fn run(job: &Job, draws: &Draws, links: &[Link], count: usize, went: &(dyn Fn(usize) + Sync)) -> Spread {
    Run { job, draws, links, axle: true, beside: &[] }.over(count, went)
}

/// Some links of a job, beside others whose failing draws are known.
pub(super) struct Run<'a> {
    pub job: &'a Job,
    pub draws: &'a Draws,
    pub links: &'a [Link],
    pub axle: bool,
    pub beside: &'a [&'a [u64]],
}

/// What one thread works out.
struct Chunk<'a> {
    /// One column for each link.
    full: &'a mut [f64],
    states: &'a mut [Option<(State, bool)>],
    /// What each link and the axle read.
    reads: &'a mut [FactSet],
}

impl Run<'_> {
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
        let mut axle = Axle { states: Some([0; 5]), wearing: 0, reads: FactSet::default() };
        let mut failed = 0;
        let mut block = vec![0.0; BLOCK * columns];
        let mut states: Vec<Option<(State, bool)>> = vec![None; BLOCK];
        let mut reads = vec![FactSet::default(); BLOCK / CHUNK * (columns + 1)];
        for first in (0..count).step_by(BLOCK) {
            let many = BLOCK.min(count - first);
            let chunks = many.div_ceil(CHUNK);
            let mut parts: Vec<Chunk<'_>> = block
                .chunks_mut((CHUNK * columns).max(1))
                .chain(std::iter::repeat_with(Default::default))
                .zip(states[..many].chunks_mut(CHUNK))
                .zip(reads[..chunks * (columns + 1)].chunks_mut(columns + 1))
                .map(|((full, states), reads)| Chunk { full, states, reads })
                .collect();
            parts
                .par_iter_mut()
                .enumerate()
                .for_each(|(c, part)| self.chunk(&likely, &undrawn, &middle, first + c * CHUNK, part));
            links.par_iter_mut().enumerate().for_each(|(i, link)| {
                for k in 0..many {
                    let full = block[(k / CHUNK * columns + i) * CHUNK + k % CHUNK];
                    link.sketch.add(full, (first + k) as u32);
                    if full > 1.0
                        && let Some(word) = link.failing.get_mut((first + k) / 64)
                    {
                        *word |= 1 << (k % 64);
                    }
                }
            });
            for reads in reads[..chunks * (columns + 1)].chunks(columns + 1) {
                links.iter_mut().zip(reads).for_each(|(link, r)| link.reads.extend(r));
                axle.reads.extend(&reads[columns]);
            }
            failed +=
                (0..many).filter(|k| self.fails(first + k, &block[k / CHUNK * columns * CHUNK..], k % CHUNK)).count();
            for s in &states[..many] {
                match (s, &mut axle.states) {
                    (Some((s, wears)), Some(counts)) => {
                        counts[*s as usize] += 1;
                        axle.wearing += usize::from(*wears);
                    }
                    _ => axle.states = None,
                }
            }
            went(first + many);
        }
        Spread { links, axle: self.axle.then_some(axle), failed }
    }

    fn fails(&self, draw: usize, columns: &[f64], k: usize) -> bool {
        self.beside.iter().any(|bits| bits[draw / 64] >> (draw % 64) & 1 == 1)
            || (0..self.links.len()).any(|i| columns[i * CHUNK + k] > 1.0)
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

    fn chunk(&self, likely: &Draws, undrawn: &FactSet, middle: &[f64], first: usize, part: &mut Chunk<'_>) {
        self.draw(likely, middle, first, part);
        if part.reads.iter().any(|reads| reads.meets(undrawn)) {
            self.draw(self.draws, middle, first, part);
        }
    }

    fn draw(&self, draws: &Draws, middle: &[f64], first: usize, part: &mut Chunk<'_>) {
        let mut drawn = Abreast::new(middle);
        for k in (0..part.states.len()).step_by(COUNT) {
            if k % LANES == 0 {
                draws.abreast(first + k, &mut drawn);
            }
            self.eight(&drawn, k, part);
        }
    }

    /// Eight draws at once; where a formula takes another course in one of them than in the others, each alone.
    fn eight(&self, drawn: &Abreast, k: usize, part: &mut Chunk<'_>) {
        let (arms, columns) = (self.job.arms, self.links.len());
        let tape = Reads::default();
        let together = abreast::World::of(drawn.lanes(k % LANES), arms, &tape);
        let alone: OnceCell<[World<'_, Reads>; COUNT]> = OnceCell::new();
        let each = || core::array::from_fn(|lane| World::of(drawn.lane(k % LANES + lane), arms, &tape));
        for (i, l) in self.links.iter().enumerate() {
            abreast::forget_apart();
            let found = abreast::load(&together, *l);
            let full = &mut part.full[i * CHUNK + k..][..COUNT];
            // A draw in which the parts cannot be used at all does not hold.
            if abreast::apart() {
                for (full, world) in full.iter_mut().zip(alone.get_or_init(each)) {
                    *full = link::load(world, *l).map_or(f64::INFINITY, |x| x.full);
                }
            } else {
                full.copy_from_slice(&found.map_or([f64::INFINITY; COUNT], |x| x.full.lanes()));
            }
            part.reads[i].extend(&tape.take());
        }
        if self.axle {
            abreast::forget_apart();
            let found = abreast::axle(&together);
            let together = (!abreast::apart()).then_some(found);
            for (lane, state) in part.states[k..].iter_mut().take(COUNT).enumerate() {
                let world = || &alone.get_or_init(each)[lane];
                let found = match &together {
                    Some(found) => found.and_then(|axle| Ok(axle_state(axle[lane].0, &axle[lane].1)?)),
                    None => world().state(),
                };
                *state = judged(found, world);
            }
            part.reads[columns].extend(&tape.take());
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
