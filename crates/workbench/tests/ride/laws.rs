//! Laws that every ride keeps.

use crate::machine::{calm, hub5, rider, slope};
use proptest::prelude::*;
use quantity::*;
use workbench::ride::bike::{Bike, Command, EaseOff, Stance, Weather};
use workbench::ride::course::{Bend, Course, Point, Stop, Wishes};
use workbench::ride::pack::PackTables;
use workbench::ride::run::{End, Watch, ride, ride_with};
use workbench::ride::step::{State, Taken};
use workbench::ride::tally::Limit;

pub fn hilly(steps: &[f64], stop_m: f64, bend_m: f64) -> Course {
    let mut height = 300.0;
    let mut points = vec![Point { at: Length::ZERO, height: Length::metres(height), wish: None }];
    for (i, s) in steps.iter().enumerate() {
        height += 150.0 * s;
        points.push(Point { at: Length::metres(150.0 * (i as f64 + 1.0)), height: Length::metres(height), wish: None });
    }
    let wishes = Wishes {
        cruise: Speed::kilometres_per_hour(20.0),
        downhill: Speed::kilometres_per_hour(32.0),
        slowing: Acceleration::metres_per_second_squared(1.0),
    };
    let stops = [Stop { at: Length::metres(stop_m), wait: Time::seconds(12.0) }];
    let bends = [Bend { at: Length::metres(bend_m), speed: Speed::kilometres_per_hour(12.0) }];
    Course::new(&points, &bends, &stops, &wishes).unwrap()
}

/// Largest force of motor and of all brakes at the tyres over the weight square to the road; lowest volts while driving.
struct Extremes {
    weight_n: f64,
    motor: f64,
    both: f64,
    driving_v: f64,
}

impl Watch for Extremes {
    fn step(&mut self, _: &State, t: &Taken) -> bool {
        let square_n = self.weight_n * (1.0 - t.slope * t.slope).sqrt();
        self.motor = self.motor.max(-t.motor_n / square_n);
        self.both = self.both.max((t.hands_n - t.motor_n) / square_n);
        if t.motor_n > 0.0 {
            self.driving_v = self.driving_v.min(t.bus_v);
        }
        true
    }
}

