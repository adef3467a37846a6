//! One decimal number at the start of a text.

use super::{Decimal, Problem, Span, TextError};

pub(super) struct Number {
    pub value: f64,
    pub span: Span,
}

/// Whether a number begins here.
pub(super) fn starts_number(text: &str) -> bool {
    let unsigned = text.strip_prefix(['+', '-', '−']).unwrap_or(text);
    let digits = unsigned.strip_prefix(['.', ',']).unwrap_or(unsigned);
    digits.starts_with(|c: char| c.is_ascii_digit())
}

fn is_group_mark(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\'' | '’')
}

/// Reads the number at the start of `within`.
pub(super) fn read_number(text: &str, within: Span, decimal: Decimal) -> Result<Number, TextError> {
    let rest = within.of(text);
    let span_to = |len: usize| Span { start: within.start, end: within.start + len };
    let fail = |len: usize, problem: Problem| Err(TextError::new(text, span_to(len), problem));
    let word = |from: &str| from.len() - from.trim_start_matches(|c: char| !c.is_whitespace()).len();
    if !starts_number(rest) {
        let unsigned = rest.strip_prefix(['+', '-', '−']).unwrap_or(rest);
        let name = unsigned[..word(unsigned)].to_lowercase();
        let endless = unsigned.starts_with('∞') || matches!(name.as_str(), "nan" | "inf" | "infinity");
        return fail(word(rest), if endless { Problem::NotFinite } else { Problem::NotANumber });
    }
    let mut scan = Scan { rest, at: 0, plain: String::new() };
    match scan.peek() {
        Some('-' | '−') => scan.take('-'),
        Some('+') => scan.skip(),
        _ => {}
    }
    let mut grouped = true;
    let whole = scan.digit_groups();
    grouped &= is_well_grouped(&whole, false);
    let mark = scan.decimal_mark();
    let mut fraction = Vec::new();
    if let Some(mark) = mark {
        scan.skip();
        scan.plain.push('.');
        fraction = scan.digit_groups();
        grouped &= is_well_grouped(&fraction, true);
        // A second mark, as in `1.234.567` or `1,234.5`.
        if scan.decimal_mark().is_some() {
            let len = scan.at + scan.rest[scan.at..].len()
                - scan.rest[scan.at..].trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == ',').len();
            return fail(len, if mark == ',' { Problem::AmbiguousComma } else { Problem::AmbiguousPoint });
        }
    }
    scan.exponent();
    let len = scan.at;
    if !grouped {
        return fail(len, Problem::BadGrouping);
    }
    match (mark, decimal) {
        (Some(','), Decimal::Point) => return fail(len, Problem::AmbiguousComma),
        (Some('.'), Decimal::Comma) => {
            let could_be_thousands =
                fraction.len() == 1 && fraction[0] == 3 && whole.len() == 1 && (1..=3).contains(&whole[0]);
            let digits = rest.trim_start_matches(['+', '-', '−']);
            if could_be_thousands && !digits.starts_with('0') {
                return fail(len, Problem::AmbiguousPoint);
            }
        }
        _ => {}
    }
    // A grouped number does not start with zero; `0 123` is a slip of some kind.
    if whole.len() > 1 && rest.trim_start_matches(['+', '-', '−']).starts_with('0') {
        return fail(len, Problem::BadGrouping);
    }
    let Ok(value) = scan.plain.parse::<f64>() else { return fail(len, Problem::NotANumber) };
    let mantissa = scan.plain.split('e').next().unwrap_or_default();
    let vanished = value == 0.0 && mantissa.contains(|c: char| ('1'..='9').contains(&c));
    if !value.is_finite() || vanished {
        return fail(len, Problem::NotFinite);
    }
    Ok(Number { value, span: span_to(len) })
}

/// Groups of three; before the mark the first, after it the last may be shorter.
fn is_well_grouped(groups: &[usize], after_mark: bool) -> bool {
    let Some(last) = groups.len().checked_sub(1) else { return true };
    let short = if after_mark { last } else { 0 };
    last == 0 || groups.iter().enumerate().all(|(i, &len)| if i == short { (1..=3).contains(&len) } else { len == 3 })
}

struct Scan<'a> {
    rest: &'a str,
    at: usize,
    plain: String,
}

impl Scan<'_> {
    fn peek(&self) -> Option<char> {
        self.rest[self.at..].chars().next()
    }

    fn skip(&mut self) {
        self.at += self.peek().map_or(0, char::len_utf8);
    }

    fn take(&mut self, as_char: char) {
        self.plain.push(as_char);
        self.skip();
    }

    fn digits(&mut self) -> usize {
        let before = self.at;
        while let Some(digit) = self.peek().filter(char::is_ascii_digit) {
            self.take(digit);
        }
        self.at - before
    }

    /// Lengths of the groups of digits. A group mark counts only before a digit, and not before a unit `1/…`.
    fn digit_groups(&mut self) -> Vec<usize> {
        let mut groups = Vec::new();
        loop {
            let len = self.digits();
            if len > 0 {
                groups.push(len);
            }
            let mut ahead = self.rest[self.at..].chars();
            let marked = len > 0 && ahead.next().is_some_and(is_group_mark);
            let next = ahead.as_str();
            if !marked || !next.starts_with(|c: char| c.is_ascii_digit()) || next.starts_with("1/") {
                return groups;
            }
            self.skip();
        }
    }

    /// A point or comma that belongs to the number: not the first of `..`, not one without a digit beside it.
    fn decimal_mark(&self) -> Option<char> {
        let mark = self.peek().filter(|c| matches!(c, '.' | ','))?;
        self.rest[self.at + 1..].starts_with(|c: char| c.is_ascii_digit()).then_some(mark)
    }

    fn exponent(&mut self) {
        let Some(after) = self.rest[self.at..].strip_prefix(['e', 'E']) else { return };
        let digits = after.strip_prefix(['+', '-', '−']).unwrap_or(after);
        if !digits.starts_with(|c: char| c.is_ascii_digit()) {
            return;
        }
        self.take('e');
        match self.peek() {
            Some('-' | '−') => self.take('-'),
            Some('+') => self.skip(),
            _ => {}
        }
        self.digits();
    }
}
