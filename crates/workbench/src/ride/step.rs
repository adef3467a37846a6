//! One step of a ride: what rider, motor and hands do in the middle of it, then everything that follows from that.
//!
//! Forces are worked out once, at the speed and place that the last step's acceleration predicts for the middle of this
//! one (explicit midpoint, second order). They then hold for the whole step, so that each work is force × way and the
//! ledger closes by algebra. Battery pairs relax exactly; heat goes by the midpoint rule, as its time constants are a
//! thousand steps long. A step that would pass a stop, the end, or standstill is cut where it gets there.

use super::act::Act;
use super::bike::{Bike, Rider, Weather};
use super::course::{Cell, Course};
use super::electronics::{Relax, current, relax, source};
use super::tally::{Limit, Tally};

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// Copper at 20 °C (IEC 60028), 1/K.
const COPPER: f64 = 0.003_93;
/// Cooling over speed is a table with this spacing, m/s.
const COOLING_STEP_M_S: f64 = 0.5;
const COOLING_POINTS: usize = 122;

/// Where the ride stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Time, s.
    pub t_s: f64,
    /// Way along the road, m.
    pub x_m: f64,
    /// Speed, m/s.
    pub v_m_s: f64,
    /// Charge, 0 to 1.
    pub charge: f64,
    /// Volts of the quick pair, discharging positive.
    pub quick_v: f64,
    /// Volts of the slow pair.
    pub slow_v: f64,
    /// Winding, °C.
    pub winding_c: f64,
    /// Stator, magnets and shell, °C.
    pub shell_c: f64,
    /// Pack, °C.
    pub pack_c: f64,
    /// Acceleration of the last step, m/s².
    pub a_m_s2: f64,
    /// Battery current of the last step, discharging positive, A.
    pub battery_a: f64,
    /// Limited braking current of the last step, where the next search begins, A.
    pub(super) limited_a: f64,
    /// How long a charge has been going on that the electronics do not allow, s.
    pub(super) over_s: f64,
    /// Electronics are open for charging until, s.
    pub open_until_s: f64,
    /// Hands do not brake until, s.
    pub hands_from_s: f64,
    /// How far the charge was beyond what the electronics allow in the last step; not-a-number after a switch.
    pub(super) beyond: f64,
    /// Something switches at this time: the step before it ends there, s.
    pub(super) switches_s: f64,
    /// Lever switch pulled.
    pub(super) switch_on: bool,
}

/// What one step was; for pictures and series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Length, s.
    pub h_s: f64,
    /// Sine of the slope.
    pub slope: f64,
    /// Force of the motor at the tyre, driving positive, N.
    pub motor_n: f64,
    /// Force of the hand brakes, N.
    pub hands_n: f64,
    /// Braking that is wanted and that nobody does, N.
    pub nobody_n: f64,
    /// Force of the rider's legs at the tyre, N.
    pub legs_n: f64,
    /// Motor current, A.
    pub phase_a: f64,
    /// Battery current, discharging positive, A.
    pub battery_a: f64,
    /// Supply volts.
    pub bus_v: f64,
    /// What keeps the motor from doing what is wanted.
    pub limit: Limit,
    /// Whether the electronics opened in this step.
    pub opened: bool,
    /// Motor's own volts between two wires, peak.
    pub own_v: f64,
}

/// Everything that stays the same on one ride.
pub struct Stepper<'a> {
    pub(super) bike: &'a Bike,
    pub(super) rider: &'a Rider,
    pub(super) weather: &'a Weather,
    pub(super) course: &'a Course,
    pub(super) relax: Relax,
    pub(super) per_cell: f64,
    pub(super) moving_kg: f64,
    pub(super) per_kg: f64,
    pub(super) rotor_per_m: f64,
    pub(super) torque_per_wb: f64,
    pub(super) air_kg_m: f64,
    pub(super) fade_per_m_s: f64,
    pub(super) slow_legs_m_s: f64,
    pub(super) fast_legs_m_s: f64,
    pub(super) hands_most_n: f64,
    pub(super) cooling: [f64; COOLING_POINTS],
    geared_per_m: f64,
    weight_n: f64,
    per_winding: f64,
    per_shell: f64,
    per_between: f64,
    per_pack: f64,
    per_capacity: f64,
}

