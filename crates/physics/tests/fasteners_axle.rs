//! States of the axle against PHYSICS-DETAIL section 4 and an own simulation.

use physics::axle_state::*;
use physics::thread::Thread;
use proptest::prelude::*;
use quantity::{Angle, Compliance, Force, Length, Torque, TorsionalStiffness, WheelTorque};

fn nm(value: f64) -> Torque {
    Torque::newton_metres(value)
}
fn stiff(value: f64) -> TorsionalStiffness {
    TorsionalStiffness::newton_metres_per_radian(value)
}
fn peaks(drive: f64, brake: f64) -> Peaks {
    Peaks { drive: WheelTorque::newton_metres(drive), brake: WheelTorque::newton_metres(brake) }
}
fn near(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "{got} is not {want}");
}
fn hold(faces: f64, arms: f64, stop: Stop) -> Hold {
    Hold { first_slip: nm(faces), faces: nm(faces), arms: nm(arms), arm_stiffness: None, stop }
}

/// PHYSICS-DETAIL T7 (exact), and E1's first example: never still.
#[test]
fn validates_t7_states() {
    let stop = Stop::AfterPlay(Some(stiff(3000.0)));
    let state = |d, b, h: Hold| axle_state(peaks(d, b), &h).unwrap();
    assert_eq!(state(90.0, 45.0, hold(70.0, 0.0, stop)), AxleState::Seated { working: false, slip: Some(Angle::ZERO) });
    match state(90.0, 60.0, hold(70.0, 0.0, stop)) {
        AxleState::Seated { working: true, slip: Some(slip) } => near(slip.as_degrees(), 0.191, 0.0005 / 0.191),
        other => panic!("{other:?}"),
    }
    assert_eq!(state(90.0, 99.0, hold(70.0, 0.0, stop)), AxleState::Rocking);
    assert_eq!(state(60.0, 60.0, hold(70.0, 0.0, stop)), AxleState::Still);
    assert_eq!(state(60.0, 60.0, hold(20.0, 60.0, stop)), AxleState::Working { slip: None });
    assert_eq!(state(90.0, 45.0, hold(70.0, 0.0, Stop::None)), AxleState::Spins);
    assert_eq!(state(90.0, 99.0, hold(70.0, 0.0, Stop::AfterPlay(None))), AxleState::Rocking);
}

/// PHYSICS-DETAIL T8 (0.1 %): 0.5615° with rigid faces, 0.1604° at 2·10⁴ N·m/rad, 0.092 mm at 9.4 mm.
#[test]
fn validates_t8_cyclic_slip() {
    let slip = |faces| cyclic_slip(peaks(90.0, 99.0), nm(70.0), stiff(5000.0), faces).unwrap();
    near(slip(None).as_degrees(), 0.5615, 1e-3);
    near(slip(None).as_radians() * 9.4, 0.092, 0.0005 / 0.092);
    near(slip(Some(stiff(2e4))).as_degrees(), 0.1604, 1e-3);
    let fits = cyclic_slip(peaks(70.0, 70.0), nm(70.0), stiff(5000.0), None).unwrap();
    assert_eq!(fits, Angle::ZERO);
}

/// PHYSICS-DETAIL E1: T_f 60 beside an arm slips at 63 N·m at k_a/k_f 0.05 and 78 at 0.3.
#[test]
fn validates_slip_with_arm() {
    for (share, torque) in [(0.05, 63.0), (0.3, 78.0)] {
        let got = slip_with_arm(nm(60.0), stiff(share * 1e4), Some(stiff(1e4))).unwrap();
        near(got.as_newton_metres(), torque, 1e-9);
    }
    assert_eq!(slip_with_arm(nm(60.0), stiff(500.0), None).unwrap(), nm(60.0));
}

