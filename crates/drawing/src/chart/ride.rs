//! The hill strip of one simulated ride.

use super::{Brakes, Event, Hill, Look};
use crate::style::Theme;
use workbench::ride::series::Row;
use workbench::ride::strip::{self, Who};
use workbench::ride::tally::Limit;
use workbench::words;

/// The strip of a ride with the clutch locked or free, as a file of its own.
pub fn ride_strip(rows: &[Row], title: &str, locked: bool) -> String {
    let s = strip::strip(rows);
    let brakes: Vec<Brakes> = s
        .who
        .iter()
        .map(|who| match who {
            Who::Motor => Brakes::Motor,
            Who::Hands => Brakes::Hands,
            Who::Nobody => Brakes::Nobody,
        })
        .collect();
    let event = |(at_km, limit): &(f64, Limit)| Event {
        at_km: *at_km,
        text: words::text(&format!("ride.limit.{}", limit.token())),
    };
    let events: Vec<Event> = s.marks.iter().map(event).collect();
    let hill = Hill {
        title,
        about: &words::text(if locked { "ride.strip.locked" } else { "ride.strip.free" }),
        distance_km: &s.distance_km,
        height_m: &s.height_m,
        speed_km_per_h: &s.speed_km_per_h,
        charge_percent: &s.charge_percent,
        brakes: &brakes,
        events: &events,
    };
    hill.svg(&Look { theme: Theme::File, ..Look::default() })
}
