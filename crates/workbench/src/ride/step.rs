//! One step of a ride: what rider, motor and hands do in the middle of it, then everything that follows from that.
//!
//! Forces are worked out once, at the speed and place that the last step's acceleration predicts for the middle of this
//! one (explicit midpoint, second order). They then hold for the whole step, so that each work is force × way and the
//! ledger closes by algebra. Battery pairs relax exactly; heat goes by the midpoint rule, as its time constants are a
//! thousand steps long. A step that would pass a stop, the end, or standstill is cut where it gets there.

use super::act::Act;
use super::bike::{Bike, Rider, Weather};
use super::course::{Cell, Course};
use super::electronics::{Relax, Sent, current, relax, source};
use super::lanes::{ByLane, Lanes, Rows, each};
use super::pack::PackTables;
use super::params::{Kind, Params};
pub use super::state::{State, Stuck, Taken};
use super::tally::{Flows, Limit, Tally};

/// Copper at 20 °C (IEC 60028), 1/K.
const COPPER: f64 = 0.003_93;
/// Cooling over speed is a table with this spacing, m/s.
const COOLING_STEP_M_S: f64 = 0.5;
const COOLING_POINTS: usize = 122;
/// A cut step is no shorter, s.
const SHORTEST_S: f64 = 1e-9;

/// Tables that a lane reads.
#[derive(Clone, Debug)]
struct Tables<'a> {
    pack: &'a PackTables,
    cooling: [f64; COOLING_POINTS],
}

/// Takes the steps of one ride, or of several side by side.
#[derive(Clone, Debug)]
pub struct Stepper<'a, L: Lanes = f64> {
    pub(super) kind: Kind,
    pub(super) p: Params<L>,
    relax: Relax<L>,
    course: &'a Course,
    cells: L,
    per_cell: f64,
    tables: Vec<Tables<'a>>,
    cell: Rows<L, 6>,
    pack: Rows<L, 10>,
    cold: Rows<L, 2>,
    cool: Rows<L, 2>,
}

impl<'a> Stepper<'a> {
    /// For steps of this length, s.
    pub fn new(bike: &'a Bike, rider: &Rider, weather: &Weather, course: &'a Course, h_s: f64) -> Self {
        let mut cooling = [0.0; COOLING_POINTS];
        for (i, h) in cooling.iter_mut().enumerate() {
            let v = quantity::Speed::metres_per_second((i as f64 * COOLING_STEP_M_S).min(60.0));
            *h = bike.hubs * bike.shell_to_air_w_k * physics::heat::shell_cooling(v).map_or(1.0, quantity::Ratio::get);
        }
        Self {
            kind: Kind::of(bike),
            p: Params::new(bike, rider, weather),
            relax: relax(&bike.pack, h_s),
            course,
            cells: (course.cells.len() - 1) as f64,
            per_cell: 1.0 / course.cell_m,
            tables: vec![Tables { pack: &bike.pack, cooling }],
            cell: Rows::new(()),
            pack: Rows::new(()),
            cold: Rows::new(()),
            cool: Rows::new(()),
        }
    }

    /// At the start of the course.
    pub const fn start(&self, v_m_s: f64) -> State {
        State {
            t_s: 0.0,
            x_m: 0.0,
            v_m_s,
            charge: self.p.start_charge,
            quick_v: 0.0,
            slow_v: 0.0,
            winding_c: self.p.air_c,
            shell_c: self.p.air_c,
            pack_c: self.p.start_pack_c,
            a_m_s2: 0.0,
            battery_a: 0.0,
            felt_a: 0.0,
            ramp_a: 0.0,
            limited_a: 0.0,
            over_s: 0.0,
            open_until_s: f64::NEG_INFINITY,
            hands_from_s: f64::NEG_INFINITY,
            beyond: f64::NAN,
            switches_s: f64::INFINITY,
        }
    }

    /// Kinetic energy, J.
    pub fn kinetic_j(&self, s: &State) -> f64 {
        0.5 * self.p.moving_kg * s.v_m_s * s.v_m_s
    }

    /// Energy in the battery's pairs, J.
    pub fn pairs_j(&self, s: &State) -> f64 {
        let pack = self.tables[0].pack;
        let p = pack.at(s.charge, s.pack_c, 0.0);
        let half = |v: f64, tau: f64, r: f64| if r > 0.0 { 0.5 * tau / r * v * v } else { 0.0 };
        half(s.quick_v, pack.quick_s, p.quick_ohm) + half(s.slow_v, pack.slow_s, p.slow_ohm)
    }

