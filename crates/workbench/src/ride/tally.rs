//! What a ride adds up to: energies, peaks, minutes in each limit, changes of the torque's direction.

use super::lanes::{Lanes, by_lane};
use super::params::Params;
use super::step::State;

/// A braking force below this is the rounding of one that is balanced, N.
const FELT_N: f64 = 1.0;

/// What keeps the motor from doing what is wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Nothing.
    #[default]
    None,
    /// Motor current as set.
    MotorCurrent,
    /// Slow: braking fades out.
    Fade,
    /// Charge current that the controller keeps.
    ChargeCurrent,
    /// Supply volts: the controller eases off.
    ChargeVolts,
    /// The pack's electronics are open.
    PackOpen,
    /// The motor's own volts exceed the supply: it brakes and charges by itself.
    TooFast,
    /// This way of braking is not called for by the motor's command.
    NotAsked,
    /// Battery empty.
    Empty,
    /// Supply volts do not push more driving current.
    SupplyVolts,
    /// The pack is too weak: the controller keeps its volts up by driving less.
    PackWeak,
    /// The tyre slides beyond this.
    Grip,
    /// The braking current still rises.
    Ramp,
}

impl Limit {
    /// All, in the order of the tally.
    pub const ALL: [Self; 13] = [
        Self::None,
        Self::MotorCurrent,
        Self::Fade,
        Self::ChargeCurrent,
        Self::ChargeVolts,
        Self::PackOpen,
        Self::TooFast,
        Self::NotAsked,
        Self::Empty,
        Self::SupplyVolts,
        Self::PackWeak,
        Self::Grip,
        Self::Ramp,
    ];
    /// Place in the tally, as a number for each lane.
    pub(super) const fn code(self) -> f64 {
        self as u8 as f64
    }
    /// Token of JSON, CSV and the table of words.
    pub const fn token(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::MotorCurrent => "motor-current",
            Self::Fade => "fade",
            Self::ChargeCurrent => "charge-current",
            Self::ChargeVolts => "charge-volts",
            Self::PackOpen => "pack-open",
            Self::TooFast => "too-fast",
            Self::NotAsked => "not-asked",
            Self::Empty => "empty",
            Self::SupplyVolts => "supply-volts",
            Self::PackWeak => "pack-weak",
            Self::Grip => "grip",
            Self::Ramp => "ramp",
        }
    }
}

by_lane! {
    /// Forces and powers of one step, constant over it.
    pub(super) struct Flows {
        pub dt_s: L,
        pub way_m: L,
        pub mean_m_s: L,
        pub grade_n: L,
        pub rolling_n: L,
        pub air_n: L,
        pub legs_n: L,
        pub hands_n: L,
        pub nobody_n: L,
        pub motor_n: L,
        pub coast_n: L,
        pub chemical_w: L,
        pub pack_heat_w: L,
        pub standby_w: L,
        pub inverter_w: L,
        pub copper_w: L,
        pub drag_w: L,
        pub gear_w: L,
        pub to_air_w: L,
        pub limit: L,
        pub battery_a: L,
        pub bus_v: L,
        pub surge_v: L,
        pub own_v: L,
        pub phase_a: L,
    }
}

impl Flows {
    pub(super) const NOTHING: Self = Self {
        dt_s: 0.0,
        way_m: 0.0,
        mean_m_s: 0.0,
        grade_n: 0.0,
        rolling_n: 0.0,
        air_n: 0.0,
        legs_n: 0.0,
        hands_n: 0.0,
        nobody_n: 0.0,
        motor_n: 0.0,
        coast_n: 0.0,
        chemical_w: 0.0,
        pack_heat_w: 0.0,
        standby_w: 0.0,
        inverter_w: 0.0,
        copper_w: 0.0,
        drag_w: 0.0,
        gear_w: 0.0,
        to_air_w: 0.0,
        limit: 0.0,
        battery_a: 0.0,
        bus_v: 0.0,
        surge_v: 0.0,
        own_v: 0.0,
        phase_a: 0.0,
    };
}

