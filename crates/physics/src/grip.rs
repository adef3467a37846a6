//! Grip of one braked tyre with load transfer, exact on any slope; what a bend leaves of it; the steepest slope it holds.

use super::checked::within;
use super::road::GRAVITY;
use super::si::*;
use super::{Number, math};
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&REAR_GRIP, &FRONT_GRIP, &FRONT_PULLED, &GRIP_IN_BEND, &STEEPEST_HELD];

/// Braking force that the rear tyre can pass.
pub const REAR_GRIP: Formula = Formula {
    name: "rear-grip",
    equation: "F = μ·[W(L − b) − (F_o + C_rr·W)·h − D(h − h_D)]/(L + μ·h), W = m·g·cos α",
    source: "planar equilibrium of a two-wheeler (PHYSICS-DETAIL §7 replacement text)",
    valid: "F_o other brake, D drag at height h_D; positive results",
    left_out: "wheel inertia (under 0.6 %), suspension dive",
    checked_by: "validates_grip (PHYSICS-DETAIL T23)",
};

/// Braking force that the front tyre can pass.
pub const FRONT_GRIP: Formula = Formula {
    name: "front-grip",
    equation: "F = min(μ·[W·b + (F_o + C_rr·W)·h + D(h − h_D)]/(L − μ·h), [W(L − b) − D(h − h_D)]/h − F_o − C_rr·W)",
    source: "planar equilibrium of a two-wheeler; the second term is where the rear wheel lifts",
    valid: "for μ·h ≥ L only the lift counts",
    left_out: "as rear-grip",
    checked_by: "validates_grip (published limits of front and rear braking)",
};

/// The rear tyre while the front brake is pulled too.
pub const FRONT_PULLED: Formula = Formula {
    name: "rear-grip-with-front-brake",
    equation: "rear-grip with F_o = share·min(0.4·m·g, μ·(W − N_r)), N_r = max(0, [W(L − b) − (μ + C_rr)·W·h − D(h − h_D)]/L)",
    source: "own rule (PHYSICS-DETAIL §7): the rear motor is judged with the front brake pulled to 0.4 g, but never harder than \
             its own tyre passes while the rear one brakes at its limit too",
    valid: "as rear-grip",
    left_out: "as rear-grip",
    checked_by: "validates_front_brake_pulled",
};

/// What a bend leaves of the grip.
pub const GRIP_IN_BEND: Formula = Formula {
    name: "grip-in-bend",
    equation: "μ_brake = √(μ² − (a_y/(g·cos α))²), a_y = v²/r",
    source: "circle of friction (PHYSICS-DETAIL §7 replacement text)",
    valid: "steady bend on a road without camber; a_y ≤ μ·g·cos α, beyond it the tyre slides without any braking",
    left_out: "camber of road and tyre, unequal grip along and across",
    checked_by: "validates_grip_in_a_bend (Pythagorean triples)",
};

/// Steepest slope that one brake holds.
pub const STEEPEST_HELD: Formula = Formula {
    name: "steepest-held",
    equation: "rear: tan α = C_rr + μ·(L − b − C_rr·h)/(L + μ·h); front: tan α = min(C_rr + μ·(b + C_rr·h)/(L − μ·h), (L − b)/h)",
    source: "rear-grip and front-grip at zero deceleration (PHYSICS-DETAIL §7; front: own derivation)",
    valid: "one tyre braked, steady speed",
    left_out: "air drag and the other brake (both hold steeper ones)",
    checked_by: "law_the_steepest_slope_is_where_nothing_slows",
};

/// Bike, rider and what else slows them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stance {
    /// All-up mass.
    pub mass: Mass,
    /// Slope, negative downhill.
    pub grade: Grade,
    /// Wheelbase.
    pub wheelbase: Length,
    /// Centre of mass ahead of the rear contact.
    pub centre_ahead: Length,
    /// Height of the centre of mass.
    pub centre_height: Length,
    /// Rolling resistance.
    pub rolling: Ratio,
    /// Braking force of the other wheel.
    pub other_brake: Force,
    /// Air drag.
    pub drag: Force,
    /// Height at which the drag acts.
    pub drag_height: Length,
}

/// Force at the tyre and the slowing that it makes together with everything else.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grip {
    /// Braking force of this tyre.
    pub force: Force,
    /// Deceleration along the road.
    pub deceleration: Acceleration,
}

struct Terms {
    w_n: Number,
    l: Number,
    b: Number,
    h: Number,
    other_n: Number,
    roll_n: Number,
    drag_nm: Number,
}

fn terms(s: &Stance, friction: Friction) -> Result<Terms, OutOfRange> {
    let (l, b, h) = (s.wheelbase.as_metres(), s.centre_ahead.as_metres(), s.centre_height.as_metres());
    within("mass", s.mass.as_kilograms(), 1.0, 2000.0, "kg")?;
    within("wheelbase", l, 0.3, 5.0, "m")?;
    within("centre-ahead", b, 0.0, l, "m")?;
    within("centre-height", h, 0.05, 3.0, "m")?;
    within("grip", friction.get(), 0.0, 1.5, "one")?;
    within("grade", s.grade.as_percent(), -100.0, 100.0, "%")?;
    let w_n = s.mass.as_kilograms() * GRAVITY / (1.0 + s.grade.get() * s.grade.get()).sqrt();
    Ok(Terms {
        w_n,
        l,
        b,
        h,
        other_n: s.other_brake.as_newtons(),
        roll_n: s.rolling.get() * w_n,
        drag_nm: s.drag.as_newtons() * (h - s.drag_height.as_metres()),
    })
}

