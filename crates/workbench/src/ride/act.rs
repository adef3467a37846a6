//! What motor and legs do in a step: braking within every limit, driving shared by legs and motor, and the bridge that
//! charges by itself.

use super::bike::Command;
use super::step::{State, Stepper, Stuck};
use super::tally::Limit;

/// Power at the pedals that reaches the wheel (Martin et al. 1998).
const CHAIN: f64 = 0.976;
/// Nobody pushes a bike faster than this, m/s.
const WALK_M_S: f64 = 1.2;
/// Assist fades over this span of speed, m/s.
const ASSIST_FADE_M_S: f64 = 2.0 / 3.6;
/// An empty pack drives no more.
const EMPTY: f64 = 0.03;
/// A switch lets go when the bike is this much slower than wished, m/s.
const SWITCH_GAP_M_S: f64 = 0.4;

/// What motor and legs do in a step.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Act {
    /// Braking wanted beyond what the coasting motor does, N.
    pub brake_n: f64,
    pub legs_n: f64,
    /// Torque inside the motor, driving positive, N·m.
    pub em_nm: f64,
    pub phase_a: f64,
    pub limited_a: f64,
    pub limit: Limit,
    pub switch_on: bool,
    pub bridge: bool,
    pub copper_w: f64,
    pub diode_w: f64,
}

