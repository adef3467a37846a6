//! The road against simulated rides whose truth is known. The simulator here has its own equations.

use proof::road::*;
use workbench::check;
use workbench::doubt::normal_quantile;
use workbench::fact::{Distribution, FactId, list};
use workbench::job::Job;
use workbench::kinds;

struct Dice(u64);
impl Dice {
    fn normal(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        normal_quantile((((z ^ (z >> 31)) >> 12) as f64 + 0.5) / (1_u64 << 52) as f64)
    }
}

/// The bike as it is.
#[derive(Clone, Copy)]
struct Truth {
    mass: f64,
    moving: f64,
    radius: f64,
    n: f64,
    p: f64,
    flux: f64,
    droop: f64,
    r_line: f64,
    t_h: f64,
    k_e: f64,
    eta: f64,
    crr: f64,
    cda: f64,
    volts: f64,
    pack: f64,
    gone: f64,
    full_from: f64,
}

const BIKE: Truth = Truth {
    mass: 174.0,
    moving: 174.0 + 2.5 + 0.9,
    radius: 0.332,
    n: 4.6,
    p: 8.0,
    flux: 0.0215 * (1.0 - 0.0011 * 10.0),
    droop: 0.00025,
    r_line: 0.148,
    t_h: 0.28,
    k_e: 0.001,
    eta: 0.95,
    crr: 0.0075,
    cda: 0.62,
    volts: 53.0,
    pack: 0.085,
    gone: 5.0 / 3.6,
    full_from: 9.0 / 3.6,
};

#[derive(Clone, Copy)]
enum Rider {
    Drive(f64),
    Coast,
    Brake(f64),
    Hold(f64),
}

/// A ride in steps of 10 ms, logged at some rate with noise.
struct Simulation {
    t: f64,
    v: f64,
    h: f64,
    truth: Truth,
    rate: f64,
    logged: f64,
    dice: Dice,
    quiet: f64,
    rows: Vec<(f64, Values)>,
}

impl Simulation {
    fn new(truth: Truth, rate: f64, seed: u64) -> Self {
        let dice = Dice(seed);
        Self { t: 0.0, v: 0.0, h: 400.0, truth, rate, logged: -1.0, dice, quiet: 1.0, rows: Vec::new() }
    }

    fn go(&mut self, seconds: f64, grade: f64, rider: Rider, until: impl Fn(f64) -> bool) {
        let b = self.truth;
        let end = self.t + seconds;
        while self.t < end && !until(self.v) {
            let rotor = self.v / b.radius * b.n;
            let fade = ((self.v - b.gone) / (b.full_from - b.gone)).clamp(0.0, 1.0);
            let amps = match rider {
                Rider::Drive(a) => a,
                Rider::Coast => 0.0,
                Rider::Brake(a) => -a * fade,
                Rider::Hold(at) => (-(12.0 + 40.0 * (self.v - at))).clamp(-36.0, 0.0),
            };
            let flux = b.flux / (1.0 + b.droop * amps.abs());
            let inside = 1.5 * b.p * flux * amps;
            let drag = b.t_h + b.k_e * rotor;
            let shaft = inside - drag;
            let wheel = if shaft >= 0.0 { b.n * b.eta * shaft } else { b.n * shaft / b.eta };
            let power = 1.5 * b.r_line / 2.0 * amps * amps + inside * rotor;
            // Pack as a source with resistance: the drawn current solves U·I − R·I² = P.
            let battery = (b.volts - (b.volts * b.volts - 4.0 * b.pack * power).sqrt()) / (2.0 * b.pack);
            let bus = b.volts - b.pack * battery;
            let weight = b.mass * 9.806_65;
            let angle = grade.atan();
            let road = weight * (angle.sin() + b.crr * angle.cos()) + 0.5 * 1.225 * b.cda * self.v * self.v;
            let road = if self.v <= 0.0 && wheel <= 0.0 { 0.0 } else { road };
            let a = (wheel / b.radius - road) / b.moving;
            if self.t >= self.logged + 1.0 / self.rate - 1e-9 {
                self.logged = self.t;
                let mut row = [f64::NAN; Channel::COUNT];
                let q = self.quiet;
                row[Channel::Speed as usize] = (self.v + q * 0.01 * self.dice.normal()).max(0.0);
                row[Channel::Height as usize] = self.h + q * 0.1 * self.dice.normal();
                row[Channel::BusVoltage as usize] = bus + q * 0.05 * self.dice.normal();
                row[Channel::BatteryCurrent as usize] = battery + q * 0.05 * self.dice.normal();
                row[Channel::PhaseCurrent as usize] = amps + q * 0.2 * self.dice.normal();
                self.rows.push((self.t, row));
            }
            self.v = (self.v + 0.01 * a).max(0.0);
            self.h += 0.01 * self.v * angle.sin();
            self.t += 0.01;
        }
    }

