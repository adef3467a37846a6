//! Events as they go on: braking, driving, holding, coasting.

use super::observe::{Does, Observer, Point};
use super::ride::{Coast, Heating, Held, Reversal, Slot, Window};
use super::sample::{Channel, Frame};

const WINDOW: f64 = 0.5;
const MOST_WINDOWS: usize = 20_000;
const MOST_COASTS: usize = 20_000;
const MOST_REVERSALS: usize = 20_000;
const COAST_STEP: f64 = 6.0;
const COAST_SLOWEST: f64 = 1.5;
/// A descent counts as held when braking goes on this long with the speed this near to its mean.
const HELD_SECONDS: f64 = 20.0;
const HELD_NEAR: f64 = 4.0 / 3.6;

/// What is going on.
pub(super) struct Now {
    pub(super) braking: bool,
    pub(super) event_peak: f64,
    pub(super) last_window: f64,
    pub(super) above_half: f64,
    pub(super) above_tenth: Option<f64>,
    pub(super) held: Option<HeldNow>,
    pub(super) coast: Option<CoastNow>,
    pub(super) drive_peak: f64,
    pub(super) brake_peak: f64,
    pub(super) starting: Option<f64>,
    pub(super) rest_volts: f64,
    pub(super) heat: Heating,
    /// When motor or rider last did something.
    pub(super) ended_at: f64,
}

#[derive(Clone, Copy)]
pub(super) struct HeldNow {
    begin: f64,
    n: f64,
    mean: f64,
    squares: f64,
    away: f64,
    height: f64,
    last_height: f64,
    last: f64,
}

#[derive(Clone, Copy)]
pub(super) struct CoastNow {
    begin: f64,
    speed: f64,
    height: f64,
    at: f64,
    cubes: f64,
    last: f64,
}

impl Observer {
    pub(super) fn brake(&mut self, p: Point, grade: f64, does: Does, motor: f64, full: bool) {
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

    pub(super) fn drive(&mut self, f: &Frame, does: Does, motor: f64, speed: f64) {
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

    pub(super) fn hold(&mut self, f: &Frame, does: Does, speed: f64) {
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
            away: 0.0,
            height,
            last_height: height,
            last: f.time,
        });
        let off = speed - h.mean;
        // Once held, faster with the motor still braking is a hold that failed, not one that ended.
        if off > HELD_NEAR && h.last - h.begin >= HELD_SECONDS {
            h.away = h.away.max(off);
        }
        if h.away > 0.0 && off > -HELD_NEAR {
            return;
        }
        if off.abs() > HELD_NEAR {
            self.end_hold();
            return;
        }
        h.n += 1.0;
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
                away: h.away,
                dropped: h.height - h.last_height,
            });
        }
    }

    pub(super) fn coast(&mut self, p: Point, does: Does, speed: f64) {
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

    pub(super) fn end_stretch(&mut self) {
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