impl Stepper<'_> {
    /// Braking wanted: as much by motor as its limits leave.
    #[inline(always)]
    pub(super) fn brake(
        &self,
        act: &mut Act,
        s: &State,
        v: f64,
        v_brake: f64,
        om: f64,
        ohm: f64,
        per_a: f64,
        slowing: f64,
        emf: f64,
        inner: f64,
        open: bool,
    ) {
        let b = self.bike;
        act.limited_a = s.limited_a;
        if !b.locked {
            return;
        }
        if b.command == Command::HoldOnly && (slowing < 0.0 || v_brake > b.hold_fastest_m_s) {
            act.limit = Limit::NotAsked;
            return;
        }
        if open {
            act.limit = Limit::PackOpen;
            return;
        }
        let fade = ((v - b.fade_gone_m_s) * self.fade_per_m_s).clamp(0.0, 1.0);
        let most_a = b.brake_a * fade;
        let wanted_nm = act.brake_n * b.gears / self.rotor_per_m;
        act.switch_on = b.command == Command::Switch && v > v_brake - SWITCH_GAP_M_S;
        let room = per_a - b.droop_per_a * wanted_nm;
        let wanted_a = if act.switch_on || room <= 0.0 { f64::INFINITY } else { wanted_nm / room };
        let mut i = wanted_a;
        if i > most_a {
            i = most_a;
            act.limit = if fade < 1.0 { Limit::Fade } else { Limit::MotorCurrent };
        }
        // The charge that the controller allows, by current and by voltage.
        let mut allowed = b.charge_a;
        let mut by = Limit::ChargeCurrent;
        if let Some(e) = b.ease_off {
            let by_volts = (e.full_a * (e.gone_v - emf) / (e.gone_v - e.from_v + e.full_a * inner)).max(0.0);
            if by_volts < allowed {
                allowed = by_volts;
                by = Limit::ChargeVolts;
            }
        }
        if allowed < f64::INFINITY {
            let bus = emf + allowed * inner;
            let need_w = allowed * bus + b.standby_w;
            let curve = Charging {
                volts: per_a * om,
                droop: b.droop_per_a,
                loss: b.copper_factor * ohm,
                switching_v: b.switching * bus,
                need_w,
            };
            if let Some(less) = curve.limited(i, s.limited_a) {
                i = less;
                act.limited_a = i;
                act.limit = by;
            }
        }
        act.phase_a = i;
        act.em_nm = -per_a * i / (1.0 + b.droop_per_a * i);
    }

    /// Driving wanted: legs and motor share it.
    #[inline(always)]
    pub(super) fn pedal(
        &self,
        act: &mut Act,
        need_n: f64,
        v: f64,
        om: f64,
        drag_nm: f64,
        ohm: f64,
        flux: f64,
        per_a: f64,
        charge: f64,
        emf: f64,
    ) {
        let (b, r) = (self.bike, self.rider);
        let legs_w = CHAIN * r.power_w;
        let most_n = if v < self.slow_legs_m_s {
            legs_w * (2.0 - v / self.slow_legs_m_s) / self.slow_legs_m_s
        } else if v < self.fast_legs_m_s {
            legs_w / v
        } else {
            (legs_w * (2.0 - v / self.fast_legs_m_s) / self.fast_legs_m_s).max(0.0)
        };
        // On foot: full force up to two thirds of walking speed.
        let most_n = most_n.max(r.push_n * (3.0 * (1.0 - v / WALK_M_S)).min(1.0));
        let fade = ((r.assist_until_m_s - v) / ASSIST_FADE_M_S).clamp(0.0, 1.0);
        let mut assist = r.assist * fade;
        if charge < EMPTY {
            assist = 0.0;
            act.limit = Limit::Empty;
        }
        let eta = b.gears;
        // Torque at the rotor for a force at the tyre without drag.
        let per_n = 1.0 / (self.rotor_per_m * eta);
        let drag_n = drag_nm * self.rotor_per_m / eta;
        // Below the drag the gears carry it forward, above it the motor does.
        let low_n = if b.locked { need_n / (1.0 + assist / (eta * eta)) } else { need_n };
        let carries = if b.locked { -drag_n * (1.0 - eta * eta) } else { drag_n * eta * eta };
        let mut legs_n = if assist * low_n * per_n > drag_nm { (need_n + carries) / (1.0 + assist) } else { low_n };
        legs_n = legs_n.min(most_n);
        let mut em_nm = assist * legs_n * per_n;
        if em_nm <= 0.0 || (!b.locked && em_nm <= drag_nm) {
            act.legs_n = need_n.min(most_n);
            return;
        }
        let room = per_a - b.droop_per_a * em_nm;
        let wanted_a = if room > 0.0 { em_nm / room } else { f64::INFINITY };
        let mut i = wanted_a;
        if i > b.drive_a {
            i = b.drive_a;
            act.limit = Limit::MotorCurrent;
        }
        let om_e = om * b.pole_pairs;
        let (along, across) = (om_e * b.phase_h * i, ohm * i + om_e * flux);
        if along * along + across * across > emf * emf / 3.0 {
            i = self.voltage_limit(om_e, ohm, flux, emf);
            act.limit = Limit::SupplyVolts;
        }
        if i < wanted_a {
            em_nm = per_a * i / (1.0 + b.droop_per_a * i);
            let shaft = em_nm - drag_nm;
            let given_n = if shaft > 0.0 {
                self.rotor_per_m * eta * shaft + if b.locked { drag_n } else { 0.0 }
            } else if b.locked {
                self.rotor_per_m / eta * em_nm
            } else {
                em_nm = 0.0;
                i = 0.0;
                0.0
            };
            legs_n = (need_n - given_n).clamp(0.0, most_n);
        }
        act.legs_n = legs_n;
        act.phase_a = i;
        act.em_nm = em_nm;
    }

    /// Largest driving current that the supply's volts push through: (ω_e·L·î)² + (R·î + ω_e·λ)² = V²/3.
    #[inline(always)]
    fn voltage_limit(&self, om_e: f64, ohm: f64, flux: f64, emf: f64) -> f64 {
        let (x, e) = (om_e * self.bike.phase_h, om_e * flux);
        let z2 = x * x + ohm * ohm;
        let room = emf * emf / 3.0 - e * e;
        if room <= 0.0 {
            return 0.0;
        }
        let re = ohm * e;
        room / (re + (re * re + z2 * room).sqrt())
    }

    /// Above the supply's volts the diodes conduct, whatever is commanded (as `physics::rectifier`).
    #[cold]
    #[inline(never)]
    pub(super) fn bridge(
        &self,
        act: &mut Act,
        om: f64,
        warm_ohm: f64,
        own_v: f64,
        emf: f64,
        inner: f64,
        open: bool,
    ) -> Result<(), Stuck> {
        use core::f64::consts::PI;
        let b = self.bike;
        if act.em_nm > 0.0 {
            act.em_nm = 0.0;
            act.phase_a = 0.0;
        }
        if open {
            act.limit = Limit::PackOpen;
            return Ok(());
        }
        let u = emf + 2.0 * b.diode_v;
        let k = own_v / u;
        if k > 2.01 {
            return Err(Stuck::TooFastForBridge);
        }
        let e = own_v / 3f64.sqrt();
        let x = om * b.pole_pairs * b.phase_h;
        // The pack's resistance raises the volts that the bridge sees; below 1.3 times the onset that is a straight line.
        let straight = (own_v - PI / 3.0 * u).max(0.0) / (x + 2.0 * PI / 3.0 * warm_ohm + PI / 3.0 * inner);
        let i_dc = if own_v <= 1.3 * (u + inner * straight) {
            straight
        } else {
            let taken = |bus: f64| {
                let ratio = own_v / bus;
                if ratio <= 1.3 {
                    return (own_v - PI / 3.0 * bus).max(0.0) / (x + 2.0 * PI / 3.0 * warm_ohm);
                }
                let (v1, z2) = (2.0 * bus / PI, warm_ohm * warm_ohm + x * x);
                let i1 = (-warm_ohm * v1 + (warm_ohm * warm_ohm * v1 * v1 + z2 * (e * e - v1 * v1)).sqrt()) / z2;
                let q = 1.3 / ratio;
                3.0 / PI * i1 * (1.0 - 0.3 * q * q * q * q * q)
            };
            let (mut low, mut high) = (0.0, taken(u));
            while high - low > 1e-10 * high {
                let mid = low + (high - low) / 2.0;
                if taken(u + inner * mid) > mid { low = mid } else { high = mid }
            }
            high
        };
        let amplitude = PI * i_dc / 3.0;
        let copper_w = 1.5 * warm_ohm * amplitude * amplitude;
        let nm = (u * i_dc + i_dc * i_dc * inner + copper_w) / om;
        if nm > -act.em_nm {
            act.em_nm = -nm;
            act.phase_a = amplitude;
            act.bridge = true;
            act.copper_w = copper_w;
            act.diode_w = 2.0 * b.diode_v * i_dc;
            act.limit = Limit::TooFast;
        }
        Ok(())
    }
}

