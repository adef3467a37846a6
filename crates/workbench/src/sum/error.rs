//! What can be wrong with the inputs of a sum. The words are in `words/en/sums.toml` under `sum-error.…`.

use crate::{reading_words, words};
use core::fmt;
use physics::OutOfRange;
use quantity::text::TextError;

/// Something wrong with one input.
#[derive(Clone, Debug, PartialEq)]
pub struct InputError {
    /// Its name, as written where it is unknown.
    pub name: String,
    /// What is wrong.
    pub problem: InputProblem,
}

/// What is wrong with an input.
#[derive(Clone, Debug, PartialEq)]
pub enum InputProblem {
    /// The sum has no such input.
    Unknown {
        /// The input spelled most like it.
        nearest: Option<&'static str>,
        /// All inputs of the sum.
        all: Vec<&'static str>,
    },
    /// It is needed and not there.
    Missing {
        /// What to write, as an example.
        like: String,
    },
    /// It is there more than once.
    Twice,
    /// It cannot be read.
    Unreadable {
        /// Why not, and where.
        error: TextError,
        /// What would fit.
        allowed: String,
    },
    /// A reading with a spread; a sum takes one value.
    Spread,
    /// Out of range.
    OutOfRange {
        /// What was given.
        value: String,
        /// What is allowed.
        allowed: String,
    },
    /// Not one of the words or forms that are allowed.
    NotAllowed {
        /// What was given.
        value: String,
        /// What is allowed.
        allowed: String,
    },
    /// It is needed because of another input.
    NeededFor {
        /// The other input.
        other: &'static str,
    },
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = ("name", self.name.as_str());
        f.write_str(&match &self.problem {
            InputProblem::Unknown { nearest, all } => {
                let key = if nearest.is_some() { "sum-error.unknown-near" } else { "sum-error.unknown" };
                words::fill(key, &[name, ("nearest", nearest.unwrap_or_default()), ("all", &all.join(", "))])
            }
            InputProblem::Missing { like } => words::fill("sum-error.missing", &[name, ("like", like)]),
            InputProblem::Twice => words::fill("sum-error.twice", &[name]),
            InputProblem::Unreadable { error, allowed } => words::fill(
                "sum-error.unreadable",
                &[name, ("error", &reading_words::say(error)), ("allowed", allowed)],
            ),
            InputProblem::Spread => words::fill("sum-error.spread", &[name]),
            InputProblem::OutOfRange { value, allowed } => {
                words::fill("sum-error.out-of-range", &[name, ("value", value), ("allowed", allowed)])
            }
            InputProblem::NotAllowed { value, allowed } => {
                words::fill("sum-error.not-allowed", &[name, ("value", value), ("allowed", allowed)])
            }
            InputProblem::NeededFor { other } => words::fill("sum-error.needed-for", &[name, ("other", other)]),
        })
    }
}

impl core::error::Error for InputError {}

/// Why a sum whose inputs could be read has no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum SumError {
    /// A formula cannot be used with a value.
    OutOfRange(OutOfRange),
    /// An input is not there that this case needs.
    Missing(&'static str),
    /// The result of that key is no finite number.
    NotFinite(&'static str),
    /// Refused, with the key of the sentence that says why.
    Refused(&'static str),
}

impl From<OutOfRange> for SumError {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}

impl fmt::Display for SumError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&match self {
            Self::OutOfRange(OutOfRange { what, value, low, high, unit }) => {
                let unit = if *unit == "one" { "" } else { unit };
                let print = |value: &f64| quantity::text::print(*value, quantity::units::Unit::one(), 4, POINT);
                words::fill(
                    "sum-error.formula",
                    &[
                        ("what", what),
                        ("value", &print(value)),
                        ("low", &print(low)),
                        ("high", &print(high)),
                        ("unit", unit),
                    ],
                )
            }
            Self::Missing(name) => words::fill("sum-error.missing-here", &[("name", name)]),
            Self::NotFinite(key) => words::fill("sum-error.not-finite", &[("name", key)]),
            Self::Refused(key) => words::text(key),
        })
    }
}

impl core::error::Error for SumError {}

const POINT: quantity::text::Decimal = quantity::text::Decimal::Point;

/// The candidate spelled most like the word, if any is near.
pub(super) fn nearest(word: &str, candidates: impl Iterator<Item = &'static str>) -> Option<&'static str> {
    let word: Vec<char> = word.chars().take(64).flat_map(char::to_lowercase).collect();
    let scored = candidates.map(|candidate| (distance(&word, candidate), candidate));
    let (distance, candidate) = scored.min_by_key(|(distance, _)| *distance)?;
    (distance <= 1 + candidate.len() / 3).then_some(candidate)
}

/// Levenshtein distance.
fn distance(a: &[char], b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let changed = diagonal + usize::from(from != to);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
