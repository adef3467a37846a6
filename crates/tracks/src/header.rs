//! What a header says by its words and its unit.

use quantity::units::{Unit, fits};

use crate::channel::Quantity;
use crate::columns::{Meaning, TimeUnit};
use crate::error::{Notes, Place};
use crate::unit::{Conversion, any_unit, header_unit};

/// What could be made of a header.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Guess {
    /// Quantity and unit are said.
    Known(Meaning),
    /// The quantity is said, its unit is not, or is one of something else.
    NoUnit(Quantity),
    /// It can be one of several quantities.
    Ambiguous(&'static [Quantity]),
    /// Nothing.
    Unknown,
}

impl Guess {
    /// Notes why a column is left out, with the line of a columns file that would take it in.
    pub fn note(&self, name: &str, place: Place, notes: &mut Notes) {
        let (key, choices): (_, &[Quantity]) = match self {
            Self::Known(_) => return,
            Self::NoUnit(quantity) => ("column-without-unit", &[*quantity]),
            Self::Ambiguous(choices) => ("column-ambiguous", choices),
            Self::Unknown => return notes.add(place, "column-unknown", name),
        };
        let names: Vec<&str> = choices.iter().map(|quantity| quantity.name()).collect();
        let first = choices[0];
        let unit = fits(first.kind()).into_iter().find(|unit| !unit.is_empty()).unwrap_or("1");
        let line = format!("\"{name}\" = {{ quantity = \"{}\", unit = \"{unit}\" }}", first.name());
        notes.add_with(place, key, name, &[("choices", &names.join(", ")), ("line", &line)]);
    }
}

/// Words of a header that make it one of something else: a value that is not measured at that moment.
const NOT_MEASURED: &[&str] =
    &["max", "min", "maximum", "minimum", "avg", "average", "mean", "limit", "target", "set", "setpoint", "wanted"];

