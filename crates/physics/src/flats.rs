//! Axle flats in a slot: play, first yield and plastic torque, per dropout or slotted arm.

use super::checked::within;
use super::checked::{length_mm, size_mm, strength_mpa};
use super::si::{Angle, Length, Ratio, Stress, Torque};
use super::{Number, math};
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&FLAT_LENGTH, &PLAY, &CORNER_YIELD, &PLASTIC, &CORNER_PLASTIC, &PRONG];

/// Length of a flat.
pub const FLAT_LENGTH: Formula = Formula {
    name: "flat-length",
    equation: "b = √(d² − s²)",
    source: "geometry",
    valid: "0 < s < d",
    left_out: "rounded slot end and chamfers: only where the slot's walls are parallel does b count",
    checked_by: "validates_t5_pinch (b 6.6332 at 12/10)",
};

/// Play of flats in a slot.
pub const PLAY: Formula = Formula {
    name: "slot-play",
    equation: "φ = atan(b/s) − acos(w/d), root of s·cos φ + b·sin φ = w;  w ≥ d: no stop;  w < s: does not fit",
    source: "geometry, own derivation",
    valid: "sharp corners, parallel walls",
    left_out: "worn corners (more play)",
    checked_by: "validates_t3_play",
};

/// First yield of the slot's wall under the corner of the flat.
pub const CORNER_YIELD: Formula = Formula {
    name: "corner-yield",
    equation: "T_y = p_y·t·c·(b/2 − c/3);  c = min(b/2, p_y·b/(E·tan φ))",
    source: "own derivation (elastic strips; no textbook treats flats in a slot)",
    valid: "0 ≤ φ < 45°; φ = 0 gives p_y·t·b²/6",
    left_out: "support by neighbouring material (safe)",
    checked_by: "validates_t4_corner",
};

/// Fully plastic torque of flats in a slot.
pub const PLASTIC: Formula = Formula {
    name: "slot-plastic",
    equation: "T_p = p_c·t·b²/4",
    source: "own derivation (even pressure on half of each flat)",
    valid: "p_c = tensile strength of the softer part (grade D)",
    left_out: "the rotation needed to get there (see corner-plastic); per dropout: two add only if their plays are alike",
    checked_by: "validates_t4_corner",
};

/// Torque with a plastic corner strip.
pub const CORNER_PLASTIC: Formula = Formula {
    name: "corner-plastic",
    equation: "T(c) = p_c·t·c·(b − c);  indentation c·tan φ",
    source: "own derivation",
    valid: "0 ≤ c ≤ b/2",
    left_out: "hardening (safe)",
    checked_by: "validates_t4_corner",
};

/// Bending of the prong beside the slot.
pub const PRONG: Formula = Formula {
    name: "prong-bending",
    equation: "T = σ_y·t·h²·b/(6·l)",
    source: "beam bending at first yield, pair of forces at the flats' ends, own derivation",
    valid: "ductile metal; cast light alloy and carbon are refused by the caller",
    left_out: "shear and torsion of the prong",
    checked_by: "validates_prong (PHYSICS-DETAIL M6), validates_prong_against_a_published_cantilever",
};

/// How flats sit in a slot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SlotFit {
    /// The axle turns by this angle each way from the middle, then its corners touch.
    Stop(Angle),
    /// The slot is as wide as the axle: nothing stops it.
    NoStop,
}

fn flat_mm(nominal: Length, across_flats: Length) -> Result<(Number, Number, Number), OutOfRange> {
    let d = size_mm("axle-diameter", nominal)?;
    let s = length_mm("across-flats", across_flats, 0.01, d)?;
    Ok((d, s, (d * d - s * s).sqrt()))
}

/// Length of a flat ([`FLAT_LENGTH`]).
///
/// # Errors
/// `axle-diameter` or `across-flats` out of range (flats not wider apart than the diameter).
pub fn flat_length(nominal: Length, across_flats: Length) -> Result<Length, OutOfRange> {
    Ok(Length::millimetres(flat_mm(nominal, across_flats)?.2))
}

/// Play of flats in a slot ([`PLAY`]).
///
/// # Errors
/// `slot-width` less than across flats: does not fit.
pub fn slot_fit(nominal: Length, across_flats: Length, slot_width: Length) -> Result<SlotFit, OutOfRange> {
    let (d, s, b) = flat_mm(nominal, across_flats)?;
    let w = length_mm("slot-width", slot_width, s, 2000.0)?;
    if w >= d {
        return Ok(SlotFit::NoStop);
    }
    let angle = math::atan2(b, s) - math::acos(w / d);
    // At w = s the two terms are equal; rounding may leave a negative 10⁻¹⁶.
    Ok(SlotFit::Stop(Angle::radians(angle.max(0.0))))
}

