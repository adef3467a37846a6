//! Between motor and battery: power at the supply, the current that a charge limit leaves, and when braking costs charge.

use super::checked::within;
use super::motor::Machine;
use super::si::*;
use super::{Number, math};
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] =
    &[&SUPPLY_POWER, &CHARGE_LIMIT_CURRENT, &CHARGE_LIMIT_SPEED, &ZERO_RECOVERY, &BEST_RECOVERY, &FADE_DRAW];

/// Power at the controller's supply.
pub const SUPPLY_POWER: Formula = Formula {
    name: "supply-power",
    equation: "P = k_R·(R + R_ds)·î² ± k·ω_e·λ(î)·î + a·V·î + P₀, + driving, − braking; k_R = k = 3/2 (sine), \
               k_R = 2, k = 3√3/π (block)",
    source: "dq equations with i_d = 0 (block: power balance of two phases in series); inverter terms: conduction, \
             switching a = (3/π)·t_sw·f_sw (sine), standby",
    valid: "below the voltage limit; λ(î) = λ₀/(1 + c·î) in torque and voltage alike",
    left_out: "harmonics; iron loss is part of the drag",
    checked_by: "validates_droop_creates_no_power (PHYSICS-DETAIL T13), validates_pmsm_torque, \
                 validates_chain_from_wheel_to_battery, validates_block_current",
};

/// Motor current that a charge limit leaves.
pub const CHARGE_LIMIT_CURRENT: Formula = Formula {
    name: "charge-limit-current",
    equation: "î = [E' − √(E'² − 4·R'·(P_c + P₀)/k_R)]/(2R'), R' = R + R_ds, E' = [k·ω_e·λ(î) − a·V]/k_R; k, k_R as \
               supply-power",
    source: "own derivation: smaller root of P = −P_c; the larger one burns the rest in copper",
    valid: "no real root: the limit never binds at that speed",
    left_out: "as supply-power; with droop solved by Newton's rule to rounding (to 1e-3 of the power where the roots nearly meet)",
    checked_by: "validates_charge_limit_current (PHYSICS-DETAIL T14)",
};

/// Speed at which a charge limit begins to leave less than the current.
pub const CHARGE_LIMIT_SPEED: Formula = Formula {
    name: "charge-limit-speed",
    equation: "ω_m = (r·i + a·V + N/i)·(1 + c·i)/(k·p·λ₀), r = k_R·(R + R_ds), N = P_c + P₀, i the lesser of the current and the \
               root of i²·(r + c·a·V + 2·c·r·i) = N; k, k_R as supply-power",
    source: "own derivation: supply-power solved for the speed, at the one of the smaller currents that brings P_c at the \
             lowest speed",
    valid: "as supply-power",
    left_out: "as supply-power; a controller that comes from above keeps its current a little longer, where that burns in copper",
    checked_by: "law_a_charge_limit_begins_where_the_search_finds",
};

/// Speed below which braking with a current draws from the battery.
pub const ZERO_RECOVERY: Formula = Formula {
    name: "zero-recovery",
    equation: "k·ω_e·λ(î) = k_R·(R + R_ds)·î + a·V + P₀/î; k, k_R as supply-power",
    source: "own derivation: root of supply-power while braking",
    valid: "as supply-power",
    left_out: "as supply-power",
    checked_by: "validates_fade_points (PHYSICS-DETAIL T16)",
};

/// Current that brings most into the battery, and how much.
pub const BEST_RECOVERY: Formula = Formula {
    name: "best-recovery",
    equation: "k·ω_e·λ₀/(1 + c·î)² = 2·k_R·(R + R_ds)·î + a·V; c = 0: î = E/(2·k_R·R'), P_max = E²/(4·k_R·R') − P₀, \
               E = k·ω_eλ − a·V, R' = R + R_ds (sine: 1.5·(ω_eλ)²/(4R))",
    source: "own derivation: the top of the charging power over the current; half of the zero-recovery current without \
             droop (PHYSICS-DETAIL section 4)",
    valid: "as supply-power; none where a·V ≥ k·ω_eλ₀",
    left_out: "as supply-power; with droop solved by Newton's rule to rounding",
    checked_by: "validates_best_recovery (drive library), law_no_current_recovers_more",
};

