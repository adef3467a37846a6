//! Nut torque and preload: friction, stress while tightening, loss afterwards, the most a nut may get.

use super::checked::within;
use super::checked::{force_n, friction, length_mm, ratio, size_mm, strength_mpa, torque_nm};
use super::si::{Compliance, Force, Friction, Length, Ratio, Stress, Torque};
use super::thread::{StripForces, Thread, ThreadedSection};
use super::{Number, math};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[
    &PRELOAD,
    &NUT_FACTOR,
    &STRESS_WHILE_TIGHTENING,
    &TORQUE_LIMIT,
    &BOLT_COMPLIANCE,
    &PLATE_COMPLIANCE_SLEEVE,
    &PLATE_COMPLIANCE_CONE,
    &EMBEDDING_LOSS,
    &TIGHTENING_FACTOR,
];

/// Torque and preload, long form.
pub const PRELOAD: Formula = Formula {
    name: "preload",
    equation: "T = F·[P/(2π) + μ_t·d2/(2·cos 30°) + μ_f·D_f/2]",
    source: "VDI 2230-1:2003 equation R13/1 (Motosh form); NASA-STD-5020B appendix A gives the same terms",
    valid: "60° thread, nut turned on a flat face, elastic",
    left_out: "prevailing torque of lock nuts (unsafe for holding), wear of the face on repeated tightening",
    checked_by: "validates_vdi_preload_and_torque: VDI 2230 tables at 90 % of yield",
};

/// Nut factor of the short form, a cross-check only.
pub const NUT_FACTOR: Formula = Formula {
    name: "nut-factor",
    equation: "K = T/(F·d)",
    source: "MIL-HDBK-60; Shigley, Mechanical Engineering Design, section 8-8 (from memory)",
    valid: "shown beside the long form, never used in its place",
    left_out: "everything: one number for geometry and both frictions",
    checked_by: "validates_nut_factor, validates_short_form_textbook",
};

/// Equivalent stress while the nut turns.
pub const STRESS_WHILE_TIGHTENING: Formula = Formula {
    name: "stress-while-tightening",
    equation: "σ_v = √(σ² + 3τ²);  σ = F/A_net;  τ = F·[P/(2π) + μ_t·d2/(2·cos 30°)]/W_p;  W_p = π(d_s³ − d_b³)/12",
    source: "VDI 2230-1:2003 section 5.5 (fully plastic torsion modulus); net section with flats and bore: own derivation",
    valid: "older tables use the elastic modulus π·d_s³/16 and nominal yields: do not mix",
    left_out: "bending by a nut face out of square; the flats in W_p (see thread-plastic-torsion-modulus)",
    checked_by: "validates_vdi_preload_and_torque, validates_axle_with_bore_yields",
};

/// The most torque that a nut may get.
pub const TORQUE_LIMIT: Formula = Formula {
    name: "nut-torque-limit",
    equation: "T_max·(1 + tool) gives, at the low frictions, the least of F(σ_v = ν·R_p0.2) and 0.8·F_strip",
    source: "ν = 0.9: VDI 2230-1; 0.8 of the strip force: common practice",
    valid: "frictions given at their low end (they make the preload high), strip force at its low end",
    left_out: "wear of threads that were used before",
    checked_by: "law_the_limit_is_never_passed, validates_vdi_preload_and_torque",
};

/// Compliance of the axle or bolt.
pub const BOLT_COMPLIANCE: Formula = Formula {
    name: "bolt-compliance",
    equation: "δ_S = [(l + 0.5·d)·A_3⁻¹ + (0.4·d)·A_N⁻¹]/E;  A_3 root section, A_N = π/4·d², both less flats and bore",
    source: "VDI 2230-1:2003 section 5.1.1 (0.5·d engaged thread, 0.4·d nut), from memory; flats and bore own addition",
    valid: "clamped length all thread, 1 to 200 mm; shoulder taken as rigid",
    left_out: "compliance of the shoulder (makes δ_S smaller and the loss larger: safe)",
    checked_by: "validates_compliance_of_the_example_joint",
};

/// Compliance of clamped parts that are thin sleeves or washers.
pub const PLATE_COMPLIANCE_SLEEVE: Formula = Formula {
    name: "plate-compliance-sleeve",
    equation: "δ_P = l/(E·π/4·(D² − d_h²))",
    source: "VDI 2230-1:2003 section 5.1.2 (sleeve)",
    valid: "outer diameter of the parts not larger than the bearing face",
    left_out: "slots in the parts (take a smaller D)",
    checked_by: "validates_cone_against_thin_slices",
};

