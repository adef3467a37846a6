//! Sets of facts.

use super::{FactId, count};

/// Most torque arms that a job may have: more than any axle has room for, and one that is only tried.
pub const MOST_ARMS: usize = 9;
const WORDS: usize = count(MOST_ARMS).div_ceil(64);

/// A set of facts, without memory of its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FactSet([u64; WORDS]);

impl FactSet {
    /// Puts a fact in.
    ///
    /// # Panics
    /// For a fact of an arm beyond [`MOST_ARMS`].
    #[inline]
    pub const fn insert(&mut self, id: FactId) {
        self.0[id.index() / 64] |= 1 << (id.index() % 64);
    }
    /// Puts all facts of another set in.
    #[inline]
    pub fn extend(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }
    /// Whether the fact is in.
    pub const fn contains(&self, id: FactId) -> bool {
        self.0[id.index() / 64] >> (id.index() % 64) & 1 == 1
    }
    /// The facts, in order.
    pub fn iter(&self) -> impl Iterator<Item = FactId> + '_ {
        self.0.iter().zip(0_u16..).flat_map(|(word, w)| {
            (0..64_u16).filter(move |b| word >> b & 1 == 1).map(move |b| FactId(64 * w + b))
        })
    }
}

impl FromIterator<FactId> for FactSet {
    fn from_iter<I: IntoIterator<Item = FactId>>(ids: I) -> Self {
        let mut out = Self::default();
        ids.into_iter().for_each(|id| out.insert(id));
        out
    }
}
