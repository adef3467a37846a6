//! What motor and legs do in a step: braking within every limit, driving shared by legs and motor, and the bridge that
//! charges by itself.

use super::bike::Command;
use super::lanes::{ByLane, Lanes, by_lane, each};
use super::params::Params;
use super::step::{Now, Stepper, Stuck};
use super::tally::Limit;

/// Nobody pushes a bike faster than this, m/s.
const WALK_M_S: f64 = 1.2;
/// Assist fades over this span of speed, m/s.
const ASSIST_FADE_M_S: f64 = 2.0 / 3.6;
/// An empty pack drives no more.
const EMPTY: f64 = 0.03;
/// A switch lets go when the bike is this much slower than wished, m/s.
const SWITCH_GAP_M_S: f64 = 0.4;
/// Bridge charging is in the formulas' reach up to this ratio of the motor's own volts to the supply's.
const BRIDGE_REACHES: f64 = 2.01;

by_lane! {
    /// What motor and legs do in a step.
    pub(super) struct Act {
        /// Braking wanted beyond what the coasting motor does, N.
        pub brake_n: L,
        pub legs_n: L,
        /// Torque inside the motor, driving positive, N·m.
        pub em_nm: L,
        pub phase_a: L,
        pub limited_a: L,
        /// Braking current at the end of the step, from which it rises in the next.
        pub ramp_a: L,
        /// Number of the limit.
        pub limit: L,
        /// One where the bridge charges by itself.
        pub bridge: L,
        pub copper_w: L,
        pub diode_w: L,
        /// Number of the reason why the step cannot be taken.
        pub stuck: L,
    }
}

impl<L: Lanes> Act<L> {
    #[inline(always)]
    pub(super) fn none(zero: L, limited_a: L) -> Self {
        Self {
            brake_n: zero,
            legs_n: zero,
            em_nm: zero,
            phase_a: zero,
            limited_a,
            ramp_a: zero,
            limit: zero,
            bridge: zero,
            copper_w: zero,
            diode_w: zero,
            stuck: zero,
        }
    }
}

