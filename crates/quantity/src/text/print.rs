//! Prints values the way people write them.

use super::{Decimal, Reading, Spread};
use crate::units::Unit;
use core::fmt::{Display, Formatter};

/// A value in SI as people read it: rounded to `digits` significant digits (1 to 17, others are taken as the nearest
/// of these), without trailing zeros: `98 N·m`, `1.77°`, `0.12`. Beyond a million and below a ten-thousandth it has
/// an exponent. In °C and °F digits after the ninth place are dropped: they are rest of the subtraction.
pub fn print(value_si: f64, unit: &Unit, digits: usize, decimal: Decimal) -> String {
    let value = unit.from_si(value_si);
    let value = if unit.is_offset() { (value * 1e9).round() / 1e9 } else { value };
    // Adding zero drops the sign of a negative zero.
    with_unit(&rounded(value + 0.0, digits), unit, decimal)
}

/// A value in SI as the shortest text that is read back to the same bits.
///
/// The text is `number unit`, and [`parse`](super::parse) of it in the same `decimal` gives `value_si` again for each
/// value that was read in this unit, and for each finite value at all in a unit with factor one. Other values can lie
/// between two that a number in this unit reaches; then the nearest reachable one is printed, which differs by at most
/// two units in the last place (of the value, or in °C and °F of the zero).
pub fn print_exact(value_si: f64, unit: &Unit, decimal: Decimal) -> String {
    let wanted = exact(value_si, unit.from_si(value_si), unit.is_offset(), &|value| unit.to_si(value));
    with_unit(&wanted, unit, decimal)
}

/// The shortest decimal that `to_si` maps to `wanted_si`, or the one that comes nearest.
fn exact(wanted_si: f64, guess: f64, is_offset: bool, to_si: &dyn Fn(f64) -> f64) -> String {
    let short = |value: f64| {
        (1..=17).map(|digits| rounded(value, digits)).find(|text| {
            let back = text.parse::<f64>().map(to_si);
            back.is_ok_and(|back_si| back_si.to_bits() == wanted_si.to_bits())
        })
    };
    if let Some(text) = short(guess) {
        return text;
    }
    // The guess is off by a few roundings; try its neighbours.
    let step =
        if is_offset { f64::EPSILON * 512.0_f64.max(guess.abs()) / 4.0 } else { guess.abs().next_up() - guess.abs() };
    let near: Vec<f64> = (-8..=8).map(|i| guess + f64::from(i) * step).filter(|value| value.is_finite()).collect();
    if let Some(text) = near.iter().find_map(|value| short(*value)) {
        return text;
    }
    let miss = |value: &f64| (to_si(*value) - wanted_si).abs();
    let best = near.into_iter().min_by(|a, b| miss(a).total_cmp(&miss(b))).unwrap_or(guess);
    rounded(best, 17)
}

/// A number to so many significant digits, trailing zeros dropped.
fn rounded(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let scientific = format!("{value:.*e}", digits.clamp(1, 17) - 1);
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let sign = if mantissa.starts_with('-') { "-" } else { "" };
    let significant: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let significant = significant.trim_end_matches('0');
    if significant.is_empty() {
        return format!("{sign}0");
    }
    let places = significant.len() as i32 - 1 - exponent;
    match exponent {
        -4..=-1 => format!("{sign}0.{}{significant}", "0".repeat((-exponent - 1) as usize)),
        0..=6 if places <= 0 => format!("{sign}{significant}{}", "0".repeat(-places as usize)),
        0..=6 => {
            let (whole, fraction) = significant.split_at(exponent as usize + 1);
            format!("{sign}{whole}.{fraction}")
        }
        _ => {
            let (first, others) = significant.split_at(1);
            let point = if others.is_empty() { "" } else { "." };
            format!("{sign}{first}{point}{others}e{exponent}")
        }
    }
}

fn with_unit(number: &str, unit: &Unit, decimal: Decimal) -> String {
    let number = match decimal {
        Decimal::Point => number.to_owned(),
        Decimal::Comma => number.replace('.', ","),
    };
    match unit.symbol {
        "" => number,
        "°" => format!("{number}°"),
        symbol => format!("{number} {symbol}"),
    }
}

/// As it can be read again: `80 N·m ± 4 %`, `10 to 12 mm`.
impl Display for Reading {
    fn fmt(&self, f: &mut Formatter<'_>) -> core::fmt::Result {
        let point = Decimal::Point;
        let value = |si: f64| print_exact(si, self.unit, point);
        match self.spread {
            Spread::None => write!(f, "{}", value(self.value_si)),
            Spread::PlusMinusShare(share) => {
                let percent = exact(share, share * 100.0, false, &|value| value / 100.0);
                write!(f, "{} ± {percent} %", value(self.value_si))
            }
            Spread::PlusMinusSi(half_si) => {
                let guess = self.unit.difference_from_si(half_si);
                let half = exact(half_si, guess, false, &|value| self.unit.difference_to_si(value));
                // A bare number takes the unit of the value.
                write!(f, "{} ± {half}", value(self.value_si))
            }
            Spread::Range { low_si, high_si } if self.value_si == low_si + (high_si - low_si) / 2.0 => {
                write!(f, "{} to {}", value(low_si), value(high_si))
            }
            Spread::Range { low_si, high_si } => {
                write!(f, "{} ({} to {})", value(self.value_si), value(low_si), value(high_si))
            }
        }
    }
}
