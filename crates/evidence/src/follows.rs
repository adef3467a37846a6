//! Assumed values that follow from the answer to another fact: yield from the material, volts from the chemistry.

use crate::Source;
use crate::table::{Line, table};

/// What is assumed of a fact when another has that answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Follows {
    /// The fact that is assumed; `axle.*.dropout_yield` for each end.
    pub fact: String,
    /// The fact from which it follows, for the same end or arm where it has a `*`.
    pub given: String,
    /// Its answer.
    pub answer: String,
    /// The text assumed.
    pub text: String,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<Follows, String> {
    Ok(Follows {
        fact: line.filled("fact")?,
        given: line.filled("given")?,
        answer: line.filled("answer")?,
        text: line.filled("text")?,
        source: line.source()?,
    })
}

table!("follows.csv", Follows, row, rows, problem);

/// The rows that say something about a fact.
pub fn of(fact: &str) -> impl Iterator<Item = &'static Follows> {
    rows().iter().filter(move |row| row.fact == fact)
}
