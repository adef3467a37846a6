//! The tape that writes down how a number came about. Off while sampling, when it costs nothing.

use crate::fact::{FactId, FactSet, WORDS};
use core::cell::{Cell, RefCell};
use physics::Formula;

/// A number put into an equation, or its result.
#[derive(Clone, Debug, PartialEq)]
pub struct Put {
    /// The symbol of the equation.
    pub symbol: &'static str,
    /// The number in the unit.
    pub value: f64,
    /// The unit.
    pub unit: &'static str,
}

/// One line of working.
#[derive(Clone, Debug)]
pub struct Step {
    /// Words key below `step.`.
    pub key: &'static str,
    /// Where: a side, an arm, or nothing.
    pub place: String,
    /// The equation and its source.
    pub formula: &'static Formula,
    /// The numbers put in.
    pub put: Vec<Put>,
    /// What came out.
    pub result: Put,
}

/// A number that can stand in a line of working.
pub trait Shown {
    /// What is shown of it.
    fn shown(self) -> f64;
}
impl Shown for f64 {
    fn shown(self) -> f64 {
        self
    }
}
impl Shown for quantity::abreast::Eight {
    fn shown(self) -> f64 {
        self.first()
    }
}

impl Step {
    /// A line of working with its result.
    pub fn new(
        key: &'static str,
        place: impl Into<String>,
        formula: &'static Formula,
        result: (&'static str, impl Shown, &'static str),
    ) -> Self {
        let (symbol, value, unit) = result;
        Self { key, place: place.into(), formula, put: Vec::new(), result: Put { symbol, value: value.shown(), unit } }
    }
    /// A number that was put in.
    #[must_use]
    pub fn put(mut self, symbol: &'static str, value: impl Shown, unit: &'static str) -> Self {
        self.put.push(Put { symbol, value: value.shown(), unit });
        self
    }
}

/// What listens while a link is worked out.
///
/// A result that several links share is worked out once in each world. So that the facts behind it count for every link
/// that uses it, the tape tells them apart while it is worked out ([`Tape::begin`], [`Tape::end`]) and hears of them
/// again with each use ([`Tape::again`]).
pub trait Tape {
    /// Facts behind a shared result.
    type Reads: Copy;
    /// A fact was read.
    fn read(&self, id: FactId);
    /// A line of working; `make` is called only by a tape that keeps it.
    fn step(&self, make: impl FnOnce() -> Step);
    /// A shared result begins. Gives what was read before.
    fn begin(&self) -> Self::Reads;
    /// A shared result is there. Gives what was read for it, and has `before` again as well.
    fn end(&self, before: Self::Reads) -> Self::Reads;
    /// A shared result is used.
    fn again(&self, reads: Self::Reads);
}

/// Listens to nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Off;

impl Tape for Off {
    type Reads = ();
    fn read(&self, _: FactId) {}
    fn step(&self, _: impl FnOnce() -> Step) {}
    fn begin(&self) {}
    fn end(&self, (): ()) {}
    fn again(&self, (): ()) {}
}

/// Keeps which facts are read, and nothing else. One cell a word: a read touches no more than that.
#[derive(Debug, Default)]
pub struct Reads([Cell<u64>; WORDS]);

impl Reads {
    /// The facts read since the last asking.
    pub fn take(&self) -> FactSet {
        FactSet::from_words(core::array::from_fn(|w| self.0[w].take()))
    }
}

impl Tape for Reads {
    type Reads = FactSet;
    #[inline]
    fn read(&self, id: FactId) {
        let (word, bit) = FactSet::bit(id);
        self.0[word].set(self.0[word].get() | bit);
    }
    fn step(&self, _: impl FnOnce() -> Step) {}
    fn begin(&self) -> FactSet {
        self.take()
    }
    fn end(&self, before: FactSet) -> FactSet {
        let reads = FactSet::from_words(core::array::from_fn(|w| self.0[w].get()));
        self.again(before);
        reads
    }
    #[inline]
    fn again(&self, reads: FactSet) {
        for (cell, word) in self.0.iter().zip(reads.words()) {
            cell.set(cell.get() | word);
        }
    }
}

/// Keeps everything.
#[derive(Debug, Default)]
pub struct Working {
    read: RefCell<Vec<FactId>>,
    steps: RefCell<Vec<Step>>,
}

impl Working {
    /// The facts read, in order, each once.
    pub fn facts(&self) -> Vec<FactId> {
        let mut out = Vec::new();
        for f in self.read.borrow().iter() {
            if !out.contains(f) {
                out.push(*f);
            }
        }
        out
    }
    /// The lines of working.
    pub fn steps(&self) -> Vec<Step> {
        self.steps.borrow().clone()
    }
}

// One link in one world: a shared result is read where it is first asked for.
impl Tape for Working {
    type Reads = ();
    fn begin(&self) {}
    fn end(&self, (): ()) {}
    fn again(&self, (): ()) {}
    fn read(&self, id: FactId) {
        self.read.borrow_mut().push(id);
    }
    fn step(&self, make: impl FnOnce() -> Step) {
        self.steps.borrow_mut().push(make());
    }
}
