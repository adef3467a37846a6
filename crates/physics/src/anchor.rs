//! The far end of a torque arm: bolt or band clamp.

use super::checked::within;
use super::checked::{count, force_n, friction, ratio, size_mm, strength_mpa, torque_nm};
use super::si::{Area, Force, Friction, Length, Ratio, Stiffness, Stress, Torque, TorsionalStiffness};
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] =
    &[&ARM_FORCE, &ANCHOR_SLIP, &BOLT_SHEAR, &BOLT_BEARING, &BAND_GAP, &BAND_SLIP, &TUBE_WALL, &ARM_STIFFNESS];

/// Force at the end of an arm.
pub const ARM_FORCE: Formula = Formula {
    name: "arm-force",
    equation: "F_a = T/a, across the arm; the axle feels −F_a across its slot",
    source: "statics",
    valid: "a from axle to anchor, square to the force",
    left_out: "nothing",
    checked_by: "validates_anchor_example",
};

/// Torque that an arm carries before its anchor slips.
pub const ANCHOR_SLIP: Formula = Formula {
    name: "anchor-slip",
    equation: "F ≤ n·μ·F_low/SF;  T = a·F",
    source: "friction joint, NASA-STD-5020B section 4.4.6 (joint slip); reversing load",
    valid: "F_low after loss; n slip faces",
    left_out: "bearing of the bolt in its hole after slip (see bolt-bearing)",
    checked_by: "validates_anchor_example",
};

/// Shear of bolts or pins.
pub const BOLT_SHEAR: Formula = Formula {
    name: "bolt-shear",
    equation: "τ = F/(n·A)",
    source: "Shigley, Mechanical Engineering Design, section 8-12 (from memory)",
    valid: "n shear planes in all; A stress area if the thread lies in the plane",
    left_out: "bending of a bolt in a thick or loose joint",
    checked_by: "validates_shear_and_bearing",
};

/// Bearing of a bolt in its hole.
pub const BOLT_BEARING: Formula = Formula {
    name: "bolt-bearing",
    equation: "p = F/(d·t)",
    source: "Shigley, Mechanical Engineering Design, section 8-12 (from memory)",
    valid: "t of the thinner part",
    left_out: "tear-out to the edge (keep 2·d)",
    checked_by: "validates_shear_and_bearing",
};

/// Pull at which a band clamp opens.
pub const BAND_GAP: Formula = Formula {
    name: "band-gap",
    equation: "F_gap = 2·F_band,low",
    source: "statics: both legs of the band carry its tension",
    valid: "pull away from the tube",
    left_out: "nothing",
    checked_by: "validates_band_clamp",
};

/// Friction of a band clamp along the tube.
pub const BAND_SLIP: Formula = Formula {
    name: "band-slip",
    equation: "F = 4·μ·F_band",
    source: "own derivation: two halves pressed by 2·F_band each (a closely fitting band reaches 2π·μ·F_band: safe)",
    valid: "force along the tube only",
    left_out: "soft liners",
    checked_by: "validates_band_clamp",
};

/// Push at which a tube's wall caves in.
pub const TUBE_WALL: Formula = Formula {
    name: "tube-wall",
    equation: "F = 2·σ_y·t²·L/D",
    source: "DeRuntz and Hodge 1963, crushing of a tube between plates, from memory",
    valid: "metal tube, t < D/8, load over the length L",
    left_out: "help from the tube beside the clamp (safe); carbon is refused by the caller",
    checked_by: "validates_band_clamp",
};

/// Torsional stiffness of an arm at the axle.
pub const ARM_STIFFNESS: Formula = Formula {
    name: "arm-stiffness",
    equation: "1/k = 1/k_arm + 1/(a²·k_anchor)",
    source: "springs in series",
    valid: "a square to the anchor's force",
    left_out: "stiffness of the jaws",
    checked_by: "validates_anchor_example",
};

/// Force at the anchor of an arm ([`ARM_FORCE`]).
///
/// # Errors
/// Torque or arm length out of range.
pub fn arm_force(torque: Torque, arm: Length) -> Result<Force, OutOfRange> {
    Ok(Force::newtons(torque_nm("arm-torque", torque)? * 1e3 / size_mm("arm-length", arm)?))
}