impl<L: Lanes> Stepper<'_, L> {
    /// Braking wanted: as much by motor as its limits leave.
    #[inline(always)]
    pub(super) fn brake(&self, act: &mut Act<L>, m: &Now<L>, brakes: L::Mask, v_brake: L, slowing: L) {
        let (p, zero, one) = (&self.p, m.v.like(0.0), m.v.like(1.0));
        let code = |l: Limit| zero.like(l.code());
        let before_a = act.ramp_a;
        act.ramp_a = zero;
        let mut works = brakes & !m.open;
        act.limit = L::pick(brakes & m.open, code(Limit::PackOpen), act.limit);
        if self.kind.command == Command::HoldOnly {
            let not_asked = brakes & (slowing.below(zero) | p.hold_fastest_m_s.below(v_brake));
            act.limit = L::pick(not_asked, code(Limit::NotAsked), act.limit);
            works = works & !not_asked;
        }
        if !L::any(works) {
            return;
        }
        let fade = ((m.v - p.fade_gone_m_s) * p.fade_per_m_s).or_zero().least(one);
        let most_a = p.brake_a * fade;
        let wanted_nm = act.brake_n * p.brake_nm_per_n;
        let room = m.per_a - p.droop_per_a * wanted_nm;
        let mut full = room.up_to(zero);
        if self.kind.command == Command::Switch {
            full = full | (v_brake - SWITCH_GAP_M_S).below(m.v);
        }
        let mut i = L::pick(full, zero.like(f64::INFINITY), wanted_nm / room);
        let most = most_a.below(i);
        let mut limit = L::pick(most, L::pick(fade.below(one), code(Limit::Fade), code(Limit::MotorCurrent)), zero);
        i = i.least(most_a);
        // What the tyre holds, less what the drag already takes of it; from the wheel's slip a controller feels it and lets go.
        let hold_nm = (m.square_n * p.tyre_grip * p.per_geared_m - m.drag_nm).or_zero();
        let slides = (hold_nm * (p.droop_per_a * i + 1.0)).below(m.per_a * i);
        if L::any(slides & works) {
            i = L::pick(slides, hold_nm / (m.per_a - p.droop_per_a * hold_nm), i);
            limit = L::pick(slides, code(Limit::Grip), limit);
        }
        // The charge that the controller allows, by current and by voltage.
        let mut allowed = p.charge_a;
        let mut by = code(Limit::ChargeCurrent);
        if self.kind.eases_off {
            let span = p.ease_span_v + p.ease_full_a * m.inner;
            let by_volts = (p.ease_full_a * (p.ease_gone_v - m.emf) / span).or_zero();
            let volts = by_volts.below(allowed);
            allowed = L::pick(volts, by_volts, allowed);
            by = L::pick(volts, code(Limit::ChargeVolts), by);
        }
        let kept = works & allowed.below(zero.like(f64::INFINITY));
        if L::any(kept) {
            let bus = m.emf + allowed * m.inner;
            let curve = Charging {
                volts: m.per_a * m.om,
                droop: p.droop_per_a,
                loss: p.copper_factor * m.ohm,
                switching_v: p.switching * bus,
                need_w: allowed * bus + p.standby_w,
            };
            let (less, limited) = curve.limited(i, act.limited_a, kept);
            i = L::pick(limited, less, i);
            act.limited_a = L::pick(limited, less, act.limited_a);
            limit = L::pick(limited, by, limit);
        }
        // The current rises by its ramp, from where the last step left it: through the middle of this one to its end.
        let rises = p.ramp_a_s * m.h;
        let risen = before_a + rises * 0.5;
        limit = L::pick(risen.below(i), code(Limit::Ramp), limit);
        act.ramp_a = L::pick(works, i.least(before_a + rises), zero);
        i = i.least(risen);
        act.limit = L::pick(works, limit, act.limit);
        act.phase_a = L::pick(works, i, zero);
        act.em_nm = L::pick(works, -m.per_a * i / (p.droop_per_a * i + 1.0), zero);
    }

    /// Driving wanted: legs and motor share it.
    #[inline(always)]
    pub(super) fn pedal(&self, act: &mut Act<L>, m: &Now<L>, pedals: L::Mask, need_n: L) {
        let (p, v) = (&self.p, m.v);
        let (zero, one, two) = (v.like(0.0), v.like(1.0), v.like(2.0));
        let locked = self.kind.locked;
        // Legs give all their power in the range of the gears; below and above the cadence falls or rises too far.
        let slow = v.below(p.slow_legs_m_s);
        let fast = p.fast_legs_m_s.up_to(v);
        let (per, turns) = (L::pick(slow, p.per_slow_legs, p.per_fast_legs), L::pick(slow | fast, two, one));
        let beside = p.legs_w * (turns - v * per) * per;
        let most_n = L::pick(slow | fast, beside.or_zero(), p.legs_w / v);
        // On foot: full force up to two thirds of walking speed.
        let most_n = most_n.most(p.push_n * ((one - v * (1.0 / WALK_M_S)) * 3.0).least(one));
        let fade = ((p.assist_until_m_s - v) * (1.0 / ASSIST_FADE_M_S)).or_zero().least(one);
        let empty = m.charge.below(zero.like(EMPTY));
        let assist = L::pick(empty, zero, p.assist * fade);
        let mut limit = L::pick(empty, zero.like(Limit::Empty.code()), zero);
        let drag_n = m.drag_nm * p.geared_per_m;
        // Below the drag the gears carry it forward, above it the motor does.
        let low_n = if locked { need_n / (assist * p.per_gears2 + 1.0) } else { need_n };
        let over_drag = m.drag_nm.below(assist * low_n * p.drive_nm_per_n);
        let mut legs_n = L::pick(over_drag, (need_n + drag_n * p.carried) / (assist + 1.0), low_n).least(most_n);
        let mut em_nm = assist * legs_n * p.drive_nm_per_n;
        let helps = if locked { zero.below(em_nm) } else { zero.below(em_nm) & m.drag_nm.below(em_nm) };
        em_nm = L::pick(helps, em_nm, zero);
        legs_n = L::pick(helps, legs_n, need_n.least(most_n));
        let room = m.per_a - p.droop_per_a * em_nm;
        let wanted_a = L::pick(zero.below(room), em_nm / room, zero.like(f64::INFINITY));
        let mut i = wanted_a.least(p.drive_a);
        limit = L::pick(i.below(wanted_a), zero.like(Limit::MotorCurrent.code()), limit);
        let om_e = m.om * p.pole_pairs;
        let (along, across) = (om_e * p.phase_h * i, m.ohm * i + om_e * m.flux);
        let pushed = (m.emf * m.emf * (1.0 / 3.0)).below(along * along + across * across) & helps;
        if L::any(pushed) {
            let most_a = self.voltage_limit(om_e, m);
            i = L::pick(pushed, most_a, i);
            limit = L::pick(pushed, zero.like(Limit::SupplyVolts.code()), limit);
        }
        let weak = self.weak(m, i, helps);
        if L::any(weak) {
            i = L::pick(weak, self.bearable(m, weak).least(i), i);
            limit = L::pick(weak, zero.like(Limit::PackWeak.code()), limit);
        }
        let less = i.below(wanted_a) & helps;
        if L::any(less) {
            let held_nm = m.per_a * i / (p.droop_per_a * i + 1.0);
            let shaft = held_nm - m.drag_nm;
            let forward = zero.below(shaft);
            let turns_n = p.rotor_per_m * p.gears * shaft;
            let given_n = if locked {
                L::pick(forward, turns_n + drag_n, p.geared_per_m * held_nm)
            } else {
                L::pick(forward, turns_n, zero)
            };
            // A free clutch passes nothing of a motor that does not overcome its drag: it idles unpowered.
            let passes = if locked { less } else { less & forward };
            em_nm = L::pick(less, L::pick(passes, held_nm, zero), em_nm);
            i = L::pick(less, L::pick(passes, i, zero), i);
            legs_n = L::pick(less, (need_n - given_n).or_zero().least(most_n), legs_n);
        }
        act.legs_n = L::pick(pedals, legs_n, act.legs_n);
        act.phase_a = L::pick(pedals, i, act.phase_a);
        act.em_nm = L::pick(pedals, em_nm, act.em_nm);
        act.limit = L::pick(pedals & (helps | empty), limit, act.limit);
    }

    /// The least volts that driving leaves the supply. Below six tenths of what the pack shows unloaded it gives ever less power.
    #[inline(always)]
    fn least_v(&self, m: &Now<L>) -> L {
        self.p.cutback_v.most(m.emf * 0.6)
    }

    /// Where a driving current would take the supply below its least volts: its power there against the pack's, both times
    /// resistance and droop.
    #[inline(always)]
    fn weak(&self, m: &Now<L>, i: L, helps: L::Mask) -> L::Mask {
        let (p, least_v) = (&self.p, self.least_v(m));
        let bent = p.droop_per_a * i + 1.0;
        let lost_w = (p.copper_factor * m.ohm * i + p.switching * least_v) * i + p.standby_w;
        let taken = (m.per_a * i * m.om + lost_w * bent) * m.inner;
        (least_v * (m.emf - least_v) * bent).below(taken) & helps
    }

    /// The largest driving current that leaves the supply its least volts: a quadratic in the current at the torque's droop of
    /// the last try, which nears it from below.
    #[inline(always)]
    fn bearable(&self, m: &Now<L>, weak: L::Mask) -> L {
        let (p, zero) = (&self.p, m.v.like(0.0));
        let least_v = self.least_v(m);
        let given_w = (least_v * (m.emf - least_v) / m.inner - p.standby_w).or_zero();
        let (loss, own_v) = (p.copper_factor * m.ohm, m.per_a * m.om);
        let mut i = zero;
        let mut going = weak;
        // Droop is small, so that each try takes two or three digits more.
        while L::any(going) {
            let b = own_v / (p.droop_per_a * i + 1.0) + p.switching * least_v;
            let next = given_w * 2.0 / (b + (b * b + loss * given_w * 4.0).root());
            let further = (i + next * 1e-9).below(next);
            i = L::pick(going, next, i);
            going = going & further;
        }
        i
    }

    /// Largest driving current that the supply's volts push through: (ω_e·L·î)² + (R·î + ω_e·λ)² = V²/3.
    #[inline(always)]
    fn voltage_limit(&self, om_e: L, m: &Now<L>) -> L {
        let zero = om_e.like(0.0);
        let (x, e) = (om_e * self.p.phase_h, om_e * m.flux);
        let z2 = x * x + m.ohm * m.ohm;
        let room = m.emf * m.emf * (1.0 / 3.0) - e * e;
        let re = m.ohm * e;
        L::pick(zero.below(room), room / (re + (re * re + z2 * room).or_zero().root()), zero)
    }

    /// Above the supply's volts the diodes conduct, whatever is commanded (as `physics::rectifier`).
    #[cold]
    #[inline(never)]
    pub(super) fn bridge(&self, act: &mut Act<L>, m: &Now<L>, lanes: u64) {
        each(lanes, |k| {
            let mut one = act.lane(k);
            let open = L::bits(m.open) >> k & 1 == 1;
            let of = |x: &L| x.lane(k);
            let motor = Turning {
                om: of(&m.om),
                ohm: of(&m.warm_ohm),
                own_v: of(&m.own_v),
                emf: of(&m.emf),
                inner: of(&m.inner),
            };
            bridge(&self.p.lane(k), &mut one, &motor, open);
            act.put(k, &one);
        });
    }
}

