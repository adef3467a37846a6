//! What a ride adds up to: energies, peaks, minutes in each limit, changes of the torque's direction.

use super::bike::Bike;
use super::rainflow::Rainflow;

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
}

impl Limit {
    /// All, in the order of the tally.
    pub const ALL: [Self; 10] = [
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
    ];
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
        }
    }
}

/// Forces and powers of one step, constant over it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Flows {
    pub dt_s: f64,
    pub way_m: f64,
    pub mean_m_s: f64,
    pub grade_n: f64,
    pub rolling_n: f64,
    pub air_n: f64,
    pub legs_n: f64,
    pub hands_n: f64,
    pub nobody_n: f64,
    pub motor_n: f64,
    pub coast_n: f64,
    pub chemical_w: f64,
    pub pack_heat_w: f64,
    pub standby_w: f64,
    pub inverter_w: f64,
    pub copper_w: f64,
    pub drag_w: f64,
    pub gear_w: f64,
    pub to_air_w: f64,
    pub limit: Limit,
    pub battery_a: f64,
    pub bus_v: f64,
    pub own_v: f64,
    pub phase_a: f64,
    pub wheel_nm: f64,
}

/// Energies of a ride, J. What comes in equals what goes out plus what is stored.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Legs at the wheel.
    pub legs_j: f64,
    /// Taken from the cells' chemistry, less what was put back.
    pub chemical_j: f64,
    /// Gained in height.
    pub height_j: f64,
    /// Gained in speed.
    pub kinetic_j: f64,
    /// Gained in the pairs of the battery.
    pub pairs_j: f64,
    /// Air.
    pub air_j: f64,
    /// Tyres and bearings.
    pub rolling_j: f64,
    /// Hand brakes.
    pub hands_j: f64,
    /// Gears.
    pub gear_j: f64,
    /// Iron and drag of the rotor.
    pub drag_j: f64,
    /// Copper.
    pub copper_j: f64,
    /// Switches and diodes.
    pub inverter_j: f64,
    /// Controller and display.
    pub standby_j: f64,
    /// Battery heat and pairs together.
    pub pack_j: f64,
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

/// Largest values of a ride.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peaks {
    /// Motor current when driving, A.
    pub drive_a: f64,
    /// Motor current when braking, A.
    pub brake_a: f64,
    /// Torque at the wheel when driving, N·m.
    pub drive_nm: f64,
    /// Torque at the wheel when braking, N·m.
    pub brake_nm: f64,
    /// Into the pack, A.
    pub charge_a: f64,
    /// Out of the pack, A.
    pub discharge_a: f64,
    /// Highest supply volts.
    pub bus_v: f64,
    /// Lowest supply volts.
    pub low_bus_v: f64,
    /// Motor's own volts between two wires.
    pub own_v: f64,
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// Winding, °C.
    pub winding_c: f64,
    /// Shell, °C.
    pub shell_c: f64,
    /// Pack, °C.
    pub pack_c: f64,
}

/// The running account.
#[derive(Clone, Debug)]
pub struct Tally {
    /// Energies.
    pub ledger: Ledger,
    /// Largest values.
    pub peaks: Peaks,
    /// Seconds in each limit, in the order of [`Limit::ALL`].
    pub limit_s: [f64; 10],
    /// Seconds in which the motor brakes by command.
    pub motor_brakes_s: f64,
    /// Seconds in which hands brake.
    pub hands_brake_s: f64,
    /// Seconds in which more braking is wanted than anybody does.
    pub nobody_s: f64,
    /// Largest hand braking, W.
    pub hands_w: f64,
    /// Brought back by the braking motor, standby included, J.
    pub recovered_j: f64,
    /// Taken from the pack's terminals, less what was put back, J.
    pub used_j: f64,
    /// Work of the braking motor at the tyre, J.
    pub motor_brakes_j: f64,
    /// Drag of the coasting or idling locked motor at the tyre, J.
    pub dragged_j: f64,
    /// Heat given to the air by the hub, J.
    pub hub_to_air_j: f64,
    /// Ampere-seconds charged.
    pub charged_as: f64,
    /// Changes of the axle's torque.
    pub rainflow: Rainflow,
    /// Seconds above the winding's limit.
    pub winding_over_s: f64,
    /// Seconds above the gears' limit.
    pub gears_over_s: f64,
    beyond: f64,
}