    /// One step, cut where the way reaches `until_m` or the bike stands.
    ///
    /// # Errors
    /// [`Stuck`] beyond what the formulas reach.
    pub fn step(&mut self, s: &mut State, until_m: f64, tally: &mut Tally) -> Result<Taken, Stuck> {
        let taken = self.go(s, until_m, tally);
        taken.stuck().map_or(Ok(taken), Err)
    }

    /// Stands still for one step of the given length: cools, relaxes, takes the standby.
    pub fn stand(&mut self, s: &mut State, dt: f64, tally: &mut Tally) -> Result<Taken, Stuck> {
        let pack = self.tables[0].pack;
        let relax = relax(pack, dt);
        let now = pack.at(s.charge, s.pack_c, s.felt_a + (s.battery_a - s.felt_a) * relax.felt_half);
        let (emf, inner) = source(&relax, &now, s);
        let battery_a = current(emf, inner, self.p.standby_w, 0.0);
        if battery_a.is_nan() {
            return Err(Stuck::PackPower);
        }
        let bus_v = emf - inner * battery_a;
        let (q_off, s_off) = (s.quick_v - now.quick_ohm * battery_a, s.slow_v - now.slow_ohm * battery_a);
        let heat_w = battery_a * (now.open_v - bus_v);
        let cooling = self.cooling_at(0.0);
        let (dw, ds) = self.motor_warms(0.0, 0.0, cooling, s.winding_c, s.shell_c);
        let (w_mid, s_mid) = (s.winding_c + 0.5 * dt * dw, s.shell_c + 0.5 * dt * ds);
        let (dw, ds) = self.motor_warms(0.0, 0.0, cooling, w_mid, s_mid);
        tally.book(
            &self.p,
            &Flows {
                dt_s: dt,
                chemical_w: now.open_v * battery_a,
                pack_heat_w: heat_w,
                standby_w: self.p.standby_w,
                to_air_w: cooling * (s_mid - self.p.air_c),
                battery_a,
                bus_v,
                ..Flows::alike((), &Flows::NOTHING)
            },
        );
        s.t_s += dt;
        s.a_m_s2 = 0.0;
        s.charge -= dt * battery_a * self.p.per_capacity;
        s.felt_a += (battery_a - s.felt_a) * relax.felt_gone;
        s.quick_v -= q_off * relax.quick_gone;
        s.slow_v -= s_off * relax.slow_gone;
        s.pack_c += dt * self.pack_warms(heat_w, s.pack_c);
        s.winding_c += dt * dw;
        s.shell_c += dt * ds;
        s.battery_a = battery_a;
        s.over_s = 0.0;
        s.ramp_a = 0.0;
        tally.warm(&self.p, s, dt);
        Ok(Taken {
            h_s: dt,
            slope: 0.0,
            motor_n: 0.0,
            hands_n: 0.0,
            nobody_n: 0.0,
            legs_n: 0.0,
            phase_a: 0.0,
            battery_a,
            bus_v,
            own_v: 0.0,
            axle_nm: 0.0,
            limit: Limit::None.code(),
            opened: 0.0,
            stuck: 0.0,
        })
    }
}

impl<'a, L: Lanes> Stepper<'a, L> {
    /// All lanes like the one given.
    pub(super) fn wide(unit: L::Unit, one: &Stepper<'a>) -> Self {
        Self {
            kind: one.kind,
            p: Params::alike(unit, &one.p),
            relax: Relax::alike(unit, &one.relax),
            course: one.course,
            cells: L::all(unit, one.cells),
            per_cell: one.per_cell,
            tables: vec![one.tables[0].clone(); L::COUNT],
            cell: Rows::new(unit),
            pack: Rows::new(unit),
            cold: Rows::new(unit),
            cool: Rows::new(unit),
        }
    }

    /// Another ride of the same course and kind in a lane.
    pub(super) fn replace(&mut self, i: usize, one: &Stepper<'a>) {
        self.p.put(i, &one.p);
        self.relax.put(i, &one.relax);
        self.tables[i].clone_from(&one.tables[0]);
        self.cell.forget(i);
        self.pack.forget(i);
        self.cold.forget(i);
        self.cool.forget(i);
    }

