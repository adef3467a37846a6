//! From the text of a job file to a fact: `"80 N·m, measured with W2"`, `"0.12 to 0.20, assumed"`, `"steel"`.

use super::{Distribution, Fact, FactDef, Origin, Shape, Spreads, Tool};
use quantity::text::{self, Decimal, Reading, Spread, TextError};
use quantity::units::{Unit, find_unit};

/// What is wrong with the text of a fact. The words for it are in the table of words.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// The number or unit cannot be read.
    Text(TextError),
    /// Outside the allowed range; all in `unit`.
    Range {
        /// What was given.
        value: f64,
        /// Smallest allowed.
        low: f64,
        /// Largest allowed.
        high: f64,
        /// The unit of the three.
        unit: &'static str,
    },
    /// Not one of the answers.
    Choice {
        /// What was given.
        given: String,
        /// The allowed answers.
        allowed: &'static [&'static str],
    },
    /// Not a whole number.
    NotWhole(f64),
    /// The origin word is none of the known ones.
    Origin(String),
    /// The tool is not in the rack.
    Tool(String),
    /// The tool's class does not fit the kind of quantity.
    ToolKind {
        /// The tool.
        tool: String,
        /// What it takes.
        takes: String,
    },
    /// A spread that makes no sense: negative, or wider than the value allows.
    Spread,
}

/// Stands before the number of the bike from which an assumed value is taken over: `10.0 mm, assumed as on 0117`.
pub const AS_ON: &str = "as on ";

/// The number of a job.
fn is_number(text: &str) -> bool {
    (1..=20).contains(&text.len()) && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
}

/// Splits `"80 N·m, measured with W2"` into value, origin word and tool.
fn split(text: &str) -> (&str, Option<&str>, Option<&str>) {
    let Some((value, tail)) = text.rsplit_once(',') else { return (text.trim(), None, None) };
    let tail = tail.trim();
    if !tail.starts_with(|c: char| c.is_alphabetic()) {
        return (text.trim(), None, None);
    }
    match tail.split_once(" with ") {
        Some((origin, tool)) => (value.trim(), Some(origin.trim()), Some(tool.trim())),
        None => (value.trim(), Some(tail), None),
    }
}

/// Reads the text of one fact.
///
/// # Errors
/// Every [`Problem`] that the text has; the first of number and unit, and all of origin and tool.
pub fn read_fact(
    def: &FactDef,
    text: &str,
    rack: &[Tool],
    default: Origin,
    decimal: Decimal,
) -> Result<Fact, Vec<Problem>> {
    let (body, origin_word, tool_word) = split(text);
    let mut problems = Vec::new();
    let other = origin_word
        .and_then(|word| word.strip_prefix(Origin::Assumed.token())?.trim_start().strip_prefix(AS_ON))
        .filter(|number| is_number(number));
    let origin = match origin_word {
        Some(_) if other.is_some() => Origin::Assumed,
        None => default,
        Some(word) => Origin::ALL.into_iter().find(|o| o.token() == word).unwrap_or_else(|| {
            problems.push(Problem::Origin(word.to_owned()));
            default
        }),
    };
    let tool = tool_word.and_then(|word| {
        let found = rack.iter().find(|t| t.id == word);
        if found.is_none() {
            problems.push(Problem::Tool(word.to_owned()));
        }
        found
    });
    let read = match def.shape {
        Shape::Choice(tokens) => match tokens.iter().position(|t| *t == body) {
            Some(i) => Ok((i as f64, Distribution::Exact)),
            None => Err(Problem::Choice { given: body.to_owned(), allowed: tokens }),
        },
        Shape::Count { low, high } => read_number(body, "", decimal).and_then(|r| {
            if r.value_si.fract() != 0.0 || r.spread != Spread::None {
                Err(Problem::NotWhole(r.value_si))
            } else if r.value_si < low || r.value_si > high {
                Err(Problem::Range { value: r.value_si, low, high, unit: "" })
            } else {
                Ok((r.value_si, Distribution::Exact))
            }
        }),
        Shape::Quantity { unit, low, high } => {
            read_number(body, unit, decimal).and_then(|r| in_range(r, unit, low, high, def.doubt, tool, origin))
        }
    };
    match read {
        Ok((value, spread)) if problems.is_empty() => {
            let tool = other.map_or_else(|| tool_word.map(str::to_owned), |number| Some(format!("{AS_ON}{number}")));
            Ok(Fact { value, spread, origin, tool, text: body.to_owned() })
        }
        Ok(_) => Err(problems),
        Err(p) => {
            problems.insert(0, p);
            Err(problems)
        }
    }
}

/// Reads a number and proves that it measures what the fact measures: the kinds of its own unit.
fn read_number(body: &str, unit: &str, decimal: Decimal) -> Result<Reading, Problem> {
    let reading = text::parse(body, decimal).map_err(Problem::Text)?;
    let own = find_unit(unit).unwrap_or(Unit::one());
    let pure = |u: &Unit| u.symbol.is_empty() || u.symbol == "%";
    if !(pure(own) && pure(reading.unit)) {
        text::expect(&reading, own.dimension, own.kinds).map_err(Problem::Text)?;
    }
    Ok(reading)
}

fn in_range(
    r: Reading,
    unit: &'static str,
    low: f64,
    high: f64,
    spreads: Spreads,
    tool: Option<&Tool>,
    origin: Origin,
) -> Result<(f64, Distribution), Problem> {
    let own_kinds = find_unit(unit).unwrap_or(Unit::one()).kinds;
    let shown = |si: f64| find_unit(unit).map_or(si, |u| u.from_si(si));
    let check = |si: f64| {
        let value = shown(si);
        // A hair's breadth, so that a range's own end is inside it after conversion.
        let slack = 1e-9 * (high - low);
        if value.is_finite() && value >= low - slack && value <= high + slack {
            Ok(si)
        } else {
            Err(Problem::Range { value, low, high, unit })
        }
    };
    let value = check(r.value_si)?;
    let sigma = |half: f64| half / 1.959_963_985;
    let spread = match r.spread {
        Spread::Range { low_si, high_si } => {
            check(low_si)?;
            check(high_si)?;
            if high_si < low_si {
                return Err(Problem::Spread);
            }
            Distribution::Uniform { low: low_si, high: high_si }
        }
        Spread::PlusMinusShare(share) if spreads == Spreads::LogNormal => {
            Distribution::LogNormal { sigma_ln: sigma(libm::log1p(share)) }
        }
        Spread::PlusMinusSi(half) if spreads == Spreads::LogNormal && half < value => {
            Distribution::LogNormal { sigma_ln: sigma(libm::log1p(half / value)) }
        }
        Spread::PlusMinusShare(share) => Distribution::Normal { sigma: sigma(share * value.abs()) },
        Spread::PlusMinusSi(half) => Distribution::Normal { sigma: sigma(half) },
        Spread::None => match tool {
            Some(t) => {
                let absolute = match &t.absolute {
                    Some((si, of)) if own_kinds.contains(&of.as_str()) => *si,
                    Some((_, of)) if t.share == 0.0 => {
                        return Err(Problem::ToolKind { tool: t.id.clone(), takes: of.clone() });
                    }
                    _ => 0.0,
                };
                let half = t.share * value.abs() + absolute;
                Distribution::Uniform { low: value - half, high: value + half }
            }
            None if origin == Origin::Measured && spreads != Spreads::Exact => Distribution::Exact,
            None => Distribution::Exact,
        },
    };
    Ok((value, spread))
}
