//! What a ride can be asked with besides the job: rider, air, charge, traffic. One list; the command line and the page
//! take it from here.

use super::bike::{DRY_GRIP, Rider, Weather};
use super::course::{Stop, Wishes, traffic};
use crate::fact::list;
use crate::job::Job;
use quantity::text::{self, Decimal, TextError};
use quantity::units::find_unit;
use quantity::*;

/// One thing that can be said about a ride.
pub struct Choice {
    /// Its name.
    pub name: &'static str,
    /// Unit of the range, empty for a pure number.
    pub unit: &'static str,
    /// Smallest.
    pub low: f64,
    /// Largest.
    pub high: f64,
    /// What holds if nothing is said; empty where the job says it.
    pub default: &'static str,
}

macro_rules! options {
    ($( $name:literal, $unit:literal, $low:literal, $high:literal, $default:literal; )+) => {
        /// All.
        pub const OPTIONS: &[Choice] =
            &[ $( Choice { name: $name, unit: $unit, low: $low, high: $high, default: $default } ),+ ];
    };
}

options! {
    "rider-power", "W", 0.0, 600.0, "90 W";
    "cadence", "rpm", 30.0, 120.0, "62 rpm";
    "assist", "", 0.0, 8.0, "1.5";
    "cruise", "km/h", 5.0, 45.0, "22 km/h";
    "downhill", "km/h", 5.0, 90.0, "";
    "air", "°C", -20.0, 45.0, "20 °C";
    "wind", "km/h", -50.0, 50.0, "0 km/h";
    "grip", "", 0.05, 1.2, "0.7";
    "charge", "%", 5.0, 100.0, "";
    "stops-per-km", "", 0.0, 20.0, "0";
    "wait", "s", 0.0, 600.0, "15 s";
}

/// What is wrong with one.
#[derive(Clone, Debug, PartialEq)]
pub enum OptionError {
    /// There is none of that name.
    Unknown(String),
    /// Number or unit cannot be read.
    Text(&'static str, TextError),
    /// Out of range; the option tells it.
    Range(&'static str, f64),
}

/// What was said, or the defaults; SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    values: Vec<Option<f64>>,
}

impl Options {
    /// From pairs of name and text.
    ///
    /// # Errors
    /// Everything that is wrong.
    pub fn read(said: &[(&str, &str)]) -> Result<Self, Vec<OptionError>> {
        let mut errors = Vec::new();
        let mut values: Vec<Option<f64>> = Vec::new();
        for o in OPTIONS {
            values.push(if o.default.is_empty() { None } else { value(o, o.default).ok() });
        }
        for (name, text) in said {
            match OPTIONS.iter().position(|o| o.name == *name) {
                None => errors.push(OptionError::Unknown((*name).to_owned())),
                Some(i) => match value(&OPTIONS[i], text) {
                    Ok(v) => values[i] = Some(v),
                    Err(e) => errors.push(e),
                },
            }
        }
        if errors.is_empty() { Ok(Self { values }) } else { Err(errors) }
    }

    /// A value in SI, if it was said or has a default.
    pub fn si(&self, name: &str) -> Option<f64> {
        OPTIONS.iter().position(|o| o.name == name).and_then(|i| self.values[i])
    }

    fn or(&self, name: &str, otherwise: f64) -> f64 {
        self.si(name).unwrap_or(otherwise)
    }

    /// The rider, with the assist limit of the job's vehicle class.
    pub fn rider(&self, job: &Job) -> Rider {
        let until_kmh = match job.answer(list::VEHICLE_CLASS.id()) {
            Some("pedal-assist-45") => 45.0,
            _ => 25.0,
        };
        Rider {
            power_w: self.or("rider-power", 90.0),
            cadence_rpm: CrankSpeed::radians_per_second(self.or("cadence", 6.5)).as_revolutions_per_minute(),
            assist: self.or("assist", 1.5),
            assist_until_m_s: until_kmh / 3.6,
            ..Rider::EVERYDAY
        }
    }

    /// Cruising speed.
    pub fn cruise(&self) -> Speed {
        Speed::metres_per_second(self.or("cruise", 6.0))
    }

    /// Speed downhill: as said, else the job's.
    pub fn downhill(&self, job: &Job) -> Option<Speed> {
        self.si("downhill").map(Speed::metres_per_second).or_else(|| job.get(list::DOWNHILL_SPEED))
    }

    /// Speeds of the rider for a course.
    pub fn wishes(&self, job: &Job) -> Wishes {
        let cruise = self.cruise();
        Wishes {
            cruise,
            downhill: self.downhill(job).unwrap_or(cruise),
            slowing: Acceleration::metres_per_second_squared(1.0),
        }
    }

    /// Stops by traffic on a course so long.
    pub fn traffic(&self, length: Length) -> Vec<Stop> {
        traffic(length, self.or("stops-per-km", 0.0), Time::seconds(self.or("wait", 0.0)))
    }

    /// Air.
    pub fn air(&self) -> Temperature {
        Temperature::kelvins(self.or("air", 293.15))
    }

    /// Air and road of a course that begins at this height, at a temperature and in a head wind.
    ///
    /// # Errors
    /// [`physics::OutOfRange`] where the density of air has no value.
    pub fn weather(&self, air: Temperature, height: Length, wind: Speed) -> Result<Weather, physics::OutOfRange> {
        Ok(Weather { grip: self.or("grip", DRY_GRIP), ..Weather::at(air, height, wind)? })
    }

    /// Head wind.
    pub fn wind(&self) -> Speed {
        Speed::metres_per_second(self.or("wind", 0.0))
    }
}

fn value(o: &Choice, text: &str) -> Result<f64, OptionError> {
    let reading = text::parse(text, Decimal::Point).map_err(|e| OptionError::Text(o.name, e))?;
    let Some(unit) = find_unit(o.unit) else { return Ok(reading.value_si) };
    text::expect(&reading, unit.dimension, unit.kinds).map_err(|e| OptionError::Text(o.name, e))?;
    let own = unit.from_si(reading.value_si);
    if own >= o.low - 1e-9 && own <= o.high + 1e-9 {
        Ok(reading.value_si)
    } else {
        Err(OptionError::Range(o.name, own))
    }
}
