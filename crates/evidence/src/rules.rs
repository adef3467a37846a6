//! House rules: what a workshop refuses or warns of, whatever the sums say.
//!
//! ```text
//! conditions = condition { " and " condition }
//! condition  = fact ("=" answer { "|" answer } | "<" quantity | ">" quantity)
//! ```
//!
//! `axle.*.x` means either end, `arm.*.x` any torque arm. `arm.left.x` and `arm.right.x` mean any torque arm on that side. What nobody knows meets
//! no condition.

use crate::Source;
use crate::table::{Line, table};

/// What a rule does when it is hit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// The job is refused.
    Refuse,
    /// The job goes on with a caution.
    Caution,
}

/// How a fact is compared.
#[derive(Clone, Debug, PartialEq)]
pub enum Test {
    /// It is one of these answers or whole numbers.
    OneOf(Vec<String>),
    /// It is less than this.
    Below(String),
    /// It is more than this.
    Above(String),
}

/// One condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// The fact.
    pub fact: String,
    /// What is asked of it.
    pub test: Test,
}

/// One house rule; its words stand under `rule.<id>`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Its name.
    pub id: String,
    /// It is hit when all of these are met …
    pub when: Vec<Condition>,
    /// … unless all of these are met too; empty: no way out.
    pub unless: Vec<Condition>,
    /// What it does.
    pub effect: Effect,
    /// Where it comes from.
    pub source: Source,
}

/// Reads conditions.
///
/// # Errors
/// The first one that is not a condition.
pub fn read_conditions(text: &str) -> Result<Vec<Condition>, String> {
    text.split(" and ").map(str::trim).filter(|part| !part.is_empty()).map(read_condition).collect()
}

fn read_condition(text: &str) -> Result<Condition, String> {
    let wrong = || format!("`{text}` is no condition; it reads `fact = answer|answer`, `fact < 2 m` or `fact > 2 m`");
    let at = text.find(['=', '<', '>']).ok_or_else(wrong)?;
    let (fact, rest) = (text[..at].trim(), text[at + 1..].trim());
    if fact.is_empty() || fact.contains(' ') || rest.is_empty() {
        return Err(wrong());
    }
    let test = match text.as_bytes()[at] {
        b'<' => Test::Below(rest.to_owned()),
        b'>' => Test::Above(rest.to_owned()),
        _ => Test::OneOf(rest.split('|').map(|answer| answer.trim().to_owned()).collect()),
    };
    Ok(Condition { fact: fact.to_owned(), test })
}

fn row(line: &Line<'_>) -> Result<Rule, String> {
    let effect = match line.filled("effect")?.as_str() {
        "refuse" => Effect::Refuse,
        "caution" => Effect::Caution,
        other => return Err(format!("`effect` is `{other}`, not refuse or caution")),
    };
    Ok(Rule {
        id: line.filled("id")?,
        when: read_conditions(&line.filled("when")?)?,
        unless: read_conditions(&line.text("unless")?)?,
        effect,
        source: line.source()?,
    })
}

table!("rules.csv", Rule, row, rows, problem);
