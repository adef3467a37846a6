//! The bike of a ride as plain numbers, and how one draw of a job's facts becomes one.

use super::pack::PackTables;
use crate::fact::{Shape, describe, list};
use crate::link::{Gap, Tape, World};
use quantity::*;

/// How braking by motor is called for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// As much as is wanted: variable lever, backpedalling.
    Variable,
    /// All or nothing.
    Switch,
    /// Only to keep a speed, not to slow down.
    HoldOnly,
}

/// Eases the charge current off between two pack voltages.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EaseOff {
    /// Full current up to here, V.
    pub from_v: f64,
    /// None from here on, V.
    pub gone_v: f64,
    /// Full current, A.
    pub full_a: f64,
}

/// A bike, in SI units but for temperatures (°C). Currents are amplitudes, resistances those of one phase. What belongs to motor,
/// controller or axle is that of one driven wheel.
#[derive(Clone, Debug)]
pub struct Bike {
    /// All-up mass, kg.
    pub mass_kg: f64,
    /// Driven wheels, alike and on one battery.
    pub hubs: f64,
    /// Both wheels' inertia over the square of their radius, kg.
    pub wheels_kg: f64,
    /// Rolling resistance.
    pub rolling: f64,
    /// Drag area, m².
    pub drag_area_m2: f64,
    /// Rolling radius of the driven wheel, m.
    pub wheel_radius_m: f64,
    /// Rotor turns per wheel turn.
    pub reduction: f64,
    /// Pole pairs.
    pub pole_pairs: f64,
    /// Flux linkage at 20 °C, Wb.
    pub flux_wb: f64,
    /// Fall of flux with current, 1/A.
    pub droop_per_a: f64,
    /// Change of flux with magnet temperature, 1/K.
    pub magnet_per_k: f64,
    /// Phase resistance at 20 °C, Ω.
    pub phase_ohm: f64,
    /// Phase inductance, H.
    pub phase_h: f64,
    /// Constant drag at the rotor, N·m.
    pub drag_nm: f64,
    /// Drag that grows with speed, N·m·s.
    pub drag_nms: f64,
    /// Gear efficiency.
    pub gears: f64,
    /// Torque per pole pair, flux and current: 3/2 or 3√3/π.
    pub torque_factor: f64,
    /// Copper loss over R·î²: 3/2 or 2.
    pub copper_factor: f64,
    /// Rotor inertia, kg·m².
    pub rotor_kg_m2: f64,
    /// Whether the clutch is locked (or there is none).
    pub locked: bool,
    /// Heat capacity of the winding, J/K.
    pub winding_j_k: f64,
    /// Heat capacity of stator and shell, J/K.
    pub shell_j_k: f64,
    /// From winding to shell, K/W.
    pub winding_to_shell_k_w: f64,
    /// From shell to air at 20 km/h, W/K.
    pub shell_to_air_w_k: f64,
    /// Winding limit, °C.
    pub winding_limit_c: f64,
    /// Limit of gears and shell, °C.
    pub gear_limit_c: f64,
    /// Switch resistance in a phase, Ω.
    pub switch_ohm: f64,
    /// Switching loss over supply volts times amplitude.
    pub switching: f64,
    /// Taken at any time, W.
    pub standby_w: f64,
    /// Drop of one diode, V.
    pub diode_v: f64,
    /// From nothing to the set braking current, s.
    pub ramp_s: f64,
    /// The controller drives no harder than leaves the supply this, V.
    pub cutback_v: f64,
    /// Largest driving current: as set, or the hardware's own where nobody keeps it, A.
    pub drive_a: f64,
    /// Largest braking current, likewise, A.
    pub brake_a: f64,
    /// Braking is full from this speed, m/s.
    pub fade_from_m_s: f64,
    /// Braking is gone at this speed, m/s.
    pub fade_gone_m_s: f64,
    /// Charge current that the controllers keep together; infinite where nobody does, A.
    pub charge_a: f64,
    /// Easing off by voltage, where the controller does it.
    pub ease_off: Option<EaseOff>,
    /// How braking is called for.
    pub command: Command,
    /// Speed hold works up to this speed, m/s.
    pub hold_fastest_m_s: f64,
    /// Battery.
    pub pack: PackTables,
    /// Electronics open above this voltage of the pack while charging, V.
    pub cutout_v: f64,
    /// Electronics open above this charge current, A.
    pub electronics_a: f64,
    /// How the braked tyre is loaded.
    pub stance: Stance,
    /// Deceleration of both hand brakes, m/s².
    pub hands_m_s2: f64,
    /// Controller's rating, V.
    pub rating_v: f64,
    /// Supply capacitors, F.
    pub capacitance_f: f64,
    /// Time until the controller stops after the pack has opened, s.
    pub trip_s: f64,
    /// Axle peaks are this much higher (overshoot and current tolerance), times.
    pub beyond: f64,
    /// Torque up to which no face at the axle slips; not-a-number where that is not known, N·m.
    pub axle_still_nm: f64,
    /// Charge at the start, 0 to 1.
    pub start_charge: f64,
}

