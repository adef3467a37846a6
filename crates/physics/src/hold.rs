//! A speed held downhill by the motor: where it balances, where it runs away, and what is left when it stops.

use super::checked::within;
use super::heat::Heating;
use super::motor::{Direction, Machine, Motor, STATED_AT, rolling, tyre_force};
use super::rectifier::{self, forced_charge};
use super::road::{OnRoad, road_force};
use super::si::*;
use super::supply::{Inverter, charge_limit_current};
use super::{Number, math};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] =
    &[&HELD_LOSSES, &HOLD_BALANCE, &LEAST_STABLE_SPEED, &HOLD_GAIN, &REGEN_LOST, &FOLD_BACK_BAND, &COASTING_SPEED];

/// Heat while a braking torque is held.
pub const HELD_LOSSES: Formula = Formula {
    name: "held-losses",
    equation: "P₂₀ = k_R·R₂₀·î², î for T_w with the magnet at T_m; P_s = ω_m·T_drag + (1 − η)·T_w·ω_w",
    source: "own power balance (PHYSICS-DETAIL M16: the torque is held, not the current; gear loss and iron go to the shell)",
    valid: "magnet at its hottest, where the current is largest (safe)",
    left_out: "what the drag alone brakes beyond T_w (then there is no current)",
    checked_by: "law_held_losses_close_the_ledger",
};

/// Speeds at which a hold with full braking balances the hill.
pub const HOLD_BALANCE: Formula = Formula {
    name: "hold-balance",
    equation: "F_road(v) + F_b(v) = 0, F_b = −T_wheel(î)/r, î = min(phase limit, charge-limit-current); \
               stable if d(F_road + F_b)/dv > 0",
    source: "own derivation (PHYSICS-DETAIL E6): at the charge limit F_b falls as P/v, so a small excess of speed grows",
    valid: "0 to 60 m/s, steady losses; two balances within 0.05 m/s of each other are not told apart",
    left_out: "bridge above its onset (brakes more, charges uncommanded: see coasting-speed), limits of heat and grip",
    checked_by: "validates_hold_runs_away (PHYSICS-DETAIL T22), law_balance_is_where_the_forces_meet",
};

/// Speed below which a hold at constant power is unstable.
pub const LEAST_STABLE_SPEED: Formula = Formula {
    name: "least-stable-hold-speed",
    equation: "v = (P/(ρ·CdA))^⅓",
    source: "own derivation (PHYSICS-DETAIL E6): least of P/v + ½·ρ·CdA·v²",
    valid: "still air, the charge limit binding",
    left_out: "losses of the motor (see hold-balance)",
    checked_by: "validates_least_stable_speed (PHYSICS-DETAIL E6, T22)",
};

/// Gain of the speed loop.
pub const HOLD_GAIN: Formula = Formula {
    name: "hold-gain",
    equation: "K < π·m/(2τ) is stable; take K ≤ π·m/(6τ)",
    source: "m·dv/dt = −K·v(t − τ): stable for K·τ/m < π/2 (Hayes 1950, J London Math Soc 25, 226–232; from memory); \
             a third of it: own rule (PHYSICS-DETAIL E6)",
    valid: "proportional loop, all delays summed in τ",
    left_out: "sampling finer than τ, drag of the road (steadies), the falling force at the charge limit (unsteadies)",
    checked_by: "validates_hold_gain (PHYSICS-DETAIL E6; stepped simulation of the delayed loop)",
};

/// What the rider feels when regenerative braking stops.
pub const REGEN_LOST: Formula = Formula {
    name: "regen-lost",
    equation: "Δa = F_b/m; afterwards a = −F_road/m",
    source: "Newton's second law (PHYSICS-DETAIL M5)",
    valid: "pack or controller opens while the motor brakes; drag of a locked motor goes on and is not counted",
    left_out: "inertia of wheels and rotor (under 2 %: the step is a little smaller)",
    checked_by: "validates_regen_lost (free fall along a slope)",
};

/// Width of the voltage band over which the controller eases off.
pub const FOLD_BACK_BAND: Formula = Formula {
    name: "fold-back-band",
    equation: "V_hi − V_lo ≥ 2·I_max·R",
    source: "own rule (PHYSICS-DETAIL M4): static loop gain I_max·R/(V_hi − V_lo) at most ½, as a delayed loop above 1 hunts",
    valid: "R of pack, wire and plug as the controller sees it",
    left_out: "slow polarisation of the cells",
    checked_by: "validates_fold_back_band (iterated loop with one step of delay)",
};

/// Steady speed of a coasting bike.
pub const COASTING_SPEED: Formula = Formula {
    name: "coasting-speed",
    equation: "F_road(v) + F_motor(v) = 0; clutch locked: F_motor from forced-charge and rotor-drag through the gears; \
               clutch free: F_motor = 0",
    source: "own derivation (PHYSICS-DETAIL E4, T19)",
    valid: "as forced-charge and road-force; the first balance above standstill",
    left_out: "as forced-charge; drag of bearings and seals",
    checked_by: "validates_coasting (PHYSICS-DETAIL T19, time-domain bridge)",
};