by_lane! {
    /// Energies of a ride, J. What comes in equals what goes out plus what is stored.
    pub struct Ledger {
        /// Legs at the wheel.
        pub legs_j: L,
        /// Taken from the cells' chemistry, less what was put back.
        pub chemical_j: L,
        /// Gained in height.
        pub height_j: L,
        /// Gained in speed.
        pub kinetic_j: L,
        /// Gained in the pairs of the battery.
        pub pairs_j: L,
        /// Air.
        pub air_j: L,
        /// Tyres and bearings.
        pub rolling_j: L,
        /// Hand brakes.
        pub hands_j: L,
        /// Gears.
        pub gear_j: L,
        /// Iron and drag of the rotor.
        pub drag_j: L,
        /// Copper.
        pub copper_j: L,
        /// Switches and diodes.
        pub inverter_j: L,
        /// Controller and display.
        pub standby_j: L,
        /// Battery heat and pairs together.
        pub pack_j: L,
    }
}

impl Ledger {
    /// What comes in less what goes out and is stored, over all that moved.
    pub fn open_share(&self) -> f64 {
        let terms = [
            self.legs_j,
            self.chemical_j,
            -self.height_j,
            -self.kinetic_j,
            -self.air_j,
            -self.rolling_j,
            -self.hands_j,
            -self.gear_j,
            -self.drag_j,
            -self.copper_j,
            -self.inverter_j,
            -self.standby_j,
            -self.pack_j,
        ];
        let moved: f64 = terms.iter().map(|t| t.abs()).sum();
        if moved > 0.0 { terms.iter().sum::<f64>() / moved } else { 0.0 }
    }
}

by_lane! {
    /// Largest values of a ride.
    pub struct Peaks {
        /// Motor current when driving, A.
        pub drive_a: L,
        /// Motor current when braking, A.
        pub brake_a: L,
        /// Torque at the wheel when driving, N·m.
        pub drive_nm: L,
        /// Torque at the wheel when braking, N·m.
        pub brake_nm: L,
        /// Into the pack, A.
        pub charge_a: L,
        /// Out of the pack, A.
        pub discharge_a: L,
        /// Highest supply volts.
        pub bus_v: L,
        /// Lowest supply volts.
        pub low_bus_v: L,
        /// What the supply cannot exceed if the pack opens while it is charged; zero where it never is.
        pub surge_v: L,
        /// Motor's own volts between two wires.
        pub own_v: L,
        /// Speed, m/s.
        pub speed_m_s: L,
        /// Winding, °C.
        pub winding_c: L,
        /// Shell, °C.
        pub shell_c: L,
        /// Pack, °C.
        pub pack_c: L,
    }
}

by_lane! {
    /// The running account.
    pub struct Tally {
        /// Energies.
        pub ledger: Ledger<L>,
        /// Largest values.
        pub peaks: Peaks<L>,
        /// Seconds in each limit, in the order of [`Limit::ALL`].
        pub limit_s: [L; Limit::ALL.len()],
        /// Seconds in which the motor brakes by command.
        pub motor_brakes_s: L,
        /// Seconds in which hands brake.
        pub hands_brake_s: L,
        /// Seconds in which more braking is wanted than anybody does.
        pub nobody_s: L,
        /// Largest hand braking, W.
        pub hands_w: L,
        /// Brought back by the braking motor, standby included, J.
        pub recovered_j: L,
        /// Taken from the pack's terminals, less what was put back, J.
        pub used_j: L,
        /// Work of the braking motor at the tyre, J.
        pub motor_brakes_j: L,
        /// Drag of the coasting or idling locked motor at the tyre, J.
        pub dragged_j: L,
        /// Heat given to the air by the hub, J.
        pub hub_to_air_j: L,
        /// Ampere-seconds charged.
        pub charged_as: L,
        /// Seconds above the winding's limit.
        pub winding_over_s: L,
        /// Seconds above the gears' limit.
        pub gears_over_s: L,
    }
}

impl Tally {
    /// Nothing yet.
    pub const NEW: Self = Self {
        ledger: Ledger {
            legs_j: 0.0,
            chemical_j: 0.0,
            height_j: 0.0,
            kinetic_j: 0.0,
            pairs_j: 0.0,
            air_j: 0.0,
            rolling_j: 0.0,
            hands_j: 0.0,
            gear_j: 0.0,
            drag_j: 0.0,
            copper_j: 0.0,
            inverter_j: 0.0,
            standby_j: 0.0,
            pack_j: 0.0,
        },
        peaks: Peaks {
            drive_a: 0.0,
            brake_a: 0.0,
            drive_nm: 0.0,
            brake_nm: 0.0,
            charge_a: 0.0,
            discharge_a: 0.0,
            bus_v: 0.0,
            surge_v: 0.0,
            low_bus_v: f64::INFINITY,
            own_v: 0.0,
            speed_m_s: 0.0,
            winding_c: f64::NEG_INFINITY,
            shell_c: f64::NEG_INFINITY,
            pack_c: f64::NEG_INFINITY,
        },
        limit_s: [0.0; Limit::ALL.len()],
        motor_brakes_s: 0.0,
        hands_brake_s: 0.0,
        nobody_s: 0.0,
        hands_w: 0.0,
        recovered_j: 0.0,
        used_j: 0.0,
        motor_brakes_j: 0.0,
        dragged_j: 0.0,
        hub_to_air_j: 0.0,
        charged_as: 0.0,
        winding_over_s: 0.0,
        gears_over_s: 0.0,
    };

