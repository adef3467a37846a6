//! What a plan promises, and what a ride can say of it.

use super::sample::Channel;
use workbench::fact::FactId;

/// What was promised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Promised {
    /// Peak braking torque at the wheel, half-second mean, N·m.
    PeakBrake,
    /// Braking torque at the wheel per motor ampere, N·m/A.
    TorquePerAmpere,
    /// Peak of the charge current, half-second mean, A.
    ChargePeak,
    /// Peak of the supply volts while charging, half-second mean, V.
    BusPeak,
    /// Rise of the motor's temperature, K.
    Heat,
    /// Twice the deviation of the speed on held descents, km/h.
    HoldRipple,
    /// Speed below which braking is gone, km/h.
    FadeGone,
    /// Energy into the battery while braking, Wh.
    Recovered,
    /// Peak of the driving motor current, half-second mean, A.
    DrivePeak,
}

impl Promised {
    /// All, in the order in which they are shown.
    pub const ALL: [Self; 9] = [
        Self::PeakBrake,
        Self::TorquePerAmpere,
        Self::ChargePeak,
        Self::BusPeak,
        Self::Heat,
        Self::HoldRipple,
        Self::FadeGone,
        Self::Recovered,
        Self::DrivePeak,
    ];
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::PeakBrake => "peak-brake",
            Self::TorquePerAmpere => "torque-per-ampere",
            Self::ChargePeak => "charge-peak",
            Self::BusPeak => "bus-peak",
            Self::Heat => "heat",
            Self::HoldRipple => "hold-ripple",
            Self::FadeGone => "fade-gone",
            Self::Recovered => "recovered",
            Self::DrivePeak => "drive-peak",
        }
    }
    /// Unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::PeakBrake => "N·m",
            Self::TorquePerAmpere => "N·m/A",
            Self::ChargePeak | Self::DrivePeak => "A",
            Self::BusPeak => "V",
            Self::Heat => "K",
            Self::HoldRipple | Self::FadeGone => "km/h",
            Self::Recovered => "Wh",
        }
    }
    /// Samples a second below which a log cannot show it: a half-second mean wants some samples in it, a ripple two in
    /// its swing.
    pub const fn rate(self) -> f64 {
        match self {
            Self::PeakBrake | Self::ChargePeak | Self::BusPeak | Self::DrivePeak => 4.0,
            Self::HoldRipple | Self::FadeGone => 2.0,
            Self::TorquePerAmpere | Self::Recovered => 0.9,
            Self::Heat => 0.02,
        }
    }
    pub(super) const fn channels(self) -> &'static [Channel] {
        match self {
            Self::PeakBrake | Self::TorquePerAmpere => &[Channel::Speed, Channel::PhaseCurrent],
            Self::ChargePeak => &[Channel::BatteryCurrent, Channel::BusVoltage, Channel::Speed],
            Self::BusPeak => &[Channel::BusVoltage, Channel::BatteryCurrent],
            Self::Heat => &[Channel::MotorTemperature, Channel::PhaseCurrent, Channel::Speed],
            Self::HoldRipple => &[Channel::Speed],
            Self::FadeGone => &[Channel::Speed, Channel::PhaseCurrent],
            Self::Recovered => &[Channel::BusVoltage, Channel::BatteryCurrent, Channel::PhaseCurrent, Channel::Speed],
            Self::DrivePeak => &[Channel::PhaseCurrent],
        }
    }
}

/// Why something is not ridden yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unridden {
    /// The log has no such column.
    NoColumn(Channel),
    /// The log is too slow for it: samples a second needed.
    TooSlow(f64),
    /// It did not happen.
    NoEvent,
    /// It went only to this share of what is planned.
    OnlyTo(f64),
    /// The job does not say what is planned.
    NotPlanned(Option<FactId>),
}

/// Seen, differs, or not ridden yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// Seen.
    Seen,
    /// Another value than planned.
    Differs,
    /// As planned, but its upper bound reaches what the link can take.
    TooNear,
    /// Not ridden yet.
    NotRidden(Unridden),
}

impl Shown {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Differs => "differs",
            Self::TooNear => "too-near",
            Self::NotRidden(_) => "not-ridden",
        }
    }
}

/// One promise, held against the ride; all in [`Promised::unit`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Promise {
    /// Which.
    pub which: Promised,
    /// Result.
    pub shown: Shown,
    /// As planned, with half of its 95 % interval.
    pub planned: Option<(f64, f64)>,
    /// As seen, with half of its 95 % interval.
    pub seen: Option<(f64, f64)>,
    /// Difference in standard deviations.
    pub z: Option<f64>,
    /// What the link can take, and the upper 95 % bound of what was seen.
    pub limit: Option<(f64, f64)>,
    /// Events behind it.
    pub events: usize,
}
