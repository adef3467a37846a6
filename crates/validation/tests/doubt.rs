//! Chances, bounds and shares of doubt against closed forms, published values and SciPy.

use std::f64::consts::PI;
use validation::table::{Recorded, number, solvers};
use workbench::doubt::{chance_at_least, chance_at_most, indices, normal_quantile, rare, sobol::Sequence};

/// Recorded rows; it is an error to ask for what is not there.
fn recorded(wanted: impl Fn(&str) -> bool) -> Vec<Recorded> {
    let rows: Vec<Recorded> = solvers().into_iter().filter(|row| wanted(&row.quantity)).collect();
    assert!(!rows.is_empty(), "no such rows are recorded");
    rows
}

/// Demand over hold of the joint of `python/doubt.py`.
fn full(demand_nm: f64, u: &[f64]) -> f64 {
    let friction = 0.15 * (0.2 * normal_quantile(u[0])).exp();
    let clamp_n = 20e3 * (0.15 * normal_quantile(u[1])).exp();
    demand_nm / (2.0 * friction * clamp_n * 9.4e-3)
}

fn counted(demand_nm: f64, count: usize, seed: u64) -> f64 {
    let mut points = vec![0.0; 2 * count];
    Sequence::new(2, seed).fill(0, &mut points);
    points.chunks_exact(2).filter(|u| full(demand_nm, u) > 1.0).count() as f64 / count as f64
}

/// Scrambled points come within 2 % or 0.0003 of the closed form and of SciPy's points; independent draws would scatter by up
/// to 0.002.
#[test]
fn validates_chances_against_a_normal_margin_and_scipy() {
    for row in recorded(|q| q.starts_with("chance of slip")) {
        let ours = counted(number(&row.inputs, "demand "), 1 << 16, 0);
        let near = 0.02 * row.value() + 3e-4;
        assert!((ours - row.value()).abs() < near, "{} {}: {ours}, not {}", row.quantity, row.inputs, row.value());
    }
}

/// Rare failures that no count of this size sees, against the closed form: 25 N·m would slip once in 370,000.
#[test]
fn validates_rare_chances_against_a_normal_margin() {
    for (demand, sigmas) in [(25.0, -3.26), (20.0, -4.15), (16.0, -5.04)] {
        let margin: f64 = ((2.0 * 0.15 * 20e3 * 9.4e-3_f64 / demand).ln()) / 0.2_f64.hypot(0.15);
        assert!((margin + sigmas).abs() < 0.01, "{margin}");
        let exact = workbench::doubt::normal_share(-margin);
        let found = rare::chance(2, 1 << 13, 0, |u| full(demand, u)).unwrap();
        assert!((found.chance / exact - 1.0).abs() < 0.02, "{demand}: {} not {exact}", found.chance);
        assert!(found.at_most > exact && (found.distance - margin).abs() < 0.05 * margin, "{found:?}");
    }
}

/// Six decimals of parts in a million.
#[test]
fn validates_bounds_against_scipy() {
    for row in recorded(|q| q.ends_with("bound of a chance")) {
        let (failed, count) = (number(&row.inputs, "failed ") as usize, number(&row.inputs, "count ") as usize);
        let bound = if row.quantity.starts_with("upper") { chance_at_most } else { chance_at_least };
        let ours = 1e6 * bound(failed, count);
        assert!((ours / row.value() - 1.0).abs() < 1e-5, "{}: {ours}, SciPy {}", row.inputs, row.value());
    }
    // PHYSICS-DETAIL section 2, §9: 0 of 65,536.
    assert!(chance_at_most(0, 65_536) < 4.6e-5);
}

fn ishigami(u: &[f64]) -> f64 {
    let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
    x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
}

/// Ishigami and Homma 1990, a 7, b 0.1; values as in Saltelli et al., Global Sensitivity Analysis (2008), from the closed form.
#[test]
fn validates_indices_of_ishigami() {
    let singles: Vec<Vec<usize>> = (0..3).map(|d| vec![d]).collect();
    let found = indices::indices(3, &singles, 1 << 14, 0, ishigami);
    let published = [(0.3139, 0.5576), (0.4424, 0.4424), (0.0, 0.2437)];
    for (index, (first, total)) in found.groups.iter().zip(published) {
        assert!((index.first - first).abs() < 0.005, "{index:?}, not {first}");
        assert!((index.total - total).abs() < 0.005, "{index:?}, not {total}");
    }
    assert!((found.variance - 13.845).abs() < 0.05, "{}", found.variance);
    for row in recorded(|q| q.ends_with("Ishigami's function")) {
        let index = found.groups[number(&row.inputs, "input ") as usize - 1];
        let ours = if row.quantity.starts_with("first") { index.first } else { index.total };
        assert!((ours - row.value()).abs() < 0.01, "{} {}: {ours}, SciPy {}", row.quantity, row.inputs, row.value());
    }
    // As a group, inputs 1 and 3 hold all that input 2 does not.
    let pair = indices::indices(3, &[vec![0, 2], vec![1]], 1 << 14, 0, ishigami);
    assert!((pair.groups[0].first - 0.5576).abs() < 0.005, "{pair:?}");
}