/// Fastest speed that is looked at, as in `road_force`, m/s.
const FASTEST_M_S: f64 = 60.0;
/// Balances closer than this may be missed, m/s.
const STEP_M_S: f64 = 0.05;

/// A motor that holds a speed with all it may.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// The motor; for the ability to hold: hot.
    pub machine: Machine,
    /// What the controller adds.
    pub inverter: Inverter,
    /// Rolling radius of the driven wheel, 0.05 to 1 m.
    pub wheel_radius: Length,
    /// Supply voltage while charging.
    pub bus: Voltage,
    /// Largest motor current for braking.
    pub phase_limit: PhaseCurrent,
    /// Largest power into the pack.
    pub charge_limit: Power,
}

/// A speed at which hill and brakes balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// The speed.
    pub speed: Speed,
    /// Whether the bike returns to it; if not, it slows from below and runs away from above.
    pub stable: bool,
}

/// Steady state of a coasting bike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coasting {
    /// The speed.
    pub speed: Speed,
    /// Charge that nobody commands.
    pub charge: BatteryCurrent,
}

/// Bounds on the gain of the speed loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GainLimit {
    /// The loop swings for ever.
    pub stable_below: SpeedGain,
    /// The most to use.
    pub recommended: SpeedGain,
}

/// What happens when regenerative braking stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegenLost {
    /// Deceleration that is missing at once.
    pub step: Acceleration,
    /// Acceleration afterwards, positive when the bike gains speed.
    pub acceleration: Acceleration,
}

/// Heat while a motor holds a braking torque at the wheel: [`HELD_LOSSES`].
///
/// # Errors
/// [`OutOfRange`] for a torque beyond the motor, or temperatures and facts out of range.
pub fn held_losses(
    motor: &Motor,
    torque: WheelTorque,
    speed: RotorSpeed,
    magnet: Temperature,
    air: Temperature,
) -> Result<Heating, OutOfRange> {
    let m = motor.at(STATED_AT.into(), magnet)?;
    let current = m.current_for_wheel_torque(Direction::Brake, torque, speed)?;
    let drag_w = m.rotor_drag(speed).as_newton_metres() * speed.as_radians_per_second().abs();
    let wheel_w = torque.as_newton_metres() * m.wheel_speed(speed).as_radians_per_second().abs();
    let shell = Power::watts(drag_w + (1.0 - motor.gear_efficiency.get()) * wheel_w);
    Ok(Heating { copper_at_20: m.copper_loss(current), shell, air })
}

/// Largest braking force at the tyre at a speed, within phase and charge limit: the `F_b` of [`HOLD_BALANCE`].
///
/// # Errors
/// [`OutOfRange`] for a wheel radius, speed or limit that no bike has.
pub fn braking_force(hold: &Hold, speed: Speed) -> Result<Force, OutOfRange> {
    within("speed", speed.as_metres_per_second(), 0.0, FASTEST_M_S, "m/s")?;
    within("phase-limit", hold.phase_limit.as_amperes(), 0.0, 1e4, "A")?;
    let m = &hold.machine;
    let rotor = m.rotor_speed(rolling(speed, hold.wheel_radius)?);
    let charge = charge_limit_current(m, &hold.inverter, rotor, hold.charge_limit, hold.bus)?;
    let current = charge.map_or(hold.phase_limit, |i| i.min(hold.phase_limit));
    tyre_force(m.wheel_torque_at(Direction::Brake, current, rotor), hold.wheel_radius)
}

/// First balance above a speed: [`HOLD_BALANCE`]; `None` if there is none up to 60 m/s. Go on from its speed for the
/// next one.
///
/// # Errors
/// As [`braking_force`] and [`road_force`].
pub fn balance_above(hold: &Hold, road: &OnRoad, from: Speed) -> Result<Option<Balance>, OutOfRange> {
    first_balance(from, |v| Ok(road_force(road, v)? + braking_force(hold, v)?))
}

/// Speed below which a hold at this charge power is unstable: [`LEAST_STABLE_SPEED`].
///
/// # Errors
/// [`OutOfRange`] for a negative power, or air and drag area that no ride has.
pub fn least_stable_speed(power: Power, air: Density, drag_area: DragArea) -> Result<Speed, OutOfRange> {
    let (p_w, rho, cda_m2) = (power.as_watts(), air.as_kilograms_per_cubic_metre(), drag_area.as_square_metres());
    within("charge-power-limit", p_w, 0.0, 1e6, "W")?;
    within("air-density", rho, 0.3, 2.0, "kg/m³")?;
    within("drag-area", cda_m2, 0.05, 10.0, "m²")?;
    Ok(Speed::metres_per_second(math::cbrt(p_w / (rho * cda_m2))))
}