/// A Jenkins slider beside a spring, cycled in small steps of angle until it settles: range of slip per reversal.
#[test]
fn validates_cyclic_slip_by_simulation() {
    let (t_f, k_a, k_f, drive, brake) = (70.0, 5000.0, 2e4, 90.0, 99.0);
    let (mut angle, mut slid) = (0.0_f64, 0.0_f64);
    let mut reversal_slip = 0.0;
    for reversal in 0..12 {
        let target = if reversal % 2 == 0 { drive } else { -brake };
        let step = 1e-6_f64.copysign(target);
        let before = slid;
        loop {
            let face = k_f * (angle - slid);
            let total = face.clamp(-t_f, t_f) + k_a * angle;
            if (target > 0.0 && total >= target) || (target < 0.0 && total <= target) {
                break;
            }
            angle += step;
            let over = k_f * (angle - slid);
            if over.abs() > t_f {
                slid = angle - t_f.copysign(over) / k_f;
            }
        }
        reversal_slip = (slid - before).abs();
    }
    let got = cyclic_slip(peaks(drive, brake), nm(t_f), stiff(k_a), Some(stiff(k_f))).unwrap();
    near(got.as_radians(), reversal_slip, 2e-3);
}

/// PHYSICS-DETAIL T9 (0.2 %): 9.91° to zero clamp, 2.80 cycles.
#[test]
fn validates_t9_unwinding() {
    let thread = Thread::new(Length::millimetres(12.0), Length::millimetres(1.25)).unwrap();
    let joint = Compliance::millimetres_per_newton(1.274e-6);
    let got = unwinding(thread, Force::kilonewtons(27.0), joint, Angle::degrees(1.769)).unwrap();
    near(got.angle.as_degrees(), 9.91, 2e-3);
    near(got.cycles.get(), 2.80, 2e-3);
}

/// PHYSICS-DETAIL E1: sides of 30 and 50 slip first at 60, not 80; the plastic limit is 80.
#[test]
fn validates_two_sides() {
    near(first_slip(nm(30.0), nm(50.0), None).unwrap().as_newton_metres(), 60.0, 1e-12);
    near(plastic_hold(nm(30.0), nm(50.0)).unwrap().as_newton_metres(), 80.0, 1e-12);
    // Stubs as stiff as their sides are strong share the whole sum.
    let k = StubStiffness { left: stiff(3e4), right: stiff(5e4) };
    near(first_slip(nm(30.0), nm(50.0), Some(k)).unwrap().as_newton_metres(), 80.0, 1e-12);
}

/// From best to worst.
fn rank(state: AxleState) -> u8 {
    match state {
        AxleState::Still => 0,
        AxleState::Working { .. } => 1,
        AxleState::Seated { .. } => 2,
        AxleState::Rocking => 3,
        AxleState::Spins => 4,
    }
}

proptest! {
    /// First slip lies between the weaker side and the sum, whatever the stiffness.
    #[test]
    fn law_first_slip_never_above_the_sum(l in 1.0_f64..100.0, r in 1.0_f64..100.0, kl in 1e2_f64..1e6, kr in 1e2_f64..1e6) {
        let k = StubStiffness { left: stiff(kl), right: stiff(kr) };
        let slip = first_slip(nm(l), nm(r), Some(k)).unwrap().as_newton_metres();
        prop_assert!(slip <= (l + r) * (1.0 + 1e-12) && slip >= l.min(r));
    }

    /// More hold never makes the state worse; more torque never better; drive and brake may change places.
    #[test]
    fn law_states_are_ordered(d in 0.0_f64..150.0, b in 0.0_f64..150.0, f in 1.0_f64..120.0, arms in 0.0_f64..60.0,
                              more in 0.0_f64..50.0, stop in any::<bool>()) {
        let stop = if stop { Stop::AfterPlay(None) } else { Stop::None };
        let state = |d, b, f| axle_state(peaks(d, b), &hold(f, arms, stop)).unwrap();
        prop_assert!(rank(state(d, b, f + more)) <= rank(state(d, b, f)));
        prop_assert!(rank(state(d + more, b, f)) >= rank(state(d, b, f)));
        prop_assert_eq!(state(d, b, f), state(b, d, f));
    }
}
