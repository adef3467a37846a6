//! Times the rides of `tables/rides.csv`: a line for each ride and step with processor seconds and the quantities that
//! `benches/ride.py` compares; alone, and eight abreast.

use std::hint::black_box;
use std::time::Instant;

use validation::rides::{CONVERGES, Case, STEPS, cases, quantity};

/// Least seconds of some runs.
fn least(mut run: impl FnMut()) -> f64 {
    (0..20).fold(f64::INFINITY, |best, _| {
        let begin = Instant::now();
        for _ in 0..10 {
            run();
        }
        best.min(begin.elapsed().as_secs_f64() / 10.0)
    })
}

fn main() {
    println!("ride,step_s,seconds,abreast_seconds,steps,{}", CONVERGES.join(","));
    for case in cases() {
        for step_s in STEPS {
            line(&case, step_s);
        }
    }
}

fn line(case: &Case, step_s: f64) {
    let ride = case.ride(step_s);
    let alone = least(|| {
        black_box(case.ride(black_box(step_s)));
    });
    let abreast = least(|| {
        black_box(case.ride_abreast(8, black_box(step_s)));
    }) / 8.0;
    let values = CONVERGES.map(|name| quantity(&ride, name).unwrap_or(f64::NAN).to_string());
    println!("{},{step_s},{alone:e},{abreast:e},{},{}", case.name, ride.steps, values.join(","));
}