/// Bounds on the gain of the speed loop: [`HOLD_GAIN`].
///
/// # Errors
/// [`OutOfRange`] for a mass beyond 1 to 2000 kg or a delay beyond 1 ms to 10 s.
pub fn gain_limit(mass: Mass, delay: Time) -> Result<GainLimit, OutOfRange> {
    let (m_kg, tau_s) = (mass.as_kilograms(), delay.as_seconds());
    within("mass", m_kg, 1.0, 2000.0, "kg")?;
    within("loop-delay", tau_s, 1e-3, 10.0, "s")?;
    let stable_below = SpeedGain::newtons_per_metre_per_second(PI * m_kg / (2.0 * tau_s));
    Ok(GainLimit { stable_below, recommended: stable_below / 3.0 })
}

/// What happens when a braking force of the motor is gone: [`REGEN_LOST`].
///
/// # Errors
/// [`OutOfRange`] for a force beyond 0 to 10 kN; as [`road_force`].
pub fn regen_lost(road: &OnRoad, speed: Speed, braking: Force) -> Result<RegenLost, OutOfRange> {
    within("braking-force", braking.as_newtons(), 0.0, 1e4, "N")?;
    let against_n = road_force(road, speed)?.as_newtons();
    let m_kg = road.mass.as_kilograms();
    Ok(RegenLost {
        step: Acceleration::metres_per_second_squared(braking.as_newtons() / m_kg),
        acceleration: Acceleration::metres_per_second_squared(-against_n / m_kg),
    })
}

/// Least width of the voltage band over which the charge current is eased off: [`FOLD_BACK_BAND`].
///
/// # Errors
/// [`OutOfRange`] for a current beyond 0 to 1000 A or a resistance beyond 0 to 100 Ω.
pub fn fold_back_band(current: BatteryCurrent, resistance: Resistance) -> Result<Voltage, OutOfRange> {
    let (i_a, r_ohm) = (current.as_amperes(), resistance.as_ohms());
    within("charge-current", i_a, 0.0, 1000.0, "A")?;
    within("supply-resistance", r_ohm, 0.0, 100.0, "Ω")?;
    Ok(Voltage::volts(2.0 * i_a * r_ohm))
}

/// Steady speed of a bike that coasts with a free clutch: [`COASTING_SPEED`]; `None` if it does not roll by itself or
/// would pass 60 m/s.
///
/// # Errors
/// As [`road_force`].
pub fn free_coasting(road: &OnRoad) -> Result<Option<Speed>, OutOfRange> {
    Ok(settles(|v| road_force(road, v))?.map(|balance| balance.speed))
}

/// Steady speed, and the charge that nobody commands, of a bike that coasts with a locked clutch:
/// [`COASTING_SPEED`]; `None` if it does not roll by itself or would pass 60 m/s.
///
/// # Errors
/// As [`road_force`] and [`forced_charge`].
pub fn locked_coasting(
    machine: &Machine,
    supply: &rectifier::Supply,
    wheel_radius: Length,
    road: &OnRoad,
) -> Result<Option<Coasting>, OutOfRange> {
    let rotor = |v| Ok(machine.rotor_speed(rolling(v, wheel_radius)?));
    let balance = settles(|v| {
        let omega = rotor(v)?;
        let bridge = forced_charge(machine, omega, supply)?.torque;
        let wheel = machine.wheel_torque(bridge * -1.0, omega);
        Ok(road_force(road, v)? - tyre_force(wheel, wheel_radius)?)
    })?;
    let Some(Balance { speed, .. }) = balance else { return Ok(None) };
    Ok(Some(Coasting { speed, charge: forced_charge(machine, rotor(speed)?, supply)?.current }))
}

/// First balance of a bike let go; `None` if it stays where it is.
fn settles(against: impl Fn(Speed) -> Result<Force, OutOfRange>) -> Result<Option<Balance>, OutOfRange> {
    // Barely rolling, so that dry friction has its sign.
    let start = Speed::metres_per_second(1e-6);
    if against(start)? >= Force::ZERO { Ok(None) } else { first_balance(start, against) }
}

/// First change of sign of the force against the motion above a speed; forward and back in it tell its stability.
fn first_balance(
    from: Speed,
    against: impl Fn(Speed) -> Result<Force, OutOfRange>,
) -> Result<Option<Balance>, OutOfRange> {
    let start_m_s = from.as_metres_per_second();
    within("speed", start_m_s, 0.0, FASTEST_M_S, "m/s")?;
    let at = |v_m_s: Number| Ok(against(Speed::metres_per_second(v_m_s))? > Force::ZERO);
    // A nanometre per second on, or a balance found before would be found again.
    let mut low = (start_m_s + 1e-9).min(FASTEST_M_S);
    let brakes = at(low)?;
    while low < FASTEST_M_S {
        let mut high = (low + STEP_M_S).min(FASTEST_M_S);
        if at(high)? == brakes {
            low = high;
            continue;
        }
        while high - low > 1e-12 * high {
            let mid = low + (high - low) / 2.0;
            if mid <= low || mid >= high {
                break;
            }
            if at(mid)? == brakes { low = mid } else { high = mid }
        }
        return Ok(Some(Balance { speed: Speed::metres_per_second(high), stable: !brakes }));
    }
    Ok(None)
}
