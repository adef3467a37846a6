//! Torque and preload against VDI 2230, NASA and textbook values.

use physics::thread::{StripForces, Thread, ThreadedSection};
use physics::tightening::*;
use proptest::prelude::*;
use quantity::{Compliance, Force, Friction, Length, Ratio, Stress, Torque};

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn near(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "{got} is not {want}");
}

fn turning(d: f64, p: f64, mu: f64, inner: f64, outer: f64) -> Turning {
    Turning {
        thread: Thread::new(mm(d), mm(p)).unwrap(),
        thread_friction: Friction::new(mu),
        face_friction: Friction::new(mu),
        face_mean_diameter: face_mean_diameter(mm(inner), mm(outer)).unwrap(),
    }
}

/// VDI 2230:2001/2003 tables at 90 % of the minimum yield: force in kN (0.5 % fine threads as read, 1 % coarse from
/// memory), torque in N·m (1.5 %). Hexagon heads of ISO 4014, holes of ISO 273 medium.
#[test]
fn validates_vdi_preload_and_torque() {
    // d, P, hole, bearing diameter, yield, friction, force, torque
    let rows = [
        (8.0, 1.0, 9.0, 11.63, 640.0, 0.14, 19.7, 29.2, 0.005),
        (10.0, 1.25, 11.0, 14.63, 940.0, 0.14, 45.2, 83.0, 0.005),
        (12.0, 1.25, 13.5, 16.63, 640.0, 0.10, 49.1, 79.0, 0.005),
        (12.0, 1.25, 13.5, 16.63, 640.0, 0.14, 46.8, 101.0, 0.005),
        (12.0, 1.25, 13.5, 16.63, 1100.0, 0.10, 84.4, 135.0, 0.005),
        (14.0, 1.5, 15.5, 19.64, 1100.0, 0.12, 111.4, 244.0, 0.005),
        (5.0, 0.8, 5.5, 6.88, 1100.0, 0.12, 12.4, 10.0, 0.01),
        (5.0, 0.8, 5.5, 6.88, 640.0, 0.10, 7.4, 5.2, 0.01),
        (10.0, 1.5, 11.0, 14.63, 640.0, 0.12, 29.6, 48.0, 0.01),
        (12.0, 1.75, 13.5, 16.63, 1100.0, 0.20, 65.8, 201.0, 0.01),
    ];
    for (d, p, hole, bearing, rp, mu, force_kn, torque_nm, tolerance) in rows {
        let t = turning(d, p, mu, hole, bearing);
        let bolt = ThreadedSection::solid(t.thread);
        let force = preload_at_yield(bolt, t.thread_friction, Stress::megapascals(rp), Ratio::new(0.9)).unwrap();
        near(force.as_kilonewtons(), force_kn, tolerance);
        near(nut_torque(&t, force).unwrap().as_newton_metres(), torque_nm, 0.015);
        near(preload(&t, Torque::newton_metres(torque_nm)).unwrap().as_kilonewtons(), force_kn, 0.02);
        near(stress_while_tightening(bolt, t.thread_friction, force).unwrap().as_megapascals(), 0.9 * rp, 1e-12);
    }
}

/// Nut factors from the rounded long form with 0.16·P and 0.58·d2·μ (reference table, 0.0005; the rounded 0.58 stands for
/// 0.57735 and adds up to 0.00265·μ, the rounded 0.16 for 0.15915 up to 0.00085·P/d).
#[test]
fn validates_nut_factor() {
    let rows = [
        (10.0, 1.5, 0.16, 11.0, 14.63, 0.2103),
        (12.0, 1.25, 0.10, 13.5, 16.63, 0.1335),
        (12.0, 1.75, 0.20, 13.5, 16.63, 0.2539),
        (14.0, 1.5, 0.14, 15.5, 19.64, 0.1805),
    ];
    for (d, p, mu, inner, outer, k) in rows {
        let got = nut_factor(&turning(d, p, mu, inner, outer)).unwrap().get();
        assert!((got - k).abs() <= 0.0005 + 0.00265 * mu + 0.00085 * p / d, "{got} is not {k}");
    }
}

/// Jindal, Machine Design, examples 9-5 and 9-6: K 0.2, M14, 0.75·115 mm²·650 MPa needs 156.97 N·m; K 0.18, 20 mm,
/// 120 kN needs 432 N·m.
#[test]
fn validates_short_form_textbook() {
    for (d, p, k, torque, force) in [(14.0, 2.0, 0.2, 156.97, 0.75 * 115.0 * 650.0), (20.0, 2.5, 0.18, 432.0, 120e3)] {
        let t = Thread::new(mm(d), mm(p)).unwrap();
        let got = preload_short_form(t, Ratio::new(k), Torque::newton_metres(torque)).unwrap();
        near(got.as_newtons(), force, 1e-3);
    }
}

/// PHYSICS-DETAIL E11: the bored axle at 80 N·m and friction 0.10 (47.2 kN) sees 807 MPa; the tension alone is 513 MPa
/// in the solid round thread.
#[test]
fn validates_axle_with_bore_yields() {
    let t = Thread::new(mm(12.0), mm(1.25)).unwrap();
    let (force, mu) = (Force::kilonewtons(47.2), Friction::new(0.10));
    let bored = ThreadedSection::new(t, Some(mm(10.0)), mm(6.0)).unwrap();
    let stress = |section| stress_while_tightening(section, mu, force).unwrap().as_megapascals();
    near(stress(bored), 807.0, 0.5 / 807.0 + 1e-3);
    near(force.as_newtons() / t.stress_area().as_square_millimetres(), 513.0, 0.001);
    assert!(stress(ThreadedSection::solid(t)) < stress(bored));
}