/// Reads a header such as `Speed (km/h)`, `battery_current_a` or `Height [m]`; `unit_below` is what stands under it if
/// the table has a row of units.
pub(crate) fn guess(header: &str, unit_below: Option<&str>) -> Guess {
    let (name, unit) = split_unit(header);
    let unit = unit_below.and_then(any_unit).or(unit);
    let name = name.to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
    if has(NOT_MEASURED) {
        return Guess::Unknown;
    }
    let measured = |kind: &str| unit.is_some_and(|unit| unit.kinds.contains(&kind));
    if has(&["time", "timestamp", "datetime", "elapsed", "t", "uptime", "clock"])
        || (words.is_empty() && measured("time"))
    {
        return match unit {
            Some(unit) if unit.kinds.contains(&"time") => {
                Guess::Known(Meaning::Time(TimeUnit::Relative(unit.to_si(1.0))))
            }
            _ => Guess::Known(Meaning::Time(TimeUnit::Unknown)),
        };
    }
    if words == ["date"] {
        return Guess::Known(Meaning::Date);
    }
    let battery = has(&["battery", "bat", "batt", "bus", "input", "dc", "pack", "supply"]);
    let motor = has(&["motor", "hub", "wheel", "rotor", "winding"]);
    let rider = has(&["rider", "human", "pedal", "pedals", "crank", "cyclist", "leg", "legs"]);
    let controller = has(&["controller", "fet", "fets", "mosfet", "mosfets", "inverter", "esc"]);
    let quantity = if has(&["latitude", "lat"]) {
        Quantity::Latitude
    } else if has(&["longitude", "lon", "lng", "long"]) {
        Quantity::Longitude
    } else if has(&["height", "altitude", "alt", "elevation", "ele", "elev"]) {
        Quantity::Height
    } else if has(&["distance", "dist", "odometer", "odo", "trip"]) {
        Quantity::Distance
    } else if has(&["brake", "braking"]) {
        Quantity::BrakeSignal
    } else if has(&["throttle", "accelerator"]) {
        Quantity::ThrottleSignal
    } else if has(&["soc"])
        || name.contains("charge level")
        || name.contains("state of charge")
        || name.contains("charge_level")
    {
        Quantity::ChargeLevel
    } else if has(&["cadence"]) || (rider && measured("angular speed")) {
        Quantity::Cadence
    } else if has(&["speed", "velocity"]) && (measured("angular speed") || !measured("speed") && motor) {
        Quantity::MotorSpeed
    } else if has(&["speed", "velocity"]) {
        Quantity::Speed
    } else if measured("angular speed") && motor {
        Quantity::MotorSpeed
    } else if has(&["temperature", "temp"]) {
        match (motor, controller, battery || has(&["cell", "cells"]), has(&["air", "ambient", "outside"])) {
            (true, false, false, false) => Quantity::MotorTemperature,
            (false, true, false, false) => Quantity::ControllerTemperature,
            (false, false, true, false) => Quantity::BatteryTemperature,
            (false, false, false, true) => Quantity::AirTemperature,
            _ => {
                return Guess::Ambiguous(&[
                    Quantity::MotorTemperature,
                    Quantity::ControllerTemperature,
                    Quantity::BatteryTemperature,
                    Quantity::AirTemperature,
                ]);
            }
        }
    } else if has(&["cell", "cells"]) {
        return Guess::Unknown;
    } else if has(&["voltage", "volts"]) || (measured("voltage") && battery) {
        match motor || has(&["phase", "charger", "sensor", "signal"]) {
            true => return Guess::Unknown,
            false => Quantity::BusVoltage,
        }
    } else if has(&["current", "amps", "amperes"]) || measured("current") {
        match (battery, has(&["phase"]) || motor) {
            (true, false) => Quantity::BatteryCurrent,
            (false, true) => Quantity::PhaseCurrent,
            _ => return Guess::Ambiguous(&[Quantity::BatteryCurrent, Quantity::PhaseCurrent]),
        }
    } else if has(&["power", "watts"]) || measured("power") {
        match (battery || has(&["electric", "electrical"]), motor || has(&["mechanical"]), rider) {
            (true, false, false) => Quantity::BatteryPower,
            (false, true, false) => Quantity::MotorPower,
            (false, false, true) => Quantity::RiderPower,
            _ => return Guess::Ambiguous(&[Quantity::RiderPower, Quantity::MotorPower, Quantity::BatteryPower]),
        }
    } else if has(&["torque"]) {
        match (rider, motor) {
            (true, false) => Quantity::RiderTorque,
            (false, true) => Quantity::MotorTorque,
            _ => return Guess::Ambiguous(&[Quantity::MotorTorque, Quantity::RiderTorque]),
        }
    } else {
        return Guess::Unknown;
    };
    // Positions are in degrees everywhere, and a bare signal is a share or a switch.
    let bare = match quantity {
        Quantity::Latitude | Quantity::Longitude => quantity::units::find_unit("°"),
        Quantity::BrakeSignal | Quantity::ThrottleSignal => Some(Unit::one()),
        _ => None,
    };
    match unit.or(bare).and_then(|unit| Conversion::new(unit, quantity)) {
        Some(conversion) => Guess::Known(Meaning::Value(quantity, conversion)),
        None => Guess::NoUnit(quantity),
    }
}

