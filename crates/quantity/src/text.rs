//! Reads and prints what people write: `80 N·m ± 4 %`, `10 to 12 mm`, `45 N·m (40 to 50 N·m)`, `0.12`.
//!
//! ```text
//! reading = measure | measure "±" number ("%" | unit?) | number unit? "to" number unit? | measure "(" number unit? "to" number unit? ")"
//! measure = number unit?                 a pure number has no unit
//! "±" is also "+/-"; "to" is also "–" and ".."
//! ```
//!
//! Where a second number has no unit it takes the other's. Nothing is guessed: what can be read in two ways is an error
//! that names both.
//!
//! Invariant: no input panics, and every error carries the bytes of the input it is about.

mod error;
mod number;
mod print;

pub use error::{Problem, TextError};
pub use print::{print, print_exact};

use crate::Dimension;
use crate::units::{Unit, find_unit, nearest_unit};
use number::{read_number, starts_number};

/// How a person writes the decimal mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Decimal {
    /// `1.5`; a comma is an error, never skipped.
    Point,
    /// `1,5`; a point is read too, except where it could part thousands, as in `1.500`.
    Comma,
}

/// Bytes of the input, from `start` up to but not including `end`; both on character boundaries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    fn of(self, text: &str) -> &str {
        text.get(self.start..self.end).unwrap_or_default()
    }
}

/// How far the true value may be from the one given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Nothing was said.
    None,
    /// Plus or minus, in the coherent SI unit; for a temperature a difference in kelvin.
    PlusMinusSi(f64),
    /// Plus or minus this share of the value: 0.04 for `± 4 %`.
    PlusMinusShare(f64),
    /// From low to high, in the coherent SI unit.
    Range {
        /// The lower end.
        low_si: f64,
        /// The upper end.
        high_si: f64,
    },
}

/// What was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The value in the coherent SI unit; the middle of a range that names no value.
    pub value_si: f64,
    /// Spread about it.
    pub spread: Spread,
    /// The unit of the value, [`Unit::one`] for a pure number.
    pub unit: &'static Unit,
    /// The whole of it, without blanks around.
    pub span: Span,
    /// The first number.
    pub number: Span,
    /// Its unit, where it is written.
    pub unit_span: Option<Span>,
}

impl Reading {
    /// The least and greatest value in SI; both are the value where no spread was given.
    pub fn bounds_si(&self) -> (f64, f64) {
        let about = |half: f64| (self.value_si - half, self.value_si + half);
        match self.spread {
            Spread::None => about(0.0),
            Spread::PlusMinusSi(half) => about(half),
            Spread::PlusMinusShare(share) => about((self.value_si * share).abs()),
            Spread::Range { low_si, high_si } => (low_si, high_si),
        }
    }
}

/// Reads one reading; the text must hold nothing else.
///
/// # Errors
/// [`TextError`] with the place and what is wrong there; the first one found.
pub fn parse(text: &str, decimal: Decimal) -> Result<Reading, TextError> {
    let start = text.len() - text.trim_start().len();
    let end = text.trim_end().len();
    if start >= end {
        return Err(TextError::new(text, Span { start: 0, end: text.len() }, Problem::Empty));
    }
    let parser = Parser { text, end, decimal };
    let first = parser.measure(start)?;
    let bare = first.in_unit(first.unit);
    let finish = |value_si: f64, spread: Spread, unit: &'static Unit| {
        let numbers = match spread {
            Spread::None => [value_si; 2],
            Spread::PlusMinusSi(half) | Spread::PlusMinusShare(half) => [half, value_si],
            Spread::Range { low_si, high_si } => [low_si, high_si],
        };
        let span = Span { start, end };
        if !value_si.is_finite() || numbers.iter().any(|number| !number.is_finite()) {
            return Err(TextError::new(text, span, Problem::NotFinite));
        }
        Ok(Reading { value_si, spread, unit, span, number: first.number, unit_span: first.unit_span })
    };
    let Some(joint) = first.joint else {
        return finish(bare.to_si(), Spread::None, bare.unit());
    };
    match joint.kind {
        JointKind::PlusMinus => {
            let (spread, unit) = parser.plus_minus(&first, joint)?;
            finish(bare.to_si(), spread, unit)
        }
        JointKind::To => {
            let second = parser.last_measure(joint.after, end)?;
            let (low_si, high_si, unit) = parser.range(&first, &second, None)?;
            finish(low_si + (high_si - low_si) / 2.0, Spread::Range { low_si, high_si }, unit)
        }
        JointKind::Paren => {
            let value_si = bare.to_si();
            let spread = parser.paren_range(&first, joint)?;
            let Spread::Range { low_si, high_si } = spread else { return finish(value_si, spread, bare.unit()) };
            if !(low_si <= value_si && value_si <= high_si) {
                let outside = Span { start: joint.start, end };
                return Err(TextError::new(text, outside, Problem::ValueOutsideRange));
            }
            finish(value_si, spread, bare.unit())
        }
        JointKind::Hyphen => Err(TextError::new(text, Span { start, end }, Problem::HyphenRange)),
    }
}

