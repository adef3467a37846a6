//! A ride over time, as rows for files and pictures.

use super::course::Course;
use super::run::Watch;
use super::step::{State, Taken};
use super::tally::Limit;
use quantity::Length;

/// One row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Time, s.
    pub time_s: f64,
    /// Way along the road, m.
    pub way_m: f64,
    /// Height, m.
    pub height_m: f64,
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// Force of the motor at the tyre, driving positive, N; mean since the last row.
    pub motor_n: f64,
    /// Force of the hands at the tyre, N; mean.
    pub hands_n: f64,
    /// Braking that nobody does, N; mean.
    pub nobody_n: f64,
    /// Force of the legs at the tyre, N; mean.
    pub legs_n: f64,
    /// Motor current, A.
    pub motor_a: f64,
    /// Battery current, discharging positive, A.
    pub battery_a: f64,
    /// Supply, V.
    pub supply_v: f64,
    /// Charge, 0 to 1.
    pub charge: f64,
    /// Winding, °C.
    pub winding_c: f64,
    /// Shell, °C.
    pub shell_c: f64,
    /// Pack, °C.
    pub pack_c: f64,
    /// What limited the motor longest since the last row.
    pub limit: Limit,
}

/// Keeps a row every so often, in seconds.
#[derive(Clone, Debug)]
pub struct Series<'a> {
    course: &'a Course,
    every_s: f64,
    next_s: f64,
    sums: [f64; 4],
    span_s: f64,
    limit_s: [f64; Limit::ALL.len()],
    /// The rows.
    pub rows: Vec<Row>,
}

impl<'a> Series<'a> {
    /// A row every so many seconds.
    pub fn new(course: &'a Course, every_s: f64) -> Self {
        Self {
            course,
            every_s,
            next_s: 0.0,
            sums: [0.0; 4],
            span_s: 0.0,
            limit_s: [0.0; Limit::ALL.len()],
            rows: Vec::new(),
        }
    }
}

impl Watch for Series<'_> {
    fn step(&mut self, s: &State, t: &Taken) -> bool {
        for (sum, force) in self.sums.iter_mut().zip([t.motor_n, t.hands_n, t.nobody_n, t.legs_n]) {
            *sum += force * t.h_s;
        }
        self.span_s += t.h_s;
        self.limit_s[t.limit() as usize] += t.h_s;
        if s.t_s + 1e-9 < self.next_s && !t.opened() {
            return true;
        }
        self.next_s = s.t_s + self.every_s;
        let span = self.span_s.max(1e-9);
        let [motor_n, hands_n, nobody_n, legs_n] = self.sums.map(|f| f / span);
        // "Nothing" counts only where nothing else was there at all.
        let longest = Limit::ALL
            .into_iter()
            .skip(1)
            .max_by(|a, b| self.limit_s[*a as usize].total_cmp(&self.limit_s[*b as usize]));
        let limit = longest.filter(|l| self.limit_s[*l as usize] > 0.0).unwrap_or(Limit::None);
        self.rows.push(Row {
            time_s: s.t_s,
            way_m: s.x_m,
            height_m: self.course.height(Length::metres(s.x_m)).as_metres(),
            speed_m_s: s.v_m_s,
            motor_n,
            hands_n,
            nobody_n,
            legs_n,
            motor_a: t.phase_a,
            battery_a: t.battery_a,
            supply_v: t.bus_v,
            charge: s.charge,
            winding_c: s.winding_c,
            shell_c: s.shell_c,
            pack_c: s.pack_c,
            limit,
        });
        self.sums = [0.0; 4];
        self.span_s = 0.0;
        self.limit_s = [0.0; Limit::ALL.len()];
        true
    }
}

/// The rows as CSV, each number's unit in its column's name.
pub fn csv(rows: &[Row]) -> String {
    use core::fmt::Write as _;
    let mut out =
        "time_s,way_m,height_m,speed_km_h,motor_force_n,hand_brakes_n,nobody_brakes_n,legs_n,motor_current_a,\
                   battery_current_a,supply_v,charge_percent,winding_c,shell_c,pack_c,limit\n"
            .to_owned();
    for r in rows {
        let _ = writeln!(
            out,
            "{:.1},{:.1},{:.2},{:.2},{:.1},{:.1},{:.1},{:.1},{:.2},{:.3},{:.3},{:.3},{:.2},{:.2},{:.2},{}",
            r.time_s,
            r.way_m,
            r.height_m,
            r.speed_m_s * 3.6,
            r.motor_n,
            r.hands_n,
            r.nobody_n,
            r.legs_n,
            r.motor_a,
            r.battery_a,
            r.supply_v,
            r.charge * 100.0,
            r.winding_c,
            r.shell_c,
            r.pack_c,
            r.limit.token()
        );
    }
    out
}
