//! Whether a speed was held: how far it swings, and whether it ran away from its setting.

use super::promised::Unridden;
use super::ride::{Held, Ride};
use workbench::fact::{Origin, list};
use workbench::job::Job;

/// A held speed that goes this far past its setting, or past its mean, is not held, km/h (the stop of that rung).
const DRIFT: f64 = 3.0;
/// Seconds of holding that show it.
const ENOUGH: f64 = 60.0;

/// Of all that was held: swing of the speed, or how far it ran away, km/h, and its noise.
pub(super) struct Swing {
    pub(super) seen: f64,
    pub(super) noise: f64,
    pub(super) events: usize,
}

pub(super) fn swing(job: &Job, ride: &Ride) -> Result<Swing, Unridden> {
    if ride.held.is_empty() {
        return Err(Unridden::NoEvent);
    }
    // What is assumed for the kind is no setting.
    let setting = job.fact(list::HOLD_FASTEST.id()).filter(|f| f.origin != Origin::Assumed).map(|f| 3.6 * f.value);
    // How far past what it should be, km/h.
    let past = |h: &Held| setting.map_or(3.6 * h.away, |s| 3.6 * (h.speed + h.away) - s);
    let drift = ride.held.iter().map(past).fold(0.0, f64::max);
    let failed = drift > DRIFT;
    // What was held slower is not the hold that was planned.
    let counts = |h: &&Held| failed || setting.is_none_or(|s| 3.6 * h.speed >= s - DRIFT);
    let all: Vec<&Held> = ride.held.iter().filter(counts).collect();
    if let (true, Some(s)) = (all.is_empty(), setting) {
        return Err(Unridden::OnlyTo(ride.held.iter().map(|h| 3.6 * h.speed / s).fold(0.0, f64::max)));
    }
    let seconds: f64 = all.iter().map(|h| h.seconds).sum();
    if seconds < ENOUGH && !failed {
        return Err(Unridden::OnlyTo(seconds / ENOUGH));
    }
    let square = all.iter().map(|h| h.seconds * h.ripple * h.ripple).sum::<f64>() / seconds;
    let ripple = 3.6 * square.sqrt();
    // A held speed swings over some five seconds, so that each such stretch counts as one reading.
    let noise = ripple / (2.0 * seconds / 5.0).sqrt();
    Ok(Swing { seen: if failed { drift.max(ripple) } else { ripple }, noise, events: all.len() })
}
