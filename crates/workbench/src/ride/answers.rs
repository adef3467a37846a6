//! What the rider asks: the same ride with the clutch locked and free, and every answer as one number with its unit.
//!
//! The list of answers is [`ANSWERS`]; text, JSON and ensembles all go through it.

use super::bike::{Bike, Rider, Weather};
use super::course::Course;
use super::run::{End, Nobody, Ride, STEP_S, ride_with};
use super::step::Stuck;
use super::tally::Limit;
use super::went::{Tell, Went};
use crate::words;
use quantity::*;

/// The same ride with the clutch locked and free.
#[derive(Clone, Debug)]
pub struct Pair {
    /// With the clutch locked: it can brake.
    pub locked: Ride,
    /// With the clutch free: it only drives.
    pub free: Ride,
    /// Course length, m.
    pub length_m: f64,
    /// Metres climbed.
    pub climb_m: f64,
    /// Metres descended.
    pub drop_m: f64,
    /// Limits of winding and gears, °C.
    pub limits_c: (f64, f64),
    /// Where the first opening is, m of height and of way.
    pub first_opening_m: Option<(f64, f64)>,
}

/// Rides both, in steps of a length.
///
/// # Errors
/// [`Stuck`] where no formula reaches.
pub fn pair(bike: &Bike, rider: &Rider, weather: &Weather, course: &Course, step_s: f64) -> Result<Pair, Stuck> {
    let start_m_s = course.start_speed().as_metres_per_second();
    let with = |locked| ride_with(&bike.with_clutch(locked), rider, weather, course, start_m_s, step_s, &mut Nobody);
    Ok(pair_of(bike, course, with(true)?, with(false)?))
}

/// Rides both, telling how far they are as the part of a whole that begins at `from`; nothing if it shall not go on.
///
/// # Errors
/// [`Stuck`] where no formula reaches.
pub(super) fn pair_while(
    bike: &Bike,
    rider: &Rider,
    weather: &Weather,
    course: &Course,
    (tell, from, share): (&Tell<'_>, f64, f64),
) -> Result<Option<Pair>, Stuck> {
    let (start_m_s, length_m) = (course.start_speed().as_metres_per_second(), course.length().as_metres());
    let half = share / 2.0;
    let with = |locked, from| {
        let mut went = Went::new(tell, length_m, from, half);
        ride_with(&bike.with_clutch(locked), rider, weather, course, start_m_s, STEP_S, &mut went)
    };
    let locked = with(true, from)?;
    if locked.end == End::Stopped {
        return Ok(None);
    }
    let free = with(false, from + half)?;
    Ok(if free.end == End::Stopped { None } else { Some(pair_of(bike, course, locked, free)) })
}

/// From two finished rides.
pub fn pair_of(bike: &Bike, course: &Course, locked: Ride, free: Ride) -> Pair {
    let first_opening_m = locked.openings.first().map(|o| (course.height(Length::metres(o.x_m)).as_metres(), o.x_m));
    Pair {
        locked,
        free,
        length_m: course.length().as_metres(),
        climb_m: course.climb().as_metres(),
        drop_m: course.drop().as_metres(),
        limits_c: (bike.winding_limit_c, bike.gear_limit_c),
        first_opening_m,
    }
}

impl Pair {
    /// Battery energy that braking by motor saves over the whole ride, drag of the locked clutch included, Wh.
    pub fn net_wh(&self) -> f64 {
        (self.free.tally.used_j - self.locked.tally.used_j) / WH
    }
    /// Brought back to the battery, Wh.
    pub fn recovered_wh(&self) -> f64 {
        self.locked.tally.recovered_j / WH
    }
    /// What the locked clutch costs, Wh: recovered less net.
    pub fn cost_wh(&self) -> f64 {
        // Rounding of two rides that differ in nothing else is no cost.
        let cost = self.recovered_wh() - self.net_wh();
        if cost.abs() < 1e-6 { 0.0 } else { cost }
    }
    /// Share of the hand brakes' work with a free clutch that they no longer do.
    pub fn pads_saved(&self) -> f64 {
        let free = self.free.tally.ledger.hands_j;
        if free > 0.0 { 1.0 - self.locked.tally.ledger.hands_j / free } else { 0.0 }
    }
    /// Whether the bike did the ride: arrived, nothing too hot, the pack never open, never charged without a command, braking
    /// always there, the axle still wherever it is known what that takes.
    pub fn survives(&self) -> bool {
        self.locked.end == End::Arrived
            && self.locked.tally.winding_over_s <= 0.0
            && self.locked.tally.gears_over_s <= 0.0
            && self.locked.openings.is_empty()
            && self.locked.tally.in_limit_s(Limit::TooFast) <= 0.0
            && self.locked.rainflow.beyond().is_none_or(|n| n <= 0.0)
            && self.locked.tally.nobody_s <= 0.5
    }
    /// Whether it is worth it.
    pub fn worth(&self) -> Worth {
        let share = self.net_wh() / (self.free.tally.used_j / WH).max(1.0);
        if !self.survives() {
            Worth::NotLikeThis
        } else if share > 0.05 {
            Worth::Range
        } else if self.pads_saved() > 0.3 && share > -0.10 {
            Worth::Pads
        } else if self.pads_saved() > 0.1 || share > 0.0 {
            Worth::Hardly
        } else {
            Worth::No
        }
    }
}

const WH: f64 = 3600.0;

/// Whether it is worth it; own rule: over 5 % of the battery's use back is range, three tenths of the pads' work at under
/// 10 % of cost is pads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worth {
    /// Yes, for the range.
    Range,
    /// Yes, for pads and hands.
    Pads,
    /// Hardly.
    Hardly,
    /// No.
    No,
    /// A limit is passed on this ride.
    NotLikeThis,
}

