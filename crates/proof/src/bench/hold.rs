//! The lever hold test: how hard may be pulled, and what the result says.

use super::sheet::{Hold, Turned};

/// What a set of pulls says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoldFinding {
    /// Held both ways, as often as asked.
    Held,
    /// The mark moved.
    Moved,
    /// Only one way was pulled.
    OneWay,
    /// Pulled less often than asked.
    TooFewTimes,
}

impl HoldFinding {
    /// Token of JSON and words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Moved => "moved",
            Self::OneWay => "one-way",
            Self::TooFewTimes => "too-few-times",
        }
    }
}

/// Result of the hold test.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldResult {
    /// What it says.
    pub finding: HoldFinding,
    /// Torque pulled forwards in N·m, the weakest of its pulls; none if nobody pulled that way.
    pub forwards: Option<f64>,
    /// Torque pulled backwards in N·m.
    pub backwards: Option<f64>,
    /// What it proves in N·m: the weaker of both ways less the doubt of scale and lever; none unless held.
    pub proves: Option<f64>,
    /// Torque in N·m at which the mark moved, the least.
    pub moved_at: Option<f64>,
    /// The axle was pulled beyond what its end may be pulled with.
    pub beyond_limit: bool,
    /// The tool that took the pull.
    pub tool: Option<String>,
}

/// How often each way (common practice).
pub const TIMES: u32 = 10;

/// Reads the pulls. `limit` is the torque in N·m that the axle's end may be pulled with, if it is known.
pub fn hold(pulls: &[Hold], limit: Option<f64>) -> Option<HoldResult> {
    if pulls.is_empty() {
        return None;
    }
    let torque = |h: &Hold| h.newtons.value * h.metres.value;
    let least = |way: Turned| pulls.iter().filter(|h| h.turned == way && !h.moved).map(torque).reduce(f64::min);
    let (forwards, backwards) = (least(Turned::Forwards), least(Turned::Backwards));
    let moved_at = pulls.iter().filter(|h| h.moved).map(torque).reduce(f64::min);
    let times = |way: Turned| pulls.iter().filter(|h| h.turned == way && !h.moved).map(|h| h.times).sum::<u32>();
    let finding = if moved_at.is_some() {
        HoldFinding::Moved
    } else if forwards.is_none() || backwards.is_none() {
        HoldFinding::OneWay
    } else if times(Turned::Forwards) < TIMES || times(Turned::Backwards) < TIMES {
        HoldFinding::TooFewTimes
    } else {
        HoldFinding::Held
    };
    // "Holds at least" takes the low end: 1.645 deviations below, one-sided 95 %.
    let low = |h: &Hold| {
        let share = |t: &super::Taken| (t.sigma / t.value).hypot(t.gain);
        torque(h) * (1.0 - 1.645 * share(&h.newtons).hypot(share(&h.metres)))
    };
    let proves = (finding == HoldFinding::Held).then(|| pulls.iter().map(low).fold(f64::INFINITY, f64::min));
    Some(HoldResult {
        finding,
        forwards,
        backwards,
        proves,
        moved_at,
        beyond_limit: limit.is_some_and(|l| pulls.iter().map(torque).fold(0.0, f64::max) > l * 1.001),
        tool: pulls.iter().find_map(|h| h.newtons.tool.clone()),
    })
}
