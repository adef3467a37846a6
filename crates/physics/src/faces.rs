//! Clamped faces: friction radius, pressure, and what a side of the axle holds.

use super::checked::within;
use super::checked::{force_n, friction, length_mm, size_mm, torque_nm};
use super::si::{Area, Force, Friction, Length, Stress, Torque};
use super::thread::Thread;
use super::tightening::thread_arms_mm;
use super::{Number, math};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&FRICTION_RADIUS, &CONTACT_PRESSURE, &FACE_HOLD, &OUTER_HOLD];

/// Radius at which friction acts.
pub const FRICTION_RADIUS: Formula = Formula {
    name: "friction-radius",
    equation: "r = ∫ p·ρ dA / ∫ p dA;  p even: (2/3)(r_o³ − r_i³)/(r_o² − r_i²);  p ∝ 1/ρ (worn): (r_o + r_i)/2",
    source: "Shigley, Mechanical Engineering Design, plate clutches (from memory); net of an open slot: own derivation",
    valid: "flat ring, even pressure or worn-in; open slot from the centre to one side",
    left_out: "tilt by the one-sided slot; a soft washer presses more near the bore (take worn-in, the lower value)",
    checked_by: "validates_friction_radius, validates_slotted_face_by_counting",
};

/// Mean pressure on a face.
pub const CONTACT_PRESSURE: Formula = Formula {
    name: "contact-pressure",
    equation: "p = F/A_net;  A_net = ring less the open slot",
    source: "VDI 2230-1:2003 section 5.5.4; slot: own derivation",
    valid: "flat full contact",
    left_out: "edge peaks, paint",
    checked_by: "validates_contact_pressure",
};

/// Torque that one face holds.
pub const FACE_HOLD: Formula = Formula {
    name: "face-hold",
    equation: "T = μ·F·r",
    source: "Coulomb friction",
    valid: "friction of the holding (not the turning) faces, F after loss",
    left_out: "nothing before slip; after slip use 0.8·μ (assumed)",
    checked_by: "validates_t1_paths, validates_t2_greased_thread",
};

/// Torque of the path over thread, nut and washer.
pub const OUTER_HOLD: Formula = Formula {
    name: "outer-hold",
    equation: "T = min(μ_n·F·r_n, μ_w·F·r_w, F·(μ_t·d2/(2·cos 30°) ± P/(2π)) + T_locker);  + tightening, − loosening",
    source: "own derivation (parts in series: the weakest counts); thread terms VDI 2230, order T_sl < T_w < T_st \
             as in Yokoyama et al. 2012",
    valid: "self-locking threads",
    left_out: "friction of a keyed washer's key (safe)",
    checked_by: "validates_t1_paths, validates_t2_greased_thread, validates_published_order_of_thread_torques",
};

/// How the pressure lies on a face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PressureLaw {
    /// Even.
    Even,
    /// Worn in: pressure falls as one over the radius. Gives the lower friction radius.
    WornIn,
}

/// A ring-shaped face, maybe with an open slot (the dropout's) cut out of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// `∫ ρⁿ dρ dθ` over the net face in mm, mm², mm³, for n = 0, 1, 2.
    moments: [Number; 3],
}

impl Face {
    /// From inner and outer diameter and the width of an open slot, if one is cut into the part below.
    ///
    /// # Errors
    /// Diameters out of range or not growing; slot wider than 0.95 of the outer diameter.
    pub fn new(inner: Length, outer: Length, slot: Option<Length>) -> Result<Self, OutOfRange> {
        let inner_mm = size_mm("face-inner-diameter", inner)?;
        let outer_mm = length_mm("face-outer-diameter", outer, inner_mm * 1.001, 2000.0)?;
        let slot_mm = slot.map_or(Ok(0.0.into()), |w| length_mm("slot-width", w, 0.0, 0.95 * outer_mm))?;
        Ok(Self { moments: moments(inner_mm / 2.0, outer_mm / 2.0, slot_mm / 2.0) })
    }

    /// Area in contact.
    pub fn net_area(self) -> Area {
        Area::square_millimetres(self.moments[1])
    }

    /// Radius at which friction acts ([`FRICTION_RADIUS`]).
    pub fn friction_radius(self, law: PressureLaw) -> Length {
        let m = self.moments;
        Length::millimetres(match law {
            PressureLaw::Even => m[2] / m[1],
            PressureLaw::WornIn => m[1] / m[0],
        })
    }
}

/// Moments of a ring between the radii `i` and `o` less a slot of half width `h`.
fn moments(i: Number, o: Number, h: Number) -> [Number; 3] {
    let ring = [2.0 * PI * (o - i), PI * (o * o - i * i), 2.0 * PI / 3.0 * (o * o * o - i * i * i)];
    if h == 0.0 {
        return ring;
    }
    // The slot takes the angle 2·asin(h/ρ); the whole half turn where ρ < h.
    let from = i.max(h);
    let primitives = |r: Number| {
        let (angle, root) = (math::asin((h / r).min(1.0)), (r * r - h * h).max(0.0).sqrt());
        let log = math::log(r + root);
        [
            r * angle + h * log,
            (r * r * angle + h * root) / 2.0,
            r * r * r / 3.0 * angle + h / 3.0 * (r * root / 2.0 + h * h / 2.0 * log),
        ]
    };
    let (a, b) = (primitives(from), primitives(o));
    let inner = [from - i, (from * from - i * i) / 2.0, (from * from * from - i * i * i) / 3.0];
    core::array::from_fn(|n| ring[n] - 2.0 * (b[n] - a[n]) - PI * inner[n])
}