    fn ride(&self, steer: Steer) -> Ride {
        let mut o = Observer::new(steer);
        for (t, row) in &self.rows {
            o.push(*t, 0, row);
        }
        o.finish()
    }
}

/// Starts, coasting, full stops, then a held hill.
fn test_ride(truth: Truth, rate: f64, seed: u64) -> Simulation {
    let mut s = Simulation::new(truth, rate, seed);
    s.go(5.0, 0.0, Rider::Coast, |_| false);
    for k in 0..12 {
        let grade = 0.01 * f64::from(k % 3 - 1);
        s.go(60.0, grade, Rider::Drive(44.0), |v| v > 25.0 / 3.6);
        s.go(9.0, grade, Rider::Coast, |_| false);
        s.go(30.0, grade, Rider::Brake(30.0), |v| v < 1.0);
        s.go(30.0, 0.0, Rider::Coast, |v| v <= 0.0);
        s.go(2.0, 0.0, Rider::Coast, |_| false);
    }
    s.go(60.0, 0.0, Rider::Drive(44.0), |v| v > 24.0 / 3.6);
    s.go(130.0, -0.06, Rider::Hold(24.0 / 3.6), |_| false);
    s
}

fn choose(job: &mut Job, id: FactId, value: f64, sigma: f64) {
    let spread = if sigma > 0.0 { Distribution::Normal { sigma } } else { Distribution::Exact };
    job.choose(id, value, spread, "test");
}

/// The plan for that bike, as a job would say it.
fn job() -> Job {
    let mut j = Job::new("0117", "simulated", 0);
    j.kind = Some("hill".to_owned());
    for (id, value, sigma) in [
        (list::USUAL.id(), 174.0, 0.5),
        (list::WHEEL_RADIUS.id(), 0.332, 0.0005),
        (list::REDUCTION.id(), 4.6, 0.0),
        (list::POLE_PAIRS.id(), 8.0, 0.0),
        (list::FLUX.id(), 0.0215, 0.0002),
        (list::DROOP.id(), 0.00025, 0.0),
        (list::RESISTANCE.id(), 0.148, 0.0015),
        (list::DRAG_CONSTANT.id(), 0.28, 0.011),
        (list::DRAG_PER_SPEED.id(), 0.001, 0.0001),
        (list::GEAR_EFFICIENCY.id(), 0.95, 0.01),
        (list::ROLLING.id(), 0.0075, 0.0004),
        (list::DRAG_AREA.id(), 0.62, 0.045),
        (list::BRAKE_CURRENT.id(), 30.0, 0.0),
        (list::DRIVE_CURRENT.id(), 44.0, 0.0),
        (list::CHARGE_LIMIT.id(), 18.0, 0.0),
        (list::FADE_FROM.id(), 9.0 / 3.6, 0.0),
        (list::FADE_GONE.id(), 5.0 / 3.6, 0.0),
        (list::PACK_RESISTANCE.id(), 0.085, 0.004),
        (list::CELLS_SERIES.id(), 14.0, 0.0),
        (list::VOLTAGE_RATING.id(), 90.0, 0.0),
        (list::CLUTCH.id(), 1.0, 0.0),
        (list::HOLD_TEST.id(), 80.0, 0.0),
        (list::DOWNHILL_SPEED.id(), 25.0 / 3.6, 0.0),
        (list::CELLS_PARALLEL.id(), 6.0, 0.0),
        (list::CELL_CHARGE.id(), 3.5, 0.0),
        (list::ELECTRONICS_CHARGE.id(), 25.0, 0.0),
    ] {
        choose(&mut j, id, value, sigma);
    }
    for id in [list::BRAKE_CURRENT_KEPT_BY.id(), list::DRIVE_CURRENT_KEPT_BY.id(), list::CHARGE_LIMIT_KEPT_BY.id()] {
        choose(&mut j, id, 0.0, 0.0);
    }
    kinds::fill(&mut j, &[]);
    j
}

fn held_against(j: &Job, s: &Simulation) -> (Ride, Proof) {
    let ride = s.ride(steer(j).unwrap());
    let c = check::check(j);
    let proof = prove(j, &c, &ride, None).unwrap();
    (ride, proof)
}

fn of(proof: &Proof, which: Promised) -> Promise {
    *proof.promises.iter().find(|p| p.which == which).unwrap()
}