    /// Kinetic energy that the hands take when a bike comes to a stop.
    pub(super) fn halted(&mut self, kinetic_j: f64) {
        self.ledger.hands_j += kinetic_j;
    }

    /// Seconds in a limit.
    pub const fn in_limit_s(&self, limit: Limit) -> f64 {
        self.limit_s[limit as usize]
    }
}

impl<L: Lanes> Tally<L> {
    #[inline(always)]
    pub(super) fn book(&mut self, p: &Params<L>, f: &Flows<L>) {
        let (l, dt, way) = (&mut self.ledger, f.dt_s, f.way_m);
        let zero = dt.like(0.0);
        let during = |yes: L::Mask| L::pick(yes, dt, zero);
        l.legs_j += f.legs_n * way;
        l.chemical_j += f.chemical_w * dt;
        l.height_j += f.grade_n * way;
        l.air_j += f.air_n * way;
        l.rolling_j += f.rolling_n * way;
        l.hands_j += f.hands_n * way;
        l.gear_j += f.gear_w * dt;
        l.drag_j += f.drag_w * dt;
        l.copper_j += f.copper_w * dt;
        l.inverter_j += f.inverter_w * dt;
        l.standby_j += f.standby_w * dt;
        l.pack_j += f.pack_heat_w * dt;
        self.hub_to_air_j += f.to_air_w * dt;
        L::add_at(&mut self.limit_s, f.limit, dt);
        let terminal_j = f.battery_a * f.bus_v * dt;
        self.recovered_j += (f.standby_w * dt - terminal_j).or_zero();
        self.used_j += terminal_j;
        self.charged_as += (-f.battery_a * dt).or_zero();
        let by_motor_n = (-f.motor_n - f.coast_n).or_zero();
        self.motor_brakes_j += by_motor_n * way;
        self.dragged_j += f.coast_n * way;
        self.motor_brakes_s += during(zero.below(by_motor_n));
        self.hands_brake_s += during(zero.like(FELT_N).below(f.hands_n));
        self.nobody_s += during(zero.like(FELT_N).below(f.nobody_n));
        self.hands_w = self.hands_w.most(f.hands_n * f.mean_m_s);
        let q = &mut self.peaks;
        let nm = f.motor_n * p.axle_per_n;
        let drives = zero.below(f.motor_n);
        q.drive_a = q.drive_a.most(L::pick(drives, f.phase_a, zero));
        q.brake_a = q.brake_a.most(L::pick(drives, zero, f.phase_a));
        q.drive_nm = q.drive_nm.most(nm);
        q.brake_nm = q.brake_nm.most(-nm);
        q.charge_a = q.charge_a.most(-f.battery_a);
        q.discharge_a = q.discharge_a.most(f.battery_a);
        q.bus_v = q.bus_v.most(f.bus_v);
        q.low_bus_v = q.low_bus_v.least(f.bus_v);
        q.surge_v = q.surge_v.most(f.surge_v);
        q.own_v = q.own_v.most(f.own_v);
        q.speed_m_s = q.speed_m_s.most(f.mean_m_s);
    }

    #[inline(always)]
    pub(super) fn warm(&mut self, p: &Params<L>, s: &State<L>, dt: L) {
        let zero = dt.like(0.0);
        let q = &mut self.peaks;
        q.winding_c = q.winding_c.most(s.winding_c);
        q.shell_c = q.shell_c.most(s.shell_c);
        q.pack_c = q.pack_c.most(s.pack_c);
        self.winding_over_s += L::pick(p.winding_limit_c.below(s.winding_c), dt, zero);
        self.gears_over_s += L::pick(p.gear_limit_c.below(s.shell_c), dt, zero);
    }
}
