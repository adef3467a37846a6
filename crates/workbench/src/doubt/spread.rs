//! How full every link is over all draws, block by block.

use super::{Draws, Sketch};
use crate::check::State;
use crate::fact::{Side, list};
use crate::job::Job;
use crate::link::{self, AxleState, Gap, Link, Off, World};
use quantity::Length;
use rayon::prelude::*;

/// Draws worked out at once by one thread.
const CHUNK: usize = 256;
/// Draws in memory at once.
const BLOCK: usize = 16 * CHUNK;

/// What came out of all draws.
#[derive(Clone, Debug)]
pub struct Spread {
    /// One for each link, in their order.
    pub links: Vec<Sketch>,
    /// Fullest link of each draw.
    pub job: Sketch,
    /// Draws in each state of the axle, in the order of [`State::ALL`]; none where a fact is missing.
    pub states: Option<[usize; 5]>,
    /// Draws in which a working axle wears its faces.
    pub wearing: usize,
    /// Draws made.
    pub count: usize,
}

/// Works out all links in `count` draws. `went` hears how many are done.
pub fn run(job: &Job, draws: &Draws, links: &[Link], count: usize, went: &(dyn Fn(usize) + Sync)) -> Spread {
    let middle = job.middle();
    let columns = links.len() + 1;
    let mut out = Spread {
        links: vec![Sketch::default(); links.len()],
        job: Sketch::default(),
        states: Some([0; 5]),
        wearing: 0,
        count,
    };
    // One column a link and one for the fullest, chunk after chunk.
    let mut block = vec![0.0; BLOCK * columns];
    let mut states: Vec<Option<(State, bool)>> = vec![None; BLOCK];
    let mut first = 0;
    while first < count {
        let many = BLOCK.min(count - first);
        block[..many.div_ceil(CHUNK) * CHUNK * columns]
            .par_chunks_mut(CHUNK * columns)
            .zip(states[..many].par_chunks_mut(CHUNK))
            .enumerate()
            .for_each(|(c, (full, states))| chunk(job, draws, links, &middle, first + c * CHUNK, full, states));
        let column = |i: usize, sketch: &mut Sketch| {
            for k in 0..many {
                let full = block[(k / CHUNK * columns + i) * CHUNK + k % CHUNK];
                sketch.add(full, (first + k) as u32);
            }
        };
        out.links
            .par_iter_mut()
            .enumerate()
            .chain(rayon::iter::once((links.len(), &mut out.job)))
            .for_each(|(i, sketch)| column(i, sketch));
        for s in &states[..many] {
            match (s, &mut out.states) {
                (Some((s, wears)), Some(counts)) => {
                    counts[*s as usize] += 1;
                    out.wearing += usize::from(*wears);
                }
                _ => out.states = None,
            }
        }
        first += many;
        went(first);
    }
    out
}

fn chunk(
    job: &Job,
    draws: &Draws,
    links: &[Link],
    middle: &[f64],
    first: usize,
    full: &mut [f64],
    states: &mut [Option<(State, bool)>],
) {
    let dims = draws.dimensions();
    let mut points = vec![0.0; states.len() * dims];
    draws.fill(first, &mut points);
    let mut values = middle.to_vec();
    for (k, state) in states.iter_mut().enumerate() {
        draws.draw(&points[k * dims..(k + 1) * dims], &mut values);
        let world = World::new(&values, job.arms, &Off);
        let mut most = 0.0_f64;
        for (i, l) in links.iter().enumerate() {
            // A draw in which the parts cannot be used at all does not hold.
            let x = link::load(&world, *l).map_or(f64::INFINITY, |x| x.full);
            full[i * CHUNK + k] = x;
            most = most.max(x);
        }
        full[links.len() * CHUNK + k] = most;
        *state = match world.state() {
            Ok(s) => Some((s.into(), wears(&world, &s))),
            Err(Gap::Unknown(_)) => None,
            Err(_) => Some((State::Spins, false)),
        };
    }
}

/// Whether a working axle wears its faces: slip at the washer's rim above 0.02 mm (assumed), or not known.
fn wears(world: &World<'_, Off>, state: &AxleState) -> bool {
    const WEARS_NOTHING: Length = Length::millimetres(0.02);
    let AxleState::Working { slip } = state else { return false };
    let rim =
        Side::BOTH.iter().filter_map(|s| world.at(list::FACE_OUTER, *s).ok()).fold(Length::ZERO, Length::max) / 2.0;
    slip.is_none_or(|angle| rim * angle.as_radians() > WEARS_NOTHING)
}