/// Whether a reading is what is asked for: of that dimension and, unless `kinds` is empty, of one of these
/// [kinds](Unit::kinds). `80 J` has the dimension of a torque and is none.
///
/// # Errors
/// [`Problem::MissingUnit`] where a bare number needs one, else [`Problem::WrongKind`]; both list what fits.
pub fn expect(reading: &Reading, dimension: Dimension, kinds: &[&'static str]) -> Result<(), TextError> {
    let kind_fits = kinds.is_empty() || reading.unit.kinds.iter().any(|kind| kinds.contains(kind));
    if reading.unit.dimension == dimension && kind_fits {
        return Ok(());
    }
    let expected = kinds.to_vec();
    let problem = if *reading.unit == *Unit::one() {
        Problem::MissingUnit { expected }
    } else {
        Problem::WrongKind { found: reading.unit, expected }
    };
    Err(TextError { span: reading.span, text: reading.to_string(), problem })
}

#[derive(Clone, Copy)]
enum JointKind {
    PlusMinus,
    To,
    Paren,
    Hyphen,
}

/// What stands between two numbers.
#[derive(Clone, Copy)]
struct Joint {
    kind: JointKind,
    start: usize,
    after: usize,
}

/// A number, its unit if written, and what follows.
struct Measure {
    value: f64,
    number: Span,
    unit: Option<&'static Unit>,
    unit_span: Option<Span>,
    joint: Option<Joint>,
}

/// A number with the unit it is meant in.
#[derive(Clone, Copy)]
struct Meant(f64, Option<&'static Unit>);

impl Meant {
    fn unit(self) -> &'static Unit {
        self.1.unwrap_or(Unit::one())
    }
    fn to_si(self) -> f64 {
        self.unit().to_si(self.0)
    }
}

impl Measure {
    fn in_unit(&self, unit: Option<&'static Unit>) -> Meant {
        Meant(self.value, unit)
    }
    fn span(&self) -> Span {
        Span { start: self.number.start, end: self.unit_span.unwrap_or(self.number).end }
    }
}

struct Parser<'a> {
    text: &'a str,
    end: usize,
    decimal: Decimal,
}