/// Force at which a bolted anchor slips, over the safety factor ([`ANCHOR_SLIP`]).
///
/// # Errors
/// `slip-faces` out of 1 to 20, `safety-factor` out of 1 to 5, force or friction out of range.
pub fn slip_force(clamp_low: Force, face: Friction, slip_faces: u32, safety: Ratio) -> Result<Force, OutOfRange> {
    let n = count("slip-faces", slip_faces, 1, 20)?;
    let newtons = n * friction("face-friction", face)? * force_n("clamp-force", clamp_low)?;
    Ok(Force::newtons(newtons / ratio("safety-factor", safety, 1.0, 5.0)?))
}

/// Torque that an arm carries while its anchor may bear this force ([`ANCHOR_SLIP`]).
///
/// # Errors
/// Force or arm length out of range.
pub fn arm_capacity(anchor: Force, arm: Length) -> Result<Torque, OutOfRange> {
    Ok(Torque::newton_metres(force_n("anchor-force", anchor)? * size_mm("arm-length", arm)? / 1e3))
}

/// Shear stress of bolts or pins ([`BOLT_SHEAR`]).
///
/// # Errors
/// `shear-planes` out of 1 to 100, area out of 0.1 mm² to 0.1 m², or force out of range.
pub fn bolt_shear(force: Force, area: Area, shear_planes: u32) -> Result<Stress, OutOfRange> {
    let n = count("shear-planes", shear_planes, 1, 100)?;
    within("shear-area", area.as_square_millimetres(), 0.1, 1e5, "mm²")?;
    Ok(Stress::megapascals(force_n("shear-force", force)? / (n * area.as_square_millimetres())))
}

/// Bearing pressure of a bolt in its hole ([`BOLT_BEARING`]).
///
/// # Errors
/// Force or a size out of range.
pub fn bolt_bearing(force: Force, bolt_diameter: Length, thickness: Length) -> Result<Stress, OutOfRange> {
    let area_mm2 = size_mm("bolt-diameter", bolt_diameter)? * size_mm("thickness", thickness)?;
    Ok(Stress::megapascals(force_n("bearing-force", force)? / area_mm2))
}

/// Pull away from the tube at which a band clamp gapes ([`BAND_GAP`]).
///
/// # Errors
/// `band-tension` out of range.
pub fn band_gap_force(band_low: Force) -> Result<Force, OutOfRange> {
    Ok(Force::newtons(2.0 * force_n("band-tension", band_low)?))
}

/// Force along the tube at which a band clamp slips ([`BAND_SLIP`]).
///
/// # Errors
/// Tension or friction out of range.
pub fn band_slip_force(band_low: Force, face: Friction) -> Result<Force, OutOfRange> {
    Ok(Force::newtons(4.0 * friction("face-friction", face)? * force_n("band-tension", band_low)?))
}

/// Push at which a tube's wall caves in ([`TUBE_WALL`]).
///
/// # Errors
/// `tube-wall` not below an eighth of the tube's diameter; a size or strength out of range.
pub fn tube_wall_force(
    tube_diameter: Length,
    wall: Length,
    width: Length,
    yield_strength: Stress,
) -> Result<Force, OutOfRange> {
    let d = size_mm("tube-diameter", tube_diameter)?;
    within("tube-wall", wall.as_millimetres(), 0.1, d / 8.0, "mm")?;
    let t = wall.as_millimetres();
    let l = size_mm("clamp-width", width)?;
    Ok(Force::newtons(2.0 * strength_mpa("yield-strength", yield_strength)? * t * t * l / d))
}

/// Torsional stiffness of an arm with its anchor ([`ARM_STIFFNESS`]).
///
/// # Errors
/// `arm-length`, `arm-stiffness` or `anchor-stiffness` out of range.
pub fn arm_stiffness(
    arm: Length,
    arm_alone: TorsionalStiffness,
    anchor: Stiffness,
) -> Result<TorsionalStiffness, OutOfRange> {
    let a_m = size_mm("arm-length", arm)? / 1e3;
    let k_arm = super::checked::stiffness_nm_rad("arm-stiffness", arm_alone)?;
    within("anchor-stiffness", anchor.as_newtons_per_metre(), 1.0, 1e12, "N/m")?;
    let k_anchor = a_m * a_m * anchor.as_newtons_per_metre();
    Ok(TorsionalStiffness::newton_metres_per_radian(k_arm * k_anchor / (k_arm + k_anchor)))
}
