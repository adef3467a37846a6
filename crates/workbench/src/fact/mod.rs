//! Facts: what is known of one bike, how well, and from where.
//!
//! The list of all facts is [`list`]; a job holds one [`Fact`] (or none) for each. Values are stored in SI and read
//! through typed keys, so that a torque at the wheel can never be taken for one at the rotor.

pub mod list;
mod reading;
mod set;

use core::marker::PhantomData;
use quantity::Quantity;

pub use reading::{AS_ON, Problem, read_fact};
pub(crate) use set::WORDS;
pub use set::{FactSet, MOST_ARMS};

/// Left or right end of the axle, as seen by the rider.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Left.
    Left,
    /// Right: the chain's side.
    Right,
}

impl Side {
    /// Both, left first.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];
    /// `left` or `right`.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Place of a fact in a job: the common facts, then both sides, then each arm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FactId(pub(crate) u16);

impl FactId {
    /// Position in the job's list of values.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

macro_rules! key {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        pub struct $name<Q>(u16, PhantomData<Q>);
        impl<Q> Clone for $name<Q> {
            fn clone(&self) -> Self {
                *self
            }
        }
        impl<Q> Copy for $name<Q> {}
        impl<Q> $name<Q> {
            pub(crate) const fn new(index: u16) -> Self {
                Self(index, PhantomData)
            }
        }
    };
}
key! {
    /// Key of a fact of which a job has one.
    Key
}
key! {
    /// Key of a fact of one end of the axle.
    SideKey
}
key! {
    /// Key of a fact of one torque arm.
    ArmKey
}

const COMMONS: u16 = list::COMMON.len() as u16;
const SIDES: u16 = list::SIDE.len() as u16;
const ARMS: u16 = list::ARM.len() as u16;

impl<Q> Key<Q> {
    /// Where the fact stands.
    pub const fn id(self) -> FactId {
        FactId(self.0)
    }
}
impl<Q> SideKey<Q> {
    /// Where the fact of that side stands.
    pub const fn of(self, side: Side) -> FactId {
        FactId(COMMONS + side as u16 * SIDES + self.0)
    }
}
impl<Q> ArmKey<Q> {
    /// Where the fact of that arm (from 0) stands.
    pub const fn of(self, arm: usize) -> FactId {
        FactId(COMMONS + 2 * SIDES + arm as u16 * ARMS + self.0)
    }
}

/// Number of facts of a job with so many arms.
pub const fn count(arms: usize) -> usize {
    (COMMONS + 2 * SIDES) as usize + arms * ARMS as usize
}

/// Definition of a fact.
pub const fn definition(id: FactId) -> &'static FactDef {
    if id.0 < COMMONS {
        &list::COMMON[id.0 as usize]
    } else if id.0 < COMMONS + 2 * SIDES {
        &list::SIDE[((id.0 - COMMONS) % SIDES) as usize]
    } else {
        &list::ARM[((id.0 - COMMONS - 2 * SIDES) % ARMS) as usize]
    }
}

/// Definition and full identifier (`axle.left.nut_torque`, `arm.1.thickness`) of a fact.
pub fn describe(id: FactId) -> (&'static FactDef, String) {
    let d = definition(id);
    let name = if id.0 < COMMONS {
        d.id.to_owned()
    } else if id.0 < COMMONS + 2 * SIDES {
        let side = if id.0 < COMMONS + SIDES { "left" } else { "right" };
        format!("axle.{side}.{}", d.id)
    } else {
        format!("arm.{}.{}", (id.0 - COMMONS - 2 * SIDES) / ARMS + 1, d.id)
    };
    (d, name)
}

/// Finds a fact by its full identifier.
pub fn find(id: &str, arms: usize) -> Option<FactId> {
    (0..count(arms) as u16).map(FactId).find(|f| describe(*f).1 == id)
}

/// What a fact can be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A quantity with a unit.
    Quantity {
        /// Unit in which it is shown and its range is given; empty for a pure number.
        unit: &'static str,
        /// Smallest plausible value.
        low: f64,
        /// Largest plausible value.
        high: f64,
    },
    /// A whole number.
    Count {
        /// Smallest.
        low: f64,
        /// Largest.
        high: f64,
    },
    /// One of these answers; stored as its position.
    Choice(&'static [&'static str]),
}