impl Worth {
    /// Token of JSON and of the table of words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Range => "range",
            Self::Pads => "pads",
            Self::Hardly => "hardly",
            Self::No => "no",
            Self::NotLikeThis => "not-like-this",
        }
    }
}

/// One answer.
pub struct Answer {
    /// Key in JSON and in the table of words; ends in its unit.
    pub key: &'static str,
    /// Unit as shown.
    pub unit: &'static str,
    /// The number; nothing where there is none.
    pub of: fn(&Pair) -> Option<f64>,
}

impl Answer {
    /// What is said where there is no number.
    pub fn absent(&self) -> String {
        words::text(&format!("ride.absent.{}", self.key))
    }
}

macro_rules! answers {
    ($( $key:literal, $unit:literal, |$p:ident| $of:expr; )+) => {
        /// All answers.
        pub const ANSWERS: &[Answer] = &[ $( Answer { key: $key, unit: $unit, of: |$p| ($of).into() } ),+ ];
    };
}

const fn minutes(p: &Pair, limit: Limit) -> f64 {
    p.locked.tally.in_limit_s(limit) / 60.0
}

answers! {
    "time_min", "min", |p| p.locked.last.t_s / 60.0;
    "mean_speed_km_h", "km/h", |p| 3.6 * p.locked.last.x_m / p.locked.last.t_s.max(1e-9);
    "fastest_km_h", "km/h", |p| 3.6 * p.locked.tally.peaks.speed_m_s;
    "recovered_wh", "Wh", |p| p.recovered_wh();
    "clutch_cost_wh", "Wh", |p| p.cost_wh();
    "net_wh", "Wh", |p| p.net_wh();
    "use_locked_wh_km", "Wh/km", |p| p.locked.tally.used_j / WH / (p.locked.last.x_m / 1000.0).max(1e-9);
    "use_free_wh_km", "Wh/km", |p| p.free.tally.used_j / WH / (p.free.last.x_m / 1000.0).max(1e-9);
    "legs_extra_wh", "Wh", |p| (p.locked.tally.ledger.legs_j - p.free.tally.ledger.legs_j) / WH;
    "hilliness_m_km", "m/km", |p| p.drop_m / (p.length_m / 1000.0);
    "break_even_m_km", "m/km", |p| {
        let gained = p.recovered_wh();
        if gained > 0.0 { (p.drop_m / (p.length_m / 1000.0) * p.cost_wh() / gained).max(0.0) } else { f64::INFINITY }
    };
    "pads_saved_percent", "%", |p| 100.0 * p.pads_saved();
    "pads_heat_locked_wh", "Wh", |p| p.locked.tally.ledger.hands_j / WH;
    "pads_heat_free_wh", "Wh", |p| p.free.tally.ledger.hands_j / WH;
    "pads_hardest_w", "W", |p| p.locked.tally.hands_w;
    "braked_of_pedalled_percent", "%", |p| {
        let legs_j = p.free.tally.ledger.legs_j;
        if legs_j > 0.0 { 100.0 * p.free.tally.ledger.hands_j / legs_j } else { f64::INFINITY }
    };
    "winding_hottest_c", "°C", |p| p.locked.tally.peaks.winding_c;
    "winding_room_k", "K", |p| p.limits_c.0 - p.locked.tally.peaks.winding_c;
    "shell_hottest_c", "°C", |p| p.locked.tally.peaks.shell_c;
    "shell_room_k", "K", |p| p.limits_c.1 - p.locked.tally.peaks.shell_c;
    "braking_current_a", "A", |p| p.locked.tally.peaks.brake_a;
    "driving_current_a", "A", |p| p.locked.tally.peaks.drive_a;
    "charge_current_a", "A", |p| p.locked.tally.peaks.charge_a;
    "supply_highest_v", "V", |p| p.locked.tally.peaks.bus_v;
    "supply_lowest_v", "V", |p| p.locked.tally.peaks.low_bus_v;
    "surge_v", "V", |p| Some(p.locked.tally.peaks.surge_v).filter(|v| *v > 0.0);
    "own_volts_v", "V", |p| p.locked.tally.peaks.own_v;
    "charge_end_percent", "%", |p| 100.0 * p.locked.last.charge;
    "pack_opens_times", "", |p| p.locked.openings.len() as f64;
    "motor_brakes_min", "min", |p| p.locked.tally.motor_brakes_s / 60.0;
    "hands_brake_min", "min", |p| p.locked.tally.hands_brake_s / 60.0;
    "nobody_brakes_s", "s", |p| p.locked.tally.nobody_s;
    "motor_current_min", "min", |p| minutes(p, Limit::MotorCurrent);
    "fade_min", "min", |p| minutes(p, Limit::Fade);
    "charge_current_min", "min", |p| minutes(p, Limit::ChargeCurrent);
    "charge_volts_min", "min", |p| minutes(p, Limit::ChargeVolts);
    "pack_open_min", "min", |p| minutes(p, Limit::PackOpen);
    "too_fast_min", "min", |p| minutes(p, Limit::TooFast);
    "supply_volts_min", "min", |p| minutes(p, Limit::SupplyVolts);
    "pack_weak_min", "min", |p| minutes(p, Limit::PackWeak);
    "grip_min", "min", |p| minutes(p, Limit::Grip);
    "ramp_min", "min", |p| minutes(p, Limit::Ramp);
    "empty_min", "min", |p| minutes(p, Limit::Empty);
    "drive_torque_nm", "N·m", |p| p.locked.tally.peaks.drive_nm;
    "brake_torque_nm", "N·m", |p| p.locked.tally.peaks.brake_nm;
    "reversals_over_20_nm", "", |p| p.locked.rainflow.cycles_from(20.0);
    "reversals_over_60_nm", "", |p| p.locked.rainflow.cycles_from(60.0);
    "reversals_beyond_hold", "", |p| p.locked.rainflow.beyond();
}
