//! Links: every place where the job can fail, each with what is asked of it and what it can take.
//!
//! [`plan`] lists the links of a job; [`load`] works one out from a [`World`] (one draw of all facts). Links and single
//! faults are the same mechanism: a fault is a link of its own in a world in which one part has let go.

#![allow(clippy::useless_conversion, reason = "what makes eight numbers of one makes nothing of one")]

pub mod abreast;
pub mod aftermath;
mod axle;
mod drive;
mod energy;
mod load;
mod one;
mod tape;
mod world;

use ::physics as formulas;
use formulas::one::{Number, math, si};
pub use load::{Load, load};
use one::{Of, apart, forget_apart, read, set_apart};
pub use tape::{Off, Put, Reads, Step, Tape, Working};
pub(crate) use world::COLD_MAGNET;
pub use world::{AxleState, Demand, Values, World};

use crate::fact::{FactId, Side};
use crate::job::Job;
use physics::OutOfRange;

/// The three ways along which torque and energy go, and the single faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Path {
    /// Axle to frame.
    Reaction,
    /// Wheel and motor.
    Drive,
    /// Battery and wires.
    Energy,
    /// One part lets go.
    Fault,
}

impl Path {
    /// Token.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Reaction => "reaction",
            Self::Drive => "drive",
            Self::Energy => "energy",
            Self::Fault => "fault",
        }
    }
}

/// Where a link sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// One in the job.
    Whole,
    /// At one end of the axle.
    At(Side),
    /// At a torque arm, from 0.
    Arm(usize),
}

macro_rules! links {
    ($( $name:ident = $id:literal, $path:ident, $at:ident, $unit:literal; )+) => {
        /// What kind of link.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Kind { $( #[doc = $id] $name ),+ }
        /// All kinds in the order of the picture.
        pub const KINDS: &[Kind] = &[ $( Kind::$name ),+ ];
        impl Kind {
            /// Identifier and words key: `faces`.
            pub const fn id(self) -> &'static str { match self { $( Self::$name => $id ),+ } }
            /// Which way it lies on.
            pub const fn path(self) -> Path { match self { $( Self::$name => Path::$path ),+ } }
            /// Unit of demand and capacity.
            pub const fn unit(self) -> &'static str { match self { $( Self::$name => $unit ),+ } }
            const fn spot(self) -> Spot { match self { $( Self::$name => Spot::$at ),+ } }
        }
    };
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Spot {
    Whole,
    Sides,
    Arms,
    PinchArms,
}

links! {
    AxleHold = "axle-hold", Reaction, Whole, "N·m";
    Faces = "faces", Reaction, Sides, "N·m";
    Flats = "flats", Reaction, Sides, "N·m";
    Dropout = "dropout", Reaction, Sides, "MPa";
    Thread = "thread", Reaction, Sides, "N";
    Nut = "nut", Reaction, Sides, "MPa";
    AxleSection = "axle-section", Reaction, Sides, "MPa";
    Arm = "arm", Reaction, Arms, "N·m";
    PinchJaws = "pinch-jaws", Reaction, PinchArms, "MPa";
    PinchBolts = "pinch-bolts", Reaction, PinchArms, "MPa";
    Anchor = "anchor", Reaction, Arms, "N";
    AnchorBolt = "anchor-bolt", Reaction, Arms, "MPa";
    MotorCurrent = "motor-current", Drive, Whole, "A";
    Gears = "gears", Drive, Whole, "MPa";
    GearThrust = "gear-thrust", Drive, Whole, "";
    ClutchLock = "clutch-lock", Drive, Whole, "MPa";
    WindingHeat = "winding-heat", Drive, Whole, "°C";
    CoverScrews = "cover-screws", Drive, Whole, "N·m";
    Spokes = "spokes", Drive, Whole, "N";
    TyreGrip = "tyre-grip", Drive, Whole, "N";
    HandBrakes = "hand-brakes", Drive, Whole, "m/s²";
    ControllerVolts = "controller-volts", Energy, Whole, "V";
    TooFast = "too-fast", Energy, Whole, "km/h";
    BatteryOut = "battery-out", Energy, Whole, "V";
    PackCutsOut = "pack-cuts-out", Energy, Whole, "V";
    BatteryPort = "battery-port", Energy, Whole, "";
    ChargeAmps = "charge-amps", Energy, Whole, "A";
    ChargeVolts = "charge-volts", Energy, Whole, "A";
    PlugAndWire = "plug-and-wire", Energy, Whole, "A";
    Cold = "cold", Energy, Whole, "A";
    HillHold = "hill-hold", Energy, Whole, "N·m";
    FaultNut = "nut-slack", Fault, Sides, "N·m";
    FaultArm = "arm-gone", Fault, Arms, "N·m";
    FaultShort = "wires-shorted", Fault, Whole, "N·m";
    FaultSign = "wrong-sign", Fault, Whole, "N·m";
    FaultRegen = "regen-lost", Fault, Whole, "m/s²";
}

/// One link of one job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Link {
    /// What it is.
    pub kind: Kind,
    /// Where it sits.
    pub place: Place,
}

impl Link {
    /// Identifier on the command line and in addresses: `left-faces`, `arm-1-anchor`, `too-fast`.
    pub fn id(self) -> String {
        let kind = self.kind.id();
        match self.place {
            Place::Whole => kind.to_owned(),
            Place::At(side) => format!("{}-{kind}", side.token()),
            Place::Arm(i) => format!("arm-{}-{kind}", i + 1),
        }
    }
}

/// The links of a job.
pub fn plan(job: &Job) -> Vec<Link> {
    let mut out = Vec::new();
    for &kind in KINDS {
        match kind.spot() {
            Spot::Whole => out.push(Link { kind, place: Place::Whole }),
            Spot::Sides => out.extend(Side::BOTH.map(|s| Link { kind, place: Place::At(s) })),
            spot => {
                for i in 0..job.arms {
                    let pinching = job.answer(crate::fact::list::ARM_KIND.of(i)) == Some("pinching");
                    if spot == Spot::Arms || pinching {
                        out.push(Link { kind, place: Place::Arm(i) });
                    }
                }
            }
        }
    }
    out
}

impl<'a, T: Tape> World<'a, T> {
    /// From one value in SI for each fact, not-a-number where one is missing.
    pub fn new(values: &'a [f64], arms: usize, tape: &'a T) -> Self {
        Self::of(Values::among(values, 0, 1), arms, tape)
    }
}

/// Why a link has no number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gap {
    /// A fact is missing.
    Unknown(FactId),
    /// A value with which the formula cannot be used.
    Range(OutOfRange),
    /// The parts cannot be joined or used like this; words key below `cannot.`.
    Cannot(&'static str),
    /// The link does not exist on this bike.
    NotThere,
}

impl From<OutOfRange> for Gap {
    fn from(e: OutOfRange) -> Self {
        Self::Range(e)
    }
}
