//! What the plan says, in one draw of all facts.

use super::coast::Rolling;
use super::ride::{Reversal, Ride, Steer, Window};
use physics::motor::{Direction, Machine};
use physics::supply::{self, Inverter};
use physics::{battery, heat, road};
use quantity::*;
use workbench::check::Check;
use workbench::fact::{FactId, list};
use workbench::job::Job;
use workbench::link::{Gap, Kind, Off, World};

/// Air at 15 °C and sea level (ISO 2533).
pub(crate) const AIR: f64 = 1.225;
/// What both wheels' rims and tyres add to the mass when speed changes, kg, and its deviation (common practice).
const WHEELS: f64 = 2.5;
/// Winding and magnet on a test ride, °C.
const RIDE_WARMTH: f64 = 30.0;

/// What the job says of the ride, with every fact at its middle.
///
/// # Errors
/// [`Gap`] for a fact that is missing.
pub fn steer(job: &Job) -> Result<Steer, Gap> {
    let values = job.middle();
    let world = World::new(&values, job.arms, &Off);
    Ok(Steer {
        brake_amperes: world.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?.as_amperes(),
        drive_amperes: world.set_current(list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY)?.as_amperes(),
        fade_from: world.get(list::FADE_FROM).map_or(0.0, |v| v.as_metres_per_second()),
    })
}

/// The bike and its plan in one draw.
#[derive(Clone, Copy, Debug)]
pub struct Ground {
    pub(crate) machine: Machine,
    pub(crate) mass: f64,
    pub(crate) radius: f64,
    rolling: f64,
    drag_area: f64,
    rotor_inertia: f64,
    brake_amperes: f64,
    /// Share by which the current that flows is not the one that was asked for.
    pub(crate) tolerance: f64,
    charge_limit: Option<f64>,
    pub(crate) pack_resistance: Option<f64>,
    pub(crate) fade_gone: Option<f64>,
    nodes: Option<heat::TwoNodes>,
    locked: bool,
}

impl Ground {
    /// Reads one draw.
    ///
    /// # Errors
    /// [`Gap`] for a fact that is missing or out of range.
    pub fn new(world: &World<'_>, mass: Option<f64>) -> Result<Self, Gap> {
        let warm = Temperature::celsius(RIDE_WARMTH);
        let machine = world.motor()?.at(warm, warm)?;
        let nodes = || -> Result<heat::TwoNodes, Gap> {
            Ok(heat::TwoNodes {
                winding: world.get(list::WINDING_CAPACITY)?,
                shell: world.get(list::SHELL_CAPACITY)?,
                winding_to_shell: world.get(list::WINDING_TO_SHELL)?,
                shell_to_air: world.get(list::SHELL_TO_AIR)?,
            })
        };
        Ok(Self {
            machine,
            mass: match mass {
                Some(m) => m,
                None => world.get(list::USUAL)?.as_kilograms(),
            },
            radius: world.get(list::WHEEL_RADIUS)?.as_metres(),
            rolling: world.get(list::ROLLING)?.get(),
            drag_area: world.get(list::DRAG_AREA)?.as_square_metres(),
            rotor_inertia: world.get(list::ROTOR_INERTIA).map_or(0.0, |j| j.as_kilogram_square_metres()),
            brake_amperes: world.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?.as_amperes(),
            tolerance: world.get(list::CURRENT_TOLERANCE).map_or(0.05, Ratio::get),
            charge_limit: world.kept_charge_limit()?.map(|i| i.as_amperes()),
            pack_resistance: world.get(list::PACK_RESISTANCE).ok().map(|r| r.as_ohms()),
            fade_gone: world.get(list::FADE_GONE).ok().map(|v| v.as_metres_per_second()),
            nodes: nodes().ok(),
            locked: !world.is(list::CLUTCH.id(), "free").unwrap_or(false),
        })
    }

    fn rotor(&self, speed: f64) -> RotorSpeed {
        self.machine.rotor_speed(WheelSpeed::radians_per_second(speed / self.radius))
    }

    /// Mass that resists a change of speed.
    pub(crate) fn moving_mass(&self) -> f64 {
        let n = self.machine.rotor_speed(WheelSpeed::radians_per_second(1.0)).as_radians_per_second();
        let rotor = if self.locked { self.rotor_inertia * n * n / (self.radius * self.radius) } else { 0.0 };
        self.mass + WHEELS + rotor
    }

    /// Torque of the motor at the wheel, braking positive, that this window's slowing needs: what is left when mass,
    /// slope, air and tyres have had their part. Without heights the road counts as flat.
    pub(crate) fn torque_from_slowing(&self, w: &Window) -> f64 {
        let grade = if w.grade.is_finite() { w.grade } else { 0.0 };
        let bike = road::OnRoad {
            mass: Mass::kilograms(self.mass),
            grade: Grade::percent(100.0 * grade.clamp(-0.9, 0.9)),
            rolling: Ratio::new(self.rolling),
            drag_area: DragArea::square_metres(self.drag_area),
            air: Density::kilograms_per_cubic_metre(AIR),
            wind: Speed::ZERO,
        };
        let road = road::road_force(&bike, Speed::metres_per_second(w.speed)).map_or(f64::NAN, |f| f.as_newtons());
        self.radius * (-self.moving_mass() * w.acceleration - road)
    }

    /// Torque at the wheel, braking positive, of a motor current at a road speed.
    pub(crate) fn brake_torque(&self, amperes: f64, speed: f64) -> f64 {
        self.machine
            .wheel_torque_at(Direction::Brake, PhaseCurrent::amperes(amperes.max(0.0)), self.rotor(speed))
            .as_newton_metres()
    }