/// Mean pressure under a face ([`CONTACT_PRESSURE`]); use the HIGH force.
///
/// # Errors
/// `clamp-force` out of range.
pub fn contact_pressure(face: Face, force: Force) -> Result<Stress, OutOfRange> {
    Ok(Stress::megapascals(force_n("clamp-force", force)? / face.moments[1]))
}

/// Torque that one clamped face holds by friction ([`FACE_HOLD`]); use the LOW force after loss.
///
/// # Errors
/// Friction, force or radius out of range.
pub fn face_hold(face_friction: Friction, force: Force, radius: Length) -> Result<Torque, OutOfRange> {
    let mu = friction("face-friction", face_friction)?;
    Ok(Torque::newton_metres(mu * force_n("clamp-force", force)? * size_mm("friction-radius", radius)? / 1e3))
}

/// Which side of the wheel, seen by the rider.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

/// What the motor does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MotorSense {
    /// Drives: the axle is pushed backwards.
    Drive,
    /// Brakes: the axle is pushed forwards.
    Brake,
}

/// What a turning axle does to a nut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NutMotion {
    /// The nut gets tighter.
    Tightens,
    /// The nut gets looser.
    Loosens,
}

/// Right-hand threads on both sides: driving tightens the right nut and loosens the left, braking the reverse.
pub const fn nut_motion(side: Side, sense: MotorSense) -> NutMotion {
    match (side, sense) {
        (Side::Right, MotorSense::Drive) | (Side::Left, MotorSense::Brake) => NutMotion::Tightens,
        (Side::Left, MotorSense::Drive) | (Side::Right, MotorSense::Brake) => NutMotion::Loosens,
    }
}

/// Axle → thread → nut → washer → dropout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OuterPath {
    /// Thread of axle and nut.
    pub thread: Thread,
    /// Friction in the thread.
    pub thread_friction: Friction,
    /// Friction between nut and washer.
    pub nut_friction: Friction,
    /// Friction radius between nut and washer.
    pub nut_radius: Length,
    /// Friction between washer and dropout.
    pub washer_friction: Friction,
    /// Friction radius between washer and dropout.
    pub washer_radius: Length,
    /// The washer is keyed to the axle's flats without play: the thread cannot slip.
    pub keyed_without_play: bool,
    /// Measured break-loose torque of cured thread locker; zero for none or uncured.
    pub locker: Torque,
}

/// The part of the outer path that slips first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeakestPart {
    /// The thread slips.
    Thread,
    /// The nut slips on the washer.
    Nut,
    /// The washer slips on the dropout.
    Washer,
}

/// What the outer path holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OuterHold {
    /// Torque at which it slips.
    pub torque: Torque,
    /// Where it slips.
    pub weakest: WeakestPart,
}

/// Torque at which the thread slips under a clamp force, before any locker ([`OUTER_HOLD`]).
///
/// # Errors
/// Friction or force out of range; `thread-friction` too low for the thread to hold itself.
pub fn thread_hold(
    thread: Thread,
    thread_friction: Friction,
    force: Force,
    motion: NutMotion,
) -> Result<Torque, OutOfRange> {
    let mu = friction("thread-friction", thread_friction)?;
    let newtons = force_n("clamp-force", force)?;
    let (slope_mm, rub_mm) = thread_arms_mm(thread, mu);
    let arm_mm = match motion {
        NutMotion::Tightens => rub_mm + slope_mm,
        NutMotion::Loosens => {
            within("thread-friction", mu, mu * slope_mm / rub_mm, 1.5, "one")?;
            rub_mm - slope_mm
        }
    };
    Ok(Torque::newton_metres(newtons * arm_mm / 1e3))
}

/// What the path over thread, nut and washer holds ([`OUTER_HOLD`]); use the LOW force after loss.
///
/// # Errors
/// As [`face_hold`] and [`thread_hold`].
pub fn outer_hold(path: &OuterPath, force: Force, motion: NutMotion) -> Result<OuterHold, OutOfRange> {
    let nut = face_hold(path.nut_friction, force, path.nut_radius)?;
    let washer = face_hold(path.washer_friction, force, path.washer_radius)?;
    let mut hold = OuterHold { torque: washer, weakest: WeakestPart::Washer };
    let mut or = |torque: Torque, part| {
        if math::names_above(hold.torque.as_newton_metres(), torque.as_newton_metres()) {
            hold.weakest = part;
        }
        hold.torque = hold.torque.min(torque);
    };
    or(nut, WeakestPart::Nut);
    if !path.keyed_without_play {
        let locker = Torque::newton_metres(torque_nm("locker-torque", path.locker)?);
        let thread = thread_hold(path.thread, path.thread_friction, force, motion)? + locker;
        or(thread, WeakestPart::Thread);
    }
    Ok(hold)
}
