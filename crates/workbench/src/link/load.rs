//! What is asked of a link and what it can take, worked out from a world.

use super::{Gap, Kind, Link, Number, Place, Tape, World, axle, drive, energy, math};

/// What is asked of a link and what it can take, in the link's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Asked when driving.
    pub drive: Number,
    /// Asked when braking.
    pub brake: Number,
    /// What it can take.
    pub capacity: Number,
    /// How full, 1 = 100 %. Not always the plain quotient: a limit of temperature counts from the air.
    pub full: Number,
}

impl Load {
    /// Demand in both directions against one capacity.
    pub fn both(drive: impl Into<Number>, brake: impl Into<Number>, capacity: impl Into<Number>) -> Self {
        let (drive, brake, capacity) = (drive.into(), brake.into(), capacity.into());
        let demand = drive.max(brake);
        let filled = math::if_up_to(capacity, 0.0, f64::INFINITY, demand / capacity);
        let full = math::if_up_to(demand, 0.0, 0.0, filled);
        // What cannot be told does not hold: of these only not-a-number differs from itself.
        let told = drive + brake + capacity;
        let full = math::if_same(told, told, full, f64::INFINITY);
        Self { drive, brake, capacity, full }
    }
    /// The fuller of two.
    pub fn fuller(self, other: Self) -> Self {
        let of = |mine: Number, its: Number| math::if_above(other.full, self.full, its, mine);
        Self {
            drive: of(self.drive, other.drive),
            brake: of(self.brake, other.brake),
            capacity: of(self.capacity, other.capacity),
            full: of(self.full, other.full),
        }
    }
    /// A demand that has no direction.
    pub fn one(demand: Number, capacity: impl Into<Number>) -> Self {
        Self::both(demand, demand, capacity)
    }
    /// A demand that only driving makes.
    pub fn driving(demand: impl Into<Number>, capacity: impl Into<Number>) -> Self {
        Self::both(demand, 0.0, capacity)
    }
    /// A demand that only braking makes.
    pub fn braking(demand: impl Into<Number>, capacity: impl Into<Number>) -> Self {
        Self::both(0.0, demand, capacity)
    }
}

/// Works out one link.
///
/// # Errors
/// [`Gap`] when a fact is missing, a value lies outside a formula's range, or the link does not exist on this bike.
pub fn load<T: Tape>(w: &World<'_, T>, link: Link) -> Result<Load, Gap> {
    match (link.kind, link.place) {
        (Kind::AxleHold, _) => axle::hold(w),
        (Kind::Faces, Place::At(s)) => axle::faces(w, s),
        (Kind::Flats, Place::At(s)) => axle::flats(w, s),
        (Kind::Dropout, Place::At(s)) => axle::dropout(w, s),
        (Kind::Thread, Place::At(s)) => axle::thread(w, s),
        (Kind::Nut, Place::At(s)) => axle::nut(w, s),
        (Kind::AxleSection, Place::At(s)) => axle::section(w, s),
        (Kind::Arm, Place::Arm(i)) => axle::arm(w, i),
        (Kind::PinchJaws, Place::Arm(i)) => axle::pinch_jaws(w, i),
        (Kind::PinchBolts, Place::Arm(i)) => axle::pinch_bolts(w, i),
        (Kind::Anchor, Place::Arm(i)) => axle::anchor(w, i),
        (Kind::AnchorBolt, Place::Arm(i)) => axle::anchor_bolt(w, i),
        (Kind::MotorCurrent, _) => drive::motor_current(w),
        (Kind::Gears, _) => drive::gears(w),
        (Kind::GearThrust, _) => drive::gear_thrust(w),
        (Kind::ClutchLock, _) => drive::clutch_lock(w),
        (Kind::WindingHeat, _) => energy::winding_heat(w),
        (Kind::CoverScrews, _) => drive::cover_screws(w),
        (Kind::Spokes, _) => drive::spokes(w),
        (Kind::TyreGrip, _) => drive::tyre_grip(w),
        (Kind::HandBrakes, _) => drive::hand_brakes(w),
        (Kind::ControllerVolts, _) => energy::controller_volts(w),
        (Kind::TooFast, _) => energy::too_fast(w),
        (Kind::BatteryOut, _) => energy::battery_out(w),
        (Kind::PackCutsOut, _) => energy::pack_cuts_out(w),
        (Kind::BatteryPort, _) => energy::battery_port(w),
        (Kind::ChargeAmps, _) => energy::charge_amps(w),
        (Kind::ChargeVolts, _) => energy::charge_volts(w),
        (Kind::PlugAndWire, _) => energy::plug_and_wire(w),
        (Kind::Cold, _) => energy::cold(w),
        (Kind::HillHold, _) => energy::hill_hold(w),
        (Kind::FaultNut, Place::At(s)) => axle::fault_nut(w, s),
        (Kind::FaultArm, Place::Arm(i)) => axle::fault_arm(w, i),
        (Kind::FaultShort, _) => axle::fault_short(w),
        (Kind::FaultSign, _) => axle::fault_sign(w),
        (Kind::FaultRegen, _) => drive::fault_regen(w),
        _ => Err(Gap::NotThere),
    }
}