/// Which load is on the bike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// Lightest.
    Lightest,
    /// Usual.
    Usual,
    /// Heaviest.
    Heaviest,
    /// Between lightest (0) and heaviest (1).
    Between(f64),
}

/// Where the motor's tyre stands, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stance {
    /// In the front wheel.
    pub front: bool,
    /// Between the axles.
    pub wheelbase_m: f64,
    /// Centre of mass ahead of the rear axle.
    pub ahead_m: f64,
    /// Centre of mass above the road.
    pub height_m: f64,
}

impl Stance {
    /// Largest braking force of the tyre over the bike's weight square to the road (`physics::grip`, no other brake).
    pub fn grip(&self, friction: f64) -> f64 {
        let (l, b, h) = (self.wheelbase_m, self.ahead_m, self.height_m);
        if self.front {
            let lifts = (l - b) / h;
            if friction * h < l { (friction * b / (l - friction * h)).min(lifts) } else { lifts }
        } else {
            friction * (l - b) / (l + friction * h)
        }
    }

    /// The same of both tyres that brake alike, until the first of them slides.
    pub fn grip_of_both(&self, friction: f64) -> f64 {
        let (l, b, h) = (self.wheelbase_m, self.ahead_m, self.height_m);
        let shifted = 2.0 * friction * h;
        let rear = friction * (l - b) / (l + shifted);
        // The harder it is braked the firmer stands the front.
        let front = if shifted < l { friction * b / (l - shifted) } else { f64::INFINITY };
        2.0 * rear.min(front)
    }
}

/// Drop of a switch's own diode, V (common silicon, from memory).
const DIODE: f64 = 0.8;