/// Why a step could not be taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stuck {
    /// More than twice the speed at which the bridge takes over: no formula reaches there.
    TooFastForBridge,
    /// The pack cannot give this power.
    PackPower,
}

impl<'a> Stepper<'a> {
    /// For steps of this length, s.
    pub fn new(bike: &'a Bike, rider: &'a Rider, weather: &'a Weather, course: &'a Course, h_s: f64) -> Self {
        let r = bike.wheel_radius_m;
        let rotor = if bike.locked { bike.rotor_kg_m2 * bike.reduction * bike.reduction / (r * r) } else { 0.0 };
        let moving_kg = bike.mass_kg + bike.wheels_kg + rotor;
        let mut cooling = [0.0; COOLING_POINTS];
        for (i, h) in cooling.iter_mut().enumerate() {
            let v = quantity::Speed::metres_per_second((i as f64 * COOLING_STEP_M_S).min(60.0));
            *h = bike.shell_to_air_w_k * physics::travel::shell_cooling(v).map_or(1.0, quantity::Ratio::get);
        }
        Self {
            bike,
            rider,
            weather,
            course,
            relax: relax(bike, h_s),
            per_cell: 1.0 / course.cell_m,
            moving_kg,
            per_kg: 1.0 / moving_kg,
            rotor_per_m: bike.reduction / r,
            torque_per_wb: bike.torque_factor * bike.pole_pairs,
            air_kg_m: 0.5 * weather.density_kg_m3 * bike.drag_area_m2,
            fade_per_m_s: 1.0 / (bike.fade_from_m_s - bike.fade_gone_m_s).max(1e-3),
            slow_legs_m_s: rider.low_gear_m * rider.cadence_rpm / 60.0,
            fast_legs_m_s: rider.high_gear_m * rider.cadence_rpm / 60.0,
            hands_most_n: bike.hands_m_s2 * bike.mass_kg,
            cooling,
            geared_per_m: bike.reduction / (r * bike.gears),
            weight_n: bike.mass_kg * GRAVITY,
            per_winding: 1.0 / bike.winding_j_k,
            per_shell: 1.0 / bike.shell_j_k,
            per_between: 1.0 / bike.winding_to_shell_k_w,
            per_pack: 1.0 / bike.pack.heat_j_k,
            per_capacity: 1.0 / bike.pack.capacity_as,
        }
    }

    /// At the start of the course.
    pub fn start(&self, v_m_s: f64) -> State {
        State {
            t_s: 0.0,
            x_m: 0.0,
            v_m_s,
            charge: self.bike.start_charge,
            quick_v: 0.0,
            slow_v: 0.0,
            winding_c: self.weather.air_c,
            shell_c: self.weather.air_c,
            pack_c: self.weather.pack_c,
            a_m_s2: 0.0,
            battery_a: 0.0,
            limited_a: 0.0,
            over_s: 0.0,
            open_until_s: f64::NEG_INFINITY,
            hands_from_s: f64::NEG_INFINITY,
            beyond: f64::NAN,
            switches_s: f64::INFINITY,
            switch_on: false,
        }
    }

    /// Kinetic energy, J.
    pub fn kinetic_j(&self, s: &State) -> f64 {
        0.5 * self.moving_kg * s.v_m_s * s.v_m_s
    }

    /// Energy in the battery's pairs, J.
    pub fn pairs_j(&self, s: &State) -> f64 {
        let p = self.bike.pack.at(s.charge, s.pack_c);
        let half = |v: f64, tau: f64, r: f64| if r > 0.0 { 0.5 * tau / r * v * v } else { 0.0 };
        half(s.quick_v, self.bike.pack.quick_s, p.quick_ohm) + half(s.slow_v, self.bike.pack.slow_s, p.slow_ohm)
    }

    #[inline(always)]
    fn cell(&self, x_m: f64) -> (&Cell, f64) {
        let at = x_m * self.per_cell;
        let i = (at as usize).min(self.course.cells.len() - 1);
        (&self.course.cells[i], at - i as f64)
    }

