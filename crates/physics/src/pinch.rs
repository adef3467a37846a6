//! A pinching torque arm: jaws that bolts squeeze onto the axle's flats.

use super::Number;
use super::checked::within;
use super::checked::{force_n, length_mm, size_mm, strength_mpa, torque_nm};
use super::si::{Force, Length, Stress, Torque};
use super::thread::Thread;
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&GAP, &NO_YIELD, &PRESSURE, &PLASTIC, &ONE_SIDED, &BOLT_SWING, &BOLT_ENDURANCE];

/// Torque at which the jaws begin to gape.
pub const GAP: Formula = Formula {
    name: "pinch-gap",
    equation: "T_gap = 2·F_c·(b/6 − |e_0|)",
    source: "own derivation: no-tension footing (kern b/6) on two flats",
    valid: "|e_0| ≤ b/6",
    left_out: "friction along the flats μ·F_c·s (safe)",
    checked_by: "validates_t5_pinch",
};

/// Torque without gap and without yield.
pub const NO_YIELD: Formula = Formula {
    name: "pinch-no-yield",
    equation: "T_0 = min[2·F_low·(b/6 − |e_0|), (F_high·b/3)·(p_y·b·t/F_high − 1) − 2·F_high·|e_0|];  never above p_y·t·b²/6",
    source: "own derivation (PHYSICS-DETAIL E3; e_0 in the second term: the offset adds to the eccentricity T/(2F))",
    valid: "F_high·(1 + 6·|e_0|/b) < p_y·b·t (else crushed on tightening)",
    left_out: "friction along the flats (safe); the anchor's own limit",
    checked_by: "validates_t5_pinch, validates_t6_optimum, validates_offset_squeeze_by_strips",
};

/// Pressure at the flats' ends.
pub const PRESSURE: Formula = Formula {
    name: "pinch-pressure",
    equation: "p = F_c/(b·t)·(1 + 3T/(F_c·b))",
    source: "own derivation: footing under eccentric load, T ≤ F_c·b/3",
    valid: "0 ≤ T ≤ F_c·b/3",
    left_out: "edge peaks",
    checked_by: "validates_t5_pinch",
};

/// Plastic torque of the jaws.
pub const PLASTIC: Formula = Formula {
    name: "pinch-plastic",
    equation: "T_u = F_c·(b − F_c/(t·p_c));  never above p_c·t·b²/4",
    source: "own derivation: rectangular pressure block at each corner",
    valid: "F_c < p_c·b·t",
    left_out: "rise of the bolts' force as the jaws open (safe)",
    checked_by: "validates_t5_pinch",
};

/// Squeeze of a jaw that is slit on one side only.
pub const ONE_SIDED: Formula = Formula {
    name: "pinch-one-sided",
    equation: "F_c = (ΣF·l_b − M_close)/l_f, levers from the uncut side",
    source: "statics",
    valid: "ΣF·l_b ≥ M_close",
    left_out: "the squeeze's offset from the flat's middle (give it as e_0)",
    checked_by: "validates_one_sided_levers",
};

/// Swing of the pinch bolts' force.
pub const BOLT_SWING: Formula = Formula {
    name: "pinch-bolt-swing",
    equation: "F_a = T/(2g);  σ_a = F_a/A_s",
    source: "statics: bolts at spacing g, no joint in parallel",
    valid: "bolts on both sides of the flats",
    left_out: "bending of the bolts",
    checked_by: "validates_bolt_swing",
};

/// Endurance limit of bolts.
pub const BOLT_ENDURANCE: Formula = Formula {
    name: "bolt-endurance",
    equation: "σ_A = 0.85·(150/d + 45), d in mm, σ_A in MPa (amplitude)",
    source: "VDI 2230-1:2003 equation R9 (rolled before heat treatment), from memory",
    valid: "classes 8.8 to 12.9, 4 ≤ d ≤ 40 mm, more than 2·10⁶ reversals",
    left_out: "corrosion (unsafe)",
    checked_by: "validates_bolt_swing",
};

/// The contact of jaws and flats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jaw {
    b_mm: Number,
    t_mm: Number,
}

impl Jaw {
    /// From the engaged length of the flat and the jaw's thickness.
    ///
    /// # Errors
    /// A size out of 0.01 to 2000 mm.
    pub fn new(flat: Length, thickness: Length) -> Result<Self, OutOfRange> {
        Ok(Self { b_mm: size_mm("flat-length", flat)?, t_mm: size_mm("thickness", thickness)? })
    }
}

/// Torque at which the jaws begin to gape ([`GAP`]).
///
/// # Errors
/// `squeeze-offset` out of ±b/6, force out of range.
pub fn gap_torque(jaw: Jaw, squeeze: Force, offset: Length) -> Result<Torque, OutOfRange> {
    let kern = jaw.b_mm / 6.0;
    let e = length_mm("squeeze-offset", offset, -kern, kern)?.abs();
    Ok(Torque::newton_metres(2.0 * force_n("squeeze", squeeze)? * (kern - e) / 1e3))
}

