//! Road, air and grip against published numbers.

#![allow(clippy::disallowed_methods, reason = "a test may take its sine from elsewhere")]

use physics::grip::{Stance, front_grip, rear_grip};
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

proptest! {
    #[test]
    fn more_grip_never_holds_less(a in 0.05..0.9, b in 0.05..0.9, grade in -0.2..0.1) {
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        let s = stance(grade, 0.0, 0.01, 20.0, 1.2);
        prop_assert!(rear_grip(&s, Friction::new(low)).unwrap().force <= rear_grip(&s, Friction::new(high)).unwrap().force);
        prop_assert!(front_grip(&s, Friction::new(low)).unwrap().force <= front_grip(&s, Friction::new(high)).unwrap().force);
    }
}
