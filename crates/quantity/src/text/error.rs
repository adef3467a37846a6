//! What can be wrong with a text.

use super::Span;
use crate::units::Unit;
use core::fmt::{Display, Formatter, Result};

/// A text that cannot be read, or is not what was asked for.
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

/// For logs and tests; what a person reads is worded above this crate.
impl Display for TextError {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{:?} at `{}`", self.problem, self.text.trim())
    }
}