#[test]
fn a_bike_as_planned_is_seen() {
    let j = job();
    let (ride, proof) = held_against(&j, &test_ride(BIKE, 10.0, 1));
    for p in &proof.promises {
        eprintln!("{:?}", p);
    }
    assert_eq!(ride.starts, 13);
    assert!(ride.held.iter().map(|h| h.seconds).sum::<f64>() > 100.0, "{:?}", ride.held);
    for which in [
        Promised::PeakBrake,
        Promised::TorquePerAmpere,
        Promised::ChargePeak,
        Promised::BusPeak,
        Promised::HoldRipple,
        Promised::FadeGone,
        Promised::Recovered,
        Promised::DrivePeak,
    ] {
        assert_eq!(of(&proof, which).shown, Shown::Seen, "{which:?}");
    }
    assert!(matches!(of(&proof, Promised::Heat).shown, Shown::NotRidden(Unridden::NoColumn(_))));
}

#[test]
fn a_weak_magnet_differs_and_is_found() {
    let j = job();
    let weak = Truth { flux: BIKE.flux * 0.85, ..BIKE };
    let (_, proof) = held_against(&j, &test_ride(weak, 10.0, 2));
    assert_eq!(of(&proof, Promised::TorquePerAmpere).shown, Shown::Differs);
    assert_eq!(of(&proof, Promised::PeakBrake).shown, Shown::Differs);
    let flux = |(p, fact, off): &&(Promised, FactId, f64)| {
        *p == Promised::TorquePerAmpere && *fact == list::FLUX.id() && *off < -4.0
    };
    assert!(proof.explained_by.iter().any(|e| flux(&e)), "far weaker than its own doubt: {:?}", proof.explained_by);
    let (flux, half) = proof.flux.unwrap();
    assert!((flux - 0.0215 * 0.85).abs() < 1.5 * half && half < 0.0215 * 0.06, "{flux} ± {half}");
}

#[test]
fn braking_at_half_is_not_ridden_yet() {
    let j = job();
    let mut s = Simulation::new(BIKE, 10.0, 3);
    for _ in 0..10 {
        s.go(60.0, 0.0, Rider::Drive(30.0), |v| v > 20.0 / 3.6);
        s.go(40.0, 0.0, Rider::Brake(15.0), |v| v < 1.0);
    }
    let (_, proof) = held_against(&j, &s);
    assert!(matches!(of(&proof, Promised::PeakBrake).shown, Shown::NotRidden(Unridden::OnlyTo(_))));
    assert!(matches!(of(&proof, Promised::HoldRipple).shown, Shown::NotRidden(_)));
}

/// As planned at every moment, but never near the job's own peaks.
#[test]
fn a_gentle_ride_shows_no_peaks() {
    let j = job();
    let mut s = Simulation::new(BIKE, 10.0, 3);
    for _ in 0..10 {
        s.go(60.0, 0.0, Rider::Drive(30.0), |v| v > 12.0 / 3.6);
        s.go(2.0, 0.0, Rider::Coast, |_| false);
        s.go(40.0, 0.0, Rider::Brake(30.0), |v| v < 1.0);
    }
    let (_, proof) = held_against(&j, &s);
    for which in [Promised::ChargePeak, Promised::BusPeak] {
        let p = of(&proof, which);
        assert!(matches!(p.shown, Shown::NotRidden(Unridden::OnlyTo(x)) if x < 0.7), "{p:?}");
        assert!(p.z.unwrap().abs() < proof.beyond, "as planned at what it did: {p:?}");
    }
}

/// Warmed exactly as the plan says for that ride, which is far from the longest descent.
#[test]
fn a_lukewarm_motor_is_not_the_planned_heat() {
    let j = job();
    let mut s = test_ride(BIKE, 10.0, 7);
    let n = s.rows.len() as f64;
    let mut warm_by = |rise: f64| {
        for (i, (_, row)) in s.rows.iter_mut().enumerate() {
            row[Channel::MotorTemperature as usize] = 20.0 + rise * i as f64 / n;
        }
        of(&held_against(&j, &s).1, Promised::Heat)
    };
    let planned = warm_by(1.0).planned.unwrap().0;
    let p = warm_by(planned);
    assert!(planned > 8.0 && p.z.unwrap().abs() < 1.0, "{p:?}");
    assert!(matches!(p.shown, Shown::NotRidden(Unridden::OnlyTo(_))), "{p:?}");
}

