//! Units people write, in one static table: symbol, other spellings, what they measure, and the exact factor to SI.
//!
//! A unit says more than a dimension: `N·m` is a torque and `J` an energy though both are kg·m²/s². What a unit
//! measures is its [kind](Unit::kinds), an English noun; one unit may measure several.
//!
//! Invariant: every number of the table is exact in an `f64`, except π and the horsepower (see [`Unit::to_si`]).

mod table;

use crate::Dimension;
use std::collections::HashMap;
use std::sync::OnceLock;

/// Which habit of measuring a unit, or a person, belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum System {
    /// Metric.
    Metric,
    /// Inch and pound.
    Imperial,
    /// Used in both.
    Both,
}

/// A unit people write.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// The spelling we print, such as `N·m`; empty for a pure number.
    pub symbol: &'static str,
    /// What it measures, such as `torque`; the usual meaning first. Never empty.
    pub kinds: &'static [&'static str],
    /// The physical dimension.
    pub dimension: Dimension,
    /// Where it is at home.
    pub system: System,
    /// Other spellings that are read.
    pub aliases: &'static [&'static str],
    // value_si = (value · num + offset) / den
    num: f64,
    den: f64,
    offset: f64,
}

impl Unit {
    const fn new(
        symbol: &'static str,
        kinds: &'static [&'static str],
        dimension: Dimension,
        factor: (f64, f64),
        system: System,
        aliases: &'static [&'static str],
    ) -> Self {
        Self { symbol, kinds, dimension, system, aliases, num: factor.0, den: factor.1, offset: 0.0 }
    }

    const fn zero_at(mut self, offset: f64) -> Self {
        self.offset = offset;
        self
    }

    /// The pure number.
    pub fn one() -> &'static Unit {
        &table::UNITS[0]
    }

    /// What it usually measures.
    pub fn kind(&self) -> &'static str {
        self.kinds[0]
    }

    /// Whether its zero is not that of the SI unit: °C and °F.
    pub fn is_offset(&self) -> bool {
        self.offset != 0.0
    }

    /// Whether readings in the two can be compared: same dimension and a kind in common.
    pub fn matches(&self, other: &Unit) -> bool {
        self.dimension == other.dimension && self.kinds.iter().any(|kind| other.kinds.contains(kind))
    }

    /// The value in the coherent SI unit (kelvin, radian): one multiplication, one addition where the unit has its own
    /// zero, and one division, with whole numbers that an `f64` holds exactly. Two factors are rounded to within half a
    /// unit in the last place: π in ° and rpm, and the horsepower, whose numerator needs 56 bits.
    pub fn to_si(&self, value: f64) -> f64 {
        let product = value * self.num;
        (if self.is_offset() { product + self.offset } else { product }) / self.den
    }

    /// A difference of two values in the coherent SI unit: 3 °C are 3 K.
    pub fn difference_to_si(&self, difference: f64) -> f64 {
        difference * self.num / self.den
    }

    /// The value in this unit of a value in SI.
    pub fn from_si(&self, value_si: f64) -> f64 {
        if self.is_offset() {
            return (value_si * self.den - self.offset) / self.num;
        }
        self.difference_from_si(value_si)
    }

    /// The difference in this unit of a difference in SI.
    pub fn difference_from_si(&self, difference_si: f64) -> f64 {
        let product = difference_si * self.den;
        if product.is_finite() { product / self.num } else { difference_si / self.num * self.den }
    }
}

/// All units, in order of preference within a kind.
pub fn units() -> &'static [Unit] {
    &table::UNITS
}

/// The unit written in `text`, in any of its spellings; `None` if there is no such unit, or no text.
///
/// Between the parts of a product `·`, `*`, `.`, `-` and a space are the same, as are `²`, `^2` and `2`, both
/// ohm signs, both micro signs and `u`. Capitals matter, as in `mΩ` and `MΩ`.
pub fn find_unit(text: &str) -> Option<&'static Unit> {
    static BY_KEY: OnceLock<HashMap<String, &'static Unit>> = OnceLock::new();
    let by_key = BY_KEY.get_or_init(|| {
        let spellings = |unit: &'static Unit| std::iter::once(&unit.symbol).chain(unit.aliases);
        let named = units().iter().filter(|unit| !unit.symbol.is_empty());
        named.flat_map(|unit| spellings(unit).map(move |spelling| (key(spelling), unit))).collect()
    });
    by_key.get(&key(text)).copied()
}

