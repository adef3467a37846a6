//! Dates and times as files write them.

/// A time read from text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Moment {
    /// Seconds since 1970-01-01 00:00 UTC.
    Utc(f64),
    /// Seconds since 1970-01-01 00:00, zone not said.
    Local(f64),
    /// Seconds since midnight.
    OfDay(f64),
}

/// Days from 1970-01-01 to a date of the Gregorian calendar (Howard Hinnant, "chrono-compatible low-level date
/// algorithms", days_from_civil).
pub(crate) fn days(year: i64, month: i64, day: i64) -> Option<i64> {
    const LENGTHS: [i64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = LENGTHS.get(usize::try_from(month.checked_sub(1)?).ok()?)? + i64::from(leap && month == 2);
    if !(1..=length).contains(&day) || !(1900..=2200).contains(&year) {
        return None;
    }
    let shifted = if month <= 2 { year - 1 } else { year };
    let era = shifted.div_euclid(400);
    let year_of_era = shifted.rem_euclid(400);
    let day_of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    Some(era * 146_097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719_468)
}

/// Reads `2026-09-01T10:20:30.5Z` and its relatives: `/` or `.` in dates that begin with the year, a space or no
/// time at all, offsets `+02:00`, `+0200`, `+02`; `1.9.2026` (day first, only with points); `10:20:30.5`.
pub(crate) fn moment(text: &[u8]) -> Option<Moment> {
    let mut scan = Scan(text.trim_ascii());
    let first = scan.number()?;
    let Some(mark @ (b'-' | b'/' | b'.')) = scan.0.first().copied() else {
        return Some(Moment::OfDay(scan.rest_of_clock(first)?)).filter(|_| scan.0.is_empty());
    };
    scan.mark(mark)?;
    let second = scan.number()?;
    scan.mark(mark)?;
    let third = scan.number()?;
    let day = match (first, third) {
        (1900.., _) => days(first, second, third)?,
        (_, 1900..) if mark == b'.' => days(third, second, first)?,
        _ => return None,
    } as f64
        * 86_400.0;
    if scan.0.is_empty() {
        return Some(Moment::Local(day));
    }
    if scan.mark(b'T').or_else(|| scan.mark(b't')).is_none() {
        scan.mark(b' ')?;
        scan.0 = scan.0.trim_ascii_start();
    }
    let hour = scan.number()?;
    let of_day = scan.rest_of_clock(hour)?;
    scan.0 = scan.0.trim_ascii_start();
    let zone = scan.0.first().copied();
    match zone {
        None => Some(Moment::Local(day + of_day)),
        Some(b'Z' | b'z') => (scan.0.len() == 1).then_some(Moment::Utc(day + of_day)),
        Some(sign @ (b'+' | b'-')) => {
            scan.mark(sign)?;
            let digits = scan.0.iter().take_while(|b| b.is_ascii_digit()).count();
            let number = scan.number()?;
            let (hours, minutes) = match digits {
                4 => (number / 100, number % 100),
                _ if scan.mark(b':').is_some() => (number, scan.number()?),
                _ => (number, 0),
            };
            let fits = scan.0.is_empty() && hours <= 15 && minutes < 60;
            let offset = (hours * 3_600 + minutes * 60) as f64 * if sign == b'-' { -1.0 } else { 1.0 };
            fits.then_some(Moment::Utc(day + of_day - offset))
        }
        Some(_) => None,
    }
}

struct Scan<'a>(&'a [u8]);

impl Scan<'_> {
    fn mark(&mut self, mark: u8) -> Option<()> {
        self.0 = self.0.strip_prefix(&[mark])?;
        Some(())
    }

    /// Up to nine digits.
    fn number(&mut self) -> Option<i64> {
        let mut value = 0;
        let mut digits = 0;
        while let Some(digit) = self.0.get(digits).filter(|b| b.is_ascii_digit()) {
            value = value * 10 + i64::from(digit - b'0');
            digits += 1;
            if digits > 9 {
                return None;
            }
        }
        self.0 = &self.0[digits..];
        (digits > 0).then_some(value)
    }

    /// Minutes, seconds and their fraction after an hour, in seconds since midnight.
    fn rest_of_clock(&mut self, hour: i64) -> Option<f64> {
        self.mark(b':')?;
        let minute = self.number()?;
        let mut second = 0;
        let mut fraction = 0.0;
        if self.mark(b':').is_some() {
            second = self.number()?;
            if self.mark(b'.').or_else(|| self.mark(b',')).is_some() {
                let digits = self.0.iter().take_while(|b| b.is_ascii_digit()).count();
                if digits == 0 {
                    return None;
                }
                // Beyond nanoseconds nothing is measured.
                let kept = digits.min(9);
                let mut short = Scan(&self.0[..kept]);
                const POWERS: [f64; 10] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
                fraction = short.number()? as f64 / POWERS[kept];
                self.0 = &self.0[digits..];
            }
        }
        // A leap second is the next one.
        let fits = (0..=24).contains(&hour) && minute < 60 && second <= 60;
        fits.then_some((hour * 3_600 + minute * 60 + second) as f64 + fraction)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_times_are_read() {
        // 2026-09-01 00:00 UTC is 1 788 220 800 (date -u -d 2026-09-01 +%s).
        let day = 1_788_220_800.0;
        let read = |text: &str| moment(text.as_bytes());
        assert_eq!(read("1970-01-01T00:00:00Z"), Some(Moment::Utc(0.0)));
        assert_eq!(read("2026-09-01T00:00:01.25Z"), Some(Moment::Utc(day + 1.25)));
        assert_eq!(read("2026-09-01T02:00:00+02:00"), Some(Moment::Utc(day)));
        assert_eq!(read("2026-09-01 02:00:00 +0200"), Some(Moment::Utc(day)));
        assert_eq!(read("2026-08-31T19:30:00-04:30"), Some(Moment::Utc(day)));
        assert_eq!(read(" 2026/09/01 00:00 "), Some(Moment::Local(day)));
        assert_eq!(read("01.09.2026 00:00:07,5"), Some(Moment::Local(day + 7.5)));
        assert_eq!(read("1.9.2026"), Some(Moment::Local(day)));
        assert_eq!(read("2024-02-29"), Some(Moment::Local(1_709_164_800.0)));
        assert_eq!(read("12:34:56.789"), Some(Moment::OfDay(45_296.789)));
        for wrong in [
            "",
            "12",
            "2026-02-29",
            "2026-13-01",
            "01/02/2026",
            "2026-09-01T",
            "2026-09-01T25:00:00Z",
            "1:2x",
            "2026-09-01T00:00:00Zx",
            "99999999999-1-1",
            "1:60",
        ] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }
}