/// Sobol's g-function with a = 0, 1, 4.5, 9, 99, 99, 99, 99 (Saltelli and Sobol 1995): V_i = 1/(3(1 + a_i)²), closed form.
#[test]
fn validates_indices_of_the_g_function() {
    let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
    let singles: Vec<Vec<usize>> = (0..8).map(|d| vec![d]).collect();
    let found = indices::indices(8, &singles, 1 << 15, 0, |u| {
        u.iter().zip(a).map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a)).product()
    });
    let own: Vec<f64> = a.iter().map(|a| 1.0 / (3.0 * (1.0 + a) * (1.0 + a))).collect();
    let all: f64 = own.iter().map(|v| 1.0 + v).product::<f64>() - 1.0;
    assert!((own[0] / all - 0.7162).abs() < 1e-3, "published: 0.716");
    for (i, index) in found.groups.iter().enumerate() {
        let first = own[i] / all;
        let total =
            own[i] * own.iter().enumerate().filter(|(k, _)| *k != i).map(|(_, v)| 1.0 + v).product::<f64>() / all;
        assert!((index.first - first).abs() < 0.01, "{i}: {index:?}, not {first}");
        assert!((index.total - total).abs() < 0.01, "{i}: {index:?}, not {total}");
    }
}

/// The net: of each 2^k first points, every interval of length 2^-k of every coordinate has just one, and every square
/// of the first two coordinates' net just one, whatever the scrambling (Owen 1995).
#[test]
fn validates_scrambling_keeps_the_net() {
    for seed in [0, 1, 99] {
        let mut points = vec![0.0; 256 * 5];
        let sequence = Sequence::new(5, seed);
        sequence.fill(0, &mut points);
        for d in 0..5 {
            let mut cells: Vec<usize> = points.chunks_exact(5).map(|p| (p[d] * 256.0) as usize).collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..256).collect::<Vec<_>>(), "seed {seed}, dimension {d}");
        }
        for k in 0..=8_u32 {
            let (wide, high) = (2f64.powi(k as i32), 2f64.powi(8 - k as i32));
            let mut cells: Vec<usize> = points
                .chunks_exact(5)
                .map(|p| (p[0] * wide) as usize * high as usize + (p[1] * high) as usize)
                .collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..256).collect::<Vec<_>>(), "seed {seed}, {wide} by {high}");
        }
        // Starting anywhere gives the same points.
        let mut later = vec![0.0; 5 * 100];
        sequence.fill(77, &mut later);
        assert_eq!(later[..], points[77 * 5..177 * 5]);
    }
    let mut one = vec![0.0; 64];
    let mut other = vec![0.0; 64];
    Sequence::new(1, 0).fill(0, &mut one);
    Sequence::new(1, 1).fill(0, &mut other);
    assert_ne!(one, other);
}

/// Nested scrambling brings the mean of a smooth function far closer than independent draws do (Owen 1997).
#[test]
fn validates_scrambled_means_converge_fast() {
    let error = |count: usize| {
        let square: f64 = (0..16)
            .map(|seed| {
                let mut points = vec![0.0; 3 * count];
                Sequence::new(3, seed).fill(0, &mut points);
                let mean =
                    points.chunks_exact(3).map(|u| u.iter().map(|u| 1.0 + (u - 0.5)).product::<f64>()).sum::<f64>();
                (mean / count as f64 - 1.0).powi(2)
            })
            .sum();
        (square / 16.0).sqrt()
    };
    let (few, many) = (error(256), error(4096));
    // Independent draws: standard deviation 0.52/√4096 = 0.008, and a quarter of the error for 16 times the draws.
    assert!(many < 2e-4, "{many}");
    assert!(many < few / 16.0, "{few} to {many}");
}
