//! From numbers to places: scales and their ticks.

use super::Axis;

/// A scale of one axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    log: bool,
    step: f64,
}

impl Scale {
    /// Covers the axis's own range and all these numbers, on places `from` to `to`. A linear scale ends on ticks.
    pub fn new(axis: &Axis, numbers: impl Iterator<Item = f64>, from: f64, to: f64, ticks: f64) -> Self {
        let all = numbers.chain(axis.from).chain(axis.to).filter(|v| v.is_finite() && (!axis.log || *v > 0.0));
        let most = axis.to.filter(|_| axis.capped).unwrap_or(f64::INFINITY);
        let all = all.map(|v| v.min(most));
        let (mut low, mut high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        if low > high {
            (low, high) = if axis.log { (0.1, 1.0) } else { (0.0, 1.0) };
        }
        let mut every = 1.0;
        if axis.log {
            low = ten(libm::log10(low).floor() as i32);
            high = ten(libm::log10(high).ceil() as i32);
            if high <= low {
                high = low * 10.0;
            }
        } else {
            if high - low < 1e-9 * (1.0 + high.abs()) {
                high = low + low.abs().max(1.0);
            }
            every = step(high - low, ticks);
            if axis.from != Some(low) {
                low = (low / every + 1e-9).floor() * every;
            }
            if axis.to != Some(high) {
                high = (high / every - 1e-9).ceil() * every;
            }
        }
        Self { low, high, from, to, log: axis.log, step: every }
    }

    /// Where a number stands; ends count for what lies beyond them.
    pub fn at(&self, value: f64) -> f64 {
        let share = if self.log {
            let value = value.max(self.low);
            libm::log10(value / self.low) / libm::log10(self.high / self.low)
        } else {
            (value - self.low) / (self.high - self.low)
        };
        self.from + share.clamp(0.0, 1.0) * (self.to - self.from)
    }

    /// Lowest number shown.
    pub const fn low(&self) -> f64 {
        self.low
    }
    /// Highest number shown.
    pub const fn high(&self) -> f64 {
        self.high
    }

    /// Ticks in steps of 1, 2 or 5, with their texts; chances, about so many.
    pub fn ticks(&self, most: f64) -> Vec<(f64, String)> {
        if self.log {
            let (a, b) = (libm::log10(self.low).round() as i32, libm::log10(self.high).round() as i32);
            let every = (f64::from(b - a + 1) / most.max(2.0)).ceil().max(1.0) as usize;
            return (a..=b).rev().step_by(every).map(|k| (ten(k), odds(k))).collect();
        }
        let step = self.step;
        let digits = (-libm::log10(step * (1.0 + 1e-9)).floor()).max(0.0) as usize;
        let first = (self.low / step - 1e-9).ceil();
        let count = ((self.high / step + 1e-9).floor() - first) as usize;
        (0..=count).map(|k| (first + k as f64) * step).map(|v| (v, plain(v, digits))).collect()
    }
}

/// A power of ten as a chance.
fn odds(k: i32) -> String {
    workbench::words::fill("drawing.chart.chances.one-in", &[("n", &format!("{:.0}", ten(-k)))])
}

fn plain(value: f64, digits: usize) -> String {
    let value = if value.abs() < 1e-12 { 0.0 } else { value };
    format!("{value:.digits$}").replace('-', "−")
}

/// A step of 1, 2 or 5 times a power of ten, so that no more than about `most` of them fill the range.
pub fn step(range: f64, most: f64) -> f64 {
    let raw = range / most.max(1.0);
    let ten = ten(libm::log10(raw).floor() as i32);
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * ten).find(|s| *s >= raw * (1.0 - 1e-9)).unwrap_or(10.0 * ten)
}

/// A power of ten, the same on every machine.
fn ten(k: i32) -> f64 {
    let power = (0..k.unsigned_abs().min(300)).fold(1.0, |p, _| p * 10.0);
    if k < 0 { 1.0 / power } else { power }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_1_2_or_5() {
        for (range, most, wanted) in
            [(50.0, 5.0, 10.0), (47.0, 6.0, 10.0), (1.0, 4.0, 0.5), (0.07, 7.0, 0.01), (3.2, 10.0, 0.5)]
        {
            let got = step(range, most);
            assert!((got - wanted).abs() < 1e-12, "{range} in {most}: {got}");
        }
    }

    #[test]
    fn ticks_lie_on_the_scale() {
        let axis = Axis::default();
        let s = Scale::new(&axis, [0.3, 47.0].into_iter(), 0.0, 100.0, 6.0);
        let ticks = s.ticks(6.0);
        assert_eq!(ticks.first().map(|t| t.1.as_str()), Some("0"));
        assert_eq!(ticks.last().map(|t| t.1.as_str()), Some("50"));
        assert!((s.at(25.0) - 50.0).abs() < 1e-9);
    }

    #[test]
    fn an_empty_or_flat_series_still_has_a_scale() {
        let axis = Axis::default();
        for numbers in [vec![], vec![7.0], vec![f64::NAN], vec![-3.0, -3.0]] {
            let s = Scale::new(&axis, numbers.into_iter(), 0.0, 100.0, 5.0);
            assert!(s.high() > s.low() && s.ticks(5.0).len() >= 2, "{s:?}");
        }
    }
}
