//! Air, road and grip at the precision of their sources.

use physics::grip::{Stance, front_grip, rear_grip};
use physics::road::{OnRoad, air_density, road_force};
use quantity::*;

const GRAVITY: f64 = 9.806_65;

fn near(ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{ours} is not {theirs} within {tolerance}");
}

#[test]
fn validates_air_density_cipm() {
    // CIPM-2007 (Picard et al. 2008, Metrologia 45, 149), evaluated in other software; half the last digit and a bit.
    for (celsius, pascals, humidity, density) in [
        (20.0, 101_325.0, 0.5, 1.199_314),
        (30.0, 101_325.0, 0.8, 1.150_012),
        (0.0, 101_325.0, 0.0, 1.293_049),
        (10.0, 90_000.0, 0.7, 1.103_782),
    ] {
        let ours = air_density(Temperature::celsius(celsius), Pressure::pascals(pascals), Ratio::new(humidity));
        near(ours.unwrap().as_kilograms_per_cubic_metre(), density, 2e-6);
    }
}

#[test]
fn validates_power_to_hold_a_hill() {
    // 100 kg, CdA 0.559 m², C_rr 0.0077 (mean utility cyclist, coast-down study), 1.225 kg/m³; W at the tyre, closed
    // form in other software. At the terminal speed nothing is left to hold.
    for (percent, speed_kmh, watts) in [
        (-3.0, 25.0, 37.1337),
        (-3.0, 15.0, 66.3115),
        (-5.0, 25.0, 173.046),
        (-8.0, 25.0, 376.1426),
        (-8.0, 15.0, 269.7169),
        (-10.0, 25.0, 510.7946),
        (-15.0, 15.0, 550.252),
        (-3.0, 28.7646, 0.0),
        (-5.0, 39.6007, 0.0),
        (-8.0, 51.7226, 0.0),
        (-15.0, 72.2754, 0.0),
    ] {
        let road = OnRoad {
            mass: Mass::kilograms(100.0),
            grade: Grade::percent(percent),
            rolling: Ratio::new(0.0077),
            drag_area: DragArea::square_metres(0.559),
            air: Density::kilograms_per_cubic_metre(1.225),
            wind: Speed::ZERO,
        };
        let speed = Speed::kilometres_per_hour(speed_kmh);
        let held = -road_force(&road, speed).unwrap().as_newtons() * speed.as_metres_per_second();
        near(held, watts, 0.01);
    }
}

#[test]
fn validates_tail_wind_pushes() {
    // PHYSICS-DETAIL E16: a tail wind faster than the bike must not brake it.
    let road = |wind| OnRoad {
        mass: Mass::kilograms(100.0),
        grade: Grade::ZERO,
        rolling: Ratio::ZERO,
        drag_area: DragArea::square_metres(0.5),
        air: Density::kilograms_per_cubic_metre(1.2),
        wind: Speed::metres_per_second(wind),
    };
    let force = |wind| road_force(&road(wind), Speed::metres_per_second(5.0)).unwrap().as_newtons();
    near(force(-9.0), -force(-1.0), 1e-12);
    assert!(force(-9.0) < 0.0);
}

fn stance(mass: f64, percent: f64, [wheelbase, ahead, height]: [f64; 3]) -> Stance {
    Stance {
        mass: Mass::kilograms(mass),
        grade: Grade::percent(percent),
        wheelbase: Length::metres(wheelbase),
        centre_ahead: Length::metres(ahead),
        centre_height: Length::metres(height),
        rolling: Ratio::ZERO,
        other_brake: Force::ZERO,
        drag: Force::ZERO,
        drag_height: Length::metres(height),
    }
}

#[test]
fn validates_measured_bicycle_limits() {
    // Measured bicycle and rider (Moore 2012): wheelbase 1.121 m, centre 0.3184 m ahead and 0.9902 m high; limits in g
    // by other software. Rear alone, front alone up to slipping, front alone up to lifting.
    let level = stance(90.0, 0.0, [1.121, 0.3184, 0.9902]);
    let rear = |mu| rear_grip(&level, Friction::new(mu)).unwrap().deceleration.as_metres_per_second_squared() / GRAVITY;
    let front =
        |mu| front_grip(&level, Friction::new(mu)).unwrap().deceleration.as_metres_per_second_squared() / GRAVITY;
    for (mu, limit) in [(0.3, 0.1698), (0.4, 0.2116), (0.8, 0.3356)] {
        near(rear(mu), limit, 1e-4);
    }
    for (mu, limit) in [(0.4, 0.1757), (0.6, 0.3626), (0.7, 0.5209), (1.2, 0.8106)] {
        near(front(mu), limit, 1e-4);
    }
}

#[test]
fn validates_t23_rear_grip() {
    // PHYSICS-DETAIL T23, 0.1 %.
    let mu = Friction::new(0.5);
    let bare = stance(120.0, -8.0, [1.1, 0.45, 1.1]);
    let front = Stance { other_brake: Force::newtons(200.0), ..bare };
    let all =
        Stance { rolling: Ratio::new(0.01), drag: Force::newtons(80.0), drag_height: Length::metres(1.2), ..front };
    let ours = rear_grip(&bare, mu).unwrap();
    near(ours.force.as_newtons(), 231.06, 0.23);
    near(ours.deceleration.as_metres_per_second_squared(), 1.1434, 0.0011);
    near(rear_grip(&front, mu).unwrap().force.as_newtons(), 164.39, 0.16);
    let ours = rear_grip(&all, mu).unwrap();
    near(ours.force.as_newtons(), 162.90, 0.16);
    near(ours.deceleration.as_metres_per_second_squared(), 3.0066, 0.0030);
}
