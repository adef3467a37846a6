//! The job's own peaks: how far a ride must go before it shows them, whatever it happened to do.

use super::plan::Ground;
use workbench::fact::list;
use workbench::job::Job;
use workbench::link::{Kind, Link, Off, Place, World, load};

/// With every fact at its middle; none where the job does not tell.
pub(super) struct Peaks {
    /// Charge current at the usual descent with the pack as full as it may be, A.
    pub(super) charge: Option<f64>,
    /// Supply volts with it.
    pub(super) bus: Option<f64>,
    /// How much warmer than the air the winding gets on the longest held descent, K.
    pub(super) warmer: Option<f64>,
}

impl Peaks {
    pub(super) fn new(job: &Job, centre: &Ground) -> Self {
        let values = job.middle();
        let world = World::new(&values, job.arms, &Off);
        let rest = world.bus_charged().ok().map(|v| v.as_volts());
        let speed = world.get(list::DOWNHILL_SPEED).ok().map(|v| v.as_metres_per_second());
        let charge = rest.zip(speed).map(|(bus, v)| centre.charge_amperes(centre.planned_amperes(v, bus), v, bus));
        let bus = rest.zip(charge).zip(centre.pack_resistance).map(|((v, i), r)| v + i * r);
        let heat = load(&world, Link { kind: Kind::WindingHeat, place: Place::Whole }).ok();
        let air = world.get(list::HOTTEST_AIR).ok();
        let warmer = heat.zip(air).map(|(l, t)| l.brake - t.as_celsius());
        Self { charge, bus, warmer }
    }
}
