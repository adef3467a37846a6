//! When to look again.

use super::{Card, Day, Logged};

/// The next re-check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Due {
    /// Metres since hand-over or since the wheel was last in.
    pub after: f64,
    /// Odometer in m.
    pub odometer: f64,
    /// Last day.
    pub day: Day,
    /// Day on which the odometer will be reached at the pace so far.
    pub at_pace: Option<Day>,
    /// Whether it should have been done already, as of the last card or log.
    pub overdue: bool,
}

/// Metres after hand-over, and days.
const CHECKS: [(f64, i64); 3] = [(20e3, 14), (100e3, 42), (500e3, 91)];

pub(super) fn due(cards: &[&Card], logs: &[Logged]) -> Option<Due> {
    let start = cards.iter().rev().find(|c| c.hand_over || c.wheel_out).or(cards.first())?;
    let last = cards.last()?;
    let now = logs.iter().filter_map(|l| l.day).chain([last.day]).max()?;
    let ridden = last.odometer - start.odometer;
    let days = last.day.0 - start.day.0;
    // A card counts for the check whose distance or day it came nearest to before the next.
    let done = cards.iter().filter(|c| c.day >= start.day && !c.hand_over && !core::ptr::eq(**c, *start)).count();
    let (metres, within) = *CHECKS.get(done)?;
    let pace = (days > 0 && ridden > 0.0).then(|| ridden / days as f64);
    let left = start.odometer + metres - last.odometer;
    Some(Due {
        after: metres,
        odometer: start.odometer + metres,
        day: Day(start.day.0 + within),
        at_pace: pace.map(|p| Day(last.day.0 + (left.max(0.0) / p).ceil() as i64)),
        overdue: left < 0.0 || now.0 > start.day.0 + within,
    })
}