    /// One step, cut where the way reaches `until_m` or the bike stands.
    ///
    /// # Errors
    /// [`Stuck`] beyond what the formulas reach.
    #[inline(always)]
    pub fn step(&self, s: &mut State, until_m: f64, tally: &mut Tally) -> Result<Taken, Stuck> {
        let b = self.bike;
        let cut;
        let whole = if s.switches_s - s.t_s < self.relax.h_s {
            cut = relax(b, (s.switches_s - s.t_s).max(1e-9));
            &cut
        } else {
            &self.relax
        };
        let h = whole.h_s;
        // The middle of the step as the last acceleration predicts it.
        let v = (s.v_m_s + 0.5 * h * s.a_m_s2).max(0.0);
        let x = s.x_m + 0.5 * h * (s.v_m_s + 0.25 * h * s.a_m_s2);
        let (cell, f) = self.cell(x);
        let sin = cell.sin + f * cell.d_sin;
        let v_brake = (cell.brake + f * cell.d_brake).max(0.0).sqrt();
        let v_pedal = (cell.pedal + f * cell.d_pedal).max(0.0).sqrt();

        // Road and air.
        let sin2 = sin * sin;
        let cos = 1.0 - sin2 * (0.5 + 0.125 * sin2);
        let grade_n = self.weight_n * sin;
        let rolling_n = self.weight_n * b.rolling * cos + 1e-3 * (91.0 + 8.7 * v);
        let wind = v + self.weather.head_wind_m_s;
        let air_n = self.air_kg_m * wind * wind.abs();
        let road_n = grade_n + rolling_n + air_n;

        // The motor as it is now.
        let om = v * self.rotor_per_m;
        let drag_nm = b.drag_nm + b.drag_nms * om;
        let warm_ohm = b.phase_ohm * (1.0 + COPPER * (s.winding_c - 20.0));
        let ohm = warm_ohm + b.switch_ohm;
        let flux = b.flux_wb * (1.0 + b.magnet_per_k * (s.shell_c - 20.0));
        let per_a = self.torque_per_wb * flux;
        let geared = self.geared_per_m;
        let coast_n = if b.locked { geared * drag_nm } else { 0.0 };
        let pack = b.pack.at(s.charge - 0.5 * h * s.battery_a * self.per_capacity, s.pack_c);
        let (emf, inner) = source(whole, &pack, s);
        let own_v = if b.locked { 1.732_050_807_568_877_2 * b.pole_pairs * om * flux } else { 0.0 };
        let open = s.t_s < s.open_until_s;

        // What the rider wants.
        // The wished speed falls by this much a second at the bike's own speed, so that nearing it never overshoots.
        let slowing = (0.5 * cell.d_brake * self.per_cell).min(0.0) * (v / v_brake);
        let a_coast = -(road_n + coast_n) * self.per_kg;
        let a_brake = (slowing + self.rider.firmness_per_s * (v_brake - v)).max(-self.rider.slowing_m_s2);
        let a_pedal = (self.rider.firmness_per_s * (v_pedal - v)).min(self.rider.speeding_m_s2).min(a_brake);

        let mut act = Act::default();
        if a_coast > a_brake {
            act.brake_n = self.moving_kg * (a_coast - a_brake);
            self.brake(&mut act, s, v, v_brake, om, ohm, per_a, slowing, emf, inner, open);
        } else if a_coast < a_pedal {
            act.limited_a = s.limited_a;
            self.pedal(&mut act, self.moving_kg * (a_pedal - a_coast), v, om, drag_nm, ohm, flux, per_a, s.charge, emf);
        }
        if own_v > emf + 2.0 * b.diode_v && b.locked {
            self.bridge(&mut act, om, warm_ohm, own_v, emf, inner, open)?;
        }

        // Forces at the tyre.
        let shaft_nm = act.em_nm - drag_nm;
        let motor_n = if b.locked || act.em_nm > 0.0 {
            if shaft_nm > 0.0 { self.rotor_per_m * b.gears * shaft_nm } else { geared * shaft_nm }
        } else {
            0.0
        };
        let short_n = (act.brake_n - (-motor_n - coast_n)).max(0.0);
        let hands_n = if act.brake_n > 0.0 && s.t_s >= s.hands_from_s { short_n.min(self.hands_most_n) } else { 0.0 };
        let nobody_n = if act.brake_n > 0.0 { short_n - hands_n } else { 0.0 };
        let a = (motor_n + act.legs_n - hands_n - road_n) * self.per_kg;

        // How far the step goes.
        let (mut v_end, mut dt) = (s.v_m_s + h * a, h);
        if v_end <= 0.0 && a < 0.0 {
            dt = (-s.v_m_s / a).min(h);
            v_end = 0.0;
        }
        let mut mean = 0.5 * (s.v_m_s + v_end);
        if s.x_m + dt * mean >= until_m {
            dt = arrives(s.v_m_s, a, until_m - s.x_m).min(dt);
            v_end = (s.v_m_s + dt * a).max(0.0);
            mean = 0.5 * (s.v_m_s + v_end);
        }
        let way = dt * mean;

        // Electricity over the whole step, with constant current and mean speed.
        let special;
        let relax = if dt == h {
            whole
        } else {
            special = relax(b, dt.max(1e-9));
            &special
        };
        let (emf, inner) = source(relax, &pack, s);
        let om_mean = mean * self.rotor_per_m;
        let spins = b.locked || act.em_nm > 0.0;
        let air_gap_w = act.em_nm * om_mean;
        let heat_w = if act.bridge { act.copper_w } else { b.copper_factor * warm_ohm * act.phase_a * act.phase_a };
        let switch_w =
            if act.bridge { act.diode_w } else { b.copper_factor * b.switch_ohm * act.phase_a * act.phase_a };
        let switched_a = if act.bridge { 0.0 } else { b.switching * act.phase_a };
        let power_w = air_gap_w + heat_w + switch_w + b.standby_w;
        let battery_a = current(emf, inner, power_w, switched_a).ok_or(Stuck::PackPower)?;
        let bus_v = emf - inner * battery_a;

        // Pack.
        let open_mean_v = pack.open_v;
        let (q_settled, s_settled) = (pack.quick_ohm * battery_a, pack.slow_ohm * battery_a);
        let (q_off, s_off) = (s.quick_v - q_settled, s.slow_v - s_settled);
        let (q_end, s_end) = (s.quick_v - q_off * relax.quick_gone, s.slow_v - s_off * relax.slow_gone);
        let pack_heat_w = battery_a * (open_mean_v - bus_v);
        let pack_mid = s.pack_c + 0.5 * dt * self.pack_warms(pack_heat_w, s.pack_c);

        // Heat of motor and shell, in the middle of the step.
        let drag_w = if spins { drag_nm * om_mean } else { 0.0 };
        let gear_w = if spins { shaft_nm * om_mean - motor_n * mean } else { 0.0 };
        let shell_in_w = drag_w + gear_w;
        let cooling = self.cooling_at(mean);
        let (dw, ds) = self.motor_warms(heat_w, shell_in_w, cooling, s.winding_c, s.shell_c);
        let (w_mid, s_mid) = (s.winding_c + 0.5 * dt * dw, s.shell_c + 0.5 * dt * ds);
        let (dw, ds) = self.motor_warms(heat_w, shell_in_w, cooling, w_mid, s_mid);

        tally.book(&super::tally::Flows {
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
            chemical_w: open_mean_v * battery_a,
            pack_heat_w,
            standby_w: b.standby_w,
            inverter_w: switch_w + switched_a * bus_v,
            copper_w: heat_w,
            drag_w,
            gear_w,
            to_air_w: cooling * (s_mid - self.weather.air_c),
            limit: act.limit,
            battery_a,
            bus_v,
            own_v,
            phase_a: act.phase_a,
            wheel_nm: motor_n * b.wheel_radius_m,
        });

        let mut taken = Taken {
            h_s: dt,
            slope: sin,
            motor_n,
            hands_n,
            nobody_n,
            legs_n: act.legs_n,
            phase_a: act.phase_a,
            battery_a,
            bus_v,
            limit: act.limit,
            opened: false,
            own_v,
        };
        s.t_s += dt;
        s.x_m += way;
        s.v_m_s = v_end;
        s.a_m_s2 = a;
        s.charge -= dt * battery_a * self.per_capacity;
        s.quick_v = q_end;
        s.slow_v = s_end;
        s.pack_c += dt * self.pack_warms(pack_heat_w, pack_mid);
        s.winding_c += dt * dw;
        s.shell_c += dt * ds;
        s.battery_a = battery_a;
        s.limited_a = act.limited_a;
        s.switch_on = act.switch_on;
        taken.opened = self.electronics(s, dt, bus_v);
        tally.warm(s.winding_c, s.shell_c, s.pack_c, dt, b);
        Ok(taken)
    }

