//! What an input of a sum may be.

use quantity::text::{Decimal, print};
use quantity::units::{Unit, find_unit, fits};

/// One input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input {
    /// Its name in kebab case.
    pub name: &'static str,
    /// What it may be.
    pub shape: Shape,
    /// Whether it must be there.
    pub need: Need,
    /// The measuring card that gives it, such as `m7`.
    pub recipe: Option<&'static str>,
}

/// Whether an input must be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Required,
    /// It may be left out.
    Optional,
    /// It may be left out and is then this.
    Default(&'static str),
}

/// What an input may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A number with a unit of one of these kinds, in a range given in `unit`; in % too where it is a pure number.
    Quantity {
        /// Kinds of units that fit.
        kinds: &'static [&'static str],
        /// The unit of the range.
        unit: &'static str,
        /// Least allowed.
        low: f64,
        /// Most allowed.
        high: f64,
    },
    /// The same, or a word.
    QuantityOr {
        /// Kinds of units that fit.
        kinds: &'static [&'static str],
        /// The unit of the range.
        unit: &'static str,
        /// Least allowed.
        low: f64,
        /// Most allowed.
        high: f64,
        /// The word.
        word: &'static str,
    },
    /// Speed of the wheel: turning (`15 rad/s`, `140 rpm`), or along the road, which needs the input `wheel-radius`.
    Speed {
        /// Highest turning speed in rad/s; the lowest is 0.
        high_rad_s: f64,
        /// Highest road speed in km/h.
        high_km_h: f64,
    },
    /// A whole number.
    Count {
        /// Least allowed.
        low: u32,
        /// Most allowed.
        high: u32,
    },
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A thread: `M12x1.25`, `M8` for the coarse one.
    Thread,
    /// A property class such as `8.8`, or a yield strength.
    PropertyClass,
}

impl Input {
    pub(super) const fn new(name: &'static str, shape: Shape) -> Self {
        Self { name, shape, need: Need::Required, recipe: None }
    }
    pub(super) const fn optional(mut self) -> Self {
        self.need = Need::Optional;
        self
    }
    pub(super) const fn or(mut self, text: &'static str) -> Self {
        self.need = Need::Default(text);
        self
    }
    pub(super) const fn card(mut self, card: &'static str) -> Self {
        self.recipe = Some(card);
        self
    }
}

impl Shape {
    /// What is allowed, for a person: `0.1 to 500 N·m`, `drive or brake`.
    pub fn allowed(&self) -> String {
        let to = crate::words::text("sum-error.to");
        let or = crate::words::text("sum-error.or");
        let range = |low: f64, high: f64, unit: &str| {
            let one = Unit::one();
            let low = print(low, one, 6, Decimal::Point);
            format!("{low} {to} {}", print_in(high, find_unit(unit).unwrap_or(one)))
        };
        match self {
            Self::Quantity { unit, low, high, .. } => range(*low, *high, unit),
            Self::QuantityOr { unit, low, high, word, .. } => format!("{} {or} {word}", range(*low, *high, unit)),
            Self::Speed { high_rad_s, high_km_h } => {
                format!("{} {or} {}", range(0.0, *high_km_h, "km/h"), range(0.0, *high_rad_s, "rad/s"))
            }
            Self::Count { low, high } => format!("{low} {to} {high}"),
            Self::Choice(words) => words.join(&format!(" {or} ")),
            Self::Thread => crate::words::text("sum-error.thread-forms"),
            Self::PropertyClass => {
                let classes: Vec<&str> = evidence::bolts::rows().iter().map(|row| row.bolt.as_str()).collect();
                crate::words::fill("sum-error.class-forms", &[("classes", &classes.join(", "))])
            }
        }
    }

    /// The units that may be written, the preferred one first; empty for a pure number or a word.
    pub fn units(&self) -> Vec<&'static str> {
        let kinds: &[&str] = match self {
            Self::Quantity { kinds, .. } | Self::QuantityOr { kinds, .. } => kinds,
            Self::Speed { .. } => &["speed", "angular speed"],
            Self::PropertyClass => &["stress"],
            _ => &[],
        };
        kinds.iter().flat_map(|kind| fits(kind)).filter(|symbol| !symbol.is_empty()).collect()
    }
}

fn print_in(value: f64, unit: &'static Unit) -> String {
    print(unit.to_si(value), unit, 6, Decimal::Point)
}

const fn quantity(kinds: &'static [&'static str], unit: &'static str, low: f64, high: f64) -> Shape {
    Shape::Quantity { kinds, unit, low, high }
}

pub(super) const NUMBER: &[&str] = &["pure number"];
pub(super) const TORQUE: Shape = quantity(&["torque"], "N·m", 0.0, 10_000.0);
pub(super) const FORCE: Shape = quantity(&["force"], "N", 0.0, 500_000.0);
pub(super) const FRICTION: Shape = quantity(NUMBER, "", 0.01, 1.5);
pub(super) const STRENGTH: Shape = quantity(&["stress"], "MPa", 1.0, 3000.0);
pub(super) const EFFICIENCY: Shape = quantity(NUMBER, "", 0.5, 1.0);
pub(super) const REDUCTION: Shape = quantity(NUMBER, "", 1.0, 200.0);
pub(super) const FLUX: Shape = quantity(&["flux linkage"], "Wb", 1e-4, 10.0);
pub(super) const RESISTANCE: Shape = quantity(&["resistance"], "Ω", 1e-4, 100.0);
pub(super) const INDUCTANCE: Shape = quantity(&["inductance"], "H", 1e-7, 1.0);
pub(super) const PHASE_CURRENT: Shape = quantity(&["current"], "A", 0.0, 2000.0);
pub(super) const VOLTAGE: Shape = quantity(&["voltage"], "V", 1.0, 1000.0);
pub(super) const SPEED: Shape = Shape::Speed { high_rad_s: 300.0, high_km_h: 150.0 };
pub(super) const ROAD_SPEED: Shape = quantity(&["speed"], "km/h", 0.0, 150.0);
pub(super) const WHEEL_RADIUS: Shape = length(50.0, 1000.0);
pub(super) const MASS: Shape = quantity(&["mass"], "kg", 1.0, 1000.0);
pub(super) const GRADE: Shape = quantity(NUMBER, "%", -50.0, 50.0);

/// A length in mm.
pub(super) const fn length(low: f64, high: f64) -> Shape {
    quantity(&["length"], "mm", low, high)
}
/// A quantity of one kind.
pub(super) const fn of(kinds: &'static [&'static str], unit: &'static str, low: f64, high: f64) -> Shape {
    quantity(kinds, unit, low, high)
}