impl Bike {
    /// One draw of a job's facts.
    ///
    /// # Errors
    /// [`Gap`] where a needed fact is missing or out of range.
    pub fn new<T: Tape>(w: &World<'_, T>, load: Load) -> Result<Self, Gap> {
        let motor = w.motor()?;
        // Refuses what the formulas refuse.
        motor.at(Temperature::celsius(20.0), Temperature::celsius(20.0))?;
        let radius_m = w.get(list::WHEEL_RADIUS)?.as_metres();
        let series = w.get(list::CELLS_SERIES)?.get();
        let chemistry = chosen(w, list::CHEMISTRY.id())?;
        let pack = PackTables::new(
            chemistry,
            series,
            w.get(list::CELLS_PARALLEL)?.get() * w.get(list::CELL_CAPACITY)?.as_coulombs(),
            w.get(list::PACK_RESISTANCE)?.as_ohms(),
        )
        .ok_or(Gap::Unknown(list::CHEMISTRY.id()))?;
        let block = w.is(list::COMMUTATION.id(), "block")?;
        let kept = w.is(list::CHARGE_LIMIT_KEPT_BY.id(), "controller")?;
        let charge_a = w.get(list::CHARGE_LIMIT)?.as_amperes();
        let gone_v = (w.get(list::CELL_FULL)?.as_volts() - w.get(list::IMBALANCE)?.as_volts()) * series;
        // PHYSICS-DETAIL M4: the band that does not hunt.
        let band_v = 2.0 * charge_a * w.get(list::PACK_RESISTANCE)?.as_ohms();
        let beyond = 1.0 + w.get(list::OVERSHOOT)?.get() + w.get(list::CURRENT_TOLERANCE)?.get();
        let command = if w.is(list::BRAKE_COMMAND.id(), "lever-switch")? {
            Command::Switch
        } else if w.is(list::BRAKE_COMMAND.id(), "speed-hold-only")? {
            Command::HoldOnly
        } else {
            Command::Variable
        };
        let hands = w.get(list::BRAKE_FRONT)? + w.get(list::BRAKE_REAR)?;
        Ok(Self {
            mass_kg: mass(w, load)?,
            hubs: if w.is(list::POSITION.id(), "both")? { 2.0 } else { 1.0 },
            wheels_kg: 2.0 * w.get(list::WHEEL_INERTIA)?.as_kilogram_square_metres() / (radius_m * radius_m),
            rolling: w.get(list::ROLLING)?.get(),
            drag_area_m2: w.get(list::DRAG_AREA)?.as_square_metres(),
            wheel_radius_m: radius_m,
            reduction: motor.reduction.get(),
            pole_pairs: f64::from(motor.pole_pairs),
            flux_wb: motor.flux_linkage.as_webers(),
            droop_per_a: motor.flux_droop.as_per_ampere(),
            magnet_per_k: motor.magnet_coefficient.as_per_kelvin(),
            phase_ohm: motor.phase_resistance.as_ohms(),
            phase_h: motor.phase_inductance.as_henries(),
            drag_nm: motor.hysteresis_drag.as_newton_metres(),
            drag_nms: motor.eddy_drag.as_newton_metre_seconds(),
            gears: motor.gear_efficiency.get(),
            torque_factor: if block { 3.0 * 3f64.sqrt() / core::f64::consts::PI } else { 1.5 },
            copper_factor: if block { 2.0 } else { 1.5 },
            rotor_kg_m2: w.get(list::ROTOR_INERTIA)?.as_kilogram_square_metres(),
            locked: !w.is(list::CLUTCH.id(), "free")? || w.is(list::DRIVE.id(), "direct")?,
            winding_j_k: w.get(list::WINDING_CAPACITY)?.as_joules_per_kelvin(),
            shell_j_k: w.get(list::SHELL_CAPACITY)?.as_joules_per_kelvin(),
            winding_to_shell_k_w: w.get(list::WINDING_TO_SHELL)?.as_kelvins_per_watt(),
            shell_to_air_w_k: w.get(list::SHELL_TO_AIR)?.as_watts_per_kelvin(),
            winding_limit_c: w.get(list::WINDING_LIMIT)?.as_celsius(),
            gear_limit_c: w.get(list::GEAR_LIMIT)?.as_celsius(),
            switch_ohm: w.get(list::SWITCHES)?.as_ohms(),
            switching: w.get(list::SWITCHING)?.get(),
            standby_w: w.get(list::STANDBY)?.as_watts(),
            diode_v: DIODE,
            ramp_s: w.get(list::RAMP)?.as_seconds(),
            cutback_v: w.get(list::CUTBACK)?.as_volts() * series,
            drive_a: w.set_current(list::DRIVE_CURRENT, list::DRIVE_CURRENT_KEPT_BY)?.as_amperes(),
            brake_a: w.set_current(list::BRAKE_CURRENT, list::BRAKE_CURRENT_KEPT_BY)?.as_amperes(),
            fade_from_m_s: w.get(list::FADE_FROM).map_or(0.0, Speed::as_metres_per_second),
            fade_gone_m_s: w.get(list::FADE_GONE).map_or(0.0, Speed::as_metres_per_second),
            charge_a: if kept { charge_a } else { f64::INFINITY },
            ease_off: kept.then_some(EaseOff { from_v: gone_v - band_v, gone_v, full_a: charge_a }),
            command,
            hold_fastest_m_s: w.get(list::HOLD_FASTEST).map_or(f64::INFINITY, Speed::as_metres_per_second),
            pack,
            cutout_v: (w.get(list::CELL_CUTOUT)?.as_volts() - w.get(list::IMBALANCE)?.as_volts()) * series,
            electronics_a: w.get(list::ELECTRONICS_CHARGE)?.as_amperes(),
            stance: Stance {
                front: w.is(list::POSITION.id(), "front")?,
                wheelbase_m: w.get(list::WHEELBASE)?.as_metres(),
                ahead_m: w.get(list::CENTRE_AHEAD)?.as_metres(),
                height_m: w.get(list::CENTRE_HEIGHT)?.as_metres(),
            },
            hands_m_s2: hands.as_metres_per_second_squared(),
            rating_v: w.get(list::VOLTAGE_RATING)?.as_volts(),
            capacitance_f: w.get(list::CAPACITANCE)?.as_farads(),
            trip_s: w.get(list::TRIP_TIME)?.as_seconds(),
            beyond,
            axle_still_nm: w.first_slip().map_or(f64::NAN, Torque::as_newton_metres),
            start_charge: w.get(list::CHARGE_TO)?.get(),
        })
    }

