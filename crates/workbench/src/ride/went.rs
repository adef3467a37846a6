//! How far a long working-out is, and whether it shall go on.

use super::run::Watch;
use super::step::{State, Taken};

/// Is told the share that is done (0 to 1) and says whether to go on.
pub type Tell<'a> = dyn Fn(f64) -> bool + Sync + 'a;

/// So many steps between two tellings: a ten-thousandth of a second or so.
const EVERY: u32 = 1024;

/// Watches one ride that is `share` of the whole, from `from` on.
pub struct Went<'a> {
    tell: &'a Tell<'a>,
    length_m: f64,
    from: f64,
    share: f64,
    steps: u32,
}

impl<'a> Went<'a> {
    /// For a ride of that length.
    pub fn new(tell: &'a Tell<'a>, length_m: f64, from: f64, share: f64) -> Self {
        Self { tell, length_m, from, share, steps: 0 }
    }
}

impl Watch for Went<'_> {
    #[inline]
    fn step(&mut self, state: &State, _: &Taken) -> bool {
        self.steps = self.steps.wrapping_add(1);
        !self.steps.is_multiple_of(EVERY) || (self.tell)(self.from + self.share * (state.x_m / self.length_m).min(1.0))
    }
}