/// Braking by motor begins as its current rises: in closed form, t − ½·ramp of full braking after the ramp.
#[test]
fn validates_the_ramp_in_closed_form() {
    let bike = Bike {
        rolling: 0.0,
        drag_area_m2: 0.0,
        drag_nm: 0.0,
        drag_nms: 0.0,
        hands_m_s2: 0.0,
        command: Command::Switch,
        ..hub5()
    };
    let course = slope(-1e-9, 100.0, Speed::metres_per_second(0.6));
    struct Until(f64, f64);
    impl Watch for Until {
        fn step(&mut self, s: &State, t: &Taken) -> bool {
            self.1 = t.motor_n;
            s.t_s < self.0 - 1e-9
        }
    }
    let after = |ramp_s: f64, until_s: f64| {
        let bike = Bike { ramp_s, ..bike.clone() };
        let mut until = Until(until_s, 0.0);
        let r = ride_with(&bike, &rider(), &calm(), &course, 9.0, 0.01, &mut until).unwrap();
        (r, -until.1)
    };
    let (ramped, full_n) = after(0.5, 1.5);
    let moving_kg = bike.mass_kg + bike.rotor_kg_m2 * (bike.reduction / bike.wheel_radius_m).powi(2);
    // Wheel bearings take 0.1 to 0.2 N besides.
    let expected = 9.0 - full_n / moving_kg * (1.5 - 0.25);
    assert!((ramped.last.v_m_s - expected).abs() < 5e-3, "{} against {expected}", ramped.last.v_m_s);
    assert!((ramped.tally.in_limit_s(Limit::Ramp) - 0.5).abs() < 0.02);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// What comes in goes out or is stored, to 1e-9 of all that moved; heat at the hub too.
    #[test]
    fn law_the_ledger_closes(
        steps in prop::collection::vec(-0.11..0.11f64, 4..20),
        stop_m in 50.0..2900.0f64,
        bend_m in 50.0..2900.0f64,
        mass in 60.0..250.0f64,
        wind in -6.0..6.0f64,
        charge in 0.1..1.0f64,
        resistance in 0.02..1.5f64,
        cutback in 0.0..3.6f64,
        grip in 0.1..1.0f64,
        limit in prop_oneof![Just(f64::INFINITY), 1.0..20.0f64],
        droop in 0.0..0.004f64,
        gears in 0.8..1.0f64,
        locked: bool,
        block: bool,
        kind in 0..3usize,
        lfp: bool,
    ) {
        let series = if lfp { 16.0 } else { 14.0 };
        let bike = Bike {
            mass_kg: mass,
            wheels_kg: 2.6,
            start_charge: charge,
            charge_a: limit,
            droop_per_a: droop,
            gears,
            magnet_per_k: -1.1e-3,
            switch_ohm: 4e-3,
            switching: 0.008,
            standby_w: 2.0,
            diode_v: 0.8,
            torque_factor: if block { 1.653_986_686_265_375_9 } else { 1.5 },
            copper_factor: if block { 2.0 } else { 1.5 },
            locked,
            command: [Command::Variable, Command::Switch, Command::HoldOnly][kind],
            ease_off: (limit < 10.0).then_some(EaseOff { from_v: 56.0, gone_v: 58.5, full_a: 10.0 }),
            pack: PackTables::new(if lfp { "lfp" } else { "nmc" }, series, 15.0 * 3600.0, resistance).unwrap(),
            cutout_v: 4.23 * series,
            electronics_a: 15.0,
            cutback_v: cutback * series,
            ramp_s: 0.25,
            ..hub5()
        };
        let weather = Weather { head_wind_m_s: wind, grip, ..calm() };
        let course = hilly(&steps, stop_m, bend_m);
        let r = ride(&bike, &rider(), &weather, &course, 3.0).unwrap();
        let open = r.tally.ledger.open_share();
        prop_assert!(open.abs() < 1e-9, "ledger open by {open:e}");
        let l = &r.tally.ledger;
        let stored = bike.winding_j_k * (r.last.winding_c - r.first.winding_c)
            + bike.shell_j_k * (r.last.shell_c - r.first.shell_c);
        let came = l.copper_j + l.gear_j + l.drag_j;
        let left = came - stored - r.tally.hub_to_air_j;
        prop_assert!(left.abs() < 1e-9 * (came + stored.abs() + r.tally.hub_to_air_j.abs() + 1.0), "heat open by {left} J");
        for loss in [l.gear_j, l.drag_j, l.copper_j, l.inverter_j, l.hands_j, l.rolling_j] {
            prop_assert!(loss >= -1e-9, "a loss of {loss} J gives");
        }
        // The pairs give back what they hold; the cells never gain from their own resistance.
        prop_assert!(l.pack_j - l.pairs_j >= -1e-6, "pack heat {} J", l.pack_j - l.pairs_j);
        // The height gained is the course's own, to what a step of time rounds at a kink.
        let rise = bike.mass_kg * 9.806_65 * course.height(Length::metres(r.last.x_m)).as_metres() - bike.mass_kg * 9.806_65 * 300.0;
        prop_assert!((l.height_j - rise).abs() < 1e-3 * bike.mass_kg * 9.8 * (5.0 + course.climb().as_metres() + course.drop().as_metres()));
    }

    /// A pack too weak for the climb drives less and says where; the volts stay up, the ride goes on, slower.
    #[test]
    fn law_a_weak_pack_rides_slower_and_says_where(
        steps in prop::collection::vec(0.01..0.09f64, 3..8),
        ohm in 0.2..2.0f64,
        mass in 90.0..160.0f64,
        percent in 15.0..100.0f64,
    ) {
        let bike = |ohm: f64| Bike {
            mass_kg: mass,
            start_charge: percent / 100.0,
            cutback_v: 42.0,
            standby_w: 2.0,
            pack: PackTables::new("nmc", 14.0, 15.0 * 3600.0, ohm).unwrap(),
            ..hub5()
        };
        let course = hilly(&steps, 1.0, 1.0);
        let mut seen = Extremes { weight_n: mass * 9.806_65, motor: 0.0, both: 0.0, driving_v: f64::INFINITY };
        let weak = ride_with(&bike(ohm), &rider(), &calm(), &course, 3.0, 0.1, &mut seen).unwrap();
        let sound = ride(&bike(0.05), &rider(), &calm(), &course, 3.0).unwrap();
        prop_assert_eq!(weak.end, End::Arrived);
        prop_assert!(weak.last.t_s > sound.last.t_s - 0.2, "{} s against {}", weak.last.t_s, sound.last.t_s);
        prop_assert!(weak.tally.ledger.open_share().abs() < 1e-9);
        // To what the speed changes within a step.
        prop_assert!(seen.driving_v > 42.0 * 0.99, "{} V", seen.driving_v);
        let cut_s = weak.tally.in_limit_s(Limit::PackWeak);
        prop_assert_eq!(cut_s > 0.0, !weak.weak.is_empty());
        for w in &weak.weak {
            prop_assert!(0.0 <= w.from_m && w.from_m <= w.to_m && w.to_m <= course.length().as_metres());
        }
        // The end of the climb takes no less than the legs alone would need.
        prop_assert!(sound.tally.in_limit_s(Limit::PackWeak) <= cut_s);
    }

    /// No tyre brakes with more than it grips, whatever is asked of it.
    #[test]
    fn law_braking_stays_within_the_grip(
        steps in prop::collection::vec(-0.11..0.03f64, 3..10),
        grip in 0.05..0.8f64,
        front: bool,
        kind in 0..2usize,
    ) {
        let stance = Stance { front, wheelbase_m: 1.1, ahead_m: 0.45, height_m: 1.0 };
        let bike = Bike { stance, command: [Command::Variable, Command::Switch][kind], ..hub5() };
        let weather = Weather { grip, ..calm() };
        let mut seen = Extremes { weight_n: 120.0 * 9.806_65, motor: 0.0, both: 0.0, driving_v: 0.0 };
        let course = hilly(&steps, 200.0, 100.0);
        let ridden = ride_with(&bike, &rider(), &weather, &course, 8.0, 0.1, &mut seen).unwrap();
        // A bike that runs away on ice brakes through the diodes, which nobody asked for.
        prop_assume!(ridden.tally.in_limit_s(Limit::TooFast) == 0.0);
        // The coasting drag is there without being asked for.
        let coast = (bike.drag_nm + bike.drag_nms * 12.0 * 15.0) * bike.reduction / (bike.wheel_radius_m * bike.gears * 120.0 * 9.8);
        prop_assert!(seen.motor <= stance.grip(grip).max(coast) * (1.0 + 1e-6), "{} against {}", seen.motor, stance.grip(grip));
        prop_assert!(seen.both <= grip.max(coast) * (1.0 + 1e-6), "{} against {grip}", seen.both);
        // The formula is that of the links.
        let links = physics::grip::Stance {
            mass: Mass::kilograms(120.0),
            grade: Grade::ZERO,
            wheelbase: Length::metres(1.1),
            centre_ahead: Length::metres(0.45),
            centre_height: Length::metres(1.0),
            rolling: Ratio::new(0.0),
            other_brake: Force::ZERO,
            drag: Force::ZERO,
            drag_height: Length::ZERO,
        };
        let mu = Friction::new(grip);
        let formula = if front { physics::grip::front_grip(&links, mu) } else { physics::grip::rear_grip(&links, mu) };
        let newtons = formula.unwrap().force.as_newtons();
        prop_assert!((stance.grip(grip) * 120.0 * 9.806_65 / newtons - 1.0).abs() < 1e-9);
    }
}