fn slowed(s: &Stance, t: &Terms, force_n: Number) -> Grip {
    let along_n = t.w_n * s.grade.get();
    let a = (force_n + t.other_n + t.roll_n + s.drag.as_newtons() + along_n) / s.mass.as_kilograms();
    Grip { force: Force::newtons(force_n), deceleration: Acceleration::metres_per_second_squared(a) }
}

/// The rear tyre: [`REAR_GRIP`]. Nothing is left when the rear wheel has lifted.
///
/// # Errors
/// [`OutOfRange`] for sizes beyond a bike's.
pub fn rear_grip(s: &Stance, friction: Friction) -> Result<Grip, OutOfRange> {
    let t = terms(s, friction)?;
    let mu = friction.get();
    let load = t.w_n * (t.l - t.b) - (t.other_n + t.roll_n) * t.h - t.drag_nm;
    Ok(slowed(s, &t, (mu * load / (t.l + mu * t.h)).max(0.0)))
}

/// The front tyre: [`FRONT_GRIP`].
///
/// # Errors
/// [`OutOfRange`] for sizes beyond a bike's.
pub fn front_grip(s: &Stance, friction: Friction) -> Result<Grip, OutOfRange> {
    let t = terms(s, friction)?;
    let mu = friction.get();
    let lift = (t.w_n * (t.l - t.b) - t.drag_nm) / t.h - t.other_n - t.roll_n;
    let room = t.l - mu * t.h;
    let slips =
        math::if_above(room, 0.0, mu * (t.w_n * t.b + (t.other_n + t.roll_n) * t.h + t.drag_nm) / room, f64::INFINITY);
    Ok(slowed(s, &t, slips.min(lift).max(0.0)))
}

/// Deceleration to which the front brake is taken to be pulled, in g.
const FRONT_BRAKE_G: f64 = 0.4;

/// The rear tyre while the front brake is pulled with a share of [`FRONT_PULLED`]; the stance's own other brake does not
/// count.
///
/// # Errors
/// [`OutOfRange`] for sizes beyond a bike's, or a share outside 0 to 1.
pub fn rear_grip_with_front_brake(s: &Stance, friction: Friction, share: Ratio) -> Result<Grip, OutOfRange> {
    within("front-brake-share", share.get(), 0.0, 1.0, "one")?;
    let t = terms(s, friction)?;
    let mu = friction.get();
    let pulled_n = FRONT_BRAKE_G * GRAVITY * s.mass.as_kilograms();
    let on_rear_n = (t.w_n * (t.l - t.b) - (mu * t.w_n + t.roll_n) * t.h - t.drag_nm) / t.l;
    let front_most_n = mu * (t.w_n - on_rear_n.max(0.0));
    rear_grip(&Stance { other_brake: Force::newtons(pulled_n.min(front_most_n) * share.get()), ..*s }, friction)
}

/// Friction that a bend leaves for braking: [`GRIP_IN_BEND`].
///
/// # Errors
/// [`OutOfRange`] where the bend alone takes more than the grip.
pub fn grip_in_bend(friction: Friction, grade: Grade, speed: Speed, radius: Length) -> Result<Friction, OutOfRange> {
    let (mu, v, r) = (friction.get(), speed.as_metres_per_second(), radius.as_metres());
    within("grip", mu, 0.0, 1.5, "one")?;
    within("grade", grade.as_percent(), -100.0, 100.0, "%")?;
    within("speed", v, -60.0, 60.0, "m/s")?;
    within("bend-radius", r, 0.5, 1e9, "m")?;
    let normal_m_s2 = GRAVITY / (1.0 + grade.get() * grade.get()).sqrt();
    let taken = v * v / r / normal_m_s2;
    within("grip-taken-by-the-bend", taken, 0.0, mu, "one")?;
    Ok(Friction::new((mu * mu - taken * taken).sqrt()))
}

/// Steepest slope down which the rear brake alone keeps the speed: [`STEEPEST_HELD`]. The stance's own slope, drag and
/// other brake do not count.
///
/// # Errors
/// [`OutOfRange`] for sizes beyond a bike's.
pub fn steepest_on_rear(s: &Stance, friction: Friction) -> Result<Grade, OutOfRange> {
    let t = terms(s, friction)?;
    let (mu, rolling) = (friction.get(), s.rolling.get());
    Ok(Grade::new(-(rolling + mu * (t.l - t.b - rolling * t.h) / (t.l + mu * t.h))))
}

/// Steepest slope down which the front brake alone keeps the speed: [`STEEPEST_HELD`].
///
/// # Errors
/// As [`steepest_on_rear`].
pub fn steepest_on_front(s: &Stance, friction: Friction) -> Result<Grade, OutOfRange> {
    let t = terms(s, friction)?;
    let (mu, rolling) = (friction.get(), s.rolling.get());
    let room = t.l - mu * t.h;
    let slides = math::if_above(room, 0.0, rolling + mu * (t.b + rolling * t.h) / room, f64::INFINITY);
    Ok(Grade::new(-slides.min((t.l - t.b) / t.h)))
}
