//! From the unit of a file to the one a quantity is held in.

use quantity::units::{Unit, find_unit};

use crate::channel::Quantity;

/// The way from a number of the file to the value kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Conversion {
    /// Between two units; `None` where they are the same, or the second is the coherent one.
    units: Option<(&'static Unit, Option<&'static Unit>)>,
    /// Whether scale and offset are one and zero.
    plain: bool,
    scale: f64,
    offset: f64,
}

impl Conversion {
    pub const SAME: Self = Self { units: None, plain: true, scale: 1.0, offset: 0.0 };

    /// From a unit to that of the quantity; `None` if it measures something else.
    pub fn new(from: &'static Unit, quantity: Quantity) -> Option<Self> {
        if !from.kinds.contains(&quantity.kind()) {
            return None;
        }
        let to = find_unit(quantity.unit()).unwrap_or(Unit::one());
        let coherent = to.to_si(1.0) == 1.0 && !to.is_offset();
        let to_other = (!coherent).then_some(to);
        Some(Self { units: (from != to).then_some((from, to_other)), ..Self::SAME })
    }

    /// The same, with a scale and an offset put on the number of the file before it has its unit.
    pub fn with(self, scale: f64, offset: f64) -> Self {
        Self { plain: scale == 1.0 && offset == 0.0, scale, offset, ..self }
    }

    #[inline]
    pub fn apply(&self, value: f64) -> f64 {
        let value = if self.plain { value } else { value * self.scale + self.offset };
        match self.units {
            None => value,
            Some((from, None)) => from.to_si(value),
            Some((from, Some(to))) => to.from_si(from.to_si(value)),
        }
    }
}

/// The unit a header ends in when its parts are joined by underscores: `km_h`, `deg_c`. Capitals do not count.
pub(crate) fn header_unit(text: &str) -> Option<&'static Unit> {
    let symbol = match text.to_lowercase().as_str() {
        "m" | "metres" | "meters" => "m",
        "km" => "km",
        "ft" | "feet" => "ft",
        "mi" | "miles" => "mi",
        "km_h" | "kmh" | "kph" | "kmph" => "km/h",
        "m_s" | "mps" => "m/s",
        "mph" | "mi_h" => "mph",
        "v" | "volt" | "volts" => "V",
        "mv" => "mV",
        "a" | "amp" | "amps" => "A",
        "ma" => "mA",
        "w" | "watt" | "watts" => "W",
        "kw" => "kW",
        "nm" | "n_m" => "N·m",
        "c" | "degc" | "deg_c" | "celsius" => "°C",
        "f" | "degf" | "deg_f" | "fahrenheit" => "°F",
        "k" | "kelvin" => "K",
        "rpm" | "1_min" => "rpm",
        "pct" | "percent" | "%" => "%",
        "deg" | "degrees" => "°",
        "s" | "sec" | "seconds" => "s",
        "ms" | "millis" | "milliseconds" => "ms",
        "us" | "micros" | "microseconds" => "µs",
        "min" | "minutes" => "min",
        "h" | "hours" => "h",
        "1" | "ratio" | "share" => return Some(Unit::one()),
        _ => return None,
    };
    find_unit(symbol)
}

/// A unit written in brackets or in a columns file: as people write it, or as headers do.
pub(crate) fn any_unit(text: &str) -> Option<&'static Unit> {
    let text = text.trim();
    if text.is_empty() || text == "-" {
        return Some(Unit::one());
    }
    find_unit(text).or_else(|| header_unit(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_converted() {
        let convert = |unit: &str, quantity| Conversion::new(any_unit(unit).unwrap(), quantity).map(|c| c.apply(36.0));
        assert_eq!(convert("km/h", Quantity::Speed), Some(10.0));
        assert_eq!(convert("kmh", Quantity::Speed), Some(10.0));
        assert_eq!(convert("%", Quantity::ChargeLevel), Some(0.36));
        assert_eq!(convert("°C", Quantity::MotorTemperature), Some(36.0));
        assert_eq!(convert("rpm", Quantity::Cadence), Some(36.0));
        assert_eq!(convert("km", Quantity::Speed), None);
        let fahrenheit = convert("°F", Quantity::MotorTemperature).unwrap();
        assert!((fahrenheit - 20.0 / 9.0).abs() < 1e-12, "{fahrenheit}");
    }
}
