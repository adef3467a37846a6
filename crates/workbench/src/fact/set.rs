//! Sets of facts.

use super::{FactId, count};

/// Most torque arms that a job may have: more than any axle has room for, and one that is only tried.
pub const MOST_ARMS: usize = 9;
pub(crate) const WORDS: usize = count(MOST_ARMS).div_ceil(64);

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
        let (word, bit) = Self::bit(id);
        self.0[word] |= bit;
    }
    /// Puts all facts of another set in.
    #[inline]
    pub fn extend(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }
    /// The word that a fact stands in, and its bit there.
    #[inline]
    pub(crate) const fn bit(id: FactId) -> (usize, u64) {
        (id.index() / 64, 1 << (id.index() % 64))
    }
    pub(crate) const fn words(self) -> [u64; WORDS] {
        self.0
    }
    pub(crate) const fn from_words(words: [u64; WORDS]) -> Self {
        Self(words)
    }
    /// Whether the fact is in.
    pub const fn contains(&self, id: FactId) -> bool {
        self.0[id.index() / 64] >> (id.index() % 64) & 1 == 1
    }
    /// Whether both have a fact in common.
    pub fn meets(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).any(|(a, b)| a & b != 0)
    }
    /// The facts, in order.
    pub fn iter(&self) -> impl Iterator<Item = FactId> + '_ {
        self.0
            .iter()
            .zip(0_u16..)
            .flat_map(|(word, w)| (0..64_u16).filter(move |b| word >> b & 1 == 1).map(move |b| FactId(64 * w + b)))
    }
}

impl FromIterator<FactId> for FactSet {
    fn from_iter<I: IntoIterator<Item = FactId>>(ids: I) -> Self {
        let mut out = Self::default();
        ids.into_iter().for_each(|id| out.insert(id));
        out
    }
}