/// Compliance of clamped parts wider than the bearing face.
pub const PLATE_COMPLIANCE_CONE: Formula = Formula {
    name: "plate-compliance-cone",
    equation: "δ_P = 2·ln[(d_w + d_h)(d_w + l·tan φ − d_h)/((d_w − d_h)(d_w + l·tan φ + d_h))]/(E·π·d_h·tan φ)",
    source: "VDI 2230-1:2003 section 5.1.2 (two cones meeting in the middle), tan φ = 0.6 as a round mean, from memory",
    valid: "parts at least d_w + l·tan φ wide; both bearing faces of diameter d_w",
    left_out: "the small change of φ with the proportions (some 5 %)",
    checked_by: "validates_cone_against_thin_slices",
};

/// Preload lost by settling.
pub const EMBEDDING_LOSS: Formula = Formula {
    name: "embedding-loss",
    equation: "F_Z = f_Z/(δ_S + δ_P)",
    source: "VDI 2230-1:2003 section 5.4.2; amounts f_Z table 5 (from memory)",
    valid: "settling 0 to 200 µm (paint included)",
    left_out: "creep of plastics and thick paint with time (unsafe: retighten after the first ride)",
    checked_by: "validates_embedding_of_a_short_joint",
};

/// Tightening factor and the preload range.
pub const TIGHTENING_FACTOR: Formula = Formula {
    name: "tightening-factor",
    equation: "α_A = F_max/F_min;  F_min = 2F/(1 + α_A);  F_max = 2·α_A·F/(1 + α_A)",
    source: "VDI 2230-1:2003 section 5.4.3 and table A8; ends taken as the 2.3 and 97.7 % points (own rule)",
    valid: "1 ≤ α_A ≤ 5",
    left_out: "nothing more than the factor itself: never applied on top of sampled frictions",
    checked_by: "validates_tightening_factor",
};

/// Share of the strip force that a preload may reach (common practice).
pub const STRIP_USE: f64 = 0.8;
/// Share of the yield strength that an axle or bolt may reach while it is tightened (VDI 2230-1).
pub const YIELD_USE: f64 = 0.9;
const COS_30: f64 = 0.866_025_403_784_438_6;
/// Slope of the pressure cone for `PLATE_COMPLIANCE_CONE`.
const CONE_TAN: f64 = 0.6;

/// A nut being turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turning {
    /// Its thread.
    pub thread: Thread,
    /// Friction in the thread.
    pub thread_friction: Friction,
    /// Friction under the turning face (not that of the holding faces).
    pub face_friction: Friction,
    /// Mean diameter of the turning face.
    pub face_mean_diameter: Length,
}

/// Mean diameter of a ring-shaped face, (D_i + D_o)/2, as VDI 2230 takes it.
///
/// # Errors
/// `face-inner-diameter` or `face-outer-diameter` out of range, or outer not larger than inner.
pub fn face_mean_diameter(inner: Length, outer: Length) -> Result<Length, OutOfRange> {
    let inner_mm = size_mm("face-inner-diameter", inner)?;
    let outer_mm = length_mm("face-outer-diameter", outer, inner_mm, 2000.0)?;
    Ok(Length::millimetres((inner_mm + outer_mm) / 2.0))
}

/// Lever arms of one newton of preload, in mm: turning up the thread's slope and against its friction.
pub(crate) fn thread_arms_mm(thread: Thread, friction: Number) -> (Number, Number) {
    (thread.pitch_mm() / (2.0 * PI), friction * thread.d2_mm() / (2.0 * COS_30))
}

fn arms_mm(turning: &Turning) -> Result<(Number, Number), OutOfRange> {
    let mu_t = friction("thread-friction", turning.thread_friction)?;
    let mu_f = friction("face-friction", turning.face_friction)?;
    let d_mm = turning.thread.nominal_mm();
    let face_mm = length_mm("face-mean-diameter", turning.face_mean_diameter, d_mm * 0.8, d_mm * 5.0)?;
    let (slope, rub) = thread_arms_mm(turning.thread, mu_t);
    Ok((slope + rub, mu_f * face_mm / 2.0))
}

/// Preload that a torque on the nut gives ([`PRELOAD`]).
///
/// # Errors
/// Torque, friction (0.01 to 1.5) or face diameter (0.8 to 5 d) out of range.
pub fn preload(turning: &Turning, torque: Torque) -> Result<Force, OutOfRange> {
    let (thread_mm, face_mm) = arms_mm(turning)?;
    Ok(Force::newtons(torque_nm("nut-torque", torque)? * 1e3 / (thread_mm + face_mm)))
}

/// Torque on the nut that gives a preload ([`PRELOAD`]).
///
/// # Errors
/// As [`preload`].
pub fn nut_torque(turning: &Turning, preload: Force) -> Result<Torque, OutOfRange> {
    let (thread_mm, face_mm) = arms_mm(turning)?;
    Ok(Torque::newton_metres(force_n("preload", preload)? * (thread_mm + face_mm) / 1e3))
}

