//! Times the rides of `tables/rides.csv`: one line a ride with seconds and the quantities that `benches/ride.py` compares.

use std::hint::black_box;
use std::time::Instant;

use validation::rides::{CONVERGES, cases, quantity};

fn main() {
    println!("ride,seconds,steps,{}", CONVERGES.join(","));
    for case in cases() {
        let ride = case.ride(0.1);
        let mut best = f64::INFINITY;
        for _ in 0..20 {
            let begin = Instant::now();
            for _ in 0..20 {
                black_box(case.ride(black_box(0.1)));
            }
            best = best.min(begin.elapsed().as_secs_f64() / 20.0);
        }
        let values = CONVERGES.map(|name| quantity(&ride, name).unwrap_or(f64::NAN).to_string());
        println!("{},{best:e},{},{}", case.name, ride.steps, values.join(","));
    }
}