/// Torque that a pinching arm holds without gap and without yield ([`NO_YIELD`]).
///
/// # Errors
/// `squeeze` above p_y·b·t (less where it is offset): the jaws are crushed on tightening; others as [`gap_torque`].
pub fn no_yield_torque(
    jaw: Jaw,
    squeeze_low: Force,
    squeeze_high: Force,
    offset: Length,
    yield_pressure: Stress,
) -> Result<Torque, OutOfRange> {
    let full = strength_mpa("yield-pressure", yield_pressure)? * jaw.b_mm * jaw.t_mm;
    let gap = gap_torque(jaw, squeeze_low, offset)?;
    let peak = 1.0 + 6.0 * offset.as_millimetres().abs() / jaw.b_mm;
    within("squeeze", squeeze_high.as_newtons(), 0.0, full / peak, "N")?;
    let room = full - squeeze_high.as_newtons() * peak;
    Ok(gap.min(Torque::newton_metres(jaw.b_mm / 3.0 * room / 1e3)))
}

/// Highest pressure of the jaws under a torque that does not yet open them ([`PRESSURE`]).
///
/// # Errors
/// `torque` above F·b/3, or `squeeze` out of 1 N to 1000 kN.
pub fn jaw_pressure(jaw: Jaw, squeeze: Force, torque: Torque) -> Result<Stress, OutOfRange> {
    within("squeeze", squeeze.as_newtons(), 1.0, 1e6, "N")?;
    let f = squeeze.as_newtons();
    within("torque", torque.as_newton_metres(), 0.0, f * jaw.b_mm / 3e3, "N·m")?;
    let share = 3.0 * torque.as_newton_metres() * 1e3 / (f * jaw.b_mm);
    Ok(Stress::megapascals(f / (jaw.b_mm * jaw.t_mm) * (1.0 + share)))
}

/// Squeeze that crushes the jaws all over, p_c·b·t ([`PLASTIC`]).
///
/// # Errors
/// `crush-pressure` out of range.
pub fn crushing_squeeze(jaw: Jaw, crush_pressure: Stress) -> Result<Force, OutOfRange> {
    Ok(Force::newtons(strength_mpa("crush-pressure", crush_pressure)? * jaw.t_mm * jaw.b_mm))
}

/// Plastic torque of the jaws ([`PLASTIC`]). For a squeeze from low to high the smaller of both ends counts.
///
/// # Errors
/// `squeeze` above p_c·b·t.
pub fn plastic_torque(jaw: Jaw, squeeze: Force, crush_pressure: Stress) -> Result<Torque, OutOfRange> {
    let line = strength_mpa("crush-pressure", crush_pressure)? * jaw.t_mm;
    let f = squeeze.as_newtons();
    within("squeeze", f, 0.0, line * jaw.b_mm, "N")?;
    Ok(Torque::newton_metres(f * (jaw.b_mm - f / line) / 1e3))
}

/// What no squeeze can exceed: p_c·t·b²/4 ([`PLASTIC`]).
///
/// # Errors
/// `crush-pressure` out of range.
pub fn plastic_cap(jaw: Jaw, crush_pressure: Stress) -> Result<Torque, OutOfRange> {
    let p_c = strength_mpa("crush-pressure", crush_pressure)?;
    Ok(Torque::newton_metres(p_c * jaw.t_mm * jaw.b_mm * jaw.b_mm / 4.0 / 1e3))
}

/// Squeeze of a jaw with one slit ([`ONE_SIDED`]); levers from the uncut side, `closing` bends the jaw shut.
///
/// # Errors
/// `closing-moment` above the bolts' moment; a lever or force out of range.
pub fn one_sided_squeeze(
    bolts: Force,
    bolt_lever: Length,
    closing: Torque,
    flat_lever: Length,
) -> Result<Force, OutOfRange> {
    let moment = force_n("bolt-force", bolts)? * size_mm("bolt-lever", bolt_lever)?;
    within("closing-moment", closing.as_newton_metres(), 0.0, moment / 1e3, "N·m")?;
    Ok(Force::newtons((moment - closing.as_newton_metres() * 1e3) / size_mm("flat-lever", flat_lever)?))
}

/// Amplitude of stress in each of two pinch bolts at a spacing, under a torque both ways ([`BOLT_SWING`]).
///
/// # Errors
/// `bolt-spacing` or `torque` out of range.
pub fn bolt_swing(bolt: Thread, spacing: Length, torque: Torque) -> Result<Stress, OutOfRange> {
    let force = torque_nm("torque", torque)? * 1e3 / (2.0 * size_mm("bolt-spacing", spacing)?);
    Ok(Stress::megapascals(force / bolt.stress_area().as_square_millimetres()))
}

/// Endurance limit of a bolt, amplitude ([`BOLT_ENDURANCE`]).
///
/// # Errors
/// `bolt-diameter` out of 4 to 40 mm.
pub fn bolt_endurance(bolt: Thread) -> Result<Stress, OutOfRange> {
    let d_mm = length_mm("bolt-diameter", bolt.nominal(), 4.0, 40.0)?;
    Ok(Stress::megapascals(0.85 * (150.0 / d_mm + 45.0)))
}