/// How doubt about a fact spreads when it is given as "± u" (u covers 95 %).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spreads {
    /// Counted or chosen: no doubt.
    Exact,
    /// Normal.
    Normal,
    /// Lognormal: friction, stiffness, heat, losses (± in % is then a factor).
    LogNormal,
}

/// One line of the list of facts.
#[derive(Clone, Copy, Debug)]
pub struct FactDef {
    /// Identifier: `motor.reduction`; without its place for side and arm facts.
    pub id: &'static str,
    /// What it can be.
    pub shape: Shape,
    /// How its doubt spreads.
    pub doubt: Spreads,
    /// Measuring card that settles it: `m1` to `m44`, or `look`, `ask`, `label`, `assume`.
    pub card: &'static str,
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Measured on this bike.
    Measured,
    /// Read off a plate or label.
    Plate,
    /// From the maker's sheet.
    Sheet,
    /// Chosen by the technician: a setting, a torque to give.
    Chosen,
    /// Assumed for its kind.
    Assumed,
}

impl Origin {
    /// The token of the job file.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Plate => "plate",
            Self::Sheet => "sheet",
            Self::Chosen => "chosen",
            Self::Assumed => "assumed",
        }
    }
    /// All, for messages.
    pub const ALL: [Self; 5] = [Self::Measured, Self::Plate, Self::Sheet, Self::Chosen, Self::Assumed];
    /// How good: A seen or exact, B measured, C second-hand, D memory or estimate.
    pub const fn grade(self) -> char {
        match self {
            Self::Chosen | Self::Plate => 'A',
            Self::Measured => 'B',
            Self::Sheet => 'C',
            Self::Assumed => 'D',
        }
    }
}

/// How a value is spread, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// Known exactly.
    Exact,
    /// Normal with this standard deviation.
    Normal {
        /// Standard deviation.
        sigma: f64,
    },
    /// Lognormal about the value as median, with this deviation of the logarithm.
    LogNormal {
        /// Deviation of the natural logarithm.
        sigma_ln: f64,
    },
    /// Uniform between two values.
    Uniform {
        /// Lowest.
        low: f64,
        /// Highest.
        high: f64,
    },
}

/// One value of one bike.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// Middle value in SI; for a choice the position of the answer.
    pub value: f64,
    /// How it is spread.
    pub spread: Distribution,
    /// Where it comes from.
    pub origin: Origin,
    /// The tool that took it or tightens it; `as on 0117` for a value taken over from another bike.
    pub tool: Option<String>,
    /// As the person wrote it.
    pub text: String,
}

impl Fact {
    /// The value as a typed quantity.
    pub fn quantity<Q: Quantity>(&self) -> Q {
        Q::from_si(self.value)
    }
}

/// A tool of the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Tool {
    /// Short name: `W2`.
    pub id: String,
    /// What it is.
    pub name: String,
    /// Class, as share of the value.
    pub share: f64,
    /// Class, absolute, with the unit's kind; SI.
    pub absolute: Option<(f64, String)>,
    /// Whether all that it tightens shares its error.
    pub shares_error: bool,
}

/// The fact at that position, if a job with many arms could have it.
pub const fn nth(index: u16) -> Option<FactId> {
    Some(FactId(index))
}

/// A value in the middle of what is allowed, in SI; for a choice the first answer.
pub fn middle_of_range(def: &FactDef) -> f64 {
    match def.shape {
        Shape::Choice(_) => 0.0,
        Shape::Count { low, high } => ((low + high) / 2.0).floor(),
        Shape::Quantity { unit, low, high, .. } => {
            let middle = if low > 0.0 { (low * high).sqrt() } else { (low + high) / 2.0 };
            quantity::units::find_unit(unit).map_or(middle, |u| u.to_si(middle))
        }
    }
}

/// Ends of what is allowed, in SI; for a choice its first and one past its last position.
pub fn range(def: &FactDef) -> (f64, f64) {
    match def.shape {
        Shape::Choice(tokens) => (0.0, tokens.len() as f64),
        Shape::Count { low, high } => (low, high),
        Shape::Quantity { unit, low, high } => {
            quantity::units::find_unit(unit).map_or((low, high), |u| (u.to_si(low), u.to_si(high)))
        }
    }
}
