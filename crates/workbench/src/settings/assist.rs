//! Assist: motor power as a factor of the rider's, with the limits of the vehicle class.

use crate::fact::list;
use crate::job::Job;
use crate::link::{Off, World};
use physics::motor;
use quantity::*;

/// Limits of a class; the law of the place decides, not this table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VehicleClass {
    /// Answer of the fact `bike.vehicle_class`.
    pub token: &'static str,
    /// Speed at which assist ends, km/h.
    pub cut_off_km_h: f64,
    /// Continuous power, W.
    pub power_w: f64,
    /// Largest factor of the rider's power, if the class has one.
    pub factor: Option<f64>,
    /// Where it stands.
    pub source: &'static str,
}

/// Classes with limits.
pub const CLASSES: &[VehicleClass] = &[
    VehicleClass {
        token: "pedal-assist-25",
        cut_off_km_h: 25.0,
        power_w: 250.0,
        factor: None,
        source: "Regulation (EU) No 168/2013, article 2(2)(h); EN 15194 (from memory)",
    },
    VehicleClass {
        token: "pedal-assist-45",
        cut_off_km_h: 45.0,
        power_w: 4000.0,
        factor: Some(4.0),
        source: "Regulation (EU) No 168/2013, L1e-B, and delegated regulation (EU) No 3/2014, annex XIX (from memory)",
    },
];

/// Steady power of a rider who is not in a hurry (bench experience, grade D).
const RIDER: Power = Power::watts(100.0);
/// Speed at which the drag of the locked motor is made up for.
const CRUISING: Speed = Speed::metres_per_second(20.0 / 3.6);
/// Steps between the least and the most.
pub const STEPS: usize = 5;

/// The range of a knob, or the steps of a switch.
#[derive(Clone, Debug, PartialEq)]
pub struct Assist {
    /// Factor that makes up for the locked motor's drag at 20 km/h.
    pub least: f64,
    /// Factor at which a steady rider gets all that the class allows.
    pub most: f64,
    /// Steps, each the same factor above the one before.
    pub steps: Vec<f64>,
    /// Limits of the class.
    pub class: Option<VehicleClass>,
    /// Power that drag takes at 20 km/h.
    pub drag: Power,
    /// Rider power that it is made for.
    pub rider: Power,
}

/// The assist range of a job with a drive current; none where a fact is missing.
pub fn assist(job: &Job, drive: PhaseCurrent) -> Option<Assist> {
    let values = job.middle();
    let w = World::new(&values, job.arms, &Off);
    let machine = w.machine().ok()?;
    let rotor = machine.rotor_speed(motor::rolling(CRUISING, w.get(list::WHEEL_RADIUS).ok()?).ok()?);
    let drag = Power::watts(machine.rotor_drag(rotor).as_newton_metres() * rotor.as_radians_per_second());
    let class = job.answer(list::VEHICLE_CLASS.id()).and_then(|t| CLASSES.iter().find(|c| c.token == t)).copied();
    // What the motor gives at that speed with the drive current.
    let amps = w.amplitude(drive).ok()?;
    let own = machine.airgap_torque(amps).as_newton_metres() * rotor.as_radians_per_second();
    let power = class.map_or(own, |c| c.power_w.min(own));
    let rider = RIDER.as_watts();
    let tenth = |x: f64| (x * 10.0 + 1e-9).floor() / 10.0;
    let most = tenth(class.and_then(|c| c.factor).map_or(power / rider, |f| f.min(power / rider)));
    let least = (drag.as_watts() / rider * 10.0 - 1e-9).ceil() / 10.0;
    let least = least.clamp(0.1_f64.min(most), most.max(0.1));
    let ratio = libm::pow(most / least, 1.0 / (STEPS - 1) as f64);
    let steps = (0..STEPS).map(|k| tenth(least * libm::pow(ratio, k as f64) + 0.05).min(most)).collect();
    Some(Assist { least, most, steps, class, drag, rider: RIDER })
}
