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
/// A look counts for a check from this share of its distance or days on (common practice: a little early is no harm).
const EARLY: f64 = 0.8;

pub(super) fn due(cards: &[&Card], logs: &[Logged]) -> Option<Due> {
    let from = cards.iter().rposition(|c| c.hand_over || c.wheel_out).unwrap_or(0);
    let (start, last) = (cards.get(from)?, cards.last()?);
    let covers = |c: &Card, (metres, days): (f64, i64)| {
        c.looked(cards)
            && (c.odometer - start.odometer >= EARLY * metres || (c.day.0 - start.day.0) as f64 >= EARLY * days as f64)
    };
    let (metres, within) = CHECKS.into_iter().find(|check| !cards[from + 1..].iter().any(|c| covers(c, *check)))?;
    let now = logs.iter().filter_map(|l| l.day).chain([last.day]).max()?;
    // A log of the card's own day may be from before it.
    let since: f64 = logs.iter().filter(|l| l.day.is_some_and(|d| d > last.day)).map(|l| l.distance).sum();
    let (ridden, days) = (last.odometer - start.odometer, last.day.0 - start.day.0);
    let pace = (days > 0 && ridden > 0.0).then(|| ridden / days as f64);
    let left = start.odometer + metres - last.odometer;
    Some(Due {
        after: metres,
        odometer: start.odometer + metres,
        day: Day(start.day.0 + within),
        at_pace: pace.map(|p| Day(last.day.0 + (left.max(0.0) / p).ceil() as i64)),
        overdue: left < since || now.0 > start.day.0 + within,
    })
}