/// What braking draws while it fades out.
pub const FADE_DRAW: Formula = Formula {
    name: "fade-draw",
    equation: "largest of k_R·R'·î²s² + a·V·î·s − k·ω_e(s)·λ(î·s)·î·s over 0 ≤ s ≤ 1, ω_e from that of v₂ to that of v₁",
    source: "own derivation (PHYSICS-DETAIL E7): supply-power along a linear fade from î at v₁ to nothing at v₂; bent once, so \
             its top is at s = 1 or before the bend",
    valid: "v₂ ≤ v₁; standby is drawn at any speed and not counted",
    left_out: "as supply-power",
    checked_by: "validates_fade_points (PHYSICS-DETAIL T16), law_the_fade_draws_what_the_search_finds",
};

/// What the inverter adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inverter {
    /// Resistance of the switches that a phase current passes.
    pub switches: Resistance,
    /// Switching loss as a share of supply volts times amplitude.
    pub switching: Ratio,
    /// Taken at any time.
    pub standby: Power,
}

impl Inverter {
    /// Without loss.
    pub const IDEAL: Self = Self { switches: Resistance::ZERO, switching: Ratio::ZERO, standby: Power::ZERO };
}

/// Power at the supply while braking, negative when it charges: [`SUPPLY_POWER`].
pub fn braking_power(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    current: PhaseCurrent,
    bus: Voltage,
) -> Power {
    Power::watts(lost_w(m, inverter, current, bus) - airgap_w(m, speed, current))
}

/// Power at the supply while driving: [`SUPPLY_POWER`].
pub fn driving_power(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    current: PhaseCurrent,
    bus: Voltage,
) -> Power {
    Power::watts(lost_w(m, inverter, current, bus) + airgap_w(m, speed, current))
}

fn r_ohm(m: &Machine, inverter: &Inverter) -> Number {
    m.phase_resistance().as_ohms() + inverter.switches.as_ohms()
}
fn airgap_w(m: &Machine, speed: RotorSpeed, current: PhaseCurrent) -> Number {
    m.airgap_torque(current).as_newton_metres() * speed.as_radians_per_second()
}
fn lost_w(m: &Machine, inverter: &Inverter, current: PhaseCurrent, bus: Voltage) -> Number {
    let i_a = current.as_amperes();
    m.commutation.copper_factor() * r_ohm(m, inverter) * i_a * i_a + extra_w(inverter, i_a, bus)
}
fn extra_w(inverter: &Inverter, i_a: Number, bus: Voltage) -> Number {
    inverter.switching.get() * bus.as_volts() * i_a + inverter.standby.as_watts()
}

/// The motor current at which braking charges with just this power; `None` where the limit never binds.
///
/// # Errors
/// [`OutOfRange`] for a negative power limit or speed.
pub fn charge_limit_current(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    limit: Power,
    bus: Voltage,
) -> Result<Option<PhaseCurrent>, OutOfRange> {
    let i_a = limit_a(m, inverter, speed, limit, bus)?;
    Ok(i_a.is_finite().then(|| PhaseCurrent::amperes(i_a)))
}

/// The motor current that flows under a charge limit: what is asked, or less ([`CHARGE_LIMIT_CURRENT`]).
///
/// # Errors
/// As [`charge_limit_current`].
pub fn limited_current(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    asked: PhaseCurrent,
    limit: Power,
    bus: Voltage,
) -> Result<PhaseCurrent, OutOfRange> {
    Ok(asked.min(PhaseCurrent::amperes(limit_a(m, inverter, speed, limit, bus)?)))
}