/// PHYSICS-DETAIL, replacement of section 1: M12×1.25 over 8 mm is 1.27·10⁻⁶ mm/N and 10 µm cost about 8 kN.
#[test]
fn validates_embedding_of_a_short_joint() {
    let half = Compliance::millimetres_per_newton(1.27e-6 / 2.0);
    let loss = embedding_loss(mm(0.010), half, half).unwrap();
    near(loss.as_kilonewtons(), 8.0, 0.05);
    let left = |kn| preload_after_loss(Force::kilonewtons(kn), loss).unwrap().as_kilonewtons();
    assert!(left(5.0) == 0.0 && left(20.0) > 12.0 && left(20.0) < 12.3);
}

/// The same joint from the parts' compliances: round M12×1.25, 8 mm, washer face 13.5/19 mm, E 205 GPa.
#[test]
fn validates_compliance_of_the_example_joint() {
    let steel = Stress::gigapascals(205.0);
    let stub = ThreadedSection::solid(Thread::new(mm(12.0), mm(1.25)).unwrap());
    let bolt = bolt_compliance(stub, mm(8.0), steel).unwrap();
    let sleeve = sleeve_compliance(mm(13.5), mm(19.0), mm(8.0), steel).unwrap();
    let total = (bolt + sleeve).as_millimetres_per_newton();
    assert!((1.2e-6..1.34e-6).contains(&total), "{total}");
}

/// The cone against the sum of thin discs whose diameter grows with the depth from both faces.
#[test]
fn validates_cone_against_thin_slices() {
    let (hole, bearing, l, n) = (12.5, 20.0, 8.0, 2000);
    let steel = Stress::gigapascals(205.0);
    let slice = l / f64::from(n);
    let mut sum = 0.0;
    for i in 0..n {
        let depth = (f64::from(i) + 0.5) * slice;
        let depth = f64::min(depth, l - depth);
        // The diameter grows by 2·tan φ for each mm of depth, and tan φ = 0.6.
        sum += sleeve_compliance(mm(hole), mm(bearing + 1.2 * depth), mm(0.01), steel)
            .unwrap()
            .as_millimetres_per_newton()
            * (slice / 0.01);
    }
    let cone = plate_compliance(mm(hole), mm(bearing), mm(l), steel).unwrap().as_millimetres_per_newton();
    near(cone, sum, 1e-5);
}

/// α_A = (1+s)/(1−s) by definition (reference table) and a worked example: 41.9 kN highest at 1.8 leaves 23.3 kN lowest.
#[test]
fn validates_tightening_factor() {
    for (scatter, alpha) in [(0.17, 1.41), (0.25, 1.667), (0.43, 2.509), (0.6, 4.0)] {
        let range = preload_range(Force::kilonewtons(30.0), Ratio::new(alpha)).unwrap();
        near(range.high.as_kilonewtons(), 30.0 * (1.0 + scatter), 1e-3);
        near(range.low.as_kilonewtons(), 30.0 * (1.0 - scatter), 1.5e-3);
        near(range.tightening_factor().get(), alpha, 1e-12);
    }
    let mid = 41.9 * (1.0 + 1.8) / (2.0 * 1.8);
    let range = preload_range(Force::kilonewtons(mid), Ratio::new(1.8)).unwrap();
    near(range.low.as_kilonewtons(), 23.3, 0.1 / 23.3);
}

proptest! {
    /// More torque never gives less preload, more friction never more; the way back returns the torque.
    #[test]
    fn law_torque_and_preload(t in 1.0_f64..150.0, more in 0.0_f64..50.0, mu in 0.05_f64..0.3, rough in 0.0_f64..0.2) {
        let smooth = turning(12.0, 1.25, mu, 12.5, 20.0);
        let force = preload(&smooth, Torque::newton_metres(t)).unwrap();
        prop_assert!(preload(&smooth, Torque::newton_metres(t + more)).unwrap() >= force);
        prop_assert!(preload(&turning(12.0, 1.25, mu + rough, 12.5, 20.0), Torque::newton_metres(t)).unwrap() <= force);
        let back = nut_torque(&smooth, force).unwrap().as_newton_metres();
        prop_assert!((back - t).abs() < 1e-9 * t);
        let k = nut_factor(&smooth).unwrap();
        let short = preload_short_form(smooth.thread, k, Torque::newton_metres(t)).unwrap();
        prop_assert!((short / force - 1.0).abs() < 1e-12);
    }

    /// At the limit, with the tool at its high end, neither 0.9 of yield nor 0.8 of a strip force is passed.
    #[test]
    fn law_the_limit_is_never_passed(mu in 0.06_f64..0.2, ext in 20.0_f64..120.0, int in 20.0_f64..120.0, bore in 0.0_f64..7.0) {
        let nut = turning(12.0, 1.25, mu, 12.5, 20.0);
        let section = ThreadedSection::new(nut.thread, Some(mm(10.0)), mm(bore)).unwrap();
        let strip = StripForces { external: Force::kilonewtons(ext), internal: Force::kilonewtons(int) };
        let rp = Stress::megapascals(640.0);
        let limit = torque_limit(section, &nut, rp, Ratio::new(0.9), strip, Ratio::percent(4.0)).unwrap();
        let high = preload(&nut, limit.torque * 1.04).unwrap();
        let stress = stress_while_tightening(section, nut.thread_friction, high).unwrap().as_megapascals();
        let uses = [stress / 576.0, high.as_kilonewtons() / (0.8 * ext), high.as_kilonewtons() / (0.8 * int)];
        let largest = uses.iter().fold(0.0, |a: f64, b| a.max(*b));
        prop_assert!((largest - 1.0).abs() < 1e-9);
    }
}
