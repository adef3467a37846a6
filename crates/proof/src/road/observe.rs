//! What happened on a ride: braking, held descents, coasting, full-power starts, changes of direction.
//!
//! One pass over the frames in flat memory. A frame is judged three seconds later, when the slope around it is known.

use super::sample::{Channel, Clockwork, Frame, Framer, Step, Values};
use std::collections::VecDeque;

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

const WINDOW: f64 = 0.5;
const AHEAD: f64 = 3.0;
const MOST_WINDOWS: usize = 20_000;
const MOST_COASTS: usize = 20_000;
const MOST_REVERSALS: usize = 20_000;
/// At these amperes the motor neither drives nor brakes (common practice: offset of a clamp or sensor).
const IDLE_AMPERES: f64 = 1.0;
const IDLE_BATTERY: f64 = 0.3;
const COAST_STEP: f64 = 6.0;
const COAST_SLOWEST: f64 = 1.5;
/// A descent counts as held when braking goes on this long with the speed this near to its mean.
const HELD_SECONDS: f64 = 20.0;
const HELD_NEAR: f64 = 4.0 / 3.6;

#[derive(Clone, Copy)]
struct Point {
    frame: Frame,
    at: f64,
}

/// What the motor does in a frame.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Does {
    Drives,
    Brakes,
    Idles,
    NotKnown,
}

/// Watches a ride, sample by sample.
pub struct Observer {
    steer: Steer,
    framer: Framer,
    line: VecDeque<Point>,
    /// Place in `line` of the next frame to be judged.
    next: usize,
    distance: f64,
    recent: VecDeque<Point>,
    now: Now,
    ride: Ride,
    every: u64,
    windows_seen: u64,
    coasts_seen: u64,
    coast_every: u64,
    air: (f64, u64),
    bus: (f64, f64),
}

/// What is going on.
struct Now {
    braking: bool,
    event_peak: f64,
    last_window: f64,
    above_half: f64,
    above_tenth: Option<f64>,
    held: Option<HeldNow>,
    coast: Option<CoastNow>,
    drive_peak: f64,
    brake_peak: f64,
    starting: Option<f64>,
    rest_volts: f64,
    heat: Heating,
    /// When motor or rider last did something.
    ended_at: f64,
}

#[derive(Clone, Copy)]
struct HeldNow {
    begin: f64,
    n: f64,
    mean: f64,
    squares: f64,
    height: f64,
    last_height: f64,
    last: f64,
}

#[derive(Clone, Copy)]
struct CoastNow {
    begin: f64,
    speed: f64,
    height: f64,
    at: f64,
    cubes: f64,
    last: f64,
}

impl Observer {
    /// Begins a ride.
    pub fn new(steer: Steer) -> Self {
        Self {
            steer,
            framer: Framer::default(),
            line: VecDeque::new(),
            next: 0,
            distance: 0.0,
            recent: VecDeque::new(),
            now: Now {
                braking: false,
                event_peak: 0.0,
                last_window: f64::NEG_INFINITY,
                above_half: f64::NAN,
                above_tenth: None,
                held: None,
                coast: None,
                drive_peak: 0.0,
                brake_peak: 0.0,
                starting: None,
                rest_volts: f64::NAN,
                heat: Heating::default(),
                ended_at: f64::NEG_INFINITY,
            },
            ride: Ride {
                clock: Clockwork::default(),
                has: [false; Channel::COUNT],
                distance: 0.0,
                brakings: 0,
                windows: Vec::new(),
                charge_peak: 0.0,
                bus_peak: None,
                held: Vec::new(),
                coasts: Vec::new(),
                gone: Vec::new(),
                starts: 0,
                drive_peak: 0.0,
                reversals: Vec::new(),
                reversal_count: 0,
                recovered: 0.0,
                slots: Vec::new(),
                brake_bus: f64::NAN,
                heating: Vec::new(),
                temperature: None,
                air: None,
            },
            every: 1,
            windows_seen: 0,
            coasts_seen: 0,
            coast_every: 1,
            air: (0.0, 0),
            bus: (0.0, 0.0),
        }
    }

