//! What happened on a ride: braking, held descents, coasting, full-power starts, changes of direction.
//!
//! One pass over the frames in flat memory. A frame is judged three seconds later, when the slope around it is known.

use super::events::Now;
use super::ride::{Heating, Ride, Steer};
use super::sample::{Channel, Clockwork, Frame, Framer, Step, Values};
use std::collections::VecDeque;

const WINDOW: f64 = 0.5;
const AHEAD: f64 = 3.0;
/// At these amperes the motor neither drives nor brakes (common practice: offset of a clamp or sensor).
const IDLE_AMPERES: f64 = 1.0;
const IDLE_BATTERY: f64 = 0.3;

#[derive(Clone, Copy)]
pub(super) struct Point {
    pub(super) frame: Frame,
    pub(super) at: f64,
}

/// What the motor does in a frame.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Does {
    Drives,
    Brakes,
    Idles,
    NotKnown,
}

/// Watches a ride, sample by sample.
pub struct Observer {
    pub(super) steer: Steer,
    framer: Framer,
    line: VecDeque<Point>,
    /// Place in `line` of the next frame to be judged.
    next: usize,
    distance: f64,
    pub(super) recent: VecDeque<Point>,
    pub(super) now: Now,
    pub(super) ride: Ride,
    pub(super) every: u64,
    pub(super) windows_seen: u64,
    pub(super) coasts_seen: u64,
    pub(super) coast_every: u64,
    air: (f64, u64),
    pub(super) bus: (f64, f64),
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

    pub(super) fn does(&self, f: &Frame) -> (Does, f64) {
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
    pub(super) fn mean(&self, channel: Channel) -> f64 {
        let mut sum = 0.0;
        for p in &self.recent {
            sum += p.frame.get(channel);
        }
        sum / self.recent.len() as f64
    }

    /// Slope of the speed over the recent half second, by least squares.
    pub(super) fn acceleration(&self) -> f64 {
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
}
