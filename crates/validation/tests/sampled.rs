//! The trade's rule on nut torque, sampled with our formulas, against NumPy and against what mechanics say.

use physics::faces::{Face, NutMotion, OuterPath, PressureLaw, face_hold, outer_hold};
use physics::thread::Thread;
use physics::tightening::{Turning, preload};
use quantity::*;
use validation::table::{number, solvers};

/// SplitMix64 and Box–Muller: another stream than NumPy's, which is the point.
struct Normals(u64);

impl Normals {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn next(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// Hold of both sides in N·m, sorted. Facts as in `python/trade_rule.py`.
fn holds(nut_torque_nm: f64) -> Vec<f64> {
    let length = Length::millimetres;
    let thread = Thread::new(length(12.0), length(1.25)).unwrap();
    let radius = |outer| Face::new(length(12.5), length(outer), None).unwrap().friction_radius(PressureLaw::Even);
    let mut normals = Normals(7);
    let mut hold = || {
        let mut friction = |median: f64| Friction::new(median * (0.2 * normals.next()).exp());
        let (thread_friction, nut_friction, face_friction) = (friction(0.13), friction(0.13), friction(0.15));
        let torque = Torque::newton_metres(nut_torque_nm * (1.0 + 0.02 * normals.next()));
        let turning =
            Turning { thread, thread_friction, face_friction: nut_friction, face_mean_diameter: length(17.0) };
        let tight = preload(&turning, torque).unwrap();
        let left = Force::ZERO.max(tight - Force::newtons(8e3 + 1.5e3 * normals.next()));
        let path = OuterPath {
            thread,
            thread_friction,
            nut_friction,
            nut_radius: length(8.5),
            washer_friction: face_friction,
            washer_radius: radius(24.0),
            keyed_without_play: false,
            locker: Torque::ZERO,
        };
        let inner = face_hold(face_friction, left, radius(20.0)).unwrap() * 2.0;
        let outer = |motion| outer_hold(&path, left, motion).unwrap().torque;
        (inner + outer(NutMotion::Tightens) + outer(NutMotion::Loosens)).as_newton_metres()
    };
    let mut all: Vec<f64> = (0..65_536).map(|_| hold()).collect();
    all.sort_by(f64::total_cmp);
    all
}

/// Shares within 0.008: four standard deviations of 65,536 draws where they scatter most.
#[test]
fn validates_trade_rule_against_numpy() {
    for row in solvers().iter().filter(|row| row.source.contains("trade_rule")) {
        let holds = holds(number(&row.inputs, "nuts "));
        if row.quantity == "median hold" {
            let median = holds[holds.len() / 2];
            assert!((median / row.value() - 1.0).abs() < 0.01, "{}: {median}, NumPy {}", row.inputs, row.value());
        } else {
            let share = holds.iter().filter(|hold| **hold >= 90.0).count() as f64 / holds.len() as f64;
            assert!((share - row.value()).abs() < 0.008, "{}: {share}, NumPy {}", row.inputs, row.value());
        }
    }
}

/// Common practice: bare faces under 80 N·m nuts hold about 90 N·m in most bikes, under 40 N·m in almost none.
#[test]
fn validates_common_practice_of_nut_torque() {
    let share = |nut_torque_nm| holds(nut_torque_nm).iter().filter(|hold| **hold >= 90.0).count() as f64 / 65_536.0;
    assert!(share(80.0) > 0.9);
    assert!(share(40.0) < 0.01);
}