/// Factor K of the short form T = K·F·d that says the same ([`NUT_FACTOR`]).
///
/// # Errors
/// As [`preload`].
pub fn nut_factor(turning: &Turning) -> Result<Ratio, OutOfRange> {
    let (thread_mm, face_mm) = arms_mm(turning)?;
    Ok(Ratio::new((thread_mm + face_mm) / turning.thread.nominal_mm()))
}

/// Preload by the short form F = T/(K·d): a cross-check to show beside [`preload`] ([`NUT_FACTOR`]).
///
/// # Errors
/// `nut-factor` out of 0.05 to 0.6, or torque out of range.
pub fn preload_short_form(thread: Thread, nut_factor: Ratio, torque: Torque) -> Result<Force, OutOfRange> {
    let k = ratio("nut-factor", nut_factor, 0.05, 0.6)?;
    Ok(Force::newtons(torque_nm("nut-torque", torque)? * 1e3 / (k * thread.nominal_mm())))
}

/// Von Mises stress in the net section while the nut turns ([`STRESS_WHILE_TIGHTENING`]).
///
/// # Errors
/// Friction or preload out of range.
pub fn stress_while_tightening(
    section: ThreadedSection,
    thread_friction: Friction,
    preload: Force,
) -> Result<Stress, OutOfRange> {
    let force = force_n("preload", preload)?;
    Ok(Stress::megapascals(force * stress_per_newton_mpa(section, thread_friction)?))
}

fn stress_per_newton_mpa(section: ThreadedSection, thread_friction: Friction) -> Result<Number, OutOfRange> {
    let (slope_mm, rub_mm) = thread_arms_mm(section.thread(), friction("thread-friction", thread_friction)?);
    let sigma = 1.0 / section.net_area_mm2();
    let tau = (slope_mm + rub_mm) / section.plastic_torsion_modulus_mm3();
    Ok((sigma * sigma + 3.0 * tau * tau).sqrt())
}

/// Preload at which the stress while tightening reaches a share of the yield strength ([`STRESS_WHILE_TIGHTENING`]).
///
/// # Errors
/// `yield-use` out of 0.1 to 1, yield strength or friction out of range.
pub fn preload_at_yield(
    section: ThreadedSection,
    thread_friction: Friction,
    yield_strength: Stress,
    yield_use: Ratio,
) -> Result<Force, OutOfRange> {
    let allowed_mpa = ratio("yield-use", yield_use, 0.1, 1.0)? * strength_mpa("yield-strength", yield_strength)?;
    Ok(Force::newtons(allowed_mpa / stress_per_newton_mpa(section, thread_friction)?))
}

/// What stops a nut from being tightened further.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TighteningLimit {
    /// The axle or bolt yields.
    Yield,
    /// The axle's or bolt's thread strips.
    ExternalThread,
    /// The nut's thread strips.
    InternalThread,
}

/// The most a nut may get.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TorqueLimit {
    /// Torque to set on the tool.
    pub torque: Torque,
    /// Highest preload that this torque can give.
    pub highest_preload: Force,
    /// What comes next.
    pub limit: TighteningLimit,
}

/// Torque at which the HIGH preload just reaches the limit ([`TORQUE_LIMIT`]).
///
/// `turning` carries the LOW frictions, `strip` the LOW strip forces, `tool_deviation` the tool's class (0.04 for 4 %),
/// `yield_use` is [`YIELD_USE`] unless there is a reason.
///
/// # Errors
/// `tool-deviation` out of 0 to 0.6, or as [`preload_at_yield`] and [`nut_torque`].
pub fn torque_limit(
    section: ThreadedSection,
    turning: &Turning,
    yield_strength: Stress,
    yield_use: Ratio,
    strip: StripForces,
    tool_deviation: Ratio,
) -> Result<TorqueLimit, OutOfRange> {
    let tool = ratio("tool-deviation", tool_deviation, 0.0, 0.6)?;
    let turning = Turning { thread: section.thread(), ..*turning };
    let mut highest_preload = preload_at_yield(section, turning.thread_friction, yield_strength, yield_use)?;
    let mut limit = TighteningLimit::Yield;
    for (force, which) in
        [(strip.external, TighteningLimit::ExternalThread), (strip.internal, TighteningLimit::InternalThread)]
    {
        let allowed = Force::newtons(STRIP_USE * force_n("strip-force", force)?);
        if allowed < highest_preload {
            (highest_preload, limit) = (allowed, which);
        }
    }
    Ok(TorqueLimit { torque: nut_torque(&turning, highest_preload)? / (1.0 + tool), highest_preload, limit })
}

