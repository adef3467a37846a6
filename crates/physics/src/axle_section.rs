//! Strength of the axle: torsion of a bored section with flats, together with tension and bending; fatigue.

use super::Number;
use super::checked::within;
use super::checked::{force_n, length_mm, ratio, size_mm, strength_mpa, torque_nm};
use super::si::{Force, Length, Ratio, Stress, Torque, TorsionalStiffness};
use crate::{Formula, OutOfRange};
use core::f64::consts::{FRAC_2_PI, FRAC_PI_4, PI};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[
    &TORSION_BOUND,
    &TORSION_ESTIMATE,
    &TWO_FLATS,
    &PLASTIC_TORQUE,
    &COMBINED_STRESS,
    &STUB_STIFFNESS,
    &HOLD_TEST_LIMIT,
    &ENDURANCE_LIMIT,
    &FATIGUE_USE,
];

/// Upper bound of the shear stress.
pub const TORSION_BOUND: Formula = Formula {
    name: "axle-torsion-bound",
    equation: "τ ≤ max[16·T·s/(π·(s⁴ − d_b⁴)), 16·T/(π·d³·(1 − (d_b/s)⁴))·(1 + √(h/r))]; threaded: d, s → min(·, d3)",
    source: "tube inscribed in the flats (own derivation); round shaft with the rise 0.9·√(h/r) that a shallow flat brings \
             (own perturbation of St-Venant's problem), rounded up to 1",
    valid: "bore concentric; a cable slot makes an open section: refused",
    left_out: "the metal outside the inscribed tube (safe: +20 % at 12/10/6 mm); notch at the thread root (fatigue only); \
               the inscribed tube alone would be up to 5 % too low for flats shallower than 0.07 r",
    checked_by: "validates_t11_torsion, validates_bound_for_shallow_flats, validates_tube_textbook",
};

/// Near value of the shear stress, shown beside the bound.
pub const TORSION_ESTIMATE: Formula = Formula {
    name: "axle-torsion-estimate",
    equation: "τ ≈ max[B(h/r), 0.6366·(1 + 0.9·√(h/r))]·T/r³/(1 − (d_b/s)⁴)",
    source: "two-flats with a bore factor fitted to four St-Venant solutions at 12/10 mm (own fit, grade D)",
    valid: "bore ≤ 0.7·s; verdicts use the bound",
    left_out: "proof: only four points; 0 to 2 % high there",
    checked_by: "validates_t11_torsion",
};

/// Solid shaft with two flats.
pub const TWO_FLATS: Formula = Formula {
    name: "two-flat-shaft",
    equation: "τ = B·T/r³, K = 2C·r⁴; B = 0.6366 + 2.5303x − 11.157x² + 49.568x³ − 85.886x⁴ + 69.849x⁵; C = 0.7854 − \
               0.4053x − 3.5810x² + 5.2708x³ − 2.0772x⁴; x = h/r",
    source: "Roark's Formulas for Stress and Strain, 7th ed., table 10.1 (coefficients from memory, checked by values)",
    valid: "solid, 0 ≤ h/r ≤ 0.6",
    left_out: "against St-Venant K is 0.6 to 1.6 % low, B up to 4 % low for h/r < 0.1 (unsafe: not used alone there)",
    checked_by: "validates_two_flat_shaft",
};

/// Torque at which the section is plastic.
pub const PLASTIC_TORQUE: Formula = Formula {
    name: "axle-plastic-torque",
    equation: "T_p ≥ π·τ_y·(s³ − d_b³)/12;  τ_y = R_p0.2/√3",
    source: "static theorem of limit analysis with the inscribed tube: rigorous lower bound",
    valid: "ductile steel",
    left_out: "the metal outside the inscribed tube (safe)",
    checked_by: "validates_plastic_over_elastic",
};

/// Torsion, tension and bending together.
pub const COMBINED_STRESS: Formula = Formula {
    name: "axle-combined-stress",
    equation: "σ_v = √(σ² + 3τ²);  σ = F/A + 32·M·s/(π(s⁴ − d_b⁴));  τ the bound",
    source: "von Mises; the worst of each taken at one point (safe)",
    valid: "elastic; A the net area of the place",
    left_out: "notches (fatigue only)",
    checked_by: "validates_example_axle_under_tension",
};