    /// Stands still for one step of the given length: cools, relaxes, takes the standby.
    pub fn stand(&self, s: &mut State, dt: f64, tally: &mut Tally) -> Result<Taken, Stuck> {
        let b = self.bike;
        let relax = relax(b, dt);
        let pack = b.pack.at(s.charge, s.pack_c);
        let (emf, inner) = source(&relax, &pack, s);
        let battery_a = current(emf, inner, b.standby_w, 0.0).ok_or(Stuck::PackPower)?;
        let bus_v = emf - inner * battery_a;
        let (q_off, s_off) = (s.quick_v - pack.quick_ohm * battery_a, s.slow_v - pack.slow_ohm * battery_a);
        let heat_w = battery_a * (pack.open_v - bus_v);
        let cooling = self.cooling_at(0.0);
        let (dw, ds) = self.motor_warms(0.0, 0.0, cooling, s.winding_c, s.shell_c);
        let (w_mid, s_mid) = (s.winding_c + 0.5 * dt * dw, s.shell_c + 0.5 * dt * ds);
        let (dw, ds) = self.motor_warms(0.0, 0.0, cooling, w_mid, s_mid);
        tally.book(&super::tally::Flows {
            dt_s: dt,
            chemical_w: pack.open_v * battery_a,
            pack_heat_w: heat_w,
            standby_w: b.standby_w,
            to_air_w: cooling * (s_mid - self.weather.air_c),
            battery_a,
            bus_v,
            ..super::tally::Flows::default()
        });
        s.t_s += dt;
        s.a_m_s2 = 0.0;
        s.charge -= dt * battery_a * self.per_capacity;
        s.quick_v -= q_off * relax.quick_gone;
        s.slow_v -= s_off * relax.slow_gone;
        s.pack_c += dt * self.pack_warms(heat_w, s.pack_c);
        s.winding_c += dt * dw;
        s.shell_c += dt * ds;
        s.battery_a = battery_a;
        s.over_s = 0.0;
        tally.warm(s.winding_c, s.shell_c, s.pack_c, dt, b);
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
            limit: Limit::None,
            opened: false,
            own_v: 0.0,
        })
    }

    #[inline(always)]
    fn cooling_at(&self, v: f64) -> f64 {
        let at = (v / COOLING_STEP_M_S).min((COOLING_POINTS - 2) as f64);
        let i = at as usize;
        self.cooling[i] + (at - i as f64) * (self.cooling[i + 1] - self.cooling[i])
    }

    /// Kelvin per second of winding and shell.
    #[inline(always)]
    fn motor_warms(&self, winding_w: f64, shell_w: f64, cooling: f64, winding_c: f64, shell_c: f64) -> (f64, f64) {
        let over = (winding_c - shell_c) * self.per_between;
        (
            (winding_w - over) * self.per_winding,
            (shell_w + over - cooling * (shell_c - self.weather.air_c)) * self.per_shell,
        )
    }

    #[inline(always)]
    fn pack_warms(&self, heat_w: f64, pack_c: f64) -> f64 {
        let p = &self.bike.pack;
        (heat_w - p.air_w_k * (pack_c - self.weather.air_c)) * self.per_pack
    }
}

/// Time until a way is done with constant acceleration.
fn arrives(v: f64, a: f64, way: f64) -> f64 {
    if way <= 0.0 {
        return 0.0;
    }
    let root = (v * v + 2.0 * a * way).max(0.0).sqrt();
    if v + root > 0.0 { 2.0 * way / (v + root) } else { 0.0 }
}
