//! Rides of `tables/rides.csv`, ridden by the workbench's stepper, beside those that SciPy solved as continuous equations.

use quantity::*;
use workbench::ride::bike::{Bike, Command, EaseOff, Rider, Stance, Weather};
use workbench::ride::course::{Bend, Course, Point, Stop, Wishes};
use workbench::ride::pack::PackTables;
use workbench::ride::run::{Nobody, Ride, ride_with};
use workbench::ride::side_by_side::{Entry, ride_all};

/// Settings of one ride: pairs of key and text, those of the base first.
struct Settings {
    base: Vec<(String, String)>,
    own: Vec<(String, String)>,
}

impl Settings {
    fn text(&self, key: &str) -> &str {
        let found = self.own.iter().rev().chain(self.base.iter().rev()).find(|(k, _)| k == key);
        &found.unwrap_or_else(|| panic!("rides.csv has no `{key}`")).1
    }
    fn number(&self, key: &str) -> f64 {
        self.text(key).parse().unwrap_or_else(|_| panic!("`{key}` of rides.csv is no number"))
    }
    fn pairs(&self, key: &str) -> Vec<(f64, f64)> {
        let pair = |text: &str| {
            let (a, b) = text.split_once(';').expect("two numbers and a semicolon");
            (a.parse().expect("a number"), b.parse().expect("a number"))
        };
        self.own.iter().filter(|(k, _)| k == key).map(|(_, text)| pair(text)).collect()
    }
}

/// A ride of the table.
pub struct Case {
    /// Its name.
    pub name: String,
    bike: Bike,
    rider: Rider,
    weather: Weather,
    course: Course,
    start_m_s: f64,
}

impl Case {
    fn new(name: &str, s: &Settings) -> Self {
        let n = |key: &str| s.number(key);
        let block = n("block") > 0.5;
        let bike = Bike {
            mass_kg: n("mass_kg"),
            hubs: 1.0,
            wheels_kg: n("wheels_kg"),
            rolling: n("rolling"),
            drag_area_m2: n("drag_area_m2"),
            wheel_radius_m: n("wheel_radius_m"),
            reduction: n("reduction"),
            pole_pairs: n("pole_pairs"),
            flux_wb: n("flux_wb"),
            droop_per_a: n("droop_per_a"),
            magnet_per_k: n("magnet_per_k"),
            phase_ohm: n("phase_ohm"),
            phase_h: n("phase_h"),
            drag_nm: n("drag_nm"),
            drag_nms: n("drag_nms"),
            gears: n("gears"),
            torque_factor: if block { 3.0 * 3f64.sqrt() / core::f64::consts::PI } else { 1.5 },
            copper_factor: if block { 2.0 } else { 1.5 },
            rotor_kg_m2: n("rotor_kg_m2"),
            locked: n("locked") > 0.5,
            winding_j_k: n("winding_j_k"),
            shell_j_k: n("shell_j_k"),
            winding_to_shell_k_w: n("winding_to_shell_k_w"),
            shell_to_air_w_k: n("shell_to_air_w_k"),
            winding_limit_c: 120.0,
            gear_limit_c: 90.0,
            switch_ohm: n("switch_ohm"),
            switching: n("switching"),
            standby_w: n("standby_w"),
            diode_v: n("diode_v"),
            ramp_s: 0.0,
            cutback_v: n("cutback_v"),
            stance: Stance { front: false, wheelbase_m: 1.1, ahead_m: 0.45, height_m: 1.0 },
            drive_a: n("drive_a"),
            brake_a: n("brake_a"),
            fade_from_m_s: n("fade_from_m_s"),
            fade_gone_m_s: n("fade_gone_m_s"),
            charge_a: n("charge_a"),
            ease_off: Some(EaseOff { from_v: n("ease_from_v"), gone_v: n("ease_gone_v"), full_a: n("charge_a") }),
            command: Command::Variable,
            hold_fastest_m_s: f64::INFINITY,
            pack: PackTables::new(s.text("chemistry"), n("series"), n("capacity_as"), n("pack_ohm"))
                .expect("a known chemistry"),
            cutout_v: n("cutout_v"),
            electronics_a: n("electronics_a"),
            hands_m_s2: n("hands_m_s2"),
            rating_v: 90.0,
            capacitance_f: 1e-3,
            trip_s: 5e-4,
            beyond: 1.0,
            axle_still_nm: f64::INFINITY,
            start_charge: n("charge"),
        };
        let rider = Rider {
            power_w: n("power_w"),
            cadence_rpm: n("cadence_rpm"),
            low_gear_m: n("low_gear_m"),
            high_gear_m: n("high_gear_m"),
            push_n: n("push_n"),
            assist: n("assist"),
            assist_until_m_s: n("assist_until_m_s"),
            speeding_m_s2: n("speeding_m_s2"),
            slowing_m_s2: n("slowing_m_s2"),
            firmness_per_s: n("firmness_per_s"),
            reaction_s: n("reaction_s"),
        };
        let weather = Weather {
            air_c: n("air_c"),
            pack_c: n("pack_c"),
            density_kg_m3: n("density_kg_m3"),
            head_wind_m_s: n("head_wind_m_s"),
            // The solved rides know no sliding tyre.
            grip: 1e3,
        };
        let speed = |key: &str| Speed::metres_per_second(n(key));
        let wishes = Wishes {
            cruise: speed("cruise_m_s"),
            downhill: speed("downhill_m_s"),
            slowing: Acceleration::metres_per_second_squared(n("course_slowing_m_s2")),
        };
        let m = Length::metres;
        let points =
            s.pairs("point").into_iter().map(|(at, height)| Point { at: m(at), height: m(height), wish: None });
        let bends = s.pairs("bend").into_iter().map(|(at, v)| Bend { at: m(at), speed: Speed::metres_per_second(v) });
        let stops = s.pairs("stop").into_iter().map(|(at, t)| Stop { at: m(at), wait: Time::seconds(t) });
        let (points, bends, stops) = (points.collect::<Vec<_>>(), bends.collect::<Vec<_>>(), stops.collect::<Vec<_>>());
        let course = Course::new(&points, &bends, &stops, &wishes).expect("a course of rides.csv");
        Self { name: name.to_owned(), bike, rider, weather, course, start_m_s: n("start_m_s") }
    }

