//! The pack between the steps: as a source over a step, its pairs, and the electronics that open it.

use super::lanes::{ByLane, Lanes, by_lane, each};
use super::pack::{PackNow, PackTables};
use super::params::Params;
use super::step::{State, Stepper};

/// A charge that the electronics do not allow must last so long before they open, s.
const OPENS_AFTER_S: f64 = 1.0;
/// The electrodes follow the current within about this time, s: what their resistance falls by (own choice; far below the
/// quick pair, far above a step).
const FELT_S: f64 = 0.5;
/// They try again after this, s.
const OPEN_FOR_S: f64 = 30.0;

by_lane! {
    /// What depends on the length of a step only.
    pub(super) struct Relax {
        pub h_s: L,
        pub quick_gone: L,
        pub quick_mean: L,
        pub slow_gone: L,
        pub slow_mean: L,
        pub felt_gone: L,
        pub felt_half: L,
    }
}

/// Pack as a source over a step: volts that a zero current would show on average, and the resistance that any current adds.
#[inline(always)]
pub(super) fn source<L: Lanes>(r: &Relax<L>, p: &PackNow<L>, s: &State<L>) -> (L, L) {
    let one = r.h_s.like(1.0);
    let emf = p.open_v - s.quick_v * r.quick_mean - s.slow_v * r.slow_mean;
    let inner = p.at_once_ohm + p.quick_ohm * (one - r.quick_mean) + p.slow_ohm * (one - r.slow_mean);
    (emf, inner)
}

/// As [`physics::cell::terminal_current_a`], without its checks; not-a-number where there is none.
#[inline(always)]
pub(super) fn current<L: Lanes>(emf: L, inner: L, power_w: L, switched_a: L) -> L {
    let b = emf + inner * switched_a;
    let c = emf * switched_a + power_w;
    let root = (b * b - inner * c * 4.0).root();
    c * 2.0 / (b + root)
}

/// For steps of a length.
pub(super) fn relax(pack: &PackTables, h_s: f64) -> Relax {
    let gone = |tau: f64| -libm::expm1(-h_s / tau);
    let (quick_gone, slow_gone) = (gone(pack.quick_s), gone(pack.slow_s));
    Relax {
        h_s,
        quick_gone,
        quick_mean: quick_gone * pack.quick_s / h_s,
        slow_gone,
        slow_mean: slow_gone * pack.slow_s / h_s,
        felt_gone: gone(FELT_S),
        felt_half: -libm::expm1(-0.5 * h_s / FELT_S),
    }
}

/// What a motor sends into the pack when that opens.
#[derive(Clone, Copy)]
pub(super) struct Sent<L: Lanes> {
    pub om: L,
    pub flux: L,
    pub air_gap_w: L,
    pub battery_a: L,
    pub bus_v: L,
    pub phase_a: L,
}

impl<L: Lanes> Params<L> {
    /// What the supply cannot exceed if the pack opens in this step while it is charged, else nothing: as
    /// [`physics::dump::load_dump_bound`], the magnet cold.
    #[inline(always)]
    pub(super) fn surge(&self, sent: Sent<L>) -> L {
        let Sent { om, flux, air_gap_w, battery_a, bus_v, phase_a } = sent;
        let zero = om.like(0.0);
        let charges = battery_a.below(zero) & air_gap_w.below(zero);
        if !L::any(charges) {
            return zero;
        }
        let onset_v = self.cold_v_per_om * om;
        // The same current brings more at a cold magnet.
        let more_w = -air_gap_w * (self.flux_wb * self.cold_flux / flux - 1.0);
        let sent_w = more_w.or_zero() - battery_a * bus_v;
        let trip_v = (bus_v * bus_v + self.trip_v2_per_w * sent_w).root();
        let room_v = trip_v - onset_v;
        let bound_v = onset_v + (room_v * room_v + self.winding_v2_per_a2 * phase_a * phase_a).root();
        L::pick(charges, bound_v, zero)
    }
}

impl<L: Lanes> Stepper<'_, L> {
    /// The pack's electronics open when a charge that they do not allow lasts; one in the step in which they do.
    #[inline(always)]
    pub(super) fn electronics(&self, s: &mut State<L>, dt: L, bus_v: L) -> L {
        let (p, zero) = (&self.p, dt.like(0.0));
        let charge_a = -s.battery_a;
        let beyond = (charge_a - 0.1).least((bus_v - p.cutout_v).most(charge_a - p.electronics_a));
        let bearable = zero.up_to(s.pack_c) & s.pack_c.up_to(zero.like(60.0));
        let beyond = L::pick(bearable, beyond, charge_a - 0.1);
        let still = beyond.up_to(zero) & s.over_s.same(zero) | s.t_s.below(s.open_until_s);
        let quiet = still & s.t_s.below(s.switches_s);
        let before = s.beyond;
        s.beyond = beyond;
        let mut opened = zero;
        if L::any(!quiet) {
            each(L::bits(!quiet), |i| {
                let mut one = s.lane(i);
                one.beyond = before.lane(i);
                let opens = counts(&mut one, dt.lane(i), beyond.lane(i), p.reaction_s.lane(i));
                s.put(i, &one);
                opened.put(i, &f64::from(u8::from(opens)));
            });
        }
        opened
    }
}

/// The electronics' clock: runs from the moment at which the charge went beyond, between the middles of two steps.
#[cold]
#[inline(never)]
fn counts(s: &mut State, dt: f64, beyond: f64, reaction_s: f64) -> bool {
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
            s.hands_from_s = s.t_s + reaction_s;
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