/// Compliance of an axle stub or bolt over its clamped length, all thread ([`BOLT_COMPLIANCE`]).
///
/// # Errors
/// `clamped-length` out of 1 to 200 mm, or `elastic-modulus` out of range.
pub fn bolt_compliance(section: ThreadedSection, clamped: Length, modulus: Stress) -> Result<Compliance, OutOfRange> {
    let l_mm = length_mm("clamped-length", clamped, 1.0, 200.0)?;
    let e_mpa = strength_mpa("elastic-modulus", modulus)?;
    let d_mm = section.thread().nominal_mm();
    let bore_mm2 = PI / 4.0 * section.bore_mm() * section.bore_mm();
    let root_mm2 = super::thread::flatted_circle_mm2(section.thread().d3_mm(), section.s_mm()) - bore_mm2;
    let nominal_mm2 = super::thread::flatted_circle_mm2(d_mm, section.s_mm()) - bore_mm2;
    let per_e = (l_mm + 0.5 * d_mm) / root_mm2 + 0.4 * d_mm / nominal_mm2;
    Ok(Compliance::millimetres_per_newton(per_e / e_mpa))
}

/// Compliance of clamped washers or sleeves ([`PLATE_COMPLIANCE_SLEEVE`]).
///
/// # Errors
/// A size out of range, outer not larger than hole.
pub fn sleeve_compliance(
    hole: Length,
    outer: Length,
    thickness: Length,
    modulus: Stress,
) -> Result<Compliance, OutOfRange> {
    let hole_mm = size_mm("hole", hole)?;
    let outer_mm = length_mm("outer-diameter", outer, hole_mm * 1.01, 2000.0)?;
    let l_mm = size_mm("clamped-length", thickness)?;
    let e_mpa = strength_mpa("elastic-modulus", modulus)?;
    let area_mm2 = PI / 4.0 * (outer_mm * outer_mm - hole_mm * hole_mm);
    Ok(Compliance::millimetres_per_newton(l_mm / (e_mpa * area_mm2)))
}

/// Compliance of wide clamped plates ([`PLATE_COMPLIANCE_CONE`]).
///
/// # Errors
/// A size out of range, bearing face not larger than hole.
pub fn plate_compliance(
    hole: Length,
    bearing: Length,
    thickness: Length,
    modulus: Stress,
) -> Result<Compliance, OutOfRange> {
    let h = size_mm("hole", hole)?;
    let w = length_mm("bearing-diameter", bearing, h * 1.01, 2000.0)?;
    let wide = w + size_mm("clamped-length", thickness)? * CONE_TAN;
    let e_mpa = strength_mpa("elastic-modulus", modulus)?;
    let log = math::log((w + h) * (wide - h) / ((w - h) * (wide + h)));
    Ok(Compliance::millimetres_per_newton(2.0 * log / (e_mpa * PI * h * CONE_TAN)))
}

/// Preload lost when the joint settles by a length ([`EMBEDDING_LOSS`]).
///
/// # Errors
/// `settling` out of 0 to 0.2 mm, or a compliance of the joint out of 10⁻⁸ to 10⁻³ mm/N.
pub fn embedding_loss(settling: Length, bolt: Compliance, plates: Compliance) -> Result<Force, OutOfRange> {
    let settling_mm = length_mm("settling", settling, 0.0, 0.2)?;
    let joint = (bolt + plates).as_millimetres_per_newton();
    within("joint-compliance", joint, 1e-8, 1e-3, "mm/N")?;
    Ok(Force::newtons(settling_mm / joint))
}

/// What is left of a preload after a loss; none where the loss is as large.
///
/// # Errors
/// `preload` or `preload-loss` out of 0 to 1000 kN.
pub fn preload_after_loss(preload: Force, loss: Force) -> Result<Force, OutOfRange> {
    Ok(Force::newtons((force_n("preload", preload)? - force_n("preload-loss", loss)?).max(0.0)))
}

/// A preload as it really is: low, middle, high.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PreloadRange {
    /// 2.3 % point.
    pub low: Force,
    /// Middle, as computed.
    pub mid: Force,
    /// 97.7 % point.
    pub high: Force,
}

impl PreloadRange {
    /// α_A = high/low.
    pub fn tightening_factor(self) -> Ratio {
        Ratio::new(self.high / self.low)
    }
}

/// Range of a preload of which only the tightening factor is known ([`TIGHTENING_FACTOR`]).
///
/// # Errors
/// `tightening-factor` out of 1 to 5, or `preload` out of range.
pub fn preload_range(mid: Force, tightening_factor: Ratio) -> Result<PreloadRange, OutOfRange> {
    let alpha = ratio("tightening-factor", tightening_factor, 1.0, 5.0)?;
    let force = force_n("preload", mid)?;
    let low = 2.0 * force / (1.0 + alpha);
    Ok(PreloadRange { low: Force::newtons(low), mid, high: Force::newtons(alpha * low) })
}