/// A motor faster than its supply.
struct Turning {
    om: f64,
    ohm: f64,
    own_v: f64,
    emf: f64,
    inner: f64,
}

fn bridge(p: &Params, act: &mut Act, m: &Turning, open: bool) {
    use core::f64::consts::PI;
    if act.em_nm > 0.0 {
        act.em_nm = 0.0;
        act.phase_a = 0.0;
    }
    if open {
        act.limit = Limit::PackOpen.code();
        return;
    }
    let &Turning { om, ohm, own_v, emf, inner } = m;
    let u = emf + 2.0 * p.diode_v;
    let k = own_v / u;
    if k > BRIDGE_REACHES {
        act.stuck = Stuck::TooFastForBridge.code();
        return;
    }
    let e = own_v / 3f64.sqrt();
    let x = om * p.pole_pairs * p.phase_h;
    // The pack's resistance raises the volts that the bridge sees; below 1.3 times the onset that is a straight line.
    let straight = (own_v - PI / 3.0 * u).max(0.0) / (x + 2.0 * PI / 3.0 * ohm + PI / 3.0 * inner);
    let i_dc = if own_v <= 1.3 * (u + inner * straight) {
        straight
    } else {
        let taken = |bus: f64| {
            let ratio = own_v / bus;
            if ratio <= 1.3 {
                return (own_v - PI / 3.0 * bus).max(0.0) / (x + 2.0 * PI / 3.0 * ohm);
            }
            let (v1, z2) = (2.0 * bus / PI, ohm * ohm + x * x);
            let i1 = (-ohm * v1 + (ohm * ohm * v1 * v1 + z2 * (e * e - v1 * v1)).sqrt()) / z2;
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
    let copper_w = 1.5 * ohm * amplitude * amplitude;
    let nm = (u * i_dc + i_dc * i_dc * inner + copper_w) / om;
    if nm > -act.em_nm {
        act.em_nm = -nm;
        act.phase_a = amplitude;
        act.bridge = 1.0;
        act.copper_w = copper_w;
        act.diode_w = 2.0 * p.diode_v * i_dc;
        act.limit = Limit::TooFast.code();
    }
}

/// Charging power over motor current, less a limit of it, times `1 + droop·î`: a concave polynomial with the same roots.
struct Charging<L> {
    /// Power per ampere without droop and loss.
    volts: L,
    droop: L,
    loss: L,
    switching_v: L,
    need_w: L,
}

impl<L: Lanes> Charging<L> {
    /// Power above the limit, and its slope.
    #[inline(always)]
    fn over(&self, i: L) -> (L, L) {
        let bent = self.droop * i + 1.0;
        let away = (self.loss * i + self.switching_v) * i + self.need_w;
        let slope = self.volts - self.droop * away - bent * (self.loss * i * 2.0 + self.switching_v);
        (self.volts * i - bent * away, slope)
    }

    /// The smaller current that charges with just the limit, where the wanted one passes it (as
    /// [`physics::supply::charge_limit_current`]). Beyond the peak of the curve copper burns what the battery may not
    /// take; that larger current is not used.
    #[inline(always)]
    fn limited(&self, wanted: L, before: L, asked: L::Mask) -> (L, L::Mask) {
        let zero = wanted.like(0.0);
        let (over, slope) = self.over(wanted);
        let mut going = asked & !(over.up_to(zero) & zero.up_to(slope));
        // From the last step's answer; tangents of a concave curve then meet the root from below.
        let near = before.below(wanted) & zero.below(self.over(before).1);
        let mut i = L::pick(near, before, zero);
        let mut found = going;
        let mut left = 60;
        while left > 0 && L::any(going) {
            let (over, slope) = self.over(i);
            let rises = zero.below(slope);
            found = found & (!going | rises);
            going = going & rises;
            let change = over / slope;
            i = L::pick(going, i - change, i);
            // Tangents double the digits: after a change of 1e-8 of it none is left to find.
            let still = (i * 1e-8).below(change) | change.below(i * -1e-8);
            going = going & still;
            left -= 1;
        }
        (i.or_zero(), found & i.below(wanted))
    }
}
