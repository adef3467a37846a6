//! Bench readings as they were taken, in SI.

/// One value as read.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// What was read.
    pub value: f64,
    /// Standard deviation from one go to the next.
    pub sigma: f64,
    /// Standard deviation of the tool's own error, as a share of the value; all readings of that tool share it.
    pub gain: f64,
    /// The tool, by its name in the rack.
    pub tool: Option<String>,
}

/// Before or after the clutch was locked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// Before the first screw was turned.
    Before,
    /// After locking, closed again.
    After,
}

impl When {
    /// Token of files, JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Before => "before",
            Self::After => "after",
        }
    }
}

/// Which way the wheel was turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turned {
    /// As when riding.
    Forwards,
    /// Against it; a free clutch then takes the rotor along.
    Backwards,
}

impl Turned {
    /// Token of files, JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Forwards => "forwards",
            Self::Backwards => "backwards",
        }
    }
}

/// How the hub feels when turned by hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feel {
    /// Smooth.
    Smooth,
    /// A tight spot once a turn.
    TightSpot,
    /// Gritty.
    Gritty,
}

impl Feel {
    /// Token of files, JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Smooth => "smooth",
            Self::TightSpot => "tight-spot",
            Self::Gritty => "gritty",
        }
    }
}

/// Resistance between two motor wires, in ohms.
#[derive(Clone, Debug, PartialEq)]
pub struct Wires {
    /// Which two: `ab`, `bc` or `ca`.
    pub pair: &'static str,
    /// The reading.
    pub ohms: Taken,
}

/// The wheel in the air, turned by the motor.
#[derive(Clone, Debug, PartialEq)]
pub struct NoLoad {
    /// Volts of the supply, at the pack wire.
    pub supply_volts: Taken,
    /// Amperes in the pack wire.
    pub amperes: Taken,
    /// Speed of the wheel in rad/s.
    pub wheel_speed: Option<Taken>,
    /// Volts at the motor, peak between two wires; the whole supply at full throttle.
    pub motor_volts: Option<Taken>,
}

/// The wheel pulled by a string round the tyre, steady and slow.
#[derive(Clone, Debug, PartialEq)]
pub struct Pull {
    /// Force at the rim in newtons.
    pub newtons: Taken,
    /// Which way.
    pub turned: Turned,
    /// Whether the motor's plug was still in the controller, which may brake too.
    pub plugged: bool,
}

/// The wheel turned from outside, volts between two wires.
#[derive(Clone, Debug, PartialEq)]
pub struct BackEmf {
    /// Volts between two wires, as root mean square.
    pub volts_rms: Taken,
    /// Speed of the wheel in rad/s.
    pub wheel_speed: Taken,
    /// Which way.
    pub turned: Turned,
}

/// The wheel left to itself.
#[derive(Clone, Debug, PartialEq)]
pub struct SpinDown {
    /// Which way.
    pub turned: Turned,
    /// Moment of inertia put on in addition, in kg·m², if any.
    pub flywheel: Option<Taken>,
    /// Seconds and speed of the wheel in rad/s.
    pub points: Vec<(f64, Taken)>,
}

/// A direct current holds the motor against a lever on the wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct Lever {
    /// Motor current, as the job's currents are given.
    pub amperes: Taken,
    /// Torque in N·m at which the lever turns the wheel slowly against the motor.
    pub against: Option<Taken>,
    /// Torque in N·m that the motor slowly lifts.
    pub lifted: Option<Taken>,
}

/// The axle pulled with a lever on its flats.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// Pull in newtons.
    pub newtons: Taken,
    /// Lever in metres.
    pub metres: Taken,
    /// Which way the axle was turned.
    pub turned: Turned,
    /// How many times.
    pub times: u32,
    /// Whether the mark moved.
    pub moved: bool,
}

/// One session at the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Where it comes from, for messages.
    pub name: String,
    /// The job's number.
    pub job: String,
    /// Before or after locking.
    pub when: When,
    /// Whether the clutch was locked then.
    pub locked: bool,
    /// The day, as written.
    pub date: Option<String>,
    /// Temperature of hub and winding in °C.
    pub celsius: Option<f64>,
    /// Between the wires.
    pub wires: Vec<Wires>,
    /// Power that the controller takes with the wheel at rest, in watts.
    pub standby: Option<Taken>,
    /// Wheel in the air, motor running.
    pub no_load: Vec<NoLoad>,
    /// Pulled by a string.
    pub pulls: Vec<Pull>,
    /// Volts when turned.
    pub back_emf: Vec<BackEmf>,
    /// Left to itself.
    pub spin_downs: Vec<SpinDown>,
    /// Torque on a lever.
    pub levers: Vec<Lever>,
    /// Runout of the clutch in metres.
    pub runout: Option<Taken>,
    /// By hand.
    pub feel: Option<Feel>,
    /// The axle held.
    pub holds: Vec<Hold>,
}

impl Sheet {
    /// An empty one.
    pub fn new(name: &str, job: &str, when: When, locked: bool) -> Self {
        Self {
            name: name.to_owned(),
            job: job.to_owned(),
            when,
            locked,
            date: None,
            celsius: None,
            wires: Vec::new(),
            standby: None,
            no_load: Vec::new(),
            pulls: Vec::new(),
            back_emf: Vec::new(),
            spin_downs: Vec::new(),
            levers: Vec::new(),
            runout: None,
            feel: None,
            holds: Vec::new(),
        }
    }

    /// Whether turning the wheel that way takes the rotor along.
    pub fn turns_rotor(&self, turned: Turned) -> bool {
        self.locked || turned == Turned::Backwards
    }
}