    /// Takes a sample: seconds, segment of the file, values by [`Channel`].
    pub fn push(&mut self, time: f64, segment: u32, values: &Values) {
        let mut framer = core::mem::take(&mut self.framer);
        framer.push(time, segment, values, |step| self.step(step));
        self.framer = framer;
    }

    /// Ends the ride.
    pub fn finish(mut self) -> Ride {
        let mut framer = core::mem::take(&mut self.framer);
        framer.finish(|step| self.step(step));
        self.ride.clock = *framer.clock();
        self.ride.distance = self.distance;
        if self.now.heat.seconds > 0.0 {
            self.ride.heating.push(self.now.heat);
        }
        if self.air.1 > 0 {
            self.ride.air = Some(self.air.0 / self.air.1 as f64);
        }
        if self.bus.1 > 0.0 {
            self.ride.brake_bus = self.bus.0 / self.bus.1;
        }
        self.ride
    }

    fn step(&mut self, step: Step) {
        match step {
            Step::Frame(frame) => {
                let v = frame.get(Channel::Speed);
                if v.is_finite() {
                    let before = self.line.back().map_or(v, |p| p.frame.get(Channel::Speed));
                    let mean = if before.is_finite() { 0.5 * (v + before) } else { v };
                    self.distance += mean.max(0.0) * frame.step;
                }
                for (i, x) in frame.values.iter().enumerate() {
                    self.ride.has[i] |= x.is_finite();
                }
                self.line.push_back(Point { frame, at: self.distance });
                while self.next < self.line.len() && frame.time - self.line[self.next].frame.time >= AHEAD {
                    self.judge_next();
                }
            }
            Step::Break => {
                while self.next < self.line.len() {
                    self.judge_next();
                }
                self.end_stretch();
                self.line.clear();
                self.recent.clear();
                self.next = 0;
            }
        }
    }

    fn judge_next(&mut self) {
        let p = self.line[self.next];
        let grade = self.grade(self.next);
        self.next += 1;
        while self.line.front().is_some_and(|f| p.frame.time - f.frame.time > AHEAD) && self.next > 1 {
            self.line.pop_front();
            self.next -= 1;
        }
        self.recent.push_back(p);
        // One frame more than half a second, so that the slope spans it whole.
        while self.recent.len() > 2 && self.recent.front().is_some_and(|f| p.frame.time - f.frame.time > WINDOW + 0.02)
        {
            self.recent.pop_front();
        }
        self.judge(p, grade);
    }

    /// Slope of the road three seconds to either side, from heights averaged at both ends.
    fn grade(&self, _: usize) -> f64 {
        let n = self.line.len();
        let ends = (n / 8).max(1);
        let mean = |from: usize, to: usize| {
            let (mut h, mut d) = (0.0, 0.0);
            for p in self.line.range(from..to) {
                h += p.frame.get(Channel::Height);
                d += p.at;
            }
            let k = (to - from) as f64;
            (h / k, d / k)
        };
        let (h0, d0) = mean(0, ends);
        let (h1, d1) = mean(n - ends, n);
        if d1 - d0 > 3.0 { (h1 - h0) / (d1 - d0) } else { f64::NAN }
    }

    fn does(&self, f: &Frame) -> (Does, f64) {
        let (phase, battery) = (f.get(Channel::PhaseCurrent), f.get(Channel::BatteryCurrent));
        let torque = f.get(Channel::MotorTorque);
        let few = IDLE_AMPERES.max(0.03 * self.steer.brake_amperes);
        if phase.is_finite() {
            // A log that gives sizes only has its sign from the battery.
            let signed = if phase > 0.0 && battery < -IDLE_BATTERY { -phase } else { phase };
            let does = if signed < -few {
                Does::Brakes
            } else if signed > few {
                Does::Drives
            } else {
                Does::Idles
            };
            return (does, signed);
        }
        let by = |x: f64, least: f64| {
            if x < -least {
                Does::Brakes
            } else if x > least {
                Does::Drives
            } else {
                Does::Idles
            }
        };
        if torque.is_finite() {
            return (by(torque, 1.0), f64::NAN);
        }
        if battery.is_finite() {
            return (by(battery, IDLE_BATTERY), f64::NAN);
        }
        (Does::NotKnown, f64::NAN)
    }

