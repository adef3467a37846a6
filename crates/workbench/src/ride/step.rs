//! One step of a ride: what rider, motor and hands do in the middle of it, then everything that follows from that.
//!
//! Forces are worked out once, at the speed and place that the last step's acceleration predicts for the middle of this
//! one (explicit midpoint, second order). They then hold for the whole step, so that each work is force × way and the
//! ledger closes by algebra. Battery pairs relax exactly; heat goes by the midpoint rule, as its time constants are a
//! thousand steps long. A step that would pass a stop, the end, or standstill is cut where it gets there.

use super::bike::{Bike, Command, Rider, Weather};
use super::course::{Cell, Course};
use super::tally::{Limit, Tally};

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;
/// Copper at 20 °C (IEC 60028), 1/K.
const COPPER: f64 = 0.003_93;
/// Power at the pedals that reaches the wheel (Martin et al. 1998).
const CHAIN: f64 = 0.976;
/// Assist fades over this span of speed, m/s.
const ASSIST_FADE_M_S: f64 = 2.0 / 3.6;
/// A charge that the electronics do not allow must last so long before they open, s.
const OPENS_AFTER_S: f64 = 1.0;
/// They try again after this, s.
const OPEN_FOR_S: f64 = 30.0;
/// An empty pack drives no more.
const EMPTY: f64 = 0.03;
/// Cooling over speed is a table with this spacing, m/s.
const COOLING_STEP_M_S: f64 = 0.5;
const COOLING_POINTS: usize = 122;
/// A switch lets go when the bike is this much slower than wished, m/s.
const SWITCH_GAP_M_S: f64 = 0.4;

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
    limited_a: f64,
    /// How long a charge has been going on that the electronics do not allow, s.
    over_s: f64,
    /// Electronics are open for charging until, s.
    pub open_until_s: f64,
    /// Hands do not brake until, s.
    pub hands_from_s: f64,
    /// How far the charge was beyond what the electronics allow in the last step; not-a-number after a switch.
    beyond: f64,
    /// Something switches at this time: the step before it ends there, s.
    switches_s: f64,
    /// Lever switch pulled.
    switch_on: bool,
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

/// What depends on the length of a step only.
#[derive(Clone, Copy, Debug)]
struct Relax {
    h_s: f64,
    quick_gone: f64,
    quick_mean: f64,
    slow_gone: f64,
    slow_mean: f64,
}

/// Everything that stays the same on one ride.
pub struct Stepper<'a> {
    bike: &'a Bike,
    rider: &'a Rider,
    weather: &'a Weather,
    course: &'a Course,
    relax: Relax,
    per_cell: f64,
    moving_kg: f64,
    per_kg: f64,
    rotor_per_m: f64,
    torque_per_wb: f64,
    air_kg_m: f64,
    fade_per_m_s: f64,
    slow_legs_m_s: f64,
    fast_legs_m_s: f64,
    hands_most_n: f64,
    cooling: [f64; COOLING_POINTS],
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
        let weight = b.mass_kg * GRAVITY;
        let grade_n = weight * sin;
        let rolling_n = weight * b.rolling * cos + 1e-3 * (91.0 + 8.7 * v);
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
        let geared = self.rotor_per_m / b.gears;
        let coast_n = if b.locked { geared * drag_nm } else { 0.0 };
        let pack = b.pack.at(s.charge - 0.5 * h * s.battery_a / b.pack.capacity_as, s.pack_c);
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
        s.charge -= dt * battery_a / b.pack.capacity_as;
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
        s.charge -= dt * battery_a / b.pack.capacity_as;
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
        let b = self.bike;
        let over = (winding_c - shell_c) / b.winding_to_shell_k_w;
        ((winding_w - over) / b.winding_j_k, (shell_w + over - cooling * (shell_c - self.weather.air_c)) / b.shell_j_k)
    }

    #[inline(always)]
    fn pack_warms(&self, heat_w: f64, pack_c: f64) -> f64 {
        let p = &self.bike.pack;
        (heat_w - p.air_w_k * (pack_c - self.weather.air_c)) / p.heat_j_k
    }

    /// Braking wanted: as much by motor as its limits leave.
    #[inline(always)]
    fn brake(
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
    fn pedal(
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
    fn bridge(
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
        let i_dc = if k <= 1.3 {
            (own_v - PI / 3.0 * u).max(0.0) / (x + 2.0 * PI / 3.0 * warm_ohm + PI / 3.0 * inner)
        } else {
            let v1 = 2.0 * u / PI;
            let z2 = warm_ohm * warm_ohm + x * x;
            let i1 = (-warm_ohm * v1 + (warm_ohm * warm_ohm * v1 * v1 + z2 * (e * e - v1 * v1)).sqrt()) / z2;
            let q = 1.3 / k;
            3.0 / PI * i1 * (1.0 - 0.3 * q * q * q * q * q)
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

    /// The pack's electronics open when a charge that they do not allow lasts; true in the step in which they do.
    #[inline(always)]
    fn electronics(&self, s: &mut State, dt: f64, bus_v: f64) -> bool {
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

/// What motor and legs do in a step.
#[derive(Clone, Copy, Debug, Default)]
struct Act {
    /// Braking wanted beyond what the coasting motor does, N.
    brake_n: f64,
    legs_n: f64,
    /// Torque inside the motor, driving positive, N·m.
    em_nm: f64,
    phase_a: f64,
    limited_a: f64,
    limit: Limit,
    switch_on: bool,
    bridge: bool,
    copper_w: f64,
    diode_w: f64,
}

/// Pack as a source over a step: volts that a zero current would show on average, and the resistance that any current adds.
#[inline(always)]
fn source(r: &Relax, p: &super::pack::PackNow, s: &State) -> (f64, f64) {
    let emf = p.open_v - s.quick_v * r.quick_mean - s.slow_v * r.slow_mean;
    let inner = p.at_once_ohm + p.quick_ohm * (1.0 - r.quick_mean) + p.slow_ohm * (1.0 - r.slow_mean);
    (emf, inner)
}

/// As [`physics::cell::terminal_current_a`], without its checks.
#[inline(always)]
fn current(emf: f64, inner: f64, power_w: f64, switched_a: f64) -> Option<f64> {
    let b = emf + inner * switched_a;
    let c = emf * switched_a + power_w;
    let root = b * b - 4.0 * inner * c;
    if root >= 0.0 { Some(2.0 * c / (b + root.sqrt())) } else { None }
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

/// Time until a way is done with constant acceleration.
fn arrives(v: f64, a: f64, way: f64) -> f64 {
    if way <= 0.0 {
        return 0.0;
    }
    let root = (v * v + 2.0 * a * way).max(0.0).sqrt();
    if v + root > 0.0 { 2.0 * way / (v + root) } else { 0.0 }
}

fn relax(b: &Bike, h_s: f64) -> Relax {
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
