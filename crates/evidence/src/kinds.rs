//! What is assumed of a hub of a kind when nobody has measured it.

use crate::Source;
use crate::table::{Line, table};

/// The kinds, in the order of the table's columns.
pub const KINDS: [&str; 5] = ["town", "hill", "hauler", "front", "direct"];

/// The assumed values of one fact.
#[derive(Clone, Debug, PartialEq)]
pub struct Defaults {
    /// The fact; facts of one end of the axle as `axle.*.bore`, of a torque arm as `arm.*.length`.
    pub fact: String,
    /// The text that holds for every kind without a text of its own.
    pub any: Option<String>,
    /// The text of each kind, in the order of [`KINDS`].
    pub by_kind: [Option<String>; 5],
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<Defaults, String> {
    let mut by_kind = [const { None }; 5];
    for (cell, kind) in by_kind.iter_mut().zip(KINDS) {
        *cell = line.optional(kind)?;
    }
    let found = Defaults { fact: line.filled("fact")?, any: line.optional("any")?, by_kind, source: line.source()? };
    if found.any.is_none() && found.by_kind.iter().all(Option::is_none) {
        return Err(format!("`{}` has no text for any kind", found.fact));
    }
    Ok(found)
}

table!("kinds.csv", Defaults, row, rows, problem);

/// The row of a fact.
pub fn find(fact: &str) -> Option<&'static Defaults> {
    rows().iter().find(|row| row.fact == fact)
}

/// The text assumed for a fact of a hub of that kind, or of a hub whose kind is not known.
pub fn default_text(fact: &str, kind: Option<&str>) -> Option<&'static str> {
    let row = find(fact)?;
    let own = kind.and_then(|kind| KINDS.iter().position(|k| *k == kind)).and_then(|at| row.by_kind[at].as_deref());
    own.or(row.any.as_deref())
}