    /// Mean of a channel over the recent half second.
    fn mean(&self, channel: Channel) -> f64 {
        let mut sum = 0.0;
        for p in &self.recent {
            sum += p.frame.get(channel);
        }
        sum / self.recent.len() as f64
    }

    /// Slope of the speed over the recent half second, by least squares.
    fn acceleration(&self) -> f64 {
        let n = self.recent.len() as f64;
        let Some(first) = self.recent.front() else { return f64::NAN };
        let (mut t, mut v, mut tt, mut tv) = (0.0, 0.0, 0.0, 0.0);
        for p in &self.recent {
            let (x, y) = (p.frame.time - first.frame.time, p.frame.get(Channel::Speed));
            t += x;
            v += y;
            tt += x * x;
            tv += x * y;
        }
        let spread = tt - t * t / n;
        if spread > 0.0 { (tv - t * v / n) / spread } else { f64::NAN }
    }

    fn full(&self) -> bool {
        let span = self.recent.back().zip(self.recent.front()).map_or(0.0, |(b, f)| b.frame.time - f.frame.time);
        span >= WINDOW - 0.06
    }

    fn judge(&mut self, p: Point, grade: f64) {
        let f = p.frame;
        let speed = f.get(Channel::Speed);
        let (does, signed) = self.does(&f);
        self.slow_things(&f, signed, speed);
        let full = self.full();
        let motor = if full { self.signed_mean() } else { f64::NAN };
        self.brake(p, grade, does, motor, full);
        self.drive(&f, does, motor, speed);
        self.hold(&f, does, speed);
        self.coast(p, does, speed);
    }

    fn signed_mean(&self) -> f64 {
        let mut sum = 0.0;
        for p in &self.recent {
            sum += self.does(&p.frame).1;
        }
        sum / self.recent.len() as f64
    }

    fn slow_things(&mut self, f: &Frame, signed: f64, speed: f64) {
        let air = f.get(Channel::AirTemperature);
        if air.is_finite() {
            self.air.0 += air;
            self.air.1 += 1;
        }
        let (bus, battery) = (f.get(Channel::BusVoltage), f.get(Channel::BatteryCurrent));
        if bus.is_finite() && battery.abs() < 0.5 {
            let old = self.now.rest_volts;
            // Some seconds of rest, newest first.
            self.now.rest_volts = if old.is_finite() { old + 0.1 * (bus - old) } else { bus };
        }
        if f.step > 0.0 && signed.is_finite() && speed.is_finite() {
            let heat = &mut self.now.heat;
            heat.seconds += f.step;
            heat.square_amperes += signed * signed * f.step;
            heat.speed += speed * f.step;
            if heat.seconds >= 10.0 {
                let s = heat.seconds;
                let done = Heating { seconds: s, square_amperes: heat.square_amperes / s, speed: heat.speed / s };
                self.ride.heating.push(done);
                *heat = Heating::default();
            }
        }
        let t = f.get(Channel::MotorTemperature);
        if t.is_finite() {
            let at = self.ride.heating.len();
            self.ride.temperature = Some(match self.ride.temperature {
                None => (t, t, at),
                Some((first, most, _)) if t > most => (first, t, at),
                Some(known) => known,
            });
        }
    }