    /// The same bike with the clutch free or locked.
    #[must_use]
    pub fn with_clutch(&self, locked: bool) -> Self {
        Self { locked, ..self.clone() }
    }
}

fn mass<T: Tape>(w: &World<'_, T>, load: Load) -> Result<f64, Gap> {
    Ok(match load {
        Load::Lightest => w.get(list::LIGHTEST)?.as_kilograms(),
        Load::Usual => w.get(list::USUAL)?.as_kilograms(),
        Load::Heaviest => w.get(list::HEAVIEST)?.as_kilograms(),
        Load::Between(share) => {
            let (low, high) = (w.get(list::LIGHTEST)?.as_kilograms(), w.get(list::HEAVIEST)?.as_kilograms());
            low + share * (high - low)
        }
    })
}

/// The token of an answered choice.
fn chosen<T: Tape>(w: &World<'_, T>, id: crate::fact::FactId) -> Result<&'static str, Gap> {
    let Shape::Choice(tokens) = describe(id).0.shape else { return Err(Gap::Unknown(id)) };
    for token in tokens {
        if w.is(id, token)? {
            return Ok(token);
        }
    }
    Err(Gap::Unknown(id))
}

/// Who rides, and in which air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rider {
    /// Power at the pedals when it is wanted, W.
    pub power_w: f64,
    /// Preferred cadence, turns a minute.
    pub cadence_rpm: f64,
    /// Way for each turn of the cranks in the lowest gear, m.
    pub low_gear_m: f64,
    /// The same in the highest gear, m.
    pub high_gear_m: f64,
    /// Force with which the rider pushes the bike where legs on pedals do not carry it, up to walking speed, N.
    pub push_n: f64,
    /// Motor power over pedal power.
    pub assist: f64,
    /// Assist is gone from this speed, m/s.
    pub assist_until_m_s: f64,
    /// Most that the rider speeds up, m/s².
    pub speeding_m_s2: f64,
    /// Most that the rider slows down, m/s².
    pub slowing_m_s2: f64,
    /// Firmness with which a speed is kept, 1/s.
    pub firmness_per_s: f64,
    /// Until the hands brake after braking by motor is gone, s.
    pub reaction_s: f64,
}

impl Rider {
    /// An everyday rider with a mid-range bike (own choice; power after usual commuting figures, from memory).
    pub const EVERYDAY: Self = Self {
        power_w: 90.0,
        cadence_rpm: 62.0,
        low_gear_m: 1.9,
        high_gear_m: 6.2,
        push_n: 300.0,
        assist: 1.5,
        assist_until_m_s: 25.0 / 3.6,
        speeding_m_s2: 0.6,
        slowing_m_s2: 3.0,
        firmness_per_s: 0.5,
        reaction_s: 0.8,
    };
}

/// Air and road of a ride.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weather {
    /// Temperature of air, motor and pack at the start, °C.
    pub air_c: f64,
    /// Temperature of the pack at the start, °C.
    pub pack_c: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Head wind, m/s.
    pub head_wind_m_s: f64,
    /// Friction of tyre on road.
    pub grip: f64,
}

/// Tyre on dry road (measured on eight bicycles, SAE 2020-01-0876: 0.6 to 0.8).
pub const DRY_GRIP: f64 = 0.7;

impl Weather {
    /// Air of a temperature at a height of the standard atmosphere (ISO 2533), half humid.
    ///
    /// # Errors
    /// [`physics::OutOfRange`] where the density of air has no value.
    pub fn at(air: Temperature, height: Length, head_wind: Speed) -> Result<Self, physics::OutOfRange> {
        let share = libm::pow(1.0 - 2.255_77e-5 * height.as_metres(), 5.255_88);
        let pressure = Pressure::pascals(101_325.0 * share);
        let density = physics::road::air_density(air, pressure, Ratio::new(0.5))?;
        Ok(Self {
            air_c: air.as_celsius(),
            pack_c: air.as_celsius(),
            density_kg_m3: density.as_kilograms_per_cubic_metre(),
            head_wind_m_s: head_wind.as_metres_per_second(),
            grip: DRY_GRIP,
        })
    }
}
