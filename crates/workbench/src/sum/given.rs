//! Reads the inputs of a sum; what is wrong is collected, not only the first.

use super::input::{Input, Need, Shape};
use super::{InputError, InputProblem, Sum, SumError};
use physics::thread::Thread;
use quantity::text::{Decimal, Problem, Reading, Spread, expect, parse, print};
use quantity::units::{Unit, find_unit};
use quantity::{Length, Quantity, Speed, Stress, WheelSpeed};

/// An input that was read.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A quantity, in SI, and the unit in which it was written.
    Quantity(f64, &'static Unit),
    /// A whole number.
    Count(u32),
    /// A word.
    Word(&'static str),
    /// A thread.
    Thread(Thread),
    /// A property class.
    Class(Class),
}

/// A property class, or a yield strength in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// The class, where one was named.
    pub name: Option<&'static str>,
    /// Least yield strength.
    pub yield_strength: Stress,
}

/// The inputs of a sum, each of the shape and in the range that it must have.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    sum: &'static Sum,
    values: Vec<(&'static str, Value)>,
    written: Vec<&'static str>,
}

impl PartialEq for Sum {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Given {
    /// Reads all inputs.
    ///
    /// # Errors
    /// Everything that is wrong: unknown, missing and repeated inputs, units that do not fit, values out of range.
    pub fn parse(sum: &'static Sum, inputs: &[(&str, &str)], decimal: Decimal) -> Result<Self, Vec<InputError>> {
        let mut errors = Vec::new();
        let mut values: Vec<(&'static str, Value)> = Vec::new();
        let mut seen: Vec<&'static str> = Vec::new();
        for (name, text) in inputs {
            let wanted = name.trim().to_ascii_lowercase().replace('_', "-");
            let Some(input) = sum.inputs.iter().find(|input| input.name == wanted) else {
                let all: Vec<&'static str> = sum.inputs.iter().map(|input| input.name).collect();
                let nearest = super::error::nearest(&wanted, all.iter().copied());
                errors.push(InputError { name: (*name).to_owned(), problem: InputProblem::Unknown { nearest, all } });
                continue;
            };
            if seen.contains(&input.name) {
                errors.push(InputError { name: input.name.to_owned(), problem: InputProblem::Twice });
                continue;
            }
            seen.push(input.name);
            match read(input, text, decimal) {
                Ok(value) => values.push((input.name, value)),
                Err(problem) => errors.push(InputError { name: input.name.to_owned(), problem }),
            }
        }
        for input in sum.inputs.iter().filter(|input| !seen.contains(&input.name)) {
            match input.need {
                Need::Optional => {}
                Need::Required => {
                    let example = sum.example.iter().find(|(name, _)| *name == input.name);
                    let like =
                        example.map_or_else(|| input.shape.allowed(), |(name, text)| format!("{name}=\"{text}\""));
                    errors.push(InputError { name: input.name.to_owned(), problem: InputProblem::Missing { like } });
                }
                Need::Default(text) => match read(input, text, Decimal::Point) {
                    Ok(value) => values.push((input.name, value)),
                    Err(problem) => errors.push(InputError { name: input.name.to_owned(), problem }),
                },
            }
        }
        let given = Self { sum, values, written: seen };
        let by_road = given.values.iter().find(|(_, value)| is_road_speed(value)).filter(|(name, _)| {
            sum.inputs.iter().any(|input| input.name == *name && matches!(input.shape, Shape::Speed { .. }))
        });
        if let Some((speed, _)) = by_road
            && !given.written.contains(&"wheel-radius")
        {
            let problem = InputProblem::NeededFor { other: speed };
            errors.retain(|error| error.name != "wheel-radius");
            errors.push(InputError { name: "wheel-radius".to_owned(), problem });
        }
        if errors.is_empty() { Ok(given) } else { Err(errors) }
    }

    /// The sum they belong to.
    pub fn sum(&self) -> &'static Sum {
        self.sum
    }

