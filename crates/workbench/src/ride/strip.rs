//! The hill as columns for a picture: height, speed and charge over the way, who brakes, and where a limit begins to bite.

use super::series::Row;
use super::tally::Limit;

/// Force below which nobody counts as braking, N.
const BRAKES_N: f64 = 2.0;
/// Names of limits stand no closer than this share of the way.
const APART: f64 = 0.06;

/// Who brakes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// The motor, at least half of it.
    Motor,
    /// The hands, most of it.
    Hands,
    /// Nobody: nothing is wanted, or nothing is there.
    Nobody,
}

/// Columns of the strip, one entry a row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    /// Way from the start.
    pub distance_km: Vec<f64>,
    /// Height.
    pub height_m: Vec<f64>,
    /// Speed.
    pub speed_km_per_h: Vec<f64>,
    /// Charge.
    pub charge_percent: Vec<f64>,
    /// Who brakes from each row to the next.
    pub who: Vec<Who>,
    /// Where a limit begins: way and which.
    pub marks: Vec<(f64, Limit)>,
}

/// The strip of a series.
pub fn strip(rows: &[Row]) -> Strip {
    let mut out = Strip::default();
    let apart_km = APART * rows.last().map_or(0.0, |r| r.way_m / 1000.0);
    let mut before = Limit::None;
    for (i, r) in rows.iter().enumerate() {
        let km = r.way_m / 1000.0;
        out.distance_km.push(km);
        out.height_m.push(r.height_m);
        out.speed_km_per_h.push(3.6 * r.speed_m_s);
        out.charge_percent.push(100.0 * r.charge);
        out.who.push(rows.get(i + 1).map_or(Who::Nobody, who));
        let bites = r.limit != before && !matches!(r.limit, Limit::None | Limit::NotAsked);
        if bites && out.marks.last().is_none_or(|(at, _)| km - at > apart_km) {
            out.marks.push((km, r.limit));
        }
        before = r.limit;
    }
    out
}

fn who(r: &Row) -> Who {
    if r.hands_n > BRAKES_N && r.hands_n >= -r.motor_n {
        Who::Hands
    } else if r.motor_n < -BRAKES_N && r.legs_n < 1.0 && r.nobody_n < BRAKES_N {
        Who::Motor
    } else {
        Who::Nobody
    }
}