    fn brake(&mut self, p: Point, grade: f64, does: Does, motor: f64, full: bool) {
        let f = p.frame;
        let braking = does == Does::Brakes;
        if braking && !self.now.braking {
            self.ride.brakings += 1;
            self.now.event_peak = 0.0;
            self.now.above_tenth = None;
            self.now.above_half = f64::NAN;
        }
        let amps = -motor;
        let speed = f.get(Channel::Speed);
        if braking {
            let (battery, bus) = (f.get(Channel::BatteryCurrent), f.get(Channel::BusVoltage));
            if battery < 0.0 && bus.is_finite() {
                self.ride.recovered += -battery * bus * f.step;
            }
            if bus.is_finite() {
                self.bus.0 += bus * f.step;
                self.bus.1 += f.step;
            }
            let own = -self.does(&f).1;
            if own.is_finite() && speed.is_finite() {
                let slot = own as usize;
                if self.ride.slots.len() <= slot && slot < 2000 {
                    self.ride.slots.resize(slot + 1, Slot::default());
                }
                if let Some(s) = self.ride.slots.get_mut(slot) {
                    s.seconds += f.step;
                    s.metres += speed * f.step;
                    s.charge += own * f.step;
                }
            }
            if full {
                let charge = -self.mean(Channel::BatteryCurrent);
                if charge > self.ride.charge_peak {
                    self.ride.charge_peak = charge;
                }
                let volts = self.mean(Channel::BusVoltage);
                if volts.is_finite() && self.ride.bus_peak.is_none_or(|b| volts > b.0) {
                    self.ride.bus_peak = Some((volts, self.now.rest_volts, charge));
                }
                self.window(p, grade, amps, charge, volts);
            }
            if amps.is_finite() {
                self.now.event_peak = self.now.event_peak.max(amps);
                self.now.brake_peak = self.now.brake_peak.max(amps);
            }
        }
        // Where braking is gone while the wheel rolls on to a stop.
        let own = -self.does(&f).1;
        if own.is_finite() && self.now.event_peak > 3.0 {
            if braking && own > 0.1 * self.now.event_peak {
                if own > 0.5 * self.now.event_peak {
                    self.now.above_half = speed;
                }
                self.now.above_tenth = Some(speed);
            } else if let Some(tenth) = self.now.above_tenth.take() {
                // On the straight line through half and a tenth of the braking, down to nothing.
                let gone = tenth - 0.25 * (self.now.above_half - tenth).max(0.0);
                if gone > 0.0 && gone < self.steer.fade_from + 3.0 / 3.6 && self.ride.gone.len() < 10_000 {
                    self.ride.gone.push(gone);
                }
            }
        }
        self.now.braking = braking;
    }

    fn window(&mut self, p: Point, grade: f64, amps: f64, charge: f64, volts: f64) {
        let f = p.frame;
        if f.time - self.now.last_window < WINDOW {
            return;
        }
        let all_brake = self.recent.iter().all(|q| self.does(&q.frame).0 == Does::Brakes);
        if !all_brake {
            return;
        }
        self.now.last_window = f.time;
        self.windows_seen += 1;
        if !self.windows_seen.is_multiple_of(self.every) {
            return;
        }
        let sizes = self.recent.iter().map(|q| -self.does(&q.frame).1);
        let (low, high) = sizes.fold((f64::INFINITY, 0.0_f64), |(l, h), x| (l.min(x), h.max(x)));
        self.ride.windows.push(Window {
            event: self.ride.brakings,
            speed: self.mean(Channel::Speed),
            acceleration: self.acceleration(),
            grade,
            brake_amperes: amps,
            logged_torque: -self.mean(Channel::MotorTorque),
            bus_volts: volts,
            charge_amperes: charge,
            // Without a motor current there is no telling; then every window counts.
            steady: high <= 0.0 || high - low <= 0.15 * high + 1.0,
        });
        if self.ride.windows.len() >= MOST_WINDOWS {
            thin(&mut self.ride.windows);
            self.every *= 2;
        }
    }

    fn drive(&mut self, f: &Frame, does: Does, motor: f64, speed: f64) {
        if does == Does::Drives && motor.is_finite() {
            if self.now.brake_peak > 0.0 {
                self.reversal();
            }
            self.now.drive_peak = self.now.drive_peak.max(motor);
            self.ride.drive_peak = self.ride.drive_peak.max(motor);
        }
        if speed < 0.5 {
            self.now.starting = Some(f.time);
        }
        if let Some(begin) = self.now.starting {
            if f.time - begin > 6.0 {
                self.now.starting = None;
            } else if motor >= 0.9 * self.steer.drive_amperes && speed > 0.5 {
                self.ride.starts += 1;
                self.now.starting = None;
            }
        }
    }