    /// The inputs that are there, those left out at their default included.
    pub fn values(&self) -> &[(&'static str, Value)] {
        &self.values
    }

    fn value(&self, name: &'static str) -> Result<&Value, SumError> {
        let found = self.values.iter().find(|(key, _)| *key == name);
        found.map(|(_, value)| value).ok_or(SumError::Missing(name))
    }

    /// Whether it is there.
    pub(super) fn has(&self, name: &'static str) -> bool {
        self.value(name).is_ok()
    }

    /// Whether a person wrote it: not left out, nor at its default.
    pub fn written(&self, name: &str) -> bool {
        self.written.contains(&name)
    }

    /// A quantity.
    pub(super) fn q<Q: Quantity>(&self, name: &'static str) -> Result<Q, SumError> {
        match self.value(name)? {
            Value::Quantity(si, unit) => {
                debug_assert_eq!(unit.dimension, Q::DIMENSION, "{name}");
                Ok(Q::from_si(*si))
            }
            _ => Err(SumError::Missing(name)),
        }
    }

    /// A quantity that may be left out.
    pub(super) fn opt<Q: Quantity>(&self, name: &'static str) -> Result<Option<Q>, SumError> {
        if self.has(name) { self.q(name).map(Some) } else { Ok(None) }
    }

    /// A whole number.
    pub(super) fn count(&self, name: &'static str) -> Result<u32, SumError> {
        match self.value(name)? {
            Value::Count(count) => Ok(*count),
            _ => Err(SumError::Missing(name)),
        }
    }

    /// Whether the word of a choice, or in the place of a quantity, is this one.
    pub(super) fn is(&self, name: &'static str, word: &str) -> Result<bool, SumError> {
        Ok(matches!(self.value(name)?, Value::Word(given) if *given == word))
    }

    /// The word of a choice.
    pub(super) fn word(&self, name: &'static str) -> Result<&'static str, SumError> {
        match self.value(name)? {
            Value::Word(word) => Ok(word),
            _ => Err(SumError::Missing(name)),
        }
    }

    /// A thread.
    pub(super) fn thread(&self, name: &'static str) -> Result<Thread, SumError> {
        match self.value(name)? {
            Value::Thread(thread) => Ok(*thread),
            _ => Err(SumError::Missing(name)),
        }
    }

    /// A property class.
    pub(super) fn class(&self, name: &'static str) -> Result<&Class, SumError> {
        match self.value(name)? {
            Value::Class(class) => Ok(class),
            _ => Err(SumError::Missing(name)),
        }
    }

    /// Turning speed of the wheel, from `speed` and, where that is along the road, `wheel-radius`.
    pub(super) fn wheel_speed(&self, name: &'static str) -> Result<WheelSpeed, SumError> {
        match self.value(name)? {
            Value::Quantity(si, unit) if unit.dimension == Speed::DIMENSION => {
                Ok(physics::motor::rolling(Speed::from_si(*si), self.q::<Length>("wheel-radius")?)?)
            }
            Value::Quantity(si, _) => Ok(WheelSpeed::from_si(*si)),
            _ => Err(SumError::Missing(name)),
        }
    }
}

fn is_road_speed(value: &Value) -> bool {
    matches!(value, Value::Quantity(_, unit) if unit.dimension == Speed::DIMENSION)
}

fn read(input: &Input, text: &str, decimal: Decimal) -> Result<Value, InputProblem> {
    let shape = &input.shape;
    let text = text.trim();
    let not_allowed = || InputProblem::NotAllowed { value: shorten(text), allowed: shape.allowed() };
    let one_of = |words: &[&'static str]| words.iter().find(|word| word.eq_ignore_ascii_case(text)).copied();
    match shape {
        Shape::Quantity { kinds, unit, low, high } => {
            let unit = find_unit(unit).unwrap_or(Unit::one());
            read_quantity(shape, text, decimal, &[(kinds, unit, *low, *high)])
        }
        Shape::QuantityOr { kinds, unit, low, high, word } => match one_of(&[word]) {
            Some(word) => Ok(Value::Word(word)),
            None => {
                let unit = find_unit(unit).unwrap_or(Unit::one());
                read_quantity(shape, text, decimal, &[(kinds, unit, *low, *high)])
            }
        },
        Shape::Speed { high_rad_s, high_km_h } => {
            let unit = |symbol| find_unit(symbol).unwrap_or(Unit::one());
            let road = (["speed"].as_slice(), unit("km/h"), 0.0, *high_km_h);
            let turning = (["angular speed"].as_slice(), unit("rad/s"), 0.0, *high_rad_s);
            read_quantity(shape, text, decimal, &[road, turning])
        }
        Shape::Count { low, high } => {
            let count = text.parse::<u32>().map_err(|_| not_allowed())?;
            if (*low..=*high).contains(&count) {
                return Ok(Value::Count(count));
            }
            Err(InputProblem::OutOfRange { value: shorten(text), allowed: shape.allowed() })
        }
        Shape::Choice(words) => one_of(words).map(Value::Word).ok_or_else(not_allowed),
        Shape::Thread => read_thread(text, decimal).map(Value::Thread).ok_or_else(not_allowed),
        Shape::PropertyClass => {
            let dotted = text.replace(',', ".");
            if let Some(row) = evidence::bolts::rows().iter().find(|row| row.bolt.eq_ignore_ascii_case(&dotted)) {
                return Ok(Value::Class(Class { name: Some(row.bolt.as_str()), yield_strength: row.yield_strength }));
            }
            let unit = find_unit("MPa").unwrap_or(Unit::one());
            match read_quantity(shape, text, decimal, &[(&["stress"], unit, 1.0, 3000.0)]) {
                Ok(Value::Quantity(si, _)) => {
                    Ok(Value::Class(Class { name: None, yield_strength: Stress::from_si(si) }))
                }
                Err(problem @ InputProblem::OutOfRange { .. }) => Err(problem),
                _ => Err(not_allowed()),
            }
        }
    }
}

/// Kinds that fit, and the range in a unit of theirs.
type Fit<'a> = (&'a [&'static str], &'static Unit, f64, f64);

fn read_quantity(shape: &Shape, text: &str, decimal: Decimal, fitting: &[Fit<'_>]) -> Result<Value, InputProblem> {
    let unreadable = |error| InputProblem::Unreadable { error, allowed: shape.allowed() };
    let reading: Reading = parse(text, decimal).map_err(unreadable)?;
    if reading.spread != Spread::None {
        return Err(InputProblem::Spread);
    }
    // Nothing is nothing in every unit, temperatures apart.
    let nothing = reading.value_si == 0.0 && *reading.unit == *Unit::one();
    if let Some((.., low, high)) = fitting.last().filter(|(_, unit, ..)| nothing && !unit.is_offset())
        && (*low..=*high).contains(&0.0)
        && let Some((_, unit, ..)) = fitting.last()
    {
        return Ok(Value::Quantity(0.0, unit));
    }
    let fit = fitting.iter().find(|(kinds, unit, ..)| expect(&reading, unit.dimension, kinds).is_ok());
    let Some((_, unit, low, high)) = fit else {
        let kinds: Vec<&'static str> = fitting.iter().flat_map(|(kinds, ..)| kinds.iter().copied()).collect();
        let problem = match expect(&reading, fitting[0].1.dimension, &kinds) {
            Err(error) => unreadable(error),
            Ok(()) => unreadable(quantity::text::TextError {
                span: reading.span,
                text: text.to_owned(),
                problem: Problem::WrongKind { found: reading.unit, expected: kinds },
            }),
        };
        return Err(problem);
    };
    // A limit typed exactly must pass although its SI value may be rounded.
    let slack = |limit: f64| limit.abs().max(f64::MIN_POSITIVE) * 4.0 * f64::EPSILON;
    let (low, high) = (unit.to_si(*low), unit.to_si(*high));
    if reading.value_si < low - slack(low) || reading.value_si > high + slack(high) {
        let value = print(reading.value_si, reading.unit, 6, Decimal::Point);
        return Err(InputProblem::OutOfRange { value, allowed: shape.allowed() });
    }
    Ok(Value::Quantity(reading.value_si, reading.unit))
}

/// `M12x1.25`, `M12×1.25`, `M12*1,25`, `M8` for the coarse one, or an inch thread of the table such as `3/8-26`.
fn read_thread(text: &str, decimal: Decimal) -> Option<Thread> {
    let tidy: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let tidy = tidy.replace(['×', '*', 'X'], "x").replace('m', "M");
    let tidy = if decimal == Decimal::Comma { tidy.replace(',', ".") } else { tidy };
    if let Some(row) = evidence::threads::find(&tidy) {
        return Thread::new(row.diameter, row.pitch).ok();
    }
    let (diameter, pitch) = tidy.strip_prefix('M')?.split_once('x')?;
    let millimetres = |text: &str| text.parse::<f64>().ok().map(Length::millimetres);
    Thread::new(millimetres(diameter)?, millimetres(pitch)?).ok()
}

/// What a person typed, short enough for a message.
fn shorten(text: &str) -> String {
    if text.chars().count() <= 40 { text.to_owned() } else { text.chars().take(39).chain(['…']).collect() }
}
