//! Heights at even distances, smoothed.
//!
//! 1. The heights are a polyline over distance. Each new height is the mean of that polyline over one step around its
//!    place (at the ends over the line and its point reflection, which keeps the end and its slope), so that dense
//!    points are averaged and coarse ones are joined by even slopes.
//! 2. Whittaker's smoother with second differences: the heights z nearest to the heights y in the sense of
//!    min Σ(y − z)² + λ Σ(z₋₁ − 2z + z₊₁)². It keeps straight slopes, total rise and mean height exactly. A wave of
//!    length L is left 1 / (1 + λ (2 − 2 cos(2π step / L))²) of its height; λ is chosen so that this is one half at
//!    the [half length](crate::Smoothing::half_length_m).
//!
//! Source: P. H. C. Eilers, "A perfect smoother", Analytical Chemistry 75 (2003) 3631–3636; the gain is that of the
//! penalty's eigenvalue. Checked by: waves of known length and the equations written out, in the tests.

/// Means of a polyline over one step around each of `count + 1` even places from its first to its last point.
/// Distances rise or stay.
pub(crate) fn resample(line: &[(f64, f64)], count: usize) -> Vec<f64> {
    let (Some(first), Some(last)) = (line.first(), line.last()) else { return Vec::new() };
    let step = (last.0 - first.0) / count as f64;
    // The integral of the polyline from its start to a place; places come in rising order.
    let mut at = 0;
    let mut before = 0.0;
    let mut integral = |place: f64| {
        while at + 2 < line.len() && line[at + 1].0 <= place {
            before += (line[at + 1].0 - line[at].0) * (line[at].1 + line[at + 1].1 - 2.0 * first.1) / 2.0;
            at += 1;
        }
        let (a, b) = (line[at], line[(at + 1).min(line.len() - 1)]);
        let length = b.0 - a.0;
        let into = place - a.0;
        let slope = if length > 0.0 { (b.1 - a.1) / length } else { 0.0 };
        before + into * (a.1 - first.1 + slope * into / 2.0)
    };
    let mut heights = vec![first.1; count + 1];
    let mut last_integral = integral(first.0 + step / 2.0);
    for (i, height) in heights.iter_mut().enumerate().take(count).skip(1) {
        let next = integral(first.0 + (i as f64 + 0.5) * step);
        *height = first.1 + (next - last_integral) / step;
        last_integral = next;
    }
    // A mean over the line and its point reflection is the end itself.
    heights[count] = last.1;
    heights
}

/// The weight of the roughness for which a wave of `half_length` is left half its height; zero for no smoothing.
pub(crate) fn roughness_weight(step: f64, half_length: f64) -> f64 {
    if half_length <= 0.0 || step <= 0.0 {
        return 0.0;
    }
    // A wave shorter than two steps cannot be told from a longer one.
    let turn = (core::f64::consts::TAU * step / half_length).min(core::f64::consts::PI);
    let eigenvalue = 2.0 - 2.0 * libm::cos(turn);
    1.0 / (eigenvalue * eigenvalue)
}