impl Tally {
    /// For a bike.
    pub fn new(bike: &Bike) -> Self {
        Self {
            ledger: Ledger::default(),
            peaks: Peaks {
                drive_a: 0.0,
                brake_a: 0.0,
                drive_nm: 0.0,
                brake_nm: 0.0,
                charge_a: 0.0,
                discharge_a: 0.0,
                bus_v: 0.0,
                low_bus_v: f64::INFINITY,
                own_v: 0.0,
                speed_m_s: 0.0,
                winding_c: f64::NEG_INFINITY,
                shell_c: f64::NEG_INFINITY,
                pack_c: f64::NEG_INFINITY,
            },
            limit_s: [0.0; 10],
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
            rainflow: Rainflow::new(2.0 * bike.axle_still_nm),
            winding_over_s: 0.0,
            gears_over_s: 0.0,
            beyond: bike.beyond,
        }
    }

    #[inline(always)]
    pub(super) fn book(&mut self, f: &Flows) {
        let (l, dt, way) = (&mut self.ledger, f.dt_s, f.way_m);
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
        self.limit_s[f.limit as usize] += dt;
        let terminal_j = f.battery_a * f.bus_v * dt;
        self.recovered_j += (f.standby_w * dt - terminal_j).max(0.0);
        self.used_j += terminal_j;
        self.charged_as += (-f.battery_a * dt).max(0.0);
        let by_motor_n = (-f.motor_n - f.coast_n).max(0.0);
        self.motor_brakes_j += by_motor_n * way;
        self.dragged_j += f.coast_n * way;
        self.motor_brakes_s += if by_motor_n > 0.0 { dt } else { 0.0 };
        self.hands_brake_s += if f.hands_n > 0.0 { dt } else { 0.0 };
        self.nobody_s += if f.nobody_n > 1.0 { dt } else { 0.0 };
        self.hands_w = self.hands_w.max(f.hands_n * f.mean_m_s);
        let p = &mut self.peaks;
        let nm = f.wheel_nm * self.beyond;
        if f.motor_n > 0.0 {
            p.drive_a = p.drive_a.max(f.phase_a);
            p.drive_nm = p.drive_nm.max(nm);
        } else {
            p.brake_a = p.brake_a.max(f.phase_a);
            p.brake_nm = p.brake_nm.max(-nm);
        }
        p.charge_a = p.charge_a.max(-f.battery_a);
        p.discharge_a = p.discharge_a.max(f.battery_a);
        p.bus_v = p.bus_v.max(f.bus_v);
        p.low_bus_v = p.low_bus_v.min(f.bus_v);
        p.own_v = p.own_v.max(f.own_v);
        p.speed_m_s = p.speed_m_s.max(f.mean_m_s);
        self.rainflow.feed(nm);
    }

    #[inline(always)]
    pub(super) fn warm(&mut self, winding_c: f64, shell_c: f64, pack_c: f64, dt: f64, bike: &Bike) {
        let p = &mut self.peaks;
        p.winding_c = p.winding_c.max(winding_c);
        p.shell_c = p.shell_c.max(shell_c);
        p.pack_c = p.pack_c.max(pack_c);
        self.winding_over_s += if winding_c > bike.winding_limit_c { dt } else { 0.0 };
        self.gears_over_s += if shell_c > bike.gear_limit_c { dt } else { 0.0 };
    }

    /// Kinetic energy that the hands take when a bike comes to a stop.
    pub(super) fn halted(&mut self, kinetic_j: f64) {
        self.ledger.hands_j += kinetic_j;
    }

    /// Seconds in a limit.
    pub const fn in_limit_s(&self, limit: Limit) -> f64 {
        self.limit_s[limit as usize]
    }
}
