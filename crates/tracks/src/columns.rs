//! The columns file: which header of a table means what.

use std::collections::BTreeMap;

use quantity::units::fits;
use serde::Deserialize;

use crate::channel::Quantity;
use crate::error::{Error, Place};
use crate::unit::{Conversion, any_unit};

/// What a table's headers mean, where their words do not say it: read from a small TOML file.
///
/// ```toml
/// separator = ";"            # left out: found by looking at the file
/// decimal = "comma"          # or "point"; left out: found by looking at the file
///
/// [columns]
/// "Zeit" = { quantity = "time", unit = "ms" }
/// "I_bat" = { quantity = "battery current", unit = "A", scale = -1 }
/// "lever" = { quantity = "brake signal", unit = "1", scale = 0.3125, offset = -0.25 }
/// "I_q" = { quantity = "none" }
/// ```
///
/// `unit` is any unit of the quantity's kind; `scale` and `offset` are put on the number first: number · scale +
/// offset, in `unit`. The quantity `none` leaves a column out. Headers that are not listed are recognised by their
/// words. For times the unit may also be `unix s`, `unix ms` or `text` (date and time as ISO 8601 writes them).
#[derive(Clone, Debug, Default)]
pub struct Columns {
    pub(crate) separator: Option<u8>,
    pub(crate) decimal_comma: Option<bool>,
    named: BTreeMap<String, Meaning>,
}

/// What a column is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Meaning {
    Value(Quantity, Conversion),
    Time(TimeUnit),
    Date,
    None,
}

/// How a column writes time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum TimeUnit {
    /// Numbers since some moment: seconds per number.
    Relative(f64),
    /// Numbers since 1970: seconds per number.
    Unix(f64),
    /// Text: date and time, or time of day.
    Text,
    /// Not said: found by looking at the first value.
    Unknown,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    separator: Option<char>,
    decimal: Option<Decimal>,
    #[serde(default)]
    columns: BTreeMap<String, toml::Spanned<Entry>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Decimal {
    Comma,
    Point,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    quantity: String,
    unit: Option<String>,
    scale: Option<f64>,
    offset: Option<f64>,
}

impl Columns {
    /// Reads a columns file.
    ///
    /// # Errors
    /// The first thing wrong in it, with its line.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let line_of = |byte: usize| Place::Line(1 + text.bytes().take(byte).filter(|b| *b == b'\n').count() as u64);
        let file: File = toml::from_str(text).map_err(|error| {
            let place = error.span().map_or(Place::File, |span| line_of(span.start));
            Error::new(place, "columns-broken", &[("why", error.message())])
        })?;
        let separator = match file.separator {
            None => None,
            Some(mark) if mark.is_ascii() && !mark.is_ascii_alphanumeric() && !"\"\r\n.-+".contains(mark) => {
                Some(mark as u8)
            }
            Some(mark) => {
                return Err(Error::new(Place::File, "columns-separator", &[("name", &mark.to_string())]));
            }
        };
        let mut named = BTreeMap::new();
        for (header, entry) in &file.columns {
            let place = line_of(entry.span().start);
            let meaning = entry.get_ref().meaning(header, place)?;
            if named.insert(folded(header), meaning).is_some() {
                return Err(Error::new(place, "columns-twice", &[("name", header)]));
            }
        }
        Ok(Self { separator, decimal_comma: file.decimal.map(|d| matches!(d, Decimal::Comma)), named })
    }

    /// What a header means here, if it is listed.
    pub(crate) fn meaning(&self, header: &str) -> Option<Meaning> {
        self.named.get(&folded(header)).copied()
    }

    /// The listed headers, folded.
    pub(crate) fn headers(&self) -> impl Iterator<Item = &str> {
        self.named.keys().map(String::as_str)
    }
}