/// Infinite where the limit never binds.
fn limit_a(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    limit: Power,
    bus: Voltage,
) -> Result<Number, OutOfRange> {
    let limit_w = limit.as_watts();
    within("charge-power-limit", limit_w, 0.0, 1e6, "W")?;
    within("rotor-speed", speed.as_radians_per_second(), 0.0, 1e5, "rad/s")?;
    let r = m.commutation.copper_factor() * r_ohm(m, inverter);
    let per_flux = m.commutation.torque_factor() * m.electrical_speed(speed).as_radians_per_second();
    let need_w = limit_w + inverter.standby.as_watts();
    let switching_v = inverter.switching.get() * bus.as_volts();
    // Charging power over current is concave, so Newton's tangents from zero meet the smaller root from below and
    // never step over it; where they turn downward first, there is none.
    let mut i_a = Number::from(0.0);
    for _ in 0..200 {
        let bent = 1.0 + m.flux_droop() * i_a;
        let emf_v = per_flux * m.flux_wb(i_a);
        let over_w = emf_v * i_a - r * i_a * i_a - switching_v * i_a - need_w;
        let slope_v = emf_v / bent - 2.0 * r * i_a - switching_v;
        let step = -over_w / slope_v;
        // Nothing any more where it is near enough.
        let near = i_a + math::if_above(step, 1e-13 * i_a, step, 0.0);
        let next = math::if_above(slope_v, 0.0, near, f64::INFINITY);
        if math::settled(i_a, next) {
            break;
        }
        i_a = next;
    }
    Ok(i_a)
}

/// Rotor speed at which braking with this current (A) brings so much into the battery and its standby.
fn speed_bringing(m: &Machine, inverter: &Inverter, i_a: Number, need_w: Number, bus: Voltage) -> RotorSpeed {
    let copper_v = m.commutation.copper_factor() * r_ohm(m, inverter) * i_a;
    let need_v = math::if_above(need_w, 0.0, need_w / i_a, 0.0);
    let volts = copper_v + inverter.switching.get() * bus.as_volts() + need_v;
    RotorSpeed::radians_per_second(volts * (1.0 + m.flux_droop() * i_a) / m.torque_per_ampere())
}

/// Rotor speed from which a charge limit leaves less than this current ([`CHARGE_LIMIT_SPEED`]): below it no current up to
/// this one brings as much.
///
/// # Errors
/// [`OutOfRange`] for a current that is not above zero, or a negative power.
pub fn charge_limit_speed(
    m: &Machine,
    inverter: &Inverter,
    current: PhaseCurrent,
    limit: Power,
    bus: Voltage,
) -> Result<RotorSpeed, OutOfRange> {
    within("phase-current", current.as_amperes(), 1e-6, 1e5, "A")?;
    within("charge-power-limit", limit.as_watts(), 0.0, 1e6, "W")?;
    let r = m.commutation.copper_factor() * r_ohm(m, inverter);
    let need_w = limit.as_watts() + inverter.standby.as_watts();
    let square = r + m.flux_droop() * inverter.switching.get() * bus.as_volts();
    let cube = 2.0 * m.flux_droop() * r;
    // Convex and rising: Newton's tangents from above the root never step over it.
    let mut i_a = (need_w / square).sqrt();
    for _ in 0..200 {
        let step = (i_a * i_a * (square + cube * i_a) - need_w) / (i_a * (2.0 * square + 3.0 * cube * i_a));
        let next = i_a - math::if_above(step, 1e-14 * i_a, step, 0.0);
        if math::settled(i_a, next) {
            break;
        }
        i_a = next;
    }
    Ok(speed_bringing(m, inverter, i_a.min(current.as_amperes()), need_w, bus))
}

/// Rotor speed below which braking with this current draws from the battery.
///
/// # Errors
/// [`OutOfRange`] for a current that is not above zero.
pub fn zero_recovery_speed(
    m: &Machine,
    inverter: &Inverter,
    current: PhaseCurrent,
    bus: Voltage,
) -> Result<RotorSpeed, OutOfRange> {
    within("phase-current", current.as_amperes(), 1e-6, 1e5, "A")?;
    Ok(speed_bringing(m, inverter, current.as_amperes(), inverter.standby.as_watts(), bus))
}

/// What braking brings at best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BestRecovery {
    /// At this motor current.
    pub current: PhaseCurrent,
    /// Into the battery; negative where the standby takes more than braking gives.
    pub power: Power,
}