#[test]
fn a_slow_log_leaves_peaks_not_ridden() {
    let j = job();
    let (_, proof) = held_against(&j, &test_ride(BIKE, 1.0, 4));
    for which in [Promised::PeakBrake, Promised::ChargePeak, Promised::BusPeak] {
        assert_eq!(of(&proof, which).shown, Shown::NotRidden(Unridden::TooSlow(4.0)), "{which:?}");
    }
}

/// 200 bikes drawn from their own doubt, each ridden: about one in twenty may alarm with all promises together.
#[test]
fn validates_good_bikes_seldom_alarm() {
    let j = job();
    let c = check::check(&j);
    let steer = steer(&j).unwrap();
    let (mut alarms, bikes) = (0, 100);
    for k in 0..bikes {
        let mut d = Dice(9000 + 31 * k);
        let truth = Truth {
            mass: 174.0 + 0.5 * d.normal(),
            flux: (0.0215 + 0.0002 * d.normal()) * (1.0 - 0.0011 * 10.0),
            t_h: 0.28 + 0.011 * d.normal(),
            eta: 0.95 + 0.01 * d.normal(),
            crr: 0.0075 + 0.0004 * d.normal(),
            cda: 0.62 + 0.045 * d.normal(),
            pack: 0.085 + 0.004 * d.normal(),
            ..BIKE
        };
        let ride = test_ride(truth, 10.0, k).ride(steer);
        let proof = prove(&j, &c, &ride, None).unwrap();
        if let Some(p) = proof.promises.iter().find(|p| p.shown == Shown::Differs) {
            eprintln!("bike {k}: {p:?}");
            alarms += 1;
        }
    }
    eprintln!("{alarms} of {bikes} good bikes alarm");
    assert!(alarms <= 10, "{alarms} of {bikes}");
}

/// Rows at a speed with the motor braking, ten a second.
fn braking_at(speeds: impl Iterator<Item = f64>) -> Simulation {
    let mut s = Simulation::new(BIKE, 10.0, 1);
    for (i, v) in speeds.enumerate() {
        let mut row = [f64::NAN; Channel::COUNT];
        row[Channel::Speed as usize] = (v + 0.2 * (i as f64 / 8.0).sin()) / 3.6;
        row[Channel::PhaseCurrent as usize] = -20.0;
        s.rows.push((i as f64 / 10.0, row));
    }
    s
}

#[test]
fn a_hold_that_runs_away_or_keeps_another_speed_is_not_seen() {
    let shown = |setting: Option<f64>, speeds: &dyn Fn(f64) -> f64| {
        let mut j = job();
        if let Some(kmh) = setting {
            choose(&mut j, list::HOLD_FASTEST.id(), kmh / 3.6, 0.0);
        }
        let (_, proof) = held_against(&j, &braking_at((0..900).map(|i| speeds(f64::from(i) / 10.0))));
        of(&proof, Promised::HoldRipple)
    };
    let steady = |_: f64| 20.0;
    let runs = |t: f64| 20.0 + (t - 70.0).clamp(0.0, 15.0);
    for setting in [None, Some(20.0)] {
        assert_eq!(shown(setting, &steady).shown, Shown::Seen);
        let p = shown(setting, &runs);
        assert_eq!(p.shown, Shown::Differs, "70 s at 20 km/h, then up to 35: {p:?}");
        assert!((p.seen.unwrap().0 - 15.0).abs() < 0.5, "{p:?}");
        // Half a minute is too short to be seen, but long enough to have failed.
        assert_eq!(shown(setting, &|t| 20.0 + (t - 30.0).clamp(0.0, 15.0)).shown, Shown::Differs);
        // The rider stops it with the hand brakes: the end of a hold.
        assert_eq!(shown(setting, &|t| 20.0 - (t - 75.0).clamp(0.0, 15.0)).shown, Shown::Seen);
    }
    assert_eq!(shown(Some(16.0), &steady).shown, Shown::Differs, "4 km/h past its setting");
    assert!(
        matches!(shown(Some(30.0), &steady).shown, Shown::NotRidden(Unridden::OnlyTo(x)) if (x - 0.67).abs() < 0.02)
    );
}

#[test]
fn changes_of_direction_are_not_none_beyond_when_the_hold_is_not_known() {
    let j = job();
    let ride = test_ride(BIKE, 10.0, 6).ride(steer(&j).unwrap());
    assert!(ride.reversal_count > 5);
    let mut c = check::check(&j);
    let known = reversals_beyond(&j, &c, &ride).unwrap();
    let hold = c.links.iter_mut().find(|l| l.link.kind == workbench::link::Kind::AxleHold).unwrap();
    assert_eq!(known.is_some(), hold.load.is_some());
    hold.load = None;
    assert_eq!(reversals_beyond(&j, &c, &ride).unwrap(), None);
    let nothing = Observer::new(steer(&j).unwrap()).finish();
    assert_eq!(reversals_beyond(&j, &c, &nothing).unwrap(), Some(0));
}

