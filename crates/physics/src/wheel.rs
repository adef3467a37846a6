//! Spokes and cover screws under a torque that reverses.

use super::checked::within;
use super::checked::{count, force_n, friction, size_mm, torque_nm};
use super::si::{Force, Friction, Length, Torque, WheelTorque};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&SPOKE_CHANGE, &SPOKE_LEFT, &COVER_SLIP];

/// Change of spoke tension.
pub const SPOKE_CHANGE: Formula = Formula {
    name: "spoke-tension-change",
    equation: "ΔF = T/(n·ρ);  ρ = R·r_f·sin β/√(R² + r_f² − 2·R·r_f·cos β);  β = 720°·crosses/n",
    source: "own derivation: lever arm of the spoke's line about the axle (PHYSICS-DETAIL section 3)",
    valid: "crossed spokes, n on both flanges together, rigid rim; radial spokes are refused",
    left_out: "twist of the rim (small), flange width (the arm is taken in the wheel's plane)",
    checked_by: "validates_spoke_lever_by_coordinates",
};

/// Tension that the losing spokes keep.
pub const SPOKE_LEFT: Formula = Formula {
    name: "spoke-tension-left",
    equation: "F_min = F_0 − ΔF > 0",
    source: "statics: half the spokes gain, half lose",
    valid: "rim in its plane",
    left_out: "weight of the rider on the lowest spokes (unsafe: take it off F_0)",
    checked_by: "law_a_slack_spoke_is_refused",
};

/// Torque that the cover's screws hold.
pub const COVER_SLIP: Formula = Formula {
    name: "cover-screws-slip",
    equation: "T = n·μ·F·r",
    source: "friction joint, NASA-STD-5020B section 4.4.6",
    valid: "screws on one circle, LOW preload; for shear after slip see pin-shear with the screws' stress area",
    left_out: "spigot of the cover",
    checked_by: "validates_cover_slip",
};

/// How a wheel is laced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lacing {
    /// All spokes of the wheel (a pure count).
    pub spokes: u32,
    /// How often a spoke crosses others of its flange (a pure count).
    pub crosses: u32,
    /// Radius of the rim at the spokes' heads.
    pub rim_radius: Length,
    /// Radius of the flange's holes.
    pub flange_radius: Length,
}

/// Change of tension in each spoke, half gain and half lose ([`SPOKE_CHANGE`]).
///
/// # Errors
/// `spokes` out of 12 to 72; `spoke-crosses` zero (radial spokes carry no torque) or more than n/5; radii out of range.
pub fn spoke_tension_change(torque: WheelTorque, lacing: &Lacing) -> Result<Force, OutOfRange> {
    within("wheel-torque", torque.as_newton_metres(), 0.0, 1e4, "N·m")?;
    let n = count("spokes", lacing.spokes, 12, 72)?;
    let crosses = count("spoke-crosses", lacing.crosses, 1, lacing.spokes / 5)?;
    let rim = size_mm("rim-radius", lacing.rim_radius)?;
    let flange = size_mm("flange-radius", lacing.flange_radius)?;
    within("flange-radius", flange, 0.01, 0.95 * rim, "mm")?;
    let beta = 4.0 * PI * crosses / n;
    let length = (rim * rim + flange * flange - 2.0 * rim * flange * libm::cos(beta)).sqrt();
    let arm_mm = rim * flange * libm::sin(beta) / length;
    Ok(Force::newtons(torque.as_newton_metres() * 1e3 / (n * arm_mm)))
}

/// Tension left in the spokes that lose ([`SPOKE_LEFT`]).
///
/// # Errors
/// `tension-change` not below the tension: the spoke goes slack.
pub fn spoke_tension_left(tension: Force, change: Force) -> Result<Force, OutOfRange> {
    let newtons = force_n("spoke-tension", tension)?;
    within("tension-change", change.as_newtons(), 0.0, newtons, "N")?;
    Ok(tension - change)
}

/// Torque that the screws of the hub's cover hold by friction ([`COVER_SLIP`]).
///
/// # Errors
/// `screws` out of 1 to 100, or a value out of range.
pub fn cover_slip_torque(
    preload_low: Force,
    face: Friction,
    screws: u32,
    circle_radius: Length,
) -> Result<Torque, OutOfRange> {
    let newtons =
        count("screws", screws, 1, 100)? * friction("face-friction", face)? * force_n("screw-preload", preload_low)?;
    let torque = Torque::newton_metres(newtons * size_mm("screw-circle-radius", circle_radius)? / 1e3);
    torque_nm("cover-torque", torque)?;
    Ok(torque)
}
