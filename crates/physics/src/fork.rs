//! A front fork whose one blade takes the torque of the hub.

use crate::checked::{force_n, length_mm, size_mm, torque_nm};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;
use quantity::{Force, Length, Stress, Torque};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&BLADE_MOMENT, &BLADE_STRESS];

/// Bending of the blade with the torque arm at the crown.
pub const BLADE_MOMENT: Formula = Formula {
    name: "fork-blade-moment",
    equation: "M = F·l/2 + T_arm on the blade with the arm, F·l/2 on the other; together F·(r + l)",
    source: "planar statics of the braked front wheel (PHYSICS-DETAIL M6)",
    valid: "one arm on one blade; rigid crown; F the braking force at the tyre, l from axle to crown along the blade",
    left_out: "weight and rake, which bend the other way while braking (safe); shear of the axle between the blades",
    checked_by: "law_both_blades_carry_the_ground_force",
};

/// Stress in a round blade.
pub const BLADE_STRESS: Formula = Formula {
    name: "fork-blade-stress",
    equation: "σ = 32·M·D/(π·(D⁴ − (D − 2t)⁴))",
    source: "bending of a tube (Gere, Mechanics of Materials)",
    valid: "round metal blade; carbon and suspension forks are refused by the caller",
    left_out: "heat-affected zones of brazing and welding; oval blades (take the size along the bike)",
    checked_by: "validates_blade_against_published_tube",
};

/// Bending moment at the crown in the blade that carries the arm ([`BLADE_MOMENT`]).
///
/// # Errors
/// Force, length or torque out of range.
pub fn blade_moment(braking: Force, blade: Length, arm: Torque) -> Result<Torque, OutOfRange> {
    let half_nm = force_n("braking-force", braking)? * length_mm("blade-length", blade, 50.0, 1000.0)? / 2e3;
    Ok(Torque::newton_metres(half_nm + torque_nm("arm-torque", arm)?))
}

/// Bending stress in a round blade ([`BLADE_STRESS`]).
///
/// # Errors
/// `blade-wall` not between 0.1 mm and half the diameter; a size or moment out of range.
pub fn blade_stress(moment: Torque, diameter: Length, wall: Length) -> Result<Stress, OutOfRange> {
    let d = size_mm("blade-diameter", diameter)?;
    let inner = d - 2.0 * length_mm("blade-wall", wall, 0.1, d / 2.0)?;
    let fourth = d * d * d * d - inner * inner * inner * inner;
    Ok(Stress::megapascals(32.0 * torque_nm("blade-moment", moment)? * 1e3 * d / (PI * fourth)))
}