impl Entry {
    fn meaning(&self, header: &str, place: Place) -> Result<Meaning, Error> {
        let (scale, offset) = (self.scale.unwrap_or(1.0), self.offset.unwrap_or(0.0));
        if !(scale.is_finite() && scale != 0.0 && offset.is_finite()) {
            return Err(Error::new(place, "columns-scale", &[("name", header)]));
        }
        match self.quantity.trim() {
            "none" => return Ok(Meaning::None),
            "date" => return Ok(Meaning::Date),
            "time" => return self.time_unit(scale, place).map(Meaning::Time),
            _ => {}
        }
        let Some(quantity) = Quantity::named(&self.quantity) else {
            let names: Vec<_> = Quantity::all().map(Quantity::name).collect();
            let allowed = format!("time, date, none, {}", names.join(", "));
            return Err(Error::new(place, "columns-quantity", &[("name", &self.quantity), ("allowed", &allowed)]));
        };
        let allowed: Vec<_> = fits(quantity.kind()).iter().map(|s| if s.is_empty() { "1" } else { s }).collect();
        let allowed = ("allowed", allowed.join(", "));
        let allowed = (allowed.0, allowed.1.as_str());
        let Some(unit) = &self.unit else {
            return Err(Error::new(place, "columns-no-unit", &[("name", header), allowed]));
        };
        match any_unit(unit).and_then(|unit| Conversion::new(unit, quantity)) {
            Some(conversion) => Ok(Meaning::Value(quantity, conversion.with(scale, offset))),
            None => Err(Error::new(place, "columns-unit", &[("unit", unit), ("name", quantity.name()), allowed])),
        }
    }

    fn time_unit(&self, scale: f64, place: Place) -> Result<TimeUnit, Error> {
        Ok(match self.unit.as_deref().map(str::trim) {
            None => TimeUnit::Unknown,
            Some("text") => TimeUnit::Text,
            Some("unix s") => TimeUnit::Unix(1.0),
            Some("unix ms") => TimeUnit::Unix(1e-3),
            Some(unit) => match any_unit(unit).filter(|unit| unit.kinds.contains(&"time")) {
                Some(unit) => TimeUnit::Relative(unit.to_si(scale)),
                None => {
                    let allowed = fits("time").join(", ");
                    return Err(Error::new(place, "columns-time-unit", &[("unit", unit), ("allowed", &allowed)]));
                }
            },
        })
    }
}

/// Spaces around and capitals do not count.
pub(crate) fn folded(header: &str) -> String {
    header.trim().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_columns_file_is_read() {
        let columns = Columns::parse(
            "separator = \";\"\ndecimal = \"comma\"\n[columns]\n\"I_bat\" = { quantity = \"battery current\", unit = \"mA\", scale = -1 }\n",
        )
        .unwrap();
        assert_eq!(columns.separator, Some(b';'));
        assert_eq!(columns.decimal_comma, Some(true));
        let Some(Meaning::Value(Quantity::BatteryCurrent, conversion)) = columns.meaning(" i_BAT ") else { panic!() };
        assert_eq!(conversion.apply(1500.0), -1.5);
    }

    #[test]
    fn faults_say_where_and_what_next() {
        let fault = |text: &str| Columns::parse(text).unwrap_err();
        let error = fault("[columns]\n\n\"a\" = { quantity = \"sped\", unit = \"km/h\" }");
        assert_eq!(error.place, Place::Line(3));
        assert!(error.what.contains("sped") && error.next.contains("speed"), "{error}");
        let error = fault("[columns]\n\"a\" = { quantity = \"speed\", unit = \"kg\" }");
        assert!(error.what.contains("kg") && error.next.contains("km/h"), "{error}");
        let error = fault("[columns]\n\"a\" = { quantity = \"speed\" }");
        assert!(error.what.contains("has no unit") && error.next.contains("km/h"), "{error}");
        assert_eq!(fault("x\n= 3").place, Place::Line(1));
        assert!(fault("separator = \"x\"").what.contains("separate"));
        assert!(
            fault("[columns]\n\"a\" = { quantity = \"speed\", unit = \"m/s\", scale = 0 }")
                .next
                .contains("other than 0")
        );
    }
}