/// Torsional stiffness of an axle end.
pub const STUB_STIFFNESS: Formula = Formula {
    name: "axle-stub-stiffness",
    equation: "k = G·(K − π·d_b⁴/32)/l, K of the solid two-flat shaft",
    source: "Roark table 10.1 less the bore's share (own approximation)",
    valid: "bore ≤ 0.7·s",
    left_out: "warping of the bored section (some 2 %)",
    checked_by: "validates_stub_stiffness",
};

/// Pull of the lever hold test.
pub const HOLD_TEST_LIMIT: Formula = Formula {
    name: "hold-test-limit",
    equation: "T ≤ 0.9·τ_y/τ(1 N·m), τ the bound of axle-torsion-bound;  τ_y = √(R_p0.2² − σ²)/√3",
    source: "first yield by the bound (own derivation); 0.9 common practice",
    valid: "flats outside the nut: σ = 0; across the nut: σ = F/A",
    left_out: "metal outside the inscribed tube (safe)",
    checked_by: "validates_hold_test_limit",
};

/// Endurance limit.
pub const ENDURANCE_LIMIT: Formula = Formula {
    name: "endurance-limit",
    equation: "S_e = 0.5·R_m·k/K_f;  K_f = 1 + q·(K_t − 1)",
    source: "Shigley / Marin; numbers as in Sadhu Singh, Machine Design I, example 4.3",
    valid: "steel, R_m ≤ 1400 MPa; k product of surface, size, load and reliability factors (0.05 to 1)",
    left_out: "corrosion (unsafe)",
    checked_by: "validates_endurance_limit",
};

/// Use of the fatigue strength.
pub const FATIGUE_USE: Formula = Formula {
    name: "fatigue-use-goodman",
    equation: "u = √3·τ_a/S_e + √(σ_m² + 3·τ_m²)/R_m",
    source: "Goodman line with von Mises equivalents (Budynas and Nisbett, Shigley's Mechanical Engineering Design, \
             equation 7-7 from memory)",
    valid: "reversing torsion under steady tension; u ≤ 1 for long life; bending that reverses too: τ_a = √(σ_a²/3 + τ²)",
    left_out: "cycle counting: every peak taken at the largest (safe)",
    checked_by: "validates_goodman_shaft (published solution), validates_reversing_torque_shaft (published example), validates_goodman_ends",
};

/// A section of the axle: round or with two flats, solid or bored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxleSection {
    d_mm: Number,
    s_mm: Number,
    bore_mm: Number,
}

impl AxleSection {
    /// From the round diameter (for a threaded place its root diameter d3), across flats (`None`, or wider than the
    /// round: no flats there) and bore (zero: solid).
    ///
    /// # Errors
    /// `axle-diameter` out of range, `across-flats` below 0.4 of it, `bore` above 0.9 of the narrowest width.
    pub fn new(diameter: Length, across_flats: Option<Length>, bore: Length) -> Result<Self, OutOfRange> {
        let d_mm = size_mm("axle-diameter", diameter)?;
        let flats_mm = match across_flats {
            Some(s) => length_mm("across-flats", s, 0.4 * d_mm, 2.0 * d_mm)?,
            None => d_mm,
        };
        let s_mm = flats_mm.min(d_mm);
        Ok(Self { d_mm, s_mm, bore_mm: length_mm("bore", bore, 0.0, 0.9 * s_mm)? })
    }

    /// Depth of a flat over the radius.
    fn depth(self) -> Number {
        1.0 - self.s_mm / self.d_mm
    }

    /// s⁴ − d_b⁴.
    fn fourth(self) -> Number {
        let (s, b) = (self.s_mm * self.s_mm, self.bore_mm * self.bore_mm);
        s * s - b * b
    }

    /// Elastic torsion modulus of the inscribed tube, mm³.
    fn tube_modulus_mm3(self) -> Number {
        PI * self.fourth() / (16.0 * self.s_mm)
    }