/// The braking current that brings most into the battery: [`BEST_RECOVERY`]; `None` where any current draws.
///
/// # Errors
/// [`OutOfRange`] for a negative speed.
pub fn best_recovery(
    m: &Machine,
    inverter: &Inverter,
    speed: RotorSpeed,
    bus: Voltage,
) -> Result<Option<BestRecovery>, OutOfRange> {
    within("rotor-speed", speed.as_radians_per_second(), 0.0, 1e5, "rad/s")?;
    let per_flux = m.commutation.torque_factor() * m.electrical_speed(speed).as_radians_per_second();
    let (emf_v, droop) = (per_flux * m.flux_wb(0.0.into()), m.flux_droop());
    let switching_v = inverter.switching.get() * bus.as_volts();
    let twice_r = 2.0 * m.commutation.copper_factor() * r_ohm(m, inverter);
    if emf_v <= switching_v {
        return Ok(None);
    }
    // The slope of the charging power falls and is bent upwards, so Newton's tangents from zero never step over its root.
    let mut i_a = Number::from(0.0);
    for _ in 0..200 {
        let bent = 1.0 + droop * i_a;
        let slope_v = emf_v / (bent * bent) - switching_v - twice_r * i_a;
        let step = slope_v / (2.0 * droop * emf_v / (bent * bent * bent) + twice_r);
        i_a += step;
        if step <= 1e-14 * i_a {
            break;
        }
    }
    let current = PhaseCurrent::amperes(i_a);
    Ok(Some(BestRecovery { current, power: braking_power(m, inverter, speed, current, bus) * -1.0 }))
}

/// Braking that fades out with the speed in a straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fade {
    /// Rotor speed down to which it brakes in full.
    pub full: RotorSpeed,
    /// Rotor speed at which it has ended.
    pub none: RotorSpeed,
    /// Motor current in full.
    pub current: PhaseCurrent,
}

/// Share of the current that is left at a road speed while braking fades out in a straight line, from all at `full` to nothing at
/// `none` ([`FADE_DRAW`]).
pub fn fade_share(speed: Speed, full: Speed, none: Speed) -> Number {
    let [v, full, none] = [speed, full, none].map(Speed::as_metres_per_second);
    math::if_above(full, v, ((v - none) / (full - none)).clamp(0.0, 1.0), 1.0)
}

/// The most that braking draws from the battery while it fades out, without standby: [`FADE_DRAW`]; zero where it
/// never does.
///
/// # Errors
/// [`OutOfRange`] for a fade that ends above its start, or no current.
pub fn fade_draw(m: &Machine, inverter: &Inverter, fade: &Fade, bus: Voltage) -> Result<Power, OutOfRange> {
    let (full, none) = (fade.full.as_radians_per_second(), fade.none.as_radians_per_second());
    let i_a = fade.current.as_amperes();
    within("fade-full-speed", full, 0.0, 1e5, "rad/s")?;
    within("fade-end-speed", none, 0.0, full, "rad/s")?;
    within("phase-current", i_a, 1e-6, 1e5, "A")?;
    let inverter = Inverter { standby: Power::ZERO, ..*inverter };
    let drawn_w = |s: Number| {
        let speed = RotorSpeed::radians_per_second(none + s * (full - none));
        braking_power(m, &inverter, speed, PhaseCurrent::amperes(i_a * s), bus).as_watts()
    };
    // Second derivative 2A − 2B/(1 + C·s)³: bent downwards up to this s and upwards after it.
    let c = m.flux_droop() * i_a;
    let a_w = m.commutation.copper_factor() * r_ohm(m, &inverter) * i_a * i_a;
    let b_w = m.torque_per_ampere() * i_a * (full - none - c * none);
    let bend = if c > 0.0 {
        (math::cbrt(b_w / a_w) - 1.0) / c
    } else if b_w > a_w {
        1.0.into()
    } else {
        0.0.into()
    };
    let bend = bend.clamp(0.0, 1.0);
    // Up to there one top: by thirds.
    let (mut low, mut high) = (Number::from(0.0), bend);
    for _ in 0..100 {
        let (one, two) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if drawn_w(one) < drawn_w(two) { low = one } else { high = two }
    }
    Ok(Power::watts(drawn_w(low).max(drawn_w(bend)).max(drawn_w(1.0.into())).max(0.0)))
}
