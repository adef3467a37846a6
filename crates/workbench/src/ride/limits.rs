//! How far it goes: the longest descent that the motor holds, and the highest charge at which it still brakes fully.

use super::bike::{Bike, Rider, Weather};
use super::course::Course;
use super::run::{STEP_S, Watch, ride_with};
use super::step::{State, Stuck, Taken};
use super::tally::Limit;
use quantity::*;

/// Highest descent that is looked at.
const HIGHEST_M: f64 = 3000.0;
/// Hands may help for so long before the motor counts as not holding, s.
const HELPS_FOR_S: f64 = 3.0;

/// What ends a held descent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndsBy {
    /// Nothing up to 3000 m.
    Nothing,
    /// The winding is as hot as it may be.
    Winding,
    /// Shell and gears are.
    Gears,
    /// The motor alone no longer holds, because of this limit.
    Limit(Limit),
}

impl EndsBy {
    /// Token of JSON and of the table of words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Winding => "winding",
            Self::Gears => "gears",
            Self::Limit(l) => l.token(),
        }
    }
}

/// The longest descent that the motor holds alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LongestDescent {
    /// Metres of height.
    pub height: Length,
    /// What ends it.
    pub ends_by: EndsBy,
}

struct Seen<'a> {
    bike: &'a Bike,
    helped_s: f64,
    ends_by: EndsBy,
    fell_m: f64,
}

impl Watch for Seen<'_> {
    fn step(&mut self, s: &State, taken: &Taken) -> bool {
        self.helped_s = if taken.hands_n + taken.nobody_n > 2.0 { self.helped_s + taken.h_s } else { 0.0 };
        if taken.limit() != Limit::None && self.helped_s > HELPS_FOR_S {
            self.ends_by = EndsBy::Limit(taken.limit());
            return false;
        }
        self.fell_m = -taken.slope * s.x_m;
        if s.winding_c >= self.bike.winding_limit_c {
            self.ends_by = EndsBy::Winding;
            return false;
        }
        if s.shell_c >= self.bike.gear_limit_c {
            self.ends_by = EndsBy::Gears;
            return false;
        }
        true
    }
}

/// The longest even descent of a slope that the motor holds at a speed, from cold, until something ends it.
///
/// # Errors
/// [`Stuck`] where no formula reaches.
pub fn longest_descent(
    bike: &Bike,
    rider: &Rider,
    weather: &Weather,
    grade: Grade,
    speed: Speed,
) -> Result<LongestDescent, Stuck> {
    let Ok(course) = Course::descent(grade, Length::metres(HIGHEST_M), speed) else {
        return Ok(LongestDescent { height: Length::ZERO, ends_by: EndsBy::Nothing });
    };
    let bike = bike.with_clutch(true);
    let mut seen = Seen { bike: &bike, helped_s: 0.0, ends_by: EndsBy::Nothing, fell_m: 0.0 };
    ride_with(&bike, rider, weather, &course, speed.as_metres_per_second(), STEP_S, &mut seen)?;
    Ok(LongestDescent { height: Length::metres(seen.fell_m), ends_by: seen.ends_by })
}

/// Highest charge at which the full braking current at a speed, for a minute, neither makes the controller ease off by
/// volts nor the electronics open; `None` if not even a tenth full does.
pub fn highest_charge(bike: &Bike, weather: &Weather, speed: Speed) -> Option<StateOfCharge> {
    const A_MINUTE: f64 = 60.0;
    let om = speed.as_metres_per_second() / bike.wheel_radius_m * bike.reduction;
    let i = bike.brake_a;
    let airgap_w = bike.torque_factor * bike.pole_pairs * bike.flux_wb * i / (1.0 + bike.droop_per_a * i) * om;
    let loss_w = bike.copper_factor * (bike.phase_ohm + bike.switch_ohm) * i * i + bike.standby_w;
    let ceiling_v = bike.ease_off.map_or(bike.cutout_v, |e| e.from_v.min(bike.cutout_v));
    let fits = |charge: f64| {
        let open_v = bike.pack.at(charge, weather.pack_c, 0.0).open_v;
        let charging_w = bike.hubs * (airgap_w - loss_w - bike.switching * open_v * i).max(0.0);
        let amps = (charging_w / ceiling_v).min(bike.charge_a);
        let p = bike.pack.at(charge, weather.pack_c, amps);
        let shown = |tau: f64| -libm::expm1(-A_MINUTE / tau);
        let r = p.at_once_ohm + p.quick_ohm * shown(bike.pack.quick_s) + p.slow_ohm * shown(bike.pack.slow_s);
        p.open_v + amps * r <= ceiling_v
    };
    let (mut low, mut high) = (0.1, 1.0);
    if !fits(low) {
        return None;
    }
    if fits(high) {
        return Some(StateOfCharge::new(1.0));
    }
    while high - low > 1e-4 {
        let mid = (low + high) / 2.0;
        if fits(mid) { low = mid } else { high = mid }
    }
    Some(StateOfCharge::new(low))
}