/// Charging power over motor current, less a limit of it.
struct Charging {
    /// Power per ampere without droop and loss.
    volts: f64,
    droop: f64,
    loss: f64,
    switching_v: f64,
    need_w: f64,
}

impl Charging {
    /// Power above the limit, and its slope.
    #[inline(always)]
    fn over(&self, i: f64) -> (f64, f64) {
        let bent = 1.0 / (1.0 + self.droop * i);
        let given = self.volts * bent;
        let over = (given - self.loss * i - self.switching_v) * i - self.need_w;
        (over, given * bent - 2.0 * self.loss * i - self.switching_v)
    }

    /// The smaller current that charges with just the limit, if the wanted one passes it (as
    /// [`physics::supply::charge_limit_current`]). Beyond the peak of the curve copper burns what the battery may not
    /// take; that larger current is not used.
    #[inline(always)]
    fn limited(&self, wanted: f64, before: f64) -> Option<f64> {
        if wanted < f64::INFINITY {
            let (over, slope) = self.over(wanted);
            if over <= 0.0 && slope >= 0.0 {
                return None;
            }
        }
        // From the last step's answer; tangents of a concave curve then meet the root from below.
        let mut i = if before < wanted && self.over(before).1 > 0.0 { before } else { 0.0 };
        for _ in 0..60 {
            let (over, slope) = self.over(i);
            if slope <= 0.0 {
                return None;
            }
            let change = over / slope;
            i -= change;
            if change.abs() <= 1e-12 * i {
                break;
            }
        }
        if i < wanted { Some(i.max(0.0)) } else { None }
    }
}