    /// Torsion modulus that is never above the true one, mm³ ([`TORSION_BOUND`]).
    fn torsion_modulus_mm3(self) -> Number {
        let (d, s) = (self.d_mm, self.s_mm);
        let round = PI * d * d * d / 16.0 * self.fourth() / (s * s * s * s);
        self.tube_modulus_mm3().min(round / (1.0 + self.depth().sqrt()))
    }

    fn net_area_mm2(self) -> Number {
        super::thread::flatted_circle_mm2(self.d_mm, self.s_mm) - PI / 4.0 * self.bore_mm * self.bore_mm
    }
}

/// Upper bound of the shear stress in torsion ([`TORSION_BOUND`]).
///
/// # Errors
/// `axle-torque` out of range.
pub fn torsion_bound(section: AxleSection, torque: Torque) -> Result<Stress, OutOfRange> {
    Ok(Stress::megapascals(torque_nm("axle-torque", torque)? * 1e3 / section.torsion_modulus_mm3()))
}

/// Near value of the shear stress, to show beside the bound ([`TORSION_ESTIMATE`]).
///
/// # Errors
/// `bore` above 0.7 of across flats, or `axle-torque` out of range.
pub fn torsion_estimate(section: AxleSection, torque: Torque) -> Result<Stress, OutOfRange> {
    let s = section.s_mm;
    within("bore", section.bore_mm, 0.0, 0.7 * s, "mm")?;
    let r = section.d_mm / 2.0;
    let shallow =
        FRAC_2_PI * (1.0 + 0.9 * section.depth().sqrt()) * torque_nm("axle-torque", torque)? * 1e3 / (r * r * r);
    let solid = two_flat_shear(section, torque)?.max(Stress::megapascals(shallow));
    Ok(solid * (s * s * s * s / section.fourth()))
}

/// Largest shear stress of the solid shaft with two flats, without the bore ([`TWO_FLATS`]).
///
/// # Errors
/// `flat-depth` above 0.6 of the radius, or `axle-torque` out of range.
pub fn two_flat_shear(section: AxleSection, torque: Torque) -> Result<Stress, OutOfRange> {
    let (x, r) = (section.depth(), section.d_mm / 2.0);
    within("flat-depth", x, 0.0, 0.6, "radii")?;
    let b = FRAC_2_PI + x * (2.5303 + x * (-11.157 + x * (49.568 + x * (-85.886 + x * 69.849))));
    Ok(Stress::megapascals(b * torque_nm("axle-torque", torque)? * 1e3 / (r * r * r)))
}

/// Torsional stiffness of an axle end over a length ([`STUB_STIFFNESS`]).
///
/// # Errors
/// `flat-depth` above 0.6 radii, `bore` above 0.7 of across flats, a size or modulus out of range.
pub fn stub_stiffness(
    section: AxleSection,
    length: Length,
    shear_modulus: Stress,
) -> Result<TorsionalStiffness, OutOfRange> {
    let (x, r) = (section.depth(), section.d_mm / 2.0);
    within("flat-depth", x, 0.0, 0.6, "radii")?;
    within("bore", section.bore_mm, 0.0, 0.7 * section.s_mm, "mm")?;
    let c = FRAC_PI_4 + x * (-0.4053 + x * (-3.5810 + x * (5.2708 - x * 2.0772)));
    let bore2 = section.bore_mm * section.bore_mm;
    let k_mm4 = 2.0 * c * r * r * r * r - PI / 32.0 * bore2 * bore2;
    let g_mpa = strength_mpa("shear-modulus", shear_modulus)?;
    let per_radian_nm = g_mpa * k_mm4 / size_mm("stub-length", length)? / 1e3;
    Ok(TorsionalStiffness::newton_metres_per_radian(per_radian_nm))
}

/// Torque that the section surely carries when plastic ([`PLASTIC_TORQUE`]).
///
/// # Errors
/// `yield-strength` out of range.
pub fn plastic_torque(section: AxleSection, yield_strength: Stress) -> Result<Torque, OutOfRange> {
    let tau_mpa = strength_mpa("yield-strength", yield_strength)? / 3.0_f64.sqrt();
    let (s, b) = (section.s_mm, section.bore_mm);
    Ok(Torque::newton_metres(PI * tau_mpa * (s * s * s - b * b * b) / 12.0 / 1e3))
}