#[test]
fn gaps_and_clock_jumps_do_not_make_events() {
    let j = job();
    let s = test_ride(BIKE, 10.0, 5);
    let steer = steer(&j).unwrap();
    let mut o = Observer::new(steer);
    for (k, (t, row)) in s.rows.iter().enumerate() {
        // An hour's gap, then the clock steps back two hours; some samples twice, one without time.
        let shift = if k < 800 {
            0.0
        } else if k < 1600 {
            3600.0
        } else {
            -3600.0
        };
        o.push(t + shift, 0, row);
        if k % 100 == 0 {
            o.push(t + shift, 0, row);
        }
    }
    o.push(f64::NAN, 0, &[f64::NAN; Channel::COUNT]);
    let ride = o.finish();
    assert_eq!((ride.clock.gaps, ride.clock.steps_back, ride.clock.without_time), (1, 1, 1));
    assert!(ride.clock.doubled >= 10);
    let whole = s.ride(steer);
    assert!((ride.distance - whole.distance).abs() < 20.0, "{} {}", ride.distance, whole.distance);
    assert!((ride.recovered - whole.recovered).abs() < 0.05 * whole.recovered);
}

/// Coast-downs in closed form: `v(t) = v_c·tan(φ − t·√(ab))` on the flat, a = C_rr·m·g/m_e, b = ½ρCdA/m_e.
#[test]
fn validates_rolling_and_air_from_closed_coast_downs() {
    let (crr, cda, mass, moving) = (0.0085, 0.55, 100.0, 102.5);
    let known = Rolling { mass: (mass, 0.0), moving_mass: moving, hub: (0.0, 0.0, 0.0), air: 1.225 };
    let (a, b) = (crr * mass * 9.806_65 / moving, 0.5 * 1.225 * cda / moving);
    let critical = f64::sqrt(a / b);
    let mut coasts = Vec::new();
    for start in [11.0, 10.0, 9.0] {
        let phase = f64::atan(start / critical);
        let v = |t: f64| critical * (phase - t * (a * b).sqrt()).tan();
        let x = |t: f64| ((phase - t * (a * b).sqrt()).cos() / phase.cos()).ln() / b;
        for k in 0..8 {
            let (t0, t1) = (4.0 * f64::from(k), 4.0 * f64::from(k + 1));
            let cubes = (0..400).map(|i| v(t0 + 0.01 * (f64::from(i) + 0.5)).powi(3) * 0.01).sum();
            coasts.push(Coast {
                distance: x(t1) - x(t0),
                kinetic: 0.5 * (v(t0).powi(2) - v(t1).powi(2)),
                dropped: 0.0,
                cubes,
                speed: (x(t1) - x(t0)) / 4.0,
            });
        }
    }
    let f = road_fit(&coasts, &known, false).unwrap();
    assert!((f.rolling - crr).abs() < 1e-6 && (f.drag_area - cda).abs() < 1e-4, "{f:?}");
}

#[test]
fn validates_rolling_and_air_from_a_simulated_log() {
    let mut s = Simulation::new(BIKE, 10.0, 8);
    for k in 0..30 {
        let grade = 0.005 * f64::from(k % 3 - 1);
        s.go(90.0, grade, Rider::Drive(40.0), |v| v > 32.0 / 3.6);
        s.go(28.0, grade, Rider::Coast, |v| v < 2.0);
    }
    let j = job();
    let ride = s.ride(steer(&j).unwrap());
    let f = road_fit(&ride.coasts, &rolling(&j, None).unwrap(), false).unwrap();
    eprintln!("{f:?}");
    assert!((f.rolling - BIKE.crr).abs() < f.rolling_half, "{f:?}");
    assert!((f.drag_area - BIKE.cda).abs() < f.drag_area_half, "{f:?}");
    assert!(f.rolling_half < 0.003 && f.drag_area_half < 0.15, "{f:?}");
    // At one speed rolling and air look alike.
    let slow: Vec<Coast> = ride.coasts.iter().filter(|c| (c.speed - 6.0).abs() < 0.5).copied().collect();
    let slow: Vec<Coast> = slow.iter().cycle().take(30).copied().collect();
    assert_eq!(road_fit(&slow, &rolling(&j, None).unwrap(), false), Err(NoRoadFit::OneSpeed));
}
