//! What to key in and how tight: settings with which every link holds at the confidence asked.
//!
//! The formulation stands in `docs/decisions/`: every link is monotone in every setting but the pinch bolts, so that the
//! largest safe value of each is found by bisection on the steps that a device has; where two settings share a link, the
//! search walks along the largest safe value of one over the other.

mod assist;
mod buy;
mod card;
mod charge;
mod field;
mod kinds;
mod solve;
mod speeds;
mod torques;
mod values;

use crate::fact::FactId;
use crate::link::Link;
use quantity::Speed;

pub use assist::{Assist, CLASSES, VehicleClass};
pub use buy::{Buy, Gain};
pub use card::{Card, Entry, Keyed, Line, Means, Scale};
pub use field::Field;
pub use kinds::{At, Kind, Safe};
pub use solve::solve;
pub use speeds::{AtSpeed, torque};

/// What the person wants of the search.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// Speeds at which braking counts.
    pub speeds: Vec<Speed>,
    /// Draws; none: as many as the confidence needs.
    pub draws: Option<usize>,
    /// Whether to work out what each change would buy.
    pub buy: bool,
}

impl Default for Wish {
    fn default() -> Self {
        Self { speeds: Vec::new(), draws: None, buy: true }
    }
}

/// What ends a setting's range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Binds {
    /// This link would not hold with one step more.
    Link(Link),
    /// A rule of its own; words key below `settings.rule.`.
    Rule(&'static str),
}

/// One value to key in or to tighten to.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// What.
    pub kind: Kind,
    /// Where.
    pub at: At,
    /// Value, SI.
    pub value: f64,
    /// What the job has now, SI.
    pub now: Option<f64>,
    /// What ends its range.
    pub binds: Option<Binds>,
    /// Who keeps it: words key below `keeper.`.
    pub keeper: &'static str,
}

impl Setting {
    /// Value in the unit of its kind.
    pub fn shown(&self) -> f64 {
        self.kind.from_si(self.value)
    }
    /// Identifier with its place: `nut-torque.left`, `anchor-torque.1`.
    pub fn id(&self) -> String {
        match self.at {
            At::Whole => self.kind.id().to_owned(),
            At::Side(s) => format!("{}.{}", self.kind.id(), s.token()),
            At::Arm(i) => format!("{}.{}", self.kind.id(), i + 1),
        }
    }
}

/// A link that no setting can meet, or for which none was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Impossible {
    /// Which.
    pub link: Link,
    /// How full it is with the gentlest settings, at the confidence step.
    pub full: f64,
}

/// The charge limit of the warm season, where it is above the one that holds all year.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summer {
    /// Limit that holds all year and needs nobody to change it, SI.
    pub all_year: f64,
    /// Limit that holds while the pack is warm, SI.
    pub warm: f64,
}

/// What came out.
#[derive(Clone, Debug)]
pub struct Solution {
    /// Values in the order of the sheet.
    pub settings: Vec<Setting>,
    /// How full each link is with them, at the confidence step.
    pub links: Vec<(Link, f64)>,
    /// Links that no setting can meet.
    pub impossible: Vec<Impossible>,
    /// Facts without which links, or a rule that refuses the job, cannot be judged.
    pub missing: Vec<FactId>,
    /// Limit of the warm season.
    pub summer: Option<Summer>,
    /// Charge up to which braking is not folded back.
    pub full_braking_below: Option<quantity::StateOfCharge>,
    /// Braking over speed.
    pub speeds: Vec<AtSpeed>,
    /// Assist range.
    pub assist: Option<Assist>,
    /// What it brings, at the speeds asked for.
    pub gain: Gain,
    /// The same as found on the first sample alone; where changes are worked out, on their smaller sample.
    pub before_buying: Gain,
    /// What each change would buy.
    pub buys: Vec<Buy>,
    /// Whether a passed hold test keeps the nuts' torques as they are.
    pub tested: bool,
    /// Charge limit that nobody but the controller could keep, and it does not.
    pub charge_limit_not_kept: bool,
    /// One bike in how many.
    pub one_in: f64,
    /// Draws of each of the two samples that both hold.
    pub draws: usize,
}

impl Solution {
    /// Whether all links hold and none is unknown.
    pub fn holds(&self) -> bool {
        self.impossible.is_empty() && self.missing.is_empty()
    }
    /// The setting of that kind and place.
    pub fn get(&self, kind: Kind, at: At) -> Option<&Setting> {
        self.settings.iter().find(|s| s.kind == kind && s.at == at)
    }
}