/// Von Mises stress under torque, nut tension and bending ([`COMBINED_STRESS`]).
///
/// # Errors
/// A load out of range.
pub fn combined_stress(
    section: AxleSection,
    torque: Torque,
    tension: Force,
    bending: Torque,
) -> Result<Stress, OutOfRange> {
    let tau = torsion_bound(section, torque)?.as_megapascals();
    let bent = torque_nm("bending-moment", bending)? * 1e3 * 2.0 / section.tube_modulus_mm3();
    let sigma = force_n("tension", tension)? / section.net_area_mm2() + bent;
    Ok(Stress::megapascals((sigma * sigma + 3.0 * tau * tau).sqrt()))
}

/// The most a lever may pull at the axle's flats in the hold test ([`HOLD_TEST_LIMIT`]).
///
/// # Errors
/// `tension-stress` above the yield strength, or a value out of range.
pub fn hold_test_limit(section: AxleSection, yield_strength: Stress, tension: Force) -> Result<Torque, OutOfRange> {
    let yield_mpa = strength_mpa("yield-strength", yield_strength)?;
    let sigma = force_n("tension", tension)? / section.net_area_mm2();
    within("tension-stress", sigma, 0.0, yield_mpa, "MPa")?;
    let tau_mpa = ((yield_mpa * yield_mpa - sigma * sigma) / 3.0).sqrt();
    Ok(Torque::newton_metres(0.9 * tau_mpa * section.torsion_modulus_mm3() / 1e3))
}

/// Notch factor in fatigue, K_f = 1 + q(K_t − 1) ([`ENDURANCE_LIMIT`]).
///
/// # Errors
/// `stress-concentration` out of 1 to 10, `notch-sensitivity` out of 0 to 1.
pub fn notch_factor(concentration: Ratio, sensitivity: Ratio) -> Result<Ratio, OutOfRange> {
    let k_t = ratio("stress-concentration", concentration, 1.0, 10.0)?;
    Ok(Ratio::new(1.0 + ratio("notch-sensitivity", sensitivity, 0.0, 1.0)? * (k_t - 1.0)))
}

/// Endurance limit of a steel part, amplitude ([`ENDURANCE_LIMIT`]).
///
/// # Errors
/// `tensile-strength` out of 200 to 1400 MPa, `endurance-factors` out of 0.05 to 1, `notch-factor` out of 1 to 10.
pub fn endurance_limit(tensile_strength: Stress, factors: Ratio, notch_factor: Ratio) -> Result<Stress, OutOfRange> {
    within("tensile-strength", tensile_strength.as_megapascals(), 200.0, 1400.0, "MPa")?;
    let k = ratio("endurance-factors", factors, 0.05, 1.0)?;
    Ok(tensile_strength * (0.5 * k / ratio("notch-factor", notch_factor, 1.0, 10.0)?))
}

/// Stresses of a reversing torsion under a steady load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FatigueLoad {
    /// Half the range of the shear stress.
    pub shear_amplitude: Stress,
    /// Mean of the shear stress.
    pub shear_mean: Stress,
    /// Steady tension.
    pub tension_mean: Stress,
}

/// Share of the fatigue strength that is used ([`FATIGUE_USE`]). Above one: cracks in the long run. With strengths
/// from tables, not from a test, this is grade D: it warns, it does not prove.
///
/// # Errors
/// `endurance-limit` or `tensile-strength` out of range; a stress out of 0 to 5000 MPa.
pub fn fatigue_use(load: FatigueLoad, endurance: Stress, tensile_strength: Stress) -> Result<Ratio, OutOfRange> {
    let stress =
        |what, value: Stress| within(what, value.as_megapascals(), 0.0, 5000.0, "MPa").map(|()| value.as_megapascals());
    let amplitude = 3.0_f64.sqrt() * stress("shear-amplitude", load.shear_amplitude)?;
    let (tau, sigma) = (stress("shear-mean", load.shear_mean)?, stress("tension-mean", load.tension_mean)?);
    let mean = (sigma * sigma + 3.0 * tau * tau).sqrt();
    let s_e = strength_mpa("endurance-limit", endurance)?;
    Ok(Ratio::new(amplitude / s_e + mean / strength_mpa("tensile-strength", tensile_strength)?))
}
