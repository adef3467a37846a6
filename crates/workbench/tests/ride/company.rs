//! Rides side by side are the rides alone, to the bit.

use crate::laws::hilly;
use crate::machine::{calm, hub5, rider};
use fearless_simd::Level;
use proptest::prelude::*;
use workbench::ride::bike::{Bike, Command, EaseOff, Rider, Weather};
use workbench::ride::pack::PackTables;
use workbench::ride::run::{Nobody, ride_with};
use workbench::ride::side_by_side::{Entry, ride_all_at};

fn entry(kind: Command, eases: bool, locked: bool, [mass, wind, charge, limit, power, air]: [f64; 6]) -> Entry {
    let mix = |low: f64, high: f64, share: f64| low + share * (high - low);
    let bike = Bike {
        mass_kg: mix(70.0, 220.0, mass),
        wheels_kg: 2.6,
        start_charge: mix(0.02, 1.0, charge),
        // Some are limited, some not; some open the pack, some go too fast for it.
        charge_a: if limit < 0.3 { f64::INFINITY } else { mix(1.0, 20.0, limit) },
        ease_off: eases.then_some(EaseOff { from_v: 56.0, gone_v: 58.5, full_a: mix(1.0, 20.0, limit) }),
        droop_per_a: 0.003 * power,
        magnet_per_k: -1.1e-3,
        switch_ohm: 4e-3,
        switching: 0.008,
        standby_w: 2.0,
        ramp_s: 0.25,
        cutback_v: 44.0,
        diode_v: 0.8,
        flux_wb: mix(0.02, 0.036, wind),
        drive_a: mix(10.0, 70.0, charge),
        locked,
        command: kind,
        pack: PackTables::new("nmc", 14.0, 15.0 * 3600.0, mix(0.03, 0.5, mass)).unwrap(),
        cutout_v: 4.1 * 14.0,
        electronics_a: mix(4.0, 20.0, air),
        ..hub5()
    };
    let rider = Rider { power_w: mix(30.0, 250.0, power), assist: mix(0.0, 3.0, wind), ..rider() };
    let weather = Weather {
        air_c: mix(-8.0, 35.0, air),
        pack_c: mix(-8.0, 35.0, air),
        head_wind_m_s: mix(-5.0, 5.0, wind),
        grip: mix(0.1, 0.9, power),
        ..calm()
    };
    Entry { bike, rider, weather }
}

/// The vector units of this machine, from the widest to those that each has.
fn levels() -> Vec<Level> {
    let best = Level::new();
    let mut all = vec![best, Level::baseline()];
    #[cfg(target_arch = "x86_64")]
    all.extend([best.as_avx2().map(Level::Avx2), best.as_sse4_2().map(Level::Sse4_2)].into_iter().flatten());
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Every number of every ride, whatever its neighbours do, on every kind of vector unit that this machine has.
    #[test]
    fn law_a_ride_in_company_is_the_ride_alone(
        steps in prop::collection::vec(-0.11..0.11f64, 4..12),
        all in prop::collection::vec(prop::array::uniform6(0.0..1.0f64), 2..20),
        stop_m in 50.0..1000.0f64,
        kind in 0..3usize,
        eases: bool,
        locked: bool,
    ) {
        let kind = [Command::Variable, Command::Switch, Command::HoldOnly][kind];
        let entries: Vec<Entry> = all.into_iter().map(|x| entry(kind, eases, locked, x)).collect();
        let course = hilly(&steps, stop_m, stop_m / 2.0);
        // Debug prints every float so that it reads back to the same bits.
        let alone: Vec<String> = entries
            .iter()
            .map(|e| format!("{:?}", ride_with(&e.bike, &e.rider, &e.weather, &course, 3.0, 0.1, &mut Nobody)))
            .collect();
        for level in levels() {
            for (k, (a, b)) in alone.iter().zip(ride_all_at(level, &entries, &course, 3.0, 0.1, &|| ())).enumerate() {
                prop_assert_eq!(a, &format!("{b:?}"), "ride {} on {:?}", k, level);
            }
        }
    }
}
