//! As-fitted facts: a measured value as the text of a job file.

use quantity::units::find_unit;
use workbench::fact::{self, FactDef, FactId, Origin, Shape, Spreads};
use workbench::job::Job;

/// A fact to be put into a job file.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Full identifier: `motor.flux_linkage`.
    pub id: String,
    /// The text: `21.5 mWb ± 0.3 mWb, measured`.
    pub text: String,
}

/// Writes value and half of its 95 % interval (both SI) in the unit of the fact; the doubt to two figures, the value to
/// the same place.
pub fn fitted(id: FactId, value_si: f64, half_si: f64, tool: Option<&str>) -> Fitted {
    let (def, name) = fact::describe(id);
    let unit = match def.shape {
        Shape::Quantity { unit, .. } => unit,
        _ => "",
    };
    let (value, half) =
        find_unit(unit).map_or((value_si, half_si), |u| (u.from_si(value_si), u.difference_from_si(half_si)));
    let places = decimals(if half > 0.0 { half.max(value.abs() * 1e-5) } else { value.abs() * 1e-2 });
    let tool = tool.map_or(String::new(), |t| format!(" with {t}"));
    let number = |x: f64| {
        let text = format!("{x:.places$}");
        if unit.is_empty() { text } else { format!("{text} {unit}") }
    };
    let said = if half <= 0.0 {
        number(value)
    } else if near_an_end(def, value, half) {
        // Written as ±, some draws would lie outside of what is possible.
        let (low, high) = ends(def);
        let (a, b) = ((value - half).max(low), (value + half).min(high));
        format!("{a:.places$} to {}", number(b))
    } else {
        format!("{} ± {}", number(value), number(half))
    };
    Fitted { id: name, text: format!("{said}, measured{tool}") }
}

/// Whether a half of a 95 % interval (SI) is narrower than what the job knows of that fact.
pub fn knows_better(job: &Job, id: FactId, half_si: f64) -> bool {
    job.fact(id).is_none_or(|f| {
        let known = 1.96 * crate::bench::deviation(f.value, f.spread);
        // Without a doubt of its own, a measured or read value stands.
        half_si < known || (known == 0.0 && f.origin == Origin::Assumed)
    })
}

fn ends(def: &FactDef) -> (f64, f64) {
    match def.shape {
        Shape::Quantity { low, high, .. } => (low, high),
        _ => (f64::NEG_INFINITY, f64::INFINITY),
    }
}

/// Whether a normal spread would reach beyond the allowed range within four deviations.
fn near_an_end(def: &FactDef, value: f64, half: f64) -> bool {
    let (low, high) = ends(def);
    let reach = 4.0 / 1.96 * half;
    def.doubt == Spreads::Normal && (value - reach < low || value + reach > high)
}

/// `37.8 ± 2.5`: the doubt to two figures, the value to the same place; without a doubt three figures of the value.
pub fn with_doubt(value: f64, half: f64) -> String {
    if half > 0.0 && half.is_finite() {
        let places = decimals(half);
        format!("{value:.places$} ± {half:.places$}")
    } else {
        let places = decimals(value.abs() * 1e-1);
        let text = format!("{value:.places$}");
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
    }
}

/// Decimals that show two figures of a doubt.
fn decimals(half: f64) -> usize {
    if half <= 0.0 || !half.is_finite() {
        return 4;
    }
    let first = libm::floor(libm::log10(half));
    (1.0 - first).clamp(0.0, 9.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use workbench::fact::list;

    #[test]
    fn a_doubt_has_two_figures_and_the_value_ends_with_it() {
        let f = fitted(list::FLUX.id(), 0.021_512_3, 0.000_213, None);
        assert_eq!((f.id.as_str(), f.text.as_str()), ("motor.flux_linkage", "21.51 mWb ± 0.21 mWb, measured"));
        let f = fitted(list::HOLD_TEST.id(), 70.4, 0.0, Some("S1"));
        assert_eq!(f.text, "70.40 N·m, measured with S1");
        let f = fitted(list::DROOP.id(), 0.000_39, 0.000_25, None);
        assert_eq!(f.text, "0.00014 to 0.00064 1/A, measured");
        assert_eq!(with_doubt(37.83, 2.51), "37.8 ± 2.5");
        assert_eq!(with_doubt(0.00681, 0.00163), "0.0068 ± 0.0016");
        assert_eq!(with_doubt(1234.5, 321.0), "1234 ± 321");
        assert_eq!((with_doubt(11.0, 0.0), with_doubt(0.0, 0.0)), ("11".to_owned(), "0".to_owned()));
        let f = fitted(list::ROLLING.id(), 0.0075, 0.0009, None);
        assert_eq!(f.text, "0.00750 ± 0.00090, measured");
    }
}