/// The words of a header, and its unit if it ends in one.
fn split_unit(header: &str) -> (&str, Option<&'static Unit>) {
    let header = header.trim().trim_start_matches('\u{feff}');
    for (open, close) in [('(', ')'), ('[', ']'), ('<', '>'), ('{', '}')] {
        if let Some(inside) = header.strip_suffix(close)
            && let Some((name, unit)) = inside.rsplit_once(open)
            && let Some(unit) = any_unit(unit)
        {
            return (name, Some(unit));
        }
    }
    // `speed_km_h`, `Speed km/h`, `Speed, km/h`: the longest ending that is a unit.
    let marks: Vec<usize> =
        header.char_indices().filter(|(_, c)| matches!(c, ' ' | '_' | ',' | '/')).map(|(i, _)| i).collect();
    for at in marks.iter().rev().take(3).rev() {
        let (name, unit) = (&header[..*at], header[*at..].trim_matches([' ', '_', ',', '/']));
        let unit = if unit.is_empty() { None } else { quantity::units::find_unit(unit).or_else(|| header_unit(unit)) };
        if unit.is_some() {
            return (name, unit);
        }
    }
    // `seconds`, `millis`
    match header_unit(header).filter(|unit| header.len() > 2 && unit.kinds.contains(&"time")) {
        Some(unit) => ("", Some(unit)),
        None => (header, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_units_are_recognised() {
        let value = |header: &str| match guess(header, None) {
            Guess::Known(Meaning::Value(quantity, conversion)) => (quantity, conversion.apply(36.0)),
            other => panic!("{header}: {other:?}"),
        };
        assert_eq!(value("Speed (km/h)"), (Quantity::Speed, 10.0));
        assert_eq!(value("speed_km_h"), (Quantity::Speed, 10.0));
        assert_eq!(value("speed_kmh"), (Quantity::Speed, 10.0));
        assert_eq!(value("GPS speed [m/s]"), (Quantity::Speed, 36.0));
        assert_eq!(value("Speed km/h"), (Quantity::Speed, 10.0));
        assert_eq!(value("battery_current_a"), (Quantity::BatteryCurrent, 36.0));
        assert_eq!(value("Phase current [A]"), (Quantity::PhaseCurrent, 36.0));
        assert_eq!(value("Motor current (A)"), (Quantity::PhaseCurrent, 36.0));
        assert_eq!(value("bus voltage, V"), (Quantity::BusVoltage, 36.0));
        assert_eq!(value("Motor temp (°C)"), (Quantity::MotorTemperature, 36.0));
        assert_eq!(value("controller_temp_c"), (Quantity::ControllerTemperature, 36.0));
        assert_eq!(value("Height [m]"), (Quantity::Height, 36.0));
        assert_eq!(value("Distance (km)"), (Quantity::Distance, 36_000.0));
        assert_eq!(value("brake %"), (Quantity::BrakeSignal, 0.36));
        assert_eq!(value("motor_torque_nm"), (Quantity::MotorTorque, 36.0));
        assert_eq!(value("lat"), (Quantity::Latitude, 36.0));
        assert_eq!(value("wheel rpm"), (Quantity::MotorSpeed, 36.0));
        assert_eq!(value("cadence rpm"), (Quantity::Cadence, 36.0));
        assert_eq!(value("rider_power_w"), (Quantity::RiderPower, 36.0));
        assert_eq!(value("SOC (%)"), (Quantity::ChargeLevel, 0.36));
    }

    #[test]
    fn nothing_is_guessed() {
        assert_eq!(guess("speed", None), Guess::NoUnit(Quantity::Speed));
        assert_eq!(guess("speed (V)", None), Guess::NoUnit(Quantity::Speed));
        assert!(matches!(guess("current (A)", None), Guess::Ambiguous(_)));
        assert!(matches!(guess("temperature (°C)", None), Guess::Ambiguous(_)));
        assert!(matches!(guess("power (W)", None), Guess::Ambiguous(_)));
        assert_eq!(guess("max speed (km/h)", None), Guess::Unknown);
        assert_eq!(guess("cell voltage 1 (V)", None), Guess::Unknown);
        assert_eq!(guess("", None), Guess::Unknown);
        assert_eq!(guess("(", None), Guess::Unknown);
        assert!(matches!(guess("speed", Some("km/h")), Guess::Known(_)));
        assert_eq!(guess("time_ms", None), Guess::Known(Meaning::Time(TimeUnit::Relative(1e-3))));
        assert_eq!(guess("timestamp", None), Guess::Known(Meaning::Time(TimeUnit::Unknown)));
        assert_eq!(guess("millis", None), Guess::Known(Meaning::Time(TimeUnit::Relative(1e-3))));
    }
}