    /// Rides it in steps of a length, s.
    pub fn ride(&self, step_s: f64) -> Ride {
        ride_with(&self.bike, &self.rider, &self.weather, &self.course, self.start_m_s, step_s, &mut Nobody)
            .expect("a ride of rides.csv is within the formulas")
    }

    /// Rides it so many times side by side.
    pub fn ride_abreast(&self, count: usize, step_s: f64) -> Vec<Ride> {
        let one = Entry { bike: self.bike.clone(), rider: self.rider, weather: self.weather };
        let rides = ride_all(&vec![one; count], &self.course, self.start_m_s, step_s, &|| ());
        rides.into_iter().map(|r| r.expect("a ride of rides.csv is within the formulas")).collect()
    }
}

/// Steps whose differences are looked at, s.
pub const STEPS: [f64; 6] = [0.8, 0.4, 0.2, 0.1, 0.05, 0.025];

/// All rides of the table.
pub fn cases() -> Vec<Case> {
    let mut base: Vec<(String, String)> = Vec::new();
    let mut rides: Vec<(String, Vec<(String, String)>)> = Vec::new();
    let mut reader = csv::Reader::from_reader(include_str!("../tables/rides.csv").as_bytes());
    for row in reader.records() {
        let row = row.expect("a table of this crate is well-formed CSV");
        let cell = |i: usize| row.get(i).unwrap_or_default().to_owned();
        let (ride, pair) = (cell(0), (cell(1), cell(2)));
        if ride == "base" {
            base.push(pair);
        } else if let Some((_, own)) = rides.iter_mut().find(|(name, _)| *name == ride) {
            own.push(pair);
        } else {
            rides.push((ride, vec![pair]));
        }
    }
    rides.into_iter().map(|(name, own)| Case::new(&name, &Settings { base: base.clone(), own })).collect()
}

/// A recorded quantity of a ride; none where the name is not known.
pub fn quantity(r: &Ride, name: &str) -> Option<f64> {
    let (s, t) = (&r.last, &r.tally);
    Some(match name {
        "time" => s.t_s,
        "speed at the end" => s.v_m_s,
        "charge at the end" => 100.0 * s.charge,
        "winding at the end" => s.winding_c,
        "shell at the end" => s.shell_c,
        "pack at the end" => s.pack_c,
        "slow volts at the end" => s.slow_v,
        "work of the hands" => t.ledger.hands_j / 3600.0,
        "work of the legs" => t.ledger.legs_j / 3600.0,
        "battery energy" => t.used_j / 3600.0,
        "openings of the pack" => r.openings.len() as f64,
        opening => {
            let number: usize = opening.strip_prefix("way to opening ")?.parse().ok()?;
            r.openings.get(number - 1)?.x_m
        }
    })
}

/// One line of the table of step sizes.
pub struct Convergence {
    /// The ride.
    pub ride: String,
    /// Step, s.
    pub step_s: f64,
    /// Differences from the solved ride: time s, charge %, winding K, battery energy Wh.
    pub apart: [f64; 4],
}

/// The quantities of [`Convergence::apart`].
pub const CONVERGES: [&str; 4] = ["time", "charge at the end", "winding at the end", "battery energy"];

/// How the differences fall with the step.
pub fn convergence() -> Vec<Convergence> {
    let solved = crate::table::rides_solved();
    let mut out = Vec::new();
    for case in cases() {
        let recorded = |name: &str| {
            let row = solved.iter().find(|r| r.inputs == case.name && r.quantity == format!("ride: {name}"));
            row.expect("every ride is solved").value()
        };
        for step_s in STEPS {
            let r = case.ride(step_s);
            let apart = CONVERGES.map(|name| quantity(&r, name).unwrap_or(f64::NAN) - recorded(name));
            out.push(Convergence { ride: case.name.clone(), step_s, apart });
        }
    }
    out
}
