//! Laws that every ride keeps.

use crate::machine::{calm, hub5, rider};
use proptest::prelude::*;
use quantity::*;
use workbench::ride::bike::{Bike, Command, EaseOff, Weather};
use workbench::ride::course::{Bend, Course, Point, Stop, Wishes};
use workbench::ride::pack::PackTables;
use workbench::ride::run::ride;
use workbench::ride::step::Stuck;

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
        resistance in 0.02..0.4f64,
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
            ..hub5()
        };
        let weather = Weather { head_wind_m_s: wind, ..calm() };
        let course = hilly(&steps, stop_m, bend_m);
        let r = match ride(&bike, &rider(), &weather, &course, 3.0) {
            // A weak pack cannot give what the steepest climb asks; the ride then says so and gives no answer.
            Err(Stuck::PackPower) => {
                prop_assert!(resistance > 0.15, "a sound pack gives enough: {resistance} Ω at {charge}");
                return Ok(());
            }
            other => other.unwrap(),
        };
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
}
