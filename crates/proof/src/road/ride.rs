//! What is kept of a ride: its events as numbers, thinned evenly where there are very many.

use super::sample::{Channel, Clockwork};

/// What of the plan steers the finding of events, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steer {
    /// Planned braking current, amplitude.
    pub brake_amperes: f64,
    /// Planned drive current, amplitude.
    pub drive_amperes: f64,
    /// Speed below which braking fades, m/s.
    pub fade_from: f64,
}

/// Half a second of braking, means over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Which braking event.
    pub event: u32,
    /// Speed, m/s.
    pub speed: f64,
    /// Acceleration, m/s²: slope of the speed over the window.
    pub acceleration: f64,
    /// Slope of the road; not-a-number without heights.
    pub grade: f64,
    /// Braking current in the motor wires, amplitude, positive.
    pub brake_amperes: f64,
    /// Torque as the log says it, braking positive.
    pub logged_torque: f64,
    /// Supply volts.
    pub bus_volts: f64,
    /// Amperes into the battery, positive.
    pub charge_amperes: f64,
    /// Whether the motor's current was steady in it.
    pub steady: bool,
}

/// Six seconds or so of coasting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coast {
    /// Metres.
    pub distance: f64,
    /// Half of the squared speeds' difference, start less end, m²/s².
    pub kinetic: f64,
    /// Height lost, m; not-a-number without heights.
    pub dropped: f64,
    /// ∫v³ dt, m³/s².
    pub cubes: f64,
    /// Mean speed, m/s.
    pub speed: f64,
}

/// A descent held at a speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Seconds.
    pub seconds: f64,
    /// Mean speed, m/s.
    pub speed: f64,
    /// Twice the standard deviation of the speed, m/s.
    pub ripple: f64,
    /// How far the speed rose above the mean when it ran away with the motor still braking, m/s; 0 if it was held.
    pub away: f64,
    /// Height lost, m; not-a-number without heights.
    pub dropped: f64,
}

/// One change from driving to braking: peaks (half-second means) of the motor current before and after, amplitudes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reversal {
    /// Drive.
    pub drive_amperes: f64,
    /// Brake.
    pub brake_amperes: f64,
}

/// Ten seconds of heating.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Heating {
    /// Seconds.
    pub seconds: f64,
    /// Mean square of the motor current, A².
    pub square_amperes: f64,
    /// Mean speed, m/s.
    pub speed: f64,
}

/// Braking at about one current: seconds, and seconds times speed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Slot {
    /// Seconds.
    pub seconds: f64,
    /// Metres.
    pub metres: f64,
    /// Ampere seconds.
    pub charge: f64,
}

/// Everything that was seen on a ride.
#[derive(Clone, Debug)]
pub struct Ride {
    /// What the clock did.
    pub clock: Clockwork,
    /// Which channels had values at all.
    pub has: [bool; Channel::COUNT],
    /// Metres ridden.
    pub distance: f64,
    /// Braking events by the motor.
    pub brakings: u32,
    /// Their windows, thinned evenly where there are very many.
    pub windows: Vec<Window>,
    /// Highest half-second mean of the charge current, and how many windows come near it.
    pub charge_peak: f64,
    /// Highest half-second mean of the supply volts while charging, the resting volts before, the amperes in it.
    pub bus_peak: Option<(f64, f64, f64)>,
    /// Held descents.
    pub held: Vec<Held>,
    /// Coasting.
    pub coasts: Vec<Coast>,
    /// Speeds in m/s at which braking was gone while rolling to a stop.
    pub gone: Vec<f64>,
    /// Full-power starts.
    pub starts: u32,
    /// Highest half-second mean of the driving motor current.
    pub drive_peak: f64,
    /// Changes of direction; the largest where there are very many.
    pub reversals: Vec<Reversal>,
    /// All changes of direction.
    pub reversal_count: u64,
    /// Energy into the battery while the motor braked, J.
    pub recovered: f64,
    /// Seconds and metres of braking by current, in slots of one ampere.
    pub slots: Vec<Slot>,
    /// Mean supply volts while braking.
    pub brake_bus: f64,
    /// Heating in steps of ten seconds, for the heat prediction.
    pub heating: Vec<Heating>,
    /// First and highest motor temperature and the index in `heating` where it was highest, °C.
    pub temperature: Option<(f64, f64, usize)>,
    /// Mean temperature of the air, °C.
    pub air: Option<f64>,
}