/// Strip in contact and torque at first yield.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerYield {
    /// Length of the strip in contact, from the corner.
    pub contact: Length,
    /// Torque at first yield.
    pub torque: Torque,
}

/// First yield of flats against a slot after turning through the play ([`CORNER_YIELD`]).
///
/// # Errors
/// A size or strength out of range, `play` out of 0 to 45°.
pub fn corner_yield(
    flat: Length,
    thickness: Length,
    play: Angle,
    yield_pressure: Stress,
    modulus: Stress,
) -> Result<CornerYield, OutOfRange> {
    let (b, t) = (size_mm("flat-length", flat)?, size_mm("thickness", thickness)?);
    within("play", play.as_degrees(), 0.0, 45.0, "degrees")?;
    let (p_y, e) = (strength_mpa("yield-pressure", yield_pressure)?, strength_mpa("elastic-modulus", modulus)?);
    let slope = math::tan(play.as_radians());
    let c = math::if_above(slope, 0.0, (b / 2.0).min(p_y * b / (e * slope)), b / 2.0);
    Ok(CornerYield {
        contact: Length::millimetres(c),
        torque: Torque::newton_metres(p_y * t * c * (b / 2.0 - c / 3.0) / 1e3),
    })
}

/// Fully plastic torque of flats in one slot ([`PLASTIC`]).
///
/// # Errors
/// A size or strength out of range.
pub fn slot_plastic(flat: Length, thickness: Length, bearing_strength: Stress) -> Result<Torque, OutOfRange> {
    let (b, t) = (size_mm("flat-length", flat)?, size_mm("thickness", thickness)?);
    Ok(Torque::newton_metres(strength_mpa("bearing-strength", bearing_strength)? * t * b * b / 4.0 / 1e3))
}

/// Torque and dent with a plastic strip at the corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerDent {
    /// Torque held.
    pub torque: Torque,
    /// Depth of the dent at the corner.
    pub depth: Length,
}

/// Torque and dent when a strip at the corner is plastic ([`CORNER_PLASTIC`]).
///
/// # Errors
/// `contact` out of 0 to b/2, `play` out of 0 to 45°, a size or strength out of range.
pub fn corner_plastic(
    flat: Length,
    thickness: Length,
    play: Angle,
    bearing_strength: Stress,
    contact: Length,
) -> Result<CornerDent, OutOfRange> {
    let (b, t) = (size_mm("flat-length", flat)?, size_mm("thickness", thickness)?);
    let c = length_mm("contact", contact, 0.0, b / 2.0)?;
    within("play", play.as_degrees(), 0.0, 45.0, "degrees")?;
    let p_c = strength_mpa("bearing-strength", bearing_strength)?;
    Ok(CornerDent {
        torque: Torque::newton_metres(p_c * t * c * (b - c) / 1e3),
        depth: Length::millimetres(c * math::tan(play.as_radians())),
    })
}

/// Torque at which a prong beside the slot bends open ([`PRONG`]); the dropout takes the least of this and the slot.
///
/// # Errors
/// A size or strength out of range.
pub fn prong_hold(
    flat: Length,
    thickness: Length,
    height: Length,
    lever: Length,
    yield_strength: Stress,
) -> Result<Torque, OutOfRange> {
    let (b, t) = (size_mm("flat-length", flat)?, size_mm("thickness", thickness)?);
    let (h, l) = (size_mm("prong-height", height)?, size_mm("prong-lever", lever)?);
    Ok(Torque::newton_metres(strength_mpa("yield-strength", yield_strength)? * t * h * h * b / (6.0 * l) / 1e3))
}

/// Share of a stop that bears together with one that bears first: all of it where its play is no smaller and differs by less
/// than a dent of 0.1 mm at the corner (assumed), else nothing.
///
/// # Errors
/// `flat-length` out of range.
pub fn stop_shares(play: Angle, first: Angle, flat: Length) -> Result<Ratio, OutOfRange> {
    let dent = 0.1 / (size_mm("flat-length", flat)? / 2.0);
    let later = play.as_radians() - first.as_radians();
    let near = math::if_above(dent, later, 1.0, 0.0);
    Ok(Ratio::new(math::if_above(0.0, later, 0.0, near)))
}