    /// Factors for the lanes of a mask whose step has another length.
    #[cold]
    #[inline(never)]
    fn cut(&self, lanes: u64, h_s: L, whole: &Relax<L>) -> Relax<L> {
        let mut out = *whole;
        each(lanes, |i| out.put(i, &relax(self.tables[i].pack, h_s.lane(i).max(SHORTEST_S))));
        out
    }

    /// One step in every lane, cut where the way reaches `until_m` or the bike stands.
    #[inline(always)]
    pub(super) fn go(&mut self, s: &mut State<L>, until_m: L, tally: &mut Tally<L>) -> Taken<L> {
        let (zero, one) = (s.t_s.like(0.0), s.t_s.like(1.0));
        let mut whole = self.relax;
        let left_s = s.switches_s - s.t_s;
        let early = left_s.below(whole.h_s);
        if L::any(early) {
            whole = self.cut(L::bits(early), left_s, &whole);
        }
        let h = whole.h_s;
        // The middle of the step as the last acceleration predicts it.
        let v = (s.v_m_s + h * 0.5 * s.a_m_s2).or_zero();
        let x = s.x_m + h * 0.5 * (s.v_m_s + h * 0.25 * s.a_m_s2);
        let at = x * self.per_cell;
        let cell = at.whole().least(self.cells);
        let f = at - cell;
        let [sin, d_sin, brake2, d_brake2, pedal2, d_pedal2] =
            self.cell.at(cell, |_, i| self.course.cells.get(i).map_or([0.0; 6], Cell::row));
        let sin = sin + f * d_sin;
        let v_brake = (brake2 + f * d_brake2).or_zero().root();
        let v_pedal = (pedal2 + f * d_pedal2).or_zero().root();

        // Road and air.
        let sin2 = sin * sin;
        let cos = one - sin2 * (sin2 * 0.125 + 0.5);
        let grade_n = self.p.weight_n * sin;
        let rolling_n = self.p.weight_n * self.p.rolling * cos + (v * 8.7 + 91.0) * 1e-3;
        let wind = v + self.p.head_wind_m_s;
        let air_n = self.p.air_kg_m * wind * wind.most(-wind);
        let road_n = grade_n + rolling_n + air_n;

        // The motor as it is now.
        let p = &self.p;
        let locked = self.kind.locked;
        let om = v * p.rotor_per_m;
        let drag_nm = p.drag_nm + p.drag_nms * om;
        let warm_ohm = p.phase_ohm * ((s.winding_c - 20.0) * COPPER + 1.0);
        let ohm = warm_ohm + p.switch_ohm;
        let flux = p.flux_wb * (p.magnet_per_k * (s.shell_c - 20.0) + 1.0);
        let per_a = p.torque_per_wb * flux;
        let coast_n = if locked { p.geared_per_m * drag_nm } else { zero };
        let charge = s.charge - h * 0.5 * s.battery_a * p.per_capacity;
        let felt = (s.felt_a + (s.battery_a - s.felt_a) * whole.felt_half) * p.per_knee;
        let pack = super::pack::now(&mut self.pack, &mut self.cold, charge, s.pack_c, felt, |i| self.tables[i].pack);
        let (emf, inner) = source(&whole, &pack, s);
        let own_v = if locked { p.own_per_wb * om * flux } else { zero };
        let open = s.t_s.below(s.open_until_s);

        // What the rider wants.
        // The wished speed falls by this much a second at the bike's own speed, so that nearing it never overshoots.
        let falls = (d_brake2 * (0.5 * self.per_cell)).least(zero);
        let slowing = if L::any(falls.below(zero)) { falls * (v / v_brake) } else { zero };
        let a_coast = -(road_n + coast_n) * p.per_kg;
        let a_brake = (slowing + p.firmness_per_s * (v_brake - v)).most(-p.slowing_m_s2);
        let a_pedal = (p.firmness_per_s * (v_pedal - v)).least(p.speeding_m_s2).least(a_brake);

        let motor = Now {
            v,
            om,
            drag_nm,
            warm_ohm,
            ohm,
            flux,
            per_a,
            emf,
            inner,
            own_v,
            open,
            charge: s.charge,
            square_n: p.weight_n * cos,
            h,
        };
        let mut act = Act::none(zero, s.limited_a);
        let brakes = a_brake.below(a_coast);
        let pedals = a_coast.below(a_pedal) & !brakes;
        if L::any(brakes) {
            act.brake_n = L::pick(brakes, p.moving_kg * (a_coast - a_brake), zero);
            act.ramp_a = s.ramp_a;
            if locked {
                self.brake(&mut act, &motor, brakes, v_brake, slowing);
            }
        }
        if L::any(pedals) {
            let need_n = p.moving_kg * (a_pedal - a_coast);
            self.pedal(&mut act, &motor, pedals, need_n);
        }
        if locked {
            let rectifies = (emf + p.diode_v * 2.0).below(own_v);
            if L::any(rectifies) {
                self.bridge(&mut act, &motor, L::bits(rectifies));
            }
        }

        // Forces at the tyre.
        let shaft_nm = act.em_nm - drag_nm;
        let forward = zero.below(shaft_nm);
        let motor_n = L::pick(forward, p.rotor_per_m * p.gears, p.geared_per_m) * shaft_nm;
        let spins = if locked { one.same(one) } else { zero.below(act.em_nm) };
        let motor_n = L::pick(spins, motor_n, zero);
        let asked = zero.below(act.brake_n);
        let short_n = L::pick(asked, (act.brake_n + motor_n + coast_n).or_zero(), zero);
        // Both tyres together hold no more; what the motor already asks of its own comes off.
        let hold_n = (p.weight_n * cos * p.grip + motor_n.least(zero)).or_zero();
        let hands_n = L::pick(s.hands_from_s.up_to(s.t_s), short_n.least(p.hands_most_n).least(hold_n), zero);
        let nobody_n = short_n - hands_n;
        let a = (motor_n + act.legs_n - hands_n - road_n) * p.per_kg;

        // How far the step goes.
        let (mut v_end, mut dt) = (s.v_m_s + h * a, h);
        let halts = v_end.up_to(zero) & a.below(zero);
        if L::any(halts) {
            dt = L::pick(halts, (-s.v_m_s / a).least(h), dt);
            v_end = L::pick(halts, zero, v_end);
        }
        let mut mean = (s.v_m_s + v_end) * 0.5;
        let reaches = until_m.up_to(s.x_m + dt * mean);
        if L::any(reaches) {
            let earlier = arrives(s.v_m_s, a, until_m - s.x_m).least(dt);
            dt = L::pick(reaches, earlier, dt);
            v_end = L::pick(reaches, (s.v_m_s + dt * a).or_zero(), v_end);
            mean = (s.v_m_s + v_end) * 0.5;
        }
        let way = dt * mean;

        // Electricity over the whole step, with constant current and mean speed.
        let shorter = !dt.same(h);
        let mut over = whole;
        let (mut emf, mut inner) = (emf, inner);
        if L::any(shorter) {
            over = self.cut(L::bits(shorter), dt, &whole);
            (emf, inner) = source(&over, &pack, s);
        }
        let om_mean = mean * p.rotor_per_m;
        let air_gap_w = act.em_nm * om_mean;
        let i2 = act.phase_a * act.phase_a;
        let heat_w = p.copper_factor * warm_ohm * i2;
        let switch_w = p.copper_factor * p.switch_ohm * i2;
        let switched_a = p.switching * act.phase_a;
        let bridged = zero.below(act.bridge);
        let (heat_w, switch_w, switched_a) = if L::any(bridged) {
            (
                L::pick(bridged, act.copper_w, heat_w),
                L::pick(bridged, act.diode_w, switch_w),
                L::pick(bridged, zero, switched_a),
            )
        } else {
            (heat_w, switch_w, switched_a)
        };
        let power_w = air_gap_w + heat_w + switch_w + p.standby_w;
        let battery_a = current(emf, inner, power_w, switched_a);
        let stuck = L::pick(battery_a.same(battery_a), act.stuck, zero.like(Stuck::PackPower.code()));
        let bus_v = emf - inner * battery_a;
        let phase_a = act.phase_a * p.per_hub;
        let surge_v = p.surge(Sent { om: om_mean, flux, air_gap_w, battery_a, bus_v, phase_a });

        // Pack.
        let (q_off, s_off) = (s.quick_v - pack.quick_ohm * battery_a, s.slow_v - pack.slow_ohm * battery_a);
        let pack_heat_w = battery_a * (pack.open_v - bus_v);
        let pack_mid = s.pack_c + dt * 0.5 * self.pack_warms(pack_heat_w, s.pack_c);

        // Heat of motor and shell, in the middle of the step.
        let drag_w = L::pick(spins, drag_nm * om_mean, zero);
        let gear_w = L::pick(spins, shaft_nm * om_mean - motor_n * mean, zero);
        let shell_in_w = drag_w + gear_w;
        let cooling = self.cooling_at(mean);
        let p = &self.p;
        let (dw, ds) = self.motor_warms(heat_w, shell_in_w, cooling, s.winding_c, s.shell_c);
        let (w_mid, s_mid) = (s.winding_c + dt * 0.5 * dw, s.shell_c + dt * 0.5 * ds);
        let (dw, ds) = self.motor_warms(heat_w, shell_in_w, cooling, w_mid, s_mid);

        tally.book(
            p,
            &Flows {
                dt_s: dt,
                way_m: way,
                mean_m_s: mean,
                grade_n,
                rolling_n,
                air_n,
                legs_n: act.legs_n,
                hands_n,
                nobody_n,
                motor_n,
                coast_n,
                chemical_w: pack.open_v * battery_a,
                pack_heat_w,
                standby_w: p.standby_w,
                inverter_w: switch_w + switched_a * bus_v,
                copper_w: heat_w,
                drag_w,
                gear_w,
                to_air_w: cooling * (s_mid - p.air_c),
                limit: act.limit,
                battery_a,
                bus_v,
                surge_v,
                own_v,
                phase_a,
            },
        );

        s.t_s += dt;
        s.x_m += way;
        s.v_m_s = v_end;
        s.a_m_s2 = a;
        s.charge -= dt * battery_a * p.per_capacity;
        s.felt_a += (battery_a - s.felt_a) * over.felt_gone;
        s.quick_v -= q_off * over.quick_gone;
        s.slow_v -= s_off * over.slow_gone;
        s.pack_c += dt * self.pack_warms(pack_heat_w, pack_mid);
        s.winding_c += dt * dw;
        s.shell_c += dt * ds;
        s.battery_a = battery_a;
        s.limited_a = act.limited_a;
        s.ramp_a = act.ramp_a;
        let opened = self.electronics(s, dt, bus_v);
        tally.warm(p, s, dt);
        Taken {
            h_s: dt,
            slope: sin,
            motor_n,
            hands_n,
            nobody_n,
            legs_n: act.legs_n,
            phase_a,
            battery_a,
            bus_v,
            own_v,
            axle_nm: motor_n * p.axle_per_n,
            limit: act.limit,
            opened,
            stuck,
        }
    }

