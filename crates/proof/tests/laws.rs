//! Laws that hold for any input.

use proof::fit::{Guard, Noise, Reading, Task, Unknown, fit};
use proof::follow::Day;
use proof::road::{Channel, Observer, Steer, Values};
use proptest::prelude::*;

const STEER: Steer = Steer { brake_amperes: 30.0, drive_amperes: 44.0, fade_from: 2.5 };

fn any_value() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -100.0..100.0,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
        1 => -1e12..1e12,
    ]
}

fn samples() -> impl Strategy<Value = Vec<(f64, u32, Vec<f64>)>> {
    let one = (prop_oneof![8 => 0.0..3.0, 1 => -5000.0..5000.0, 1 => Just(f64::NAN)], 0_u32..3);
    prop::collection::vec((one, prop::collection::vec(any_value(), Channel::COUNT)), 0..400).prop_map(|rows| {
        let mut t = 0.0_f64;
        rows.into_iter()
            .map(|((step, segment), values): ((f64, u32), Vec<f64>)| {
                if step.is_finite() {
                    t += step;
                }
                (if step.is_nan() { f64::NAN } else { t }, segment, values)
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever a log holds, a ride comes out, and what is counted is never negative.
    #[test]
    fn law_any_log_gives_a_ride(rows in samples()) {
        let mut o = Observer::new(STEER);
        for (t, segment, values) in &rows {
            let mut row: Values = [f64::NAN; Channel::COUNT];
            row.copy_from_slice(values);
            o.push(*t, *segment, &row);
        }
        let ride = o.finish();
        prop_assert_eq!(ride.clock.samples as usize, rows.len());
        prop_assert!(ride.distance >= 0.0 && ride.clock.covered >= 0.0);
        prop_assert!(ride.reversals.len() as u64 <= ride.reversal_count);
        prop_assert!(ride.held.iter().all(|h| h.seconds >= 20.0 && h.ripple >= 0.0));
        prop_assert!(ride.windows.len() < 20_000);
    }

    /// A straight line through any readings is what the normal equations give, whatever the start.
    #[test]
    fn law_a_line_is_found_from_any_start(
        a in -50.0..50.0_f64,
        b in -5.0..5.0_f64,
        noise in prop::collection::vec(-1.0..1.0_f64, 8),
        start in -100.0..100.0_f64,
    ) {
        let x: Vec<f64> = (0..8).map(f64::from).collect();
        let readings: Vec<Reading> =
            x.iter().zip(&noise).map(|(x, e)| Reading { value: a + b * x + e, sigma: 0.5 }).collect();
        let model = |u: &[f64], out: &mut [f64]| out.iter_mut().zip(&x).for_each(|(o, x)| *o = u[0] + u[1] * x);
        let unknowns = [Unknown { start, size: 1.0 }, Unknown { start: -start, size: 1.0 }];
        let f = fit(&Task {
            model: &model,
            readings: &readings,
            unknowns: &unknowns,
            priors: &[],
            noise: Noise::FromResiduals,
            guard: Guard::Off,
        })
        .unwrap();
        let (n, sx, sxx) = (8.0, 28.0, 140.0);
        let sy: f64 = readings.iter().map(|r| r.value).sum();
        let sxy: f64 = readings.iter().zip(&x).map(|(r, x)| r.value * x).sum();
        let slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
        prop_assert!((f.values[1] - slope).abs() < 1e-7);
        prop_assert!((f.values[0] - (sy - slope * sx) / n).abs() < 1e-7);
        let left: f64 =
            readings.iter().zip(&x).map(|(r, x)| (r.value - f.values[0] - f.values[1] * x).powi(2)).sum();
        let expected = (left / 6.0 * n / (n * sxx - sx * sx)).sqrt();
        prop_assert!((f.deviation(1) - expected).abs() < 1e-6 * (1.0 + expected));
    }

    /// Text and day are one.
    #[test]
    fn law_a_day_is_its_text(day in -25_000_i64..80_000) {
        let text = Day(day).text();
        prop_assert_eq!(Day::parse(&text), Some(Day(day)), "{}", text);
    }
}
