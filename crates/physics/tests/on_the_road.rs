//! Road, air and grip against published numbers.

#![allow(clippy::disallowed_methods, reason = "a test may take its sine from elsewhere")]

use physics::grip::*;
use physics::road::{OnRoad, air_density, road_force};
use proptest::prelude::*;
use quantity::*;

#[test]
fn validates_road_power() {
    // Martin et al. 1998, Appendix I: aerodynamic power 158.8 W and gradient power 22.1 W of the worked example
    // (read; half the last digit, plus the example's rounding of the wind component).
    let v = Speed::metres_per_second(471.8 / 56.42);
    let wind = Speed::metres_per_second(2.94 * 30f64.to_radians().cos());
    let bike = |rolling, grade, air| OnRoad {
        mass: Mass::kilograms(90.0),
        grade: Grade::new(grade),
        rolling: Ratio::new(rolling),
        drag_area: DragArea::square_metres(0.2565 + 0.0044),
        air: Density::kilograms_per_cubic_metre(air),
        wind,
    };
    let power = |b: &OnRoad| road_force(b, v).unwrap().as_newtons() * v.as_metres_per_second();
    assert!((power(&bike(0.0, 0.0, 1.2234)) - 158.8).abs() < 0.15);
    assert!((power(&bike(0.0, 0.003, 0.0)) - 22.1).abs() < 0.06);
}

#[test]
fn validates_air_density() {
    // ISO 2533 standard atmosphere, dry, sea level: 1.225 kg/m³ (its gas constant differs from CIPM-2007 by some 1e-4).
    let rho = |t, p, rh| {
        air_density(Temperature::celsius(t), Pressure::hectopascals(p), Ratio::new(rh))
            .unwrap()
            .as_kilograms_per_cubic_metre()
    };
    assert!((rho(15.0, 1013.25, 0.0) - 1.225).abs() < 1e-3);
    // Moist air is lighter; warm air is lighter.
    assert!(rho(25.0, 1013.25, 1.0) < rho(25.0, 1013.25, 0.0) && rho(25.0, 1013.25, 0.0) < rho(5.0, 1013.25, 0.0));
}

fn stance(grade: f64, other: f64, rolling: f64, drag: f64, drag_height: f64) -> Stance {
    Stance {
        mass: Mass::kilograms(120.0),
        grade: Grade::new(grade),
        wheelbase: Length::metres(1.1),
        centre_ahead: Length::metres(0.45),
        centre_height: Length::metres(1.1),
        rolling: Ratio::new(rolling),
        other_brake: Force::newtons(other),
        drag: Force::newtons(drag),
        drag_height: Length::metres(drag_height),
    }
}

#[test]
fn validates_grip() {
    // PHYSICS-DETAIL T23, to its own 0.1 %.
    let mu = Friction::new(0.5);
    let g = rear_grip(&stance(-0.08, 0.0, 0.0, 0.0, 1.1), mu).unwrap();
    assert!((g.force.as_newtons() / 231.06 - 1.0).abs() < 1e-3);
    assert!((g.deceleration.as_metres_per_second_squared() - 1.1434).abs() < 1.2e-3);
    let g = rear_grip(&stance(-0.08, 200.0, 0.0, 0.0, 1.1), mu).unwrap();
    assert!((g.force.as_newtons() / 164.39 - 1.0).abs() < 1e-3);
    let g = rear_grip(&stance(-0.08, 200.0, 0.01, 80.0, 1.2), mu).unwrap();
    assert!((g.force.as_newtons() / 162.90 - 1.0).abs() < 1e-3);
    assert!((g.deceleration.as_metres_per_second_squared() - 3.0066).abs() < 3.1e-3);
}

#[test]
fn validates_front_brake_pulled() {
    // On a wet road (μ 0.3) the front tyre passes less than 0.4 g; with both tyres at their limit the bike slows with μ·g
    // whatever the height of its mass (law of friction).
    let s = stance(0.0, 0.0, 0.0, 0.0, 1.1);
    let both = |mu: f64| rear_grip_with_front_brake(&s, Friction::new(mu), Ratio::new(1.0)).unwrap();
    let mut front = front_grip(&s, Friction::new(0.3)).unwrap().force;
    for _ in 0..200 {
        let rear = rear_grip(&Stance { other_brake: front, ..s }, Friction::new(0.3)).unwrap().force;
        front = front_grip(&Stance { other_brake: rear, ..s }, Friction::new(0.3)).unwrap().force;
    }
    let rear = rear_grip(&Stance { other_brake: front, ..s }, Friction::new(0.3)).unwrap().force;
    assert!(((rear + front).as_newtons() / 120.0 / (0.3 * 9.806_65) - 1.0).abs() < 1e-9);
    assert!((both(0.3).force / rear - 1.0).abs() < 1e-9);
    // In the dry (μ 0.8) the front brake takes just 0.4 g.
    let pulled = Stance { other_brake: Force::newtons(0.4 * 9.806_65 * 120.0), ..s };
    assert_eq!(both(0.8), rear_grip(&pulled, Friction::new(0.8)).unwrap());
}

#[test]
fn validates_grip_in_a_bend() {
    // 0.3, 0.4, 0.5: a bend that takes 0.3 of 0.5 leaves 0.4.
    let radius = Length::metres(25.0);
    let speed = |share: f64| Speed::metres_per_second((share * 9.806_65 * 25.0).sqrt());
    let left = |grip, share| grip_in_bend(Friction::new(grip), Grade::ZERO, speed(share), radius);
    assert!((left(0.5, 0.3).unwrap().get() - 0.4).abs() < 1e-12);
    assert!((left(0.65, 0.25).unwrap().get() - 0.6).abs() < 1e-12);
    assert_eq!(left(0.5, 0.6).unwrap_err().what, "grip-taken-by-the-bend");
}

proptest! {
    /// On that slope the tyre's best just keeps the speed; a little steeper it does not.
    #[test]
    fn law_the_steepest_slope_is_where_nothing_slows(mu in 0.05..1.2, rolling in 0.0..0.03) {
        let on = |grade: Grade| Stance { grade, ..stance(0.0, 0.0, rolling, 0.0, 1.1) };
        let slows = |g: Result<Grip, physics::OutOfRange>| g.unwrap().deceleration.as_metres_per_second_squared();
        let friction = Friction::new(mu);
        let rear = steepest_on_rear(&on(Grade::ZERO), friction).unwrap();
        prop_assert!(slows(rear_grip(&on(rear), friction)).abs() < 1e-9);
        prop_assert!(slows(rear_grip(&on(rear * 1.01), friction)) < 0.0);
        let front = steepest_on_front(&on(Grade::ZERO), friction).unwrap();
        prop_assert!(slows(front_grip(&on(front), friction)).abs() < 1e-9);
        prop_assert!(slows(front_grip(&on(front * 1.01), friction)) < 0.0);
    }

    #[test]
    fn more_grip_never_holds_less(a in 0.05..0.9, b in 0.05..0.9, grade in -0.2..0.1) {
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        let s = stance(grade, 0.0, 0.01, 20.0, 1.2);
        prop_assert!(rear_grip(&s, Friction::new(low)).unwrap().force <= rear_grip(&s, Friction::new(high)).unwrap().force);
        prop_assert!(front_grip(&s, Friction::new(low)).unwrap().force <= front_grip(&s, Friction::new(high)).unwrap().force);
    }
}
