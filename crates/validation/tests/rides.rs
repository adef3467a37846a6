//! Rides in steps against rides solved as continuous equations.

use validation::rides::{CONVERGES, cases, convergence, quantity};
use workbench::ride::ensemble;

/// Halving the step takes the difference down, until what the recorded digits hold is left.
#[test]
fn validates_step_size_convergence() {
    let lines = convergence();
    for case in cases() {
        for (k, name) in CONVERGES.iter().enumerate() {
            let apart = |step_s: f64| {
                lines.iter().find(|l| l.ride == case.name && l.step_s == step_s).map_or(f64::NAN, |l| l.apart[k].abs())
            };
            println!("{} {name}: {:?}", case.name, [0.8, 0.4, 0.2, 0.1, 0.05, 0.025].map(apart));
            assert!(apart(0.05) <= 0.5 * apart(0.4) + 2e-3, "{} {name}: {} {}", case.name, apart(0.4), apart(0.05));
        }
    }
}

/// Variants go in longer steps: within a thousandth of the solved ride, and eight abreast to the bit as alone.
#[test]
fn validates_steps_of_variants() {
    for line in convergence().iter().filter(|l| l.step_s == ensemble::STEP_S) {
        let case = cases().into_iter().find(|c| c.name == line.ride).unwrap();
        let alone = case.ride(ensemble::STEP_S);
        for (k, name) in CONVERGES.iter().enumerate() {
            let whole = quantity(&alone, name).unwrap();
            assert!(line.apart[k].abs() < 1e-3 * whole.abs(), "{} {name}: {} of {whole}", line.ride, line.apart[k]);
        }
        for abreast in case.ride_abreast(9, ensemble::STEP_S) {
            assert_eq!(format!("{abreast:?}"), format!("{alone:?}"));
        }
    }
}