    fn reversal(&mut self) {
        let r = Reversal { drive_amperes: self.now.drive_peak, brake_amperes: self.now.brake_peak };
        self.now.drive_peak = 0.0;
        self.now.brake_peak = 0.0;
        if r.drive_amperes <= 0.0 {
            return;
        }
        self.ride.reversal_count += 1;
        self.ride.reversals.push(r);
        if self.ride.reversals.len() >= 2 * MOST_REVERSALS {
            let weaker = |r: &Reversal| r.drive_amperes.min(r.brake_amperes);
            self.ride.reversals.sort_by(|a, b| weaker(b).total_cmp(&weaker(a)));
            self.ride.reversals.truncate(MOST_REVERSALS);
        }
    }

    fn hold(&mut self, f: &Frame, does: Does, speed: f64) {
        if does != Does::Brakes || !speed.is_finite() || speed < 2.0 {
            self.end_hold();
            return;
        }
        let height = f.get(Channel::Height);
        let h = self.now.held.get_or_insert(HeldNow {
            begin: f.time,
            n: 0.0,
            mean: speed,
            squares: 0.0,
            height,
            last_height: height,
            last: f.time,
        });
        if (speed - h.mean).abs() > HELD_NEAR {
            self.end_hold();
            return;
        }
        h.n += 1.0;
        let off = speed - h.mean;
        h.mean += off / h.n;
        h.squares += off * (speed - h.mean);
        h.last = f.time;
        h.last_height = height;
    }

    fn end_hold(&mut self) {
        if let Some(h) = self.now.held.take()
            && h.last - h.begin >= HELD_SECONDS
            && self.ride.held.len() < 10_000
        {
            self.ride.held.push(Held {
                seconds: h.last - h.begin,
                speed: h.mean,
                ripple: 2.0 * (h.squares / (h.n - 1.0).max(1.0)).sqrt(),
                dropped: h.height - h.last_height,
            });
        }
    }

    fn coast(&mut self, p: Point, does: Does, speed: f64) {
        let f = p.frame;
        let pedals = f.get(Channel::Cadence) > 0.0 || f.get(Channel::RiderPower) > 0.0;
        let known = does == Does::Idles && speed.is_finite();
        if !known || pedals {
            self.now.ended_at = f.time;
        }
        if !known || pedals || speed < COAST_SLOWEST {
            self.now.coast = None;
            return;
        }
        // All of it as half-second means, so that everything lags alike and noise at the ends is small.
        let (height, speed) = (self.mean(Channel::Height), self.mean(Channel::Speed));
        let at = self.recent.iter().map(|q| q.at).sum::<f64>() / self.recent.len() as f64;
        let begin = CoastNow { begin: f.time, speed, height, at, cubes: 0.0, last: speed };
        // Two seconds after braking, driving or pedalling the hub and the rider are still busy.
        if f.time - self.now.ended_at < 2.0 {
            self.now.coast = None;
            return;
        }
        let c = self.now.coast.get_or_insert(begin);
        if f.time > c.begin {
            // Simpson's rule with the middle speed as the mean of both ends.
            let middle = 0.5 * (speed + c.last);
            c.cubes += f.step * (speed.powi(3) + 4.0 * middle.powi(3) + c.last.powi(3)) / 6.0;
            c.last = speed;
        }
        if f.time - c.begin < COAST_STEP - 1e-6 {
            return;
        }
        let done = *c;
        self.now.coast = Some(begin);
        let distance = at - done.at;
        if distance < 4.0 {
            return;
        }
        self.coasts_seen += 1;
        if !self.coasts_seen.is_multiple_of(self.coast_every) {
            return;
        }
        self.ride.coasts.push(Coast {
            distance,
            kinetic: 0.5 * (done.speed * done.speed - speed * speed),
            dropped: done.height - height,
            cubes: done.cubes,
            speed: distance / (f.time - done.begin),
        });
        if self.ride.coasts.len() >= MOST_COASTS {
            thin(&mut self.ride.coasts);
            self.coast_every *= 2;
        }
    }

    fn end_stretch(&mut self) {
        self.end_hold();
        if self.now.brake_peak > 0.0 && self.now.drive_peak > 0.0 {
            self.reversal();
        }
        self.now.coast = None;
        self.now.braking = false;
        self.now.above_tenth = None;
        self.now.starting = None;
    }
}

/// Every second one.
fn thin<T>(all: &mut Vec<T>) {
    let mut keep = false;
    all.retain(|_| {
        keep = !keep;
        keep
    });
}