    #[inline(always)]
    fn cooling_at(&mut self, v: L) -> L {
        let at = (v * (1.0 / COOLING_STEP_M_S)).least(v.like((COOLING_POINTS - 2) as f64));
        let i = at.whole();
        let [base, change] = self.cool.at(i, |lane, i| {
            let c = &self.tables[lane].cooling;
            let i = i.min(COOLING_POINTS - 2);
            [c[i], c[i + 1] - c[i]]
        });
        base + (at - i) * change
    }

    /// Kelvin per second of winding and shell.
    #[inline(always)]
    fn motor_warms(&self, winding_w: L, shell_w: L, cooling: L, winding_c: L, shell_c: L) -> (L, L) {
        let over = (winding_c - shell_c) * self.p.per_between;
        (
            (winding_w - over) * self.p.per_winding,
            (shell_w + over - cooling * (shell_c - self.p.air_c)) * self.p.per_shell,
        )
    }

    #[inline(always)]
    fn pack_warms(&self, heat_w: L, pack_c: L) -> L {
        (heat_w - self.p.pack_air_w_k * (pack_c - self.p.air_c)) * self.p.per_pack
    }
}

/// The motor and its supply in the middle of a step.
#[derive(Clone, Copy)]
pub(super) struct Now<L: Lanes> {
    pub v: L,
    pub om: L,
    pub drag_nm: L,
    pub warm_ohm: L,
    pub ohm: L,
    pub flux: L,
    /// Torque per ampere without droop.
    pub per_a: L,
    pub emf: L,
    pub inner: L,
    pub own_v: L,
    /// The pack's electronics are open.
    pub open: L::Mask,
    pub charge: L,
    /// Weight square to the road, N.
    pub square_n: L,
    pub h: L,
}

/// Time until a way is done with constant acceleration.
#[inline(always)]
fn arrives<L: Lanes>(v: L, a: L, way: L) -> L {
    let zero = v.like(0.0);
    let sum = v + (v * v + a * way * 2.0).or_zero().root();
    L::pick(zero.below(way) & zero.below(sum), way * 2.0 / sum, zero)
}
