//! The pack between the steps: as a source over a step, its pairs, and the electronics that open it.

use super::bike::Bike;
use super::pack::PackNow;
use super::step::{State, Stepper};

/// A charge that the electronics do not allow must last so long before they open, s.
const OPENS_AFTER_S: f64 = 1.0;
/// They try again after this, s.
const OPEN_FOR_S: f64 = 30.0;

/// What depends on the length of a step only.
#[derive(Clone, Copy, Debug)]
pub(super) struct Relax {
    pub h_s: f64,
    pub quick_gone: f64,
    pub quick_mean: f64,
    pub slow_gone: f64,
    pub slow_mean: f64,
}

/// Pack as a source over a step: volts that a zero current would show on average, and the resistance that any current adds.
#[inline(always)]
pub(super) fn source(r: &Relax, p: &PackNow, s: &State) -> (f64, f64) {
    let emf = p.open_v - s.quick_v * r.quick_mean - s.slow_v * r.slow_mean;
    let inner = p.at_once_ohm + p.quick_ohm * (1.0 - r.quick_mean) + p.slow_ohm * (1.0 - r.slow_mean);
    (emf, inner)
}

/// As [`physics::cell::terminal_current_a`], without its checks.
#[inline(always)]
pub(super) fn current(emf: f64, inner: f64, power_w: f64, switched_a: f64) -> Option<f64> {
    let b = emf + inner * switched_a;
    let c = emf * switched_a + power_w;
    let root = b * b - 4.0 * inner * c;
    if root >= 0.0 { Some(2.0 * c / (b + root.sqrt())) } else { None }
}

/// For steps of a length.
pub(super) fn relax(b: &Bike, h_s: f64) -> Relax {
    let gone = |tau: f64| -libm::expm1(-h_s / tau);
    let (quick_gone, slow_gone) = (gone(b.pack.quick_s), gone(b.pack.slow_s));
    Relax {
        h_s,
        quick_gone,
        quick_mean: quick_gone * b.pack.quick_s / h_s,
        slow_gone,
        slow_mean: slow_gone * b.pack.slow_s / h_s,
    }
}

impl Stepper<'_> {
    /// The pack's electronics open when a charge that they do not allow lasts; true in the step in which they do.
    #[inline(always)]
    pub(super) fn electronics(&self, s: &mut State, dt: f64, bus_v: f64) -> bool {
        let b = self.bike;
        let charge_a = -s.battery_a;
        let mut beyond = (charge_a - 0.1).min((bus_v - b.cutout_v).max(charge_a - b.electronics_a));
        if !(0.0..=60.0).contains(&s.pack_c) {
            beyond = charge_a - 0.1;
        }
        if (beyond <= 0.0 && s.over_s == 0.0 || s.t_s < s.open_until_s) && s.t_s < s.switches_s {
            s.beyond = beyond;
            return false;
        }
        self.counts(s, dt, beyond)
    }

    /// The electronics' clock: runs from the moment at which the charge went beyond, between the middles of two steps.
    #[cold]
    #[inline(never)]
    fn counts(&self, s: &mut State, dt: f64, beyond: f64) -> bool {
        let switched = s.t_s >= s.switches_s;
        let mut opens = false;
        if s.t_s >= s.open_until_s && beyond > 0.0 {
            s.over_s += if s.over_s > 0.0 || !s.beyond.is_finite() {
                dt
            } else {
                dt * (0.5 + beyond / (beyond - s.beyond)).min(1.5)
            };
            if s.over_s >= OPENS_AFTER_S - 1e-9 {
                opens = true;
                s.over_s = 0.0;
                s.open_until_s = s.t_s + OPEN_FOR_S;
                s.hands_from_s = s.t_s + self.rider.reaction_s;
            }
        } else {
            s.over_s = 0.0;
        }
        s.beyond = if switched || opens { f64::NAN } else { beyond };
        s.switches_s = f64::INFINITY;
        for at in [s.open_until_s, s.hands_from_s] {
            if at > s.t_s {
                s.switches_s = s.switches_s.min(at);
            }
        }
        if s.over_s > 0.0 {
            s.switches_s = s.switches_s.min(s.t_s + OPENS_AFTER_S - s.over_s);
        }
        opens
    }
}