impl Parser<'_> {
    fn error<T>(&self, span: Span, problem: Problem) -> Result<T, TextError> {
        Err(TextError::new(self.text, span, problem))
    }

    fn measure(&self, from: usize) -> Result<Measure, TextError> {
        self.measure_before(from, self.end)
    }

    fn measure_before(&self, from: usize, end: usize) -> Result<Measure, TextError> {
        let start = self.skip_blanks(from, end);
        let number = read_number(self.text, Span { start, end }, self.decimal)?;
        let unit_start = self.skip_blanks(number.span.end, end);
        let joint = self.find_joint(number.span.end, end);
        let unit_end = joint.map_or(end, |joint| joint.start);
        let written = self.text.get(unit_start..unit_end).unwrap_or_default().trim_end();
        if written.is_empty() {
            return Ok(Measure { value: number.value, number: number.span, unit: None, unit_span: None, joint });
        }
        let unit_span = Span { start: unit_start, end: unit_start + written.len() };
        match find_unit(written) {
            Some(unit) => Ok(Measure {
                value: number.value,
                number: number.span,
                unit: Some(unit),
                unit_span: Some(unit_span),
                joint,
            }),
            None => self.error(unit_span, Problem::UnknownUnit { nearest: nearest_unit(written) }),
        }
    }

    /// A measure with nothing after it.
    fn last_measure(&self, from: usize, end: usize) -> Result<Measure, TextError> {
        let measure = self.measure_before(from, end)?;
        match measure.joint {
            Some(joint) => self.error(Span { start: joint.start, end }, Problem::Trailing),
            None => Ok(measure),
        }
    }

    fn plus_minus(&self, first: &Measure, joint: Joint) -> Result<(Spread, &'static Unit), TextError> {
        let half = self.last_measure(joint.after, self.end)?;
        let unit = first.unit.unwrap_or(Unit::one());
        if half.value < 0.0 {
            return self.error(half.number, Problem::NegativeSpread);
        }
        let percent = half.unit.is_some_and(|unit| unit.symbol == "%");
        if percent && unit.symbol == "%" {
            return self.error(half.span(), Problem::PercentOfPercent);
        }
        if percent && unit.is_offset() {
            return self.error(half.span(), Problem::PercentOfTemperature);
        }
        if percent {
            return Ok((Spread::PlusMinusShare(half.in_unit(half.unit).to_si()), unit));
        }
        let half_unit = half.unit.unwrap_or(unit);
        if !unit.matches(half_unit) {
            return self.error(half.span(), Problem::UnitsDiffer { first: unit, second: half_unit });
        }
        Ok((Spread::PlusMinusSi(half_unit.difference_to_si(half.value)), unit))
    }

    /// The ends of a range in SI and the unit of its lower end; `default` serves where neither end has a unit.
    fn range(
        &self,
        low: &Measure,
        high: &Measure,
        default: Option<&'static Unit>,
    ) -> Result<(f64, f64, &'static Unit), TextError> {
        let span = Span { start: low.number.start, end: high.span().end };
        let low_unit = low.unit.or(high.unit).or(default).unwrap_or(Unit::one());
        let high_unit = high.unit.unwrap_or(low_unit);
        if !low_unit.matches(high_unit) {
            return self.error(span, Problem::UnitsDiffer { first: low_unit, second: high_unit });
        }
        let (low_si, high_si) = (low_unit.to_si(low.value), high_unit.to_si(high.value));
        if low_si > high_si {
            return self.error(span, Problem::ReversedRange);
        }
        Ok((low_si, high_si, low_unit))
    }

    fn paren_range(&self, first: &Measure, joint: Joint) -> Result<Spread, TextError> {
        let Some(close) = self.text[joint.after..self.end].find(')').map(|at| joint.after + at) else {
            return self.error(Span { start: joint.start, end: self.end }, Problem::OpenParen);
        };
        // A unit may end in `)` too, as in `V/(rad/s)`; then the last one closes the range.
        let close = self.text[..self.end].rfind(')').unwrap_or(close);
        let rest = Span { start: self.skip_blanks(close + 1, self.end), end: self.end };
        if rest.start < rest.end {
            return self.error(rest, Problem::Trailing);
        }
        let low = self.measure_before(joint.after, close)?;
        let Some(Joint { kind: JointKind::To, after, .. }) = low.joint else {
            return self.error(Span { start: joint.start, end: close + 1 }, Problem::NotARange);
        };
        let high = self.last_measure(after, close)?;
        let (low_si, high_si, unit) = self.range(&low, &high, first.unit)?;
        let of_value = first.unit.unwrap_or(Unit::one());
        if !of_value.matches(unit) {
            let span = Span { start: low.number.start, end: high.span().end };
            return self.error(span, Problem::UnitsDiffer { first: of_value, second: unit });
        }
        Ok(Spread::Range { low_si, high_si })
    }

    fn skip_blanks(&self, from: usize, end: usize) -> usize {
        let rest = self.text.get(from..end).unwrap_or_default();
        from + (rest.len() - rest.trim_start().len())
    }

    /// The first joint at or after `from`.
    fn find_joint(&self, from: usize, end: usize) -> Option<Joint> {
        let text = self.text.get(from..end)?;
        let mut previous = None;
        for (at, c) in text.char_indices() {
            let rest = &text[at..];
            let after_c = &rest[c.len_utf8()..];
            let found = match c {
                '±' => Some((JointKind::PlusMinus, c.len_utf8())),
                '+' => {
                    ["+/-", "+/−", "+-"].iter().find(|s| rest.starts_with(**s)).map(|s| (JointKind::PlusMinus, s.len()))
                }
                '–' | '—' | '…' => Some((JointKind::To, c.len_utf8())),
                '.' if after_c.starts_with('.') => {
                    Some((JointKind::To, rest.len() - rest.trim_start_matches('.').len()))
                }
                't' if previous.is_none_or(char::is_whitespace)
                    && after_c
                        .strip_prefix('o')
                        .is_some_and(|s| s.is_empty() || s.starts_with(char::is_whitespace)) =>
                {
                    Some((JointKind::To, 2))
                }
                '(' if starts_number(after_c.trim_start()) => Some((JointKind::Paren, 1)),
                '-' | '−' if previous != Some('^') && starts_number(after_c.trim_start()) => {
                    Some((JointKind::Hyphen, c.len_utf8()))
                }
                _ => None,
            };
            if let Some((kind, len)) = found {
                return Some(Joint { kind, start: from + at, after: from + at + len });
            }
            previous = Some(c);
        }
        None
    }
}
