//! What a locked clutch costs the legs: said before anybody buys it.

use crate::fact::list;
use crate::job::Job;
use crate::link::{Gap, Off, World};
use physics::motor::rolling;
use quantity::*;

/// Speed at which the drag is told, km/h: an everyday ride.
pub const TOLD_AT_KMH: f64 = 20.0;

/// Power that the locked hub takes from the legs when the bike is pedalled with the power off at a speed, with every fact
/// at its middle: drag torque at the wheel times wheel speed.
///
/// # Errors
/// [`Gap`] where a fact of the motor or the wheel is missing.
pub fn drag(job: &Job, speed: Speed) -> Result<Power, Gap> {
    let values = job.middle();
    let world = World::new(&values, job.arms, &Off);
    let radius = world.get(list::WHEEL_RADIUS)?;
    let machine = world.machine()?;
    let torque = machine.coasting_drag(machine.rotor_speed(rolling(speed, radius)?));
    let wheel_rad_s = speed.as_metres_per_second() / radius.as_metres();
    Ok(Power::watts(torque.as_newton_metres() * wheel_rad_s))
}

#[cfg(test)]
mod tests {
    use super::drag;
    use crate::fact::{Distribution, FactId, list};
    use crate::job::Job;
    use crate::kinds;
    use quantity::*;

    /// 0.28 N·m and 0.0010 N·m·s at the rotor, reduction 4.6, gears 0.95, wheel 0.332 m at 20 km/h, on paper:
    /// the rotor turns at 20 / 3.6 / 0.332 · 4.6 = 76.98 rad/s, the wheel feels 4.6 · (0.28 + 0.07698) / 0.95 = 1.7285 N·m,
    /// which is 1.7285 · 16.734 = 28.93 W.
    #[test]
    fn a_strong_geared_hub_costs_29_watts_at_20_kilometres_per_hour() {
        let mut job = Job::new("0117", "", 0);
        job.kind = Some("hill".to_owned());
        let said: [(FactId, f64); 5] = [
            (list::REDUCTION.id(), 4.6),
            (list::DRAG_CONSTANT.id(), 0.28),
            (list::DRAG_PER_SPEED.id(), 0.001),
            (list::GEAR_EFFICIENCY.id(), 0.95),
            (list::WHEEL_RADIUS.id(), 0.332),
        ];
        for (id, value_si) in said {
            job.choose(id, value_si, Distribution::Exact, "");
        }
        kinds::fill(&mut job, &[]);
        let watts = drag(&job, Speed::kilometres_per_hour(20.0)).expect("all facts are there").as_watts();
        assert!((watts - 28.93).abs() < 0.01, "{watts} W");
        // Faster costs more than in proportion: part of the drag grows with speed.
        let faster = drag(&job, Speed::kilometres_per_hour(40.0)).expect("all facts are there").as_watts();
        assert!(faster > 2.0 * watts);
    }
}
