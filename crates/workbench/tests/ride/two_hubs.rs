//! Two driven wheels, alike, on one battery.

use crate::laws::hilly;
use crate::machine::{calm, hub5, rider};
use proptest::prelude::*;
use workbench::ride::answers::pair;
use workbench::ride::bike::{Bike, Rider, Stance};
use workbench::ride::pack::PackTables;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Twice the bike on two hubs is two bikes that ride beside each other: each hub does and suffers what one alone does.
    #[test]
    fn law_two_hubs_under_twice_the_bike_are_two_bikes(
        steps in prop::collection::vec(-0.09..0.05f64, 4..10),
        limit in prop_oneof![Just(f64::INFINITY), 2.0..15.0f64],
        droop in 0.0..0.003f64,
        pushes in 1.0..2.2f64,
    ) {
        let one = Bike {
            charge_a: limit,
            droop_per_a: droop,
            magnet_per_k: -1.1e-3,
            switch_ohm: 4e-3,
            switching: 0.008,
            standby_w: 3.0,
            ramp_s: 0.25,
            diode_v: 0.8,
            // Some run faster than their supply.
            flux_wb: 0.0276 * pushes,
            pack: PackTables::stiff(54.6, 72e3, 0.1),
            ..hub5()
        };
        let two = Bike {
            hubs: 2.0,
            mass_kg: 2.0 * one.mass_kg,
            drag_area_m2: 2.0 * one.drag_area_m2,
            charge_a: 2.0 * one.charge_a,
            electronics_a: 2.0 * one.electronics_a,
            pack: PackTables::stiff(54.6, 144e3, 0.05),
            ..one.clone()
        };
        let (course, alone) = (hilly(&steps, 300.0, 150.0), rider());
        let both = Rider { power_w: 2.0 * alone.power_w, push_n: 2.0 * alone.push_n, ..alone };
        let (Ok(a), Ok(b)) = (pair(&one, &alone, &calm(), &course, 0.1), pair(&two, &both, &calm(), &course, 0.1)) else {
            return Err(TestCaseError::reject("too fast for the formulas"));
        };
        // Wheel bearings of one bike only: some 0.2 N.
        let near = |what: &str, one: f64, two: f64| {
            prop_assert!((one - two).abs() < 0.01 * one.abs() + 0.02, "{what}: {two} against {one}");
            Ok(())
        };
        let (p, q) = (&a.locked.tally.peaks, &b.locked.tally.peaks);
        near("time", a.locked.last.t_s, b.locked.last.t_s)?;
        near("winding", p.winding_c, q.winding_c)?;
        near("hub", p.shell_c, q.shell_c)?;
        near("braking current", p.brake_a, q.brake_a)?;
        near("braking torque", p.brake_nm, q.brake_nm)?;
        near("driving current", p.drive_a, q.drive_a)?;
        near("into the pack", 2.0 * p.charge_a, q.charge_a)?;
        near("recovered", 2.0 * a.recovered_wh(), b.recovered_wh())?;
        near("net", 2.0 * a.net_wh(), b.net_wh())?;
    }

    /// Two tyres that brake alike: at their grip one of them just slides, the other not yet.
    #[test]
    fn law_the_first_tyre_that_slides_ends_the_grip_of_both(
        friction in 0.05..1.0f64,
        wheelbase_m in 0.9..1.8f64,
        ahead in 0.2..0.8f64,
        height_m in 0.6..1.3f64,
    ) {
        let ahead_m = ahead * wheelbase_m;
        let stance = Stance { front: false, wheelbase_m, ahead_m, height_m };
        let each = stance.grip_of_both(friction) / 2.0;
        // Loads of the tyres over the weight: turning about the other tyre's foot.
        let front = (ahead_m + 2.0 * each * height_m) / wheelbase_m;
        let rear = 1.0 - front;
        let slides = (each / front).max(each / rear);
        prop_assert!((slides / friction - 1.0).abs() < 1e-9, "{slides} of {friction}");
    }
}
