//! A log as frames: any rate, gaps and clock jumps made plain, fast logs averaged to ten frames a second.

/// What a log may hold, with the unit of its numbers. Currents, torque and power are positive when the motor drives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Channel {
    /// Speed over ground, m/s.
    Speed,
    /// Height, m.
    Height,
    /// Volts of the supply at the controller.
    BusVoltage,
    /// Amperes out of the battery.
    BatteryCurrent,
    /// Amperes in the motor wires, amplitude; signed, or a size whose sign the battery current tells.
    PhaseCurrent,
    /// Torque of the motor at the wheel, N·m.
    MotorTorque,
    /// Temperature of the motor, °C.
    MotorTemperature,
    /// Temperature of the air, °C.
    AirTemperature,
    /// Turns of the cranks, any unit: only whether they turn counts.
    Cadence,
    /// Power of the rider, W.
    RiderPower,
}

impl Channel {
    /// All, in the order of a sample's values.
    pub const ALL: [Self; 10] = [
        Self::Speed,
        Self::Height,
        Self::BusVoltage,
        Self::BatteryCurrent,
        Self::PhaseCurrent,
        Self::MotorTorque,
        Self::MotorTemperature,
        Self::AirTemperature,
        Self::Cadence,
        Self::RiderPower,
    ];
    /// Number of channels.
    pub const COUNT: usize = Self::ALL.len();
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Speed => "speed",
            Self::Height => "height",
            Self::BusVoltage => "bus-voltage",
            Self::BatteryCurrent => "battery-current",
            Self::PhaseCurrent => "phase-current",
            Self::MotorTorque => "motor-torque",
            Self::MotorTemperature => "motor-temperature",
            Self::AirTemperature => "air-temperature",
            Self::Cadence => "cadence",
            Self::RiderPower => "rider-power",
        }
    }
    /// Seconds for which an older value still stands where a sample leaves the cell empty: slow things stand longer.
    const fn stands_for(self) -> f64 {
        match self {
            Self::MotorTemperature | Self::AirTemperature => 60.0,
            Self::Height => 5.0,
            _ => 1.5,
        }
    }
}

/// One value for each [`Channel`]; not-a-number where there is none.
pub type Values = [f64; Channel::COUNT];

/// A tenth of a second, or one sample of a slower log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Seconds on the log's clock.
    pub time: f64,
    /// Seconds since the frame before; zero at the first of a stretch.
    pub step: f64,
    /// Means over the frame.
    pub values: Values,
}

impl Frame {
    /// The value of a channel.
    pub const fn get(&self, channel: Channel) -> f64 {
        self.values[channel as usize]
    }
}

/// What was wrong with a log's clock.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Clockwork {
    /// Samples read.
    pub samples: u64,
    /// Samples without a usable time.
    pub without_time: u64,
    /// Samples with the time of the one before.
    pub doubled: u64,
    /// Steps back.
    pub steps_back: u64,
    /// Gaps.
    pub gaps: u64,
    /// Seconds covered, gaps not counted.
    pub covered: f64,
    /// Intervals in that time.
    pub intervals: u64,
}

impl Clockwork {
    /// Samples a second.
    pub fn rate(&self) -> f64 {
        if self.covered > 0.0 { self.intervals as f64 / self.covered } else { 0.0 }
    }
}

/// Frames are this long where the log is that fast.
const FRAME: f64 = 0.1;
/// No sample for longer than this, or than four usual intervals, is a gap.
const GAP: f64 = 2.5;

/// What the framer hands on.
#[derive(Clone, Copy, Debug)]
pub enum Step {
    /// The next frame.
    Frame(Frame),
    /// Nothing is known about the time between the last frame and the next.
    Break,
}

/// Makes frames of samples, one after the other, in flat memory.
#[derive(Clone, Debug)]
pub struct Framer {
    clock: Clockwork,
    last_time: f64,
    segment: u32,
    held: Values,
    held_at: Values,
    sums: Values,
    counts: [u32; Channel::COUNT],
    begin: f64,
    time_sum: f64,
    samples: u32,
    before: f64,
}

impl Default for Framer {
    fn default() -> Self {
        Self {
            clock: Clockwork::default(),
            last_time: f64::NAN,
            segment: 0,
            held: [f64::NAN; Channel::COUNT],
            held_at: [f64::NEG_INFINITY; Channel::COUNT],
            sums: [0.0; Channel::COUNT],
            counts: [0; Channel::COUNT],
            begin: f64::NAN,
            time_sum: 0.0,
            samples: 0,
            before: f64::NAN,
        }
    }
}

impl Framer {
    /// What the clock did so far.
    pub const fn clock(&self) -> &Clockwork {
        &self.clock
    }

    /// Takes a sample; hands on what is finished.
    pub fn push(&mut self, time: f64, segment: u32, values: &Values, mut hand: impl FnMut(Step)) {
        self.clock.samples += 1;
        if !time.is_finite() {
            self.clock.without_time += 1;
            return;
        }
        let since = time - self.last_time;
        if since == 0.0 && segment == self.segment {
            self.clock.doubled += 1;
            return;
        }
        if self.last_time.is_finite() {
            let usual = if self.clock.intervals > 20 { self.clock.covered / self.clock.intervals as f64 } else { 0.0 };
            let back = since < 0.0;
            let gap = since > GAP.max(4.0 * usual);
            if back || gap || segment != self.segment {
                self.clock.steps_back += u64::from(back);
                self.clock.gaps += u64::from(gap);
                self.close(&mut hand);
                hand(Step::Break);
                self.before = f64::NAN;
                self.held_at = [f64::NEG_INFINITY; Channel::COUNT];
            } else {
                self.clock.covered += since;
                self.clock.intervals += 1;
                if time - self.begin >= FRAME - 1e-4 {
                    self.close(&mut hand);
                }
            }
        }
        if self.samples == 0 {
            self.begin = time;
        }
        self.last_time = time;
        self.segment = segment;
        self.samples += 1;
        self.time_sum += time - self.begin;
        for (i, channel) in Channel::ALL.into_iter().enumerate() {
            if values[i].is_finite() {
                self.held[i] = values[i];
                self.held_at[i] = time;
            } else if time - self.held_at[i] > channel.stands_for() {
                continue;
            }
            self.sums[i] += self.held[i];
            self.counts[i] += 1;
        }
    }

    /// Hands on what is left.
    pub fn finish(&mut self, mut hand: impl FnMut(Step)) {
        self.close(&mut hand);
        hand(Step::Break);
    }

    fn close(&mut self, hand: &mut impl FnMut(Step)) {
        if self.samples == 0 {
            return;
        }
        let time = self.begin + self.time_sum / f64::from(self.samples);
        let mut values = [f64::NAN; Channel::COUNT];
        for (i, v) in values.iter_mut().enumerate() {
            if self.counts[i] > 0 {
                *v = self.sums[i] / f64::from(self.counts[i]);
            }
        }
        let step = if self.before.is_finite() { time - self.before } else { 0.0 };
        self.before = time;
        self.sums = [0.0; Channel::COUNT];
        self.counts = [0; Channel::COUNT];
        self.samples = 0;
        self.time_sum = 0.0;
        hand(Step::Frame(Frame { time, step, values }));
    }
}