/// Solves (1 + λ D'D) z = y with second differences D: a band matrix, decomposed once from the first row to the last.
pub(crate) fn whittaker(heights: &mut [f64], weight: f64) {
    let n = heights.len();
    if n < 3 || weight == 0.0 {
        return;
    }
    // Rows of D'D: 1 −2 1 at the ends, 5 beside them, 6 −4 1 inside.
    let diagonal = |i: usize| {
        let terms = usize::from(i + 2 < n) + 4 * usize::from(i > 0 && i + 1 < n) + usize::from(i > 1);
        1.0 + weight * terms as f64
    };
    let beside = |i: usize| weight * -2.0 * (usize::from(i + 2 < n) + usize::from(i > 0)) as f64;
    let mut factors: Vec<(f64, f64, f64)> = Vec::with_capacity(n);
    for i in 0..n {
        let mut d = diagonal(i);
        let mut e = if i + 1 < n { beside(i) } else { 0.0 };
        let mut z = heights[i];
        if i > 0 {
            let (d_1, e_1, f_1) = factors[i - 1];
            d -= d_1 * e_1 * e_1;
            e -= d_1 * e_1 * f_1;
            z -= e_1 * heights[i - 1];
        }
        if i > 1 {
            let (d_2, _, f_2) = factors[i - 2];
            d -= d_2 * f_2 * f_2;
            z -= f_2 * heights[i - 2];
        }
        let f = if i + 2 < n { weight } else { 0.0 };
        factors.push((d, e / d, f / d));
        heights[i] = z;
    }
    for i in (0..n).rev() {
        let (d, e, f) = factors[i];
        let mut z = heights[i] / d;
        if i + 1 < n {
            z -= e * heights[i + 1];
        }
        if i + 2 < n {
            z -= f * heights[i + 2];
        }
        heights[i] = z;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wave_of_the_half_length_is_halved() {
        for (step, length) in [(10.0, 100.0), (10.0, 80.0), (5.0, 200.0), (1.0, 30.0)] {
            let wave = |i: usize| libm::sin(core::f64::consts::TAU * i as f64 * step / length);
            let mut heights: Vec<f64> = (0..4_001).map(wave).collect();
            whittaker(&mut heights, roughness_weight(step, length));
            for (i, height) in heights.iter().enumerate().skip(1_000).take(2_000) {
                assert!((height - wave(i) / 2.0).abs() < 1e-9, "{step} {length}: {height} {}", wave(i));
            }
        }
    }

    #[test]
    fn slopes_and_sums_stay() {
        let mut slope: Vec<f64> = (0..100).map(|i| 300.0 - 0.7 * f64::from(i)).collect();
        let wanted = slope.clone();
        whittaker(&mut slope, 1e4);
        assert!(slope.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 1e-8));
        let mut rough: Vec<f64> = (0..100).map(|i| f64::from(i * i % 17)).collect();
        let sum: f64 = rough.iter().sum();
        whittaker(&mut rough, 50.0);
        assert!((rough.iter().sum::<f64>() - sum).abs() < 1e-9);
    }

    #[test]
    fn it_solves_the_equations() {
        for n in [3, 4, 5, 6, 40] {
            let y: Vec<f64> = (0..n).map(|i| f64::from((i * 7 + 3) % 11)).collect();
            let mut z = y.clone();
            whittaker(&mut z, 2.5);
            // (1 + λ D'D) z = y, D written out.
            let n = y.len();
            let mut left = z.clone();
            for k in 0..n - 2 {
                let second = z[k] - 2.0 * z[k + 1] + z[k + 2];
                for (j, c) in [(k, 1.0), (k + 1, -2.0), (k + 2, 1.0)] {
                    left[j] += 2.5 * c * second;
                }
            }
            assert!(left.iter().zip(&y).all(|(a, b)| (a - b).abs() < 1e-10), "{n}");
        }
    }

    #[test]
    fn means_over_a_step() {
        // A straight slope stays; a peak of 1 m over ±5 m, seen at steps of 10 m, is its mean of one half.
        let line: Vec<(f64, f64)> = vec![(0.0, 5.0), (13.0, 5.0), (15.0, 5.0), (20.0, 6.0), (25.0, 5.0), (40.0, 5.0)];
        let heights = resample(&line, 4);
        let wanted = [5.0, 5.0, 5.5, 5.0, 5.0];
        assert!(heights.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-12), "{heights:?}");
        let slope: Vec<(f64, f64)> = [0.0, 0.1, 3.0, 3.0, 17.0, 30.0].map(|s| (s, 2.0 * s + 1.0)).to_vec();
        let heights = resample(&slope, 3);
        assert!(heights.iter().zip([1.0, 21.0, 41.0, 61.0]).all(|(a, b)| (a - b).abs() < 1e-12), "{heights:?}");
    }
}