    /// Current that the plan brakes with at a speed and supply: as set, or as the charge limit leaves.
    pub(crate) fn planned_amperes(&self, speed: f64, bus: f64) -> f64 {
        let limit = self.charge_limit.filter(|_| bus.is_finite()).and_then(|amperes| {
            let power = Power::watts(amperes * bus);
            let rotor = self.rotor(speed);
            supply::charge_limit_current(&self.machine, &Inverter::IDEAL, rotor, power, Voltage::volts(bus))
                .ok()
                .flatten()
        });
        limit.map_or(self.brake_amperes, |i| i.as_amperes().min(self.brake_amperes))
    }

    /// Amperes into the pack when braking with a motor current.
    pub(crate) fn charge_amperes(&self, amperes: f64, speed: f64, bus: f64) -> f64 {
        let i = PhaseCurrent::amperes(amperes.max(0.0));
        let p = supply::braking_power(&self.machine, &Inverter::IDEAL, self.rotor(speed), i, Voltage::volts(bus));
        (-p.as_watts() / bus).max(0.0)
    }

    /// Temperatures of winding and shell after steps of heating, °C, from a start and an air.
    pub(crate) fn heated(&self, steps: &[super::Heating], start: f64, air: f64) -> Option<(f64, f64)> {
        let nodes = self.nodes?;
        let mut now = heat::Warmth { winding: Temperature::celsius(start), shell: Temperature::celsius(start) };
        for s in steps {
            let rotor = self.rotor(s.speed);
            let drag = self.machine.rotor_drag(rotor).as_newton_metres() * rotor.as_radians_per_second();
            // The machine is warm already; the heat formula wants the loss at 20 °C.
            let warm = 1.0 + 0.003_93 * (RIDE_WARMTH - 20.0);
            let copper = self.machine.copper_loss(PhaseCurrent::amperes(s.square_amperes.max(0.0).sqrt()));
            let heating = heat::Heating {
                copper_at_20: Power::watts(copper.as_watts() / warm),
                shell: Power::watts(drag),
                air: Temperature::celsius(air),
            };
            now = heat::after(&nodes, &heating, now, Time::seconds(s.seconds.min(3600.0))).ok()?;
        }
        Some((now.winding.as_celsius(), now.shell.as_celsius()))
    }

    /// Force of the hub's drag at the tyre: constant, and per m/s; nothing with a free clutch.
    pub(crate) fn hub_force(&self) -> (f64, f64) {
        if !self.locked {
            return (0.0, 0.0);
        }
        let at = |v: f64| self.machine.coasting_drag(self.rotor(v)).as_newton_metres() / self.radius;
        let still = at(0.0);
        (still, at(1.0) - still)
    }
}

/// The bike as it coasts. `mass` is what the person weighed, in kg with its standard deviation.
///
/// # Errors
/// [`Gap`] for a fact that is missing.
pub fn rolling(job: &Job, mass: Option<(f64, f64)>) -> Result<Rolling, Gap> {
    let values = job.middle();
    let ground = Ground::new(&World::new(&values, job.arms, &Off), mass.map(|m| m.0))?;
    let share = |id: FactId| {
        job.fact(id).map_or(0.0, |f| crate::bench::deviation(f.value, f.spread) / f.value.abs().max(1e-12))
    };
    let own = job.fact(list::USUAL.id()).map_or(0.0, |f| crate::bench::deviation(f.value, f.spread));
    let (still, per_speed) = ground.hub_force();
    let doubt =
        share(list::DRAG_CONSTANT.id()).max(share(list::DRAG_PER_SPEED.id())).hypot(share(list::GEAR_EFFICIENCY.id()));
    Ok(Rolling {
        mass: mass.unwrap_or((ground.mass, own)),
        moving_mass: ground.moving_mass(),
        hub: (still, per_speed, doubt),
        air: AIR,
    })
}

/// Changes of direction in which both peaks went beyond what the faces hold at the job's confidence step; none where there
/// were some and the hold cannot be worked out.
///
/// # Errors
/// [`Gap`] for a fact that is missing.
pub fn reversals_beyond(job: &Job, check: &Check, ride: &Ride) -> Result<Option<u64>, Gap> {
    let values = job.middle();
    let ground = Ground::new(&World::new(&values, job.arms, &Off), None)?;
    let hold = check.links.iter().find(|l| l.link.kind == Kind::AxleHold).and_then(|l| l.load);
    let Some(hold) = hold.map(|l| l.capacity) else { return Ok(ride.reversals.is_empty().then_some(0)) };
    let beyond = |r: &&Reversal| {
        let driven = PhaseCurrent::amperes(r.drive_amperes.max(0.0));
        let drive = ground.machine.wheel_torque_at(Direction::Drive, driven, RotorSpeed::ZERO).as_newton_metres();
        // Drag grows little with speed: judged at the speed at which braking is strongest in town.
        drive > hold && ground.brake_torque(r.brake_amperes, 5.0) > hold
    };
    Ok(Some(ride.reversals.iter().filter(beyond).count() as u64))
}

/// Volts at which the fullest cell group reaches its cut-out.
pub(crate) fn cut_out_volts(world: &World<'_>) -> Option<f64> {
    let series = world.get(list::CELLS_SERIES).ok()?.get() as u32;
    let cut = world.get(list::CELL_CUTOUT).or_else(|_| world.get(list::CELL_FULL)).ok()?;
    Some(battery::fold_back(series, cut, world.get(list::IMBALANCE).unwrap_or(Voltage::ZERO)).as_volts())
}