/// The unit whose spelling is nearest to `text`, for a hint; `None` where nothing is near.
pub fn nearest_unit(text: &str) -> Option<&'static Unit> {
    let wanted = key(text);
    if wanted.is_empty() || wanted.len() > 32 {
        return None;
    }
    let distances = units().iter().filter(|unit| !unit.symbol.is_empty()).map(|unit| {
        let spellings = std::iter::once(&unit.symbol).chain(unit.aliases);
        (spellings.map(|spelling| distance(&wanted, &key(spelling))).min().unwrap_or(usize::MAX), unit)
    });
    let (distance, unit) = distances.min_by_key(|(distance, _)| *distance)?;
    // A hint that replaces every letter is no hint.
    (distance <= 2 * wanted.chars().count().min(3) - 2 || distance <= 1).then_some(unit)
}

/// The symbols of all units that measure `kind`, the preferred one first; empty for a kind nobody measures.
pub fn fits(kind: &str) -> Vec<&'static str> {
    units().iter().filter(|unit| unit.kinds.contains(&kind)).map(|unit| unit.symbol).collect()
}

/// The unit in which somebody of that system reads `kind` first; where the system has none of its own, the one all
/// use. `None` for a kind nobody measures.
pub fn preferred_unit(kind: &str, system: System) -> Option<&'static Unit> {
    let fitting = || units().iter().filter(|unit| unit.kinds.contains(&kind));
    fitting().find(|unit| unit.system == system || unit.system == System::Both).or_else(|| fitting().next())
}

/// Folds the spellings of one unit into one text.
fn key(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    for c in text.trim().trim_end_matches('.').chars() {
        match c {
            '·' | '⋅' | '∙' | '•' | '*' | '.' | '-' | '‐' | '‑' => folded.push('·'),
            c if c.is_whitespace() => folded.push('·'),
            '\u{2126}' => folded.push('Ω'),
            '\u{b5}' | '\u{3bc}' => folded.push('u'),
            'º' | '˚' => folded.push('°'),
            '℃' => folded.push_str("°C"),
            '℉' => folded.push_str("°F"),
            '\u{212a}' => folded.push('K'),
            '⁄' | '∕' => folded.push('/'),
            '¹' => folded.push('1'),
            '²' => folded.push('2'),
            '³' => folded.push('3'),
            '^' => {}
            c => folded.push(c),
        }
    }
    let parts: Vec<&str> = folded.split('·').filter(|part| !part.is_empty()).collect();
    parts.join("·").replace("·per·", "/").replace("·/", "/").replace("/·", "/")
}

/// Twice the Levenshtein distance, where a change of case alone counts one.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).map(|i| 2 * i).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = 2 * (i + 1);
        for (j, &to) in b.iter().enumerate() {
            let change = match (from == to, from.eq_ignore_ascii_case(&to)) {
                (true, _) => 0,
                (_, true) => 1,
                _ => 2,
            };
            let next = (diagonal + change).min(row[j] + 2).min(row[j + 1] + 2);
            diagonal = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_is_of_one_unit() {
        for unit in units().iter().skip(1) {
            for spelling in std::iter::once(&unit.symbol).chain(unit.aliases) {
                assert_eq!(find_unit(spelling).map(|u| u.symbol), Some(unit.symbol), "spelling `{spelling}`");
            }
        }
    }

    #[test]
    fn no_spelling_stands_twice() {
        let mut seen = HashMap::new();
        for unit in units().iter().skip(1) {
            for spelling in std::iter::once(&unit.symbol).chain(unit.aliases) {
                let before = seen.insert(key(spelling), (unit.symbol, *spelling));
                assert_eq!(before, None, "`{spelling}` of {}", unit.symbol);
            }
        }
    }

    #[test]
    fn factors_are_whole_numbers_an_f64_holds() {
        // Above 2⁵³ only the one power of ten, 2¹⁶ · 5¹⁶.
        let exact = |x: f64| x.fract() == 0.0 && (1.0..=9_007_199_254_740_992.0).contains(&x) || x == 1e16;
        for unit in units() {
            let pi = core::f64::consts::PI;
            let rounded = unit.symbol == "hp" || unit.num == pi || unit.den == pi;
            assert!(rounded || exact(unit.num) && exact(unit.den), "{}: {} / {}", unit.symbol, unit.num, unit.den);
            assert_eq!(unit.offset.fract(), 0.0, "{}", unit.symbol);
        }
    }
}
