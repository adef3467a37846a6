//! One-sided 95 % bounds of a chance of which so many were counted.
//!
//! Exact (Clopper and Pearson 1934): the chance at which seeing no more (no fewer) than was seen has a chance of 5 %. It
//! is that of independent draws; scrambled points scatter less, so it is on the safe side.

/// Share outside the bound.
const OUTSIDE: f64 = 0.05;

/// Upper bound of a chance of which `failed` of `count` were seen.
pub fn chance_at_most(failed: usize, count: usize) -> f64 {
    if count == 0 || failed >= count {
        return 1.0;
    }
    solve(|p| share_up_to(failed, count, p) - OUTSIDE)
}

/// Lower bound of a chance of which `failed` of `count` were seen.
pub fn chance_at_least(failed: usize, count: usize) -> f64 {
    if failed == 0 {
        return 0.0;
    }
    // At least `failed` seen: one less than all that stay below.
    solve(|p| share_up_to(failed - 1, count, p) - (1.0 - OUTSIDE))
}

/// Where a falling function of a chance crosses zero.
fn solve(f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// Chance that of `n` draws not more than `k` hit, each with chance `p`: the incomplete beta function `I_{1-p}(n-k, k+1)`
/// by its continued fraction (Lentz; Numerical Recipes 3rd ed., section 6.4).
fn share_up_to(k: usize, n: usize, p: f64) -> f64 {
    if p <= 0.0 {
        return 1.0;
    }
    if p >= 1.0 {
        return 0.0;
    }
    let (a, b) = ((n - k) as f64, k as f64 + 1.0);
    let front =
        libm::exp(libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * libm::log1p(-p) + b * libm::log(p));
    if 1.0 - p < (a + 1.0) / (a + b + 2.0) {
        front * fraction(a, b, 1.0 - p) / a
    } else {
        1.0 - front * fraction(b, a, p) / b
    }
}

fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut out = d;
    for m in 1..2000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / guard(1.0 + even * d);
        c = guard(1.0 + even / c);
        out *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / guard(1.0 + odd * d);
        c = guard(1.0 + odd / c);
        let step = d * c;
        out *= step;
        if (step - 1.0).abs() < 1e-14 {
            break;
        }
    }
    out
}
