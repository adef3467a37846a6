//! What can be wrong with a text, in plain words.

use super::Span;
use crate::units::{System, Unit, fits, preferred_unit};
use core::fmt::{Display, Formatter, Result};

/// A text that cannot be read, or is not what was asked for.
///
/// Displays as a lower-case fragment: "`80 N` is a force; expected a torque, for example in N·m or lbf·ft".
#[derive(Clone, Debug, PartialEq)]
pub struct TextError {
    /// Where in the input.
    pub span: Span,
    /// The input there.
    pub text: String,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// There is no text.
    Empty,
    /// No number where one must be.
    NotANumber,
    /// Not-a-number, infinite, or beyond what can be computed with.
    NotFinite,
    /// A comma where the decimal mark is a point.
    AmbiguousComma,
    /// A point that could part thousands, where the decimal mark is a comma; or more than one mark.
    AmbiguousPoint,
    /// Digits grouped other than by threes.
    BadGrouping,
    /// No such unit.
    UnknownUnit {
        /// The unit with the nearest spelling.
        nearest: Option<&'static Unit>,
    },
    /// A bare number where a unit is needed.
    MissingUnit {
        /// What was asked for.
        expected: Vec<&'static str>,
    },
    /// It measures something else.
    WrongKind {
        /// The unit it is in.
        found: &'static Unit,
        /// What was asked for.
        expected: Vec<&'static str>,
    },
    /// Two numbers of one reading measure different things.
    UnitsDiffer {
        /// Unit of the first.
        first: &'static Unit,
        /// Unit of the second.
        second: &'static Unit,
    },
    /// The first end of the range is above the second.
    ReversedRange,
    /// The value is not within the range given with it.
    ValueOutsideRange,
    /// A negative number after ±.
    NegativeSpread,
    /// `90 % ± 2 %`: of the value, or points?
    PercentOfPercent,
    /// A share of a temperature whose zero is arbitrary.
    PercentOfTemperature,
    /// A hyphen between two numbers: range or negative number?
    HyphenRange,
    /// A parenthesis without its end.
    OpenParen,
    /// A parenthesis that holds no range.
    NotARange,
    /// Text after the end of the reading.
    Trailing,
}

impl TextError {
    pub(super) fn new(text: &str, span: Span, problem: Problem) -> Self {
        Self { span, text: span.of(text).to_owned(), problem }
    }
}

impl core::error::Error for TextError {}

impl Display for TextError {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let text = self.text.trim();
        match &self.problem {
            Problem::Empty => write!(f, "there is no text; expected a number and its unit"),
            Problem::NotANumber if text.is_empty() => write!(f, "a number is missing here"),
            Problem::NotANumber => write!(f, "`{text}` is not a number"),
            Problem::NotFinite => write!(f, "`{text}` is no finite number that can be computed with"),
            Problem::AmbiguousComma => {
                write!(f, "`{text}` has a comma, which could be a decimal mark or part thousands; write ")?;
                write!(f, "the decimal mark as a point and no mark between thousands")
            }
            Problem::AmbiguousPoint => {
                write!(f, "`{text}` has a point that could be a decimal mark or part thousands; write ")?;
                write!(f, "one decimal mark and no mark between thousands")
            }
            Problem::BadGrouping => {
                write!(f, "the digits of `{text}` are not in groups of three; write them without gaps")
            }
            Problem::UnknownUnit { nearest: None } => write!(f, "`{text}` is not a known unit"),
            Problem::UnknownUnit { nearest: Some(unit) } => {
                write!(f, "`{text}` is not a known unit; did you mean {} ({})?", unit.symbol, unit.kind())
            }
            Problem::MissingUnit { expected } => {
                write!(f, "`{text}` has no unit; expected ")?;
                write_expected(f, expected)
            }
            Problem::WrongKind { found, expected } => {
                write!(f, "`{text}` is {}; expected ", with_article(found.kind()))?;
                write_expected(f, expected)
            }
            Problem::UnitsDiffer { first, second } if first.kind() == second.kind() => {
                write!(f, "`{text}` does not go with the unit before it: {} and {}", first.symbol, second.symbol)
            }
            Problem::UnitsDiffer { first, second } => {
                let (first, second) = (with_article(first.kind()), with_article(second.kind()));
                write!(f, "the units at `{text}` do not go together: one is {first}, the other {second}")
            }
            Problem::ReversedRange => write!(f, "the range `{text}` starts above its end"),
            Problem::ValueOutsideRange => write!(f, "the value is not within its range `{text}`"),
            Problem::NegativeSpread => write!(f, "`{text}` after ± is negative; write it without sign"),
            Problem::PercentOfPercent => {
                write!(f, "± `{text}` of a value in % can mean a share or points; leave out the % for points, or ")?;
                write!(f, "write a range")
            }
            Problem::PercentOfTemperature => {
                write!(f, "± `{text}` of a temperature has no meaning; write a difference, for example ± 3 K")
            }
            Problem::HyphenRange => write!(f, "`{text}` has a hyphen between two numbers; write a range with `to`"),
            Problem::OpenParen => write!(f, "`{text}` has no closing parenthesis"),
            Problem::NotARange => write!(f, "`{text}` is not a range; expected for example (40 to 50 N·m)"),
            Problem::Trailing => write!(f, "`{text}` is left over after the reading"),
        }
    }
}

fn with_article(kind: &str) -> String {
    let article = if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    match kind {
        "damping" | "power" => kind.to_owned(),
        _ => format!("{article} {kind}"),
    }
}

fn write_expected(f: &mut Formatter<'_>, kinds: &[&'static str]) -> Result {
    if kinds.is_empty() {
        return write!(f, "another dimension");
    }
    for (i, kind) in kinds.iter().enumerate() {
        let joint = if i == 0 { "" } else { " or " };
        write!(f, "{joint}{}", with_article(kind))?;
        if *kind == "pure number" {
            write!(f, ", in % or without unit")?;
            continue;
        }
        let metric = preferred_unit(kind, System::Metric).map(|unit| unit.symbol);
        let imperial = preferred_unit(kind, System::Imperial).map(|unit| unit.symbol);
        let second = fits(kind).into_iter().find(|symbol| Some(*symbol) != metric);
        match (metric, imperial.filter(|symbol| Some(*symbol) != metric).or(second)) {
            (Some(first), Some(second)) => write!(f, ", for example in {first} or {second}")?,
            (Some(first), None) => write!(f, ", in {first}")?,
            _ => {}
        }
    }
    Ok(())
}
