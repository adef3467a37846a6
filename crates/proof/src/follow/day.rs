//! Days of the calendar.

/// A day, counted from 1970-01-01.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(pub i64);

impl Day {
    /// From year, month and day; none if there is no such day (years 1900 to 2200).
    pub fn new(year: i64, month: i64, day: i64) -> Option<Self> {
        if !(1900..=2200).contains(&year) || !(1..=12).contains(&month) || day < 1 || day > month_length(year, month) {
            return None;
        }
        // Days from civil: the year begins in March, so that the leap day is its last.
        let y = if month <= 2 { year - 1 } else { year };
        let of_era = y.rem_euclid(400);
        let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
        Some(Self(y.div_euclid(400) * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468))
    }

    /// From `2026-03-05`.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.trim().split('-').map(|p| p.parse::<i64>().ok());
        let (y, m, d) = (parts.next()??, parts.next()??, parts.next()??);
        if parts.next().is_some() { None } else { Self::new(y, m, d) }
    }

    /// Of seconds since 1970-01-01 00:00.
    pub fn of_seconds(seconds: f64) -> Self {
        Self((seconds / 86_400.0).floor() as i64)
    }

    /// As `2026-03-05`.
    pub fn text(self) -> String {
        let z = self.0 + 719_468;
        let (era, of_era) = (z.div_euclid(146_097), z.rem_euclid(146_097));
        let y = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
        let of_year = of_era - (365 * y + y / 4 - y / 100);
        let m = (5 * of_year + 2) / 153;
        let (month, day) = (if m < 10 { m + 3 } else { m - 9 }, of_year - (153 * m + 2) / 5 + 1);
        format!("{:04}-{month:02}-{day:02}", y + era * 400 + i64::from(month <= 2))
    }
}

fn month_length(year: i64, month: i64) -> i64 {
    match month {
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_count_as_the_calendar_does() {
        for (text, day) in [("1970-01-01", 0), ("2000-02-29", 11_016), ("2026-03-05", 20_517), ("1999-12-31", 10_956)] {
            assert_eq!(Day::parse(text), Some(Day(day)), "{text}");
            assert_eq!(Day(day).text(), text);
        }
        for text in ["2026-02-29", "2026-13-01", "2026-3", "March 5", "2026-03-05-1"] {
            assert_eq!(Day::parse(text), None, "{text}");
        }
    }
}
