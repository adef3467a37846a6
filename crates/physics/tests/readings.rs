//! Bench readings against statics and geometry worked in another way.

#![allow(clippy::disallowed_methods, reason = "a test may take its sine from elsewhere")]

use core::f64::consts::TAU;
use physics::readings::{centre_ahead, centre_height, thread_budget, three_clamp};
use physics::thread::Thread;
use quantity::{Length, Mass, PhaseCurrent};

/// Loads under both wheels of a rigid bicycle on a slope of its own axle line, from forces and moments about the
/// centre of mass (not about the rear contact, as the formula does).
fn front_share(base_mm: f64, ahead_mm: f64, above_axles_mm: f64, tilt: f64) -> f64 {
    let point = |along: f64, up: f64| along * tilt.cos() - up * tilt.sin();
    let (rear, front, centre) = (point(0.0, 0.0), point(base_mm, 0.0), point(ahead_mm, above_axles_mm));
    (centre - rear) / (front - rear)
}

#[test]
fn validates_centre_of_mass_by_planar_statics() {
    // Source: planar statics of a rigid body on two supports.
    let (base, ahead, height, radius, total) = (1120.0, 430.0, 1050.0, 340.0, 112.0);
    for block in [100.0_f64, 300.0, 500.0] {
        let tilt = (block / base).asin();
        let front = total * front_share(base, ahead, height - radius, 0.0);
        let raised = total * front_share(base, ahead, height - radius, tilt);
        let (mm, kg) = (Length::millimetres, Mass::kilograms);
        let b = centre_ahead(mm(base), kg(front), kg(total - front)).unwrap();
        let h = centre_height(mm(base), mm(radius), kg(front), kg(total - front), mm(block), kg(raised)).unwrap();
        assert!((b.as_millimetres() - ahead).abs() < 1e-9, "{b:?}");
        assert!((h.as_millimetres() - height).abs() < 1e-6, "{h:?}");
    }
    let heavier = centre_height(
        Length::metres(1.1),
        Length::metres(0.34),
        Mass::kilograms(40.0),
        Mass::kilograms(60.0),
        Length::metres(0.3),
        Mass::kilograms(41.0),
    );
    assert_eq!(heavier.unwrap_err().what, "front-mass-raised");
}

#[test]
fn validates_three_clamps_at_every_angle() {
    // Source: three cosines a third of a turn apart.
    for step in 0..360 {
        let angle = f64::from(step) * TAU / 360.0;
        let wire = |third: f64| PhaseCurrent::amperes(70.0 * (angle - third * TAU / 3.0).cos());
        let amplitude = three_clamp(wire(0.0), wire(1.0), wire(2.0)).unwrap();
        assert!((amplitude.as_amperes() - 70.0).abs() < 1e-9);
    }
}

#[test]
fn validates_thread_budget() {
    // Source: counted by hand: 20 mm free, 6 mm arm, 3 mm washers, 10 mm nut leave 1 mm; 8 turns of 1.25 mm.
    let mm = Length::millimetres;
    let thread = Thread::new(mm(12.0), mm(1.25)).unwrap();
    let fits = thread_budget(thread, mm(20.0), mm(6.0), mm(3.0), mm(10.0)).unwrap();
    assert!((fits.left.as_millimetres() - 1.0).abs() < 1e-9);
    assert!((fits.turns.get() - 8.0).abs() < 1e-9);
    let short = thread_budget(thread, mm(15.0), mm(6.0), mm(3.0), mm(10.0)).unwrap();
    assert!((short.left.as_millimetres() + 4.0).abs() < 1e-9);
    assert!((short.engaged.as_millimetres() - 6.0).abs() < 1e-9);
    assert!(thread_budget(thread, mm(8.0), mm(6.0), mm(3.0), mm(10.0)).is_err());
}
