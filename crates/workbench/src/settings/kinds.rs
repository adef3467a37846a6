//! Every value that a person keys in or tightens: its fact, unit, step and safe side. One line a setting.

use crate::fact::{FactId, Side, list};
use quantity::units::find_unit;

/// The direction in which a value may be rounded without asking more of any part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Safe {
    /// Less is safe.
    Down,
    /// More is safe.
    Up,
    /// Both sides have a limit; rounded before it was judged.
    Between,
}

/// Where a setting belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum At {
    /// One in the job.
    Whole,
    /// An end of the axle.
    Side(Side),
    /// A torque arm, from 0.
    Arm(usize),
}

macro_rules! settings {
    ($( $name:ident = $id:literal, $unit:literal, $step:literal, $safe:ident; )+) => {
        /// What is set.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Kind { $( #[doc = $id] $name ),+ }
        impl Kind {
            /// All, in the order of the sheet.
            pub const ALL: &[Self] = &[ $( Self::$name ),+ ];
            /// Identifier: name cards, JSON and words use it.
            pub const fn id(self) -> &'static str { match self { $( Self::$name => $id ),+ } }
            /// Unit in which it is shown.
            pub const fn unit(self) -> &'static str { match self { $( Self::$name => $unit ),+ } }
            /// Step to which it is rounded where no device says otherwise, in the unit.
            pub const fn step(self) -> f64 { match self { $( Self::$name => $step ),+ } }
            /// Safe side.
            pub const fn safe(self) -> Safe { match self { $( Self::$name => Safe::$safe ),+ } }
        }
    };
}

settings! {
    DriveCurrent = "drive-current", "A", 1.0, Down;
    BrakeCurrent = "brake-current", "A", 1.0, Down;
    ChargeLimit = "charge-limit", "A", 0.5, Down;
    FoldBackFrom = "fold-back-from", "V", 0.1, Down;
    FoldBackEnd = "fold-back-end", "V", 0.1, Down;
    ChargeTo = "charge-to", "%", 1.0, Down;
    Ramp = "ramp", "ms", 10.0, Up;
    FadeFrom = "fade-from", "km/h", 0.5, Up;
    FadeGone = "fade-gone", "km/h", 0.5, Up;
    HoldSlowest = "hold-slowest", "km/h", 1.0, Up;
    HoldFastest = "hold-fastest", "km/h", 1.0, Down;
    FastestDownhill = "fastest-downhill", "km/h", 1.0, Down;
    AssistLeast = "assist-least", "", 0.1, Up;
    AssistMost = "assist-most", "", 0.1, Down;
    AssistCutOff = "assist-cut-off", "km/h", 0.5, Down;
    AssistPower = "assist-power", "W", 10.0, Down;
    NutTorque = "nut-torque", "N·m", 1.0, Between;
    PinchTorque = "pinch-torque", "N·m", 0.5, Between;
    AnchorTorque = "anchor-torque", "N·m", 0.5, Down;
}

impl Kind {
    /// The setting of that identifier.
    pub fn find(id: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|k| k.id() == id)
    }
    /// From its unit to SI.
    pub fn to_si(self, value: f64) -> f64 {
        find_unit(self.unit()).map_or(value, |u| u.to_si(value))
    }
    /// From SI to its unit.
    pub fn from_si(self, value: f64) -> f64 {
        find_unit(self.unit()).map_or(value, |u| u.from_si(value))
    }
    /// The fact that the job keeps it in, if it has one.
    pub fn fact(self, at: At) -> Option<FactId> {
        match (self, at) {
            (Self::DriveCurrent, _) => Some(list::DRIVE_CURRENT.id()),
            (Self::BrakeCurrent, _) => Some(list::BRAKE_CURRENT.id()),
            (Self::ChargeLimit, _) => Some(list::CHARGE_LIMIT.id()),
            (Self::ChargeTo, _) => Some(list::CHARGE_TO.id()),
            (Self::Ramp, _) => Some(list::RAMP.id()),
            (Self::FadeFrom, _) => Some(list::FADE_FROM.id()),
            (Self::FadeGone, _) => Some(list::FADE_GONE.id()),
            (Self::HoldFastest, _) => Some(list::HOLD_FASTEST.id()),
            (Self::FastestDownhill, _) => Some(list::DOWNHILL_SPEED.id()),
            (Self::NutTorque, At::Side(s)) => Some(list::NUT_TORQUE.of(s)),
            (Self::PinchTorque, At::Arm(i)) => Some(list::PINCH_TORQUE.of(i)),
            (Self::AnchorTorque, At::Arm(i)) => Some(list::ANCHOR_TORQUE.of(i)),
            _ => None,
        }
    }
    /// Rounded to its own step on the safe side, in SI.
    pub fn rounded(self, value_si: f64) -> f64 {
        let steps = self.from_si(value_si) / self.step();
        let whole = match self.safe() {
            Safe::Down => (steps + 1e-9).floor(),
            Safe::Up => (steps - 1e-9).ceil(),
            Safe::Between => steps.round(),
        };
        self.to_si(whole * self.step())
    }
}
