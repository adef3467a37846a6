//! Metric threads: sizes, net section with flats and bore, and what strips.

use super::checked::within;
use super::checked::{length_mm, size_mm, strength_mpa};
use super::si::{Area, Force, Length, Ratio, Stress};
use super::{Number, math};
use crate::{Formula, OutOfRange};
use core::f64::consts::PI;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] =
    &[&PROFILE, &STRESS_AREA, &NET_STRESS_AREA, &TORSION_MODULUS, &ARC_FRACTION, &STRIP_AREAS, &STRIP_FORCES];

/// Sizes of the metric profile.
pub const PROFILE: Formula = Formula {
    name: "thread-profile",
    equation: "d2 = d − 0.649519·P;  d3 = d − 1.226869·P;  D1 = d − 1.082532·P",
    source: "ISO 68-1:1998 basic and design profile, ISO 724:1993 basic dimensions",
    valid: "60° metric profile, 1 ≤ d ≤ 100 mm, 0.02·d ≤ P ≤ 0.3·d",
    left_out: "tolerances: real threads are up to some 2 % thinner (unsafe by that)",
    checked_by: "validates_thread_sizes: ISO 724 sizes of eight threads",
};

/// Stress area of a solid round thread.
pub const STRESS_AREA: Formula = Formula {
    name: "thread-stress-area",
    equation: "A_s = π/4·((d2 + d3)/2)²",
    source: "ISO 898-1:2013 clause 9.1.6.1",
    valid: "as thread-profile",
    left_out: "tolerances",
    checked_by: "validates_stress_area: ISO 898-1 tables 4 to 7",
};

/// Stress area with two flats and a bore.
pub const NET_STRESS_AREA: Formula = Formula {
    name: "thread-net-stress-area",
    equation: "A = π/4·d_s² − 2·segments(d_s, s) − π/4·d_b²;  segment = d_s²/4·(θ − sin θ·cos θ), θ = acos(s/d_s)",
    source: "own derivation: circle of the stress diameter less two segments and the bore",
    valid: "bore < across flats ≤ d",
    left_out: "cable slots; stress concentration at the edges of the flats (static strength only)",
    checked_by: "validates_t10_net_section",
};

/// Fully plastic torsion modulus while tightening.
pub const TORSION_MODULUS: Formula = Formula {
    name: "thread-plastic-torsion-modulus",
    equation: "W_p = π·(d_s³ − d_b³)/12",
    source: "VDI 2230-1:2003 section 5.5 (π·d³/12), less the bore (own derivation)",
    valid: "as thread-net-stress-area",
    left_out: "the flats: with s < d_s the modulus lies between this and π(s³ − d_b³)/12; at M12×1.25, 10 mm flats, 6 mm \
               bore the equivalent stress is at most 4 % higher than computed (unsafe by that; the aim of 0.9 covers it)",
    checked_by: "validates_axle_with_bore_yields",
};

/// Share of the thread's turn that two flats leave.
pub const ARC_FRACTION: Formula = Formula {
    name: "thread-arc-fraction",
    equation: "f(D) = 1 − (2/π)·acos(s/D);  1 for s ≥ D",
    source: "own derivation: two flats cut four equal arcs of acos(s/D)",
    valid: "0 < s, D",
    left_out: "run-out of the thread at the edges of the flats (unsafe by a few per cent)",
    checked_by: "validates_t10_strip_areas",
};

/// Areas in which the threads shear off.
pub const STRIP_AREAS: Formula = Formula {
    name: "thread-strip-areas",
    equation: "A_ext = π·(L/P)·D1·[P/2 + (d2 − D1)/√3]·f(D1);  A_int = π·(L/P)·d·[P/2 + (d − D2)/√3]·f(d)",
    source: "FED-STD-H28/2B formulas (4a) external and (2a) internal, times the arc fraction",
    valid: "full engagement over L; D1 < d, d2 > D1",
    left_out: "run-out and chamfer turns (take them off L); with basic sizes also the tolerances (about 10 % unsafe, \
               covered by using 0.8 of the strip force)",
    checked_by: "validates_t10_strip_areas, validates_strip_area_per_length",
};

/// Forces at which the threads shear off.
pub const STRIP_FORCES: Formula = Formula {
    name: "thread-strip-forces",
    equation: "F = 0.6·R_m·A",
    source: "shear strength 0.6·R_m: VDI 2230-1 (τ_B/R_m = 0.6 to 0.7 for bolt steels), from memory; areas FED-STD-H28/2B",
    valid: "ductile steel; where the shear strength is measured use the areas directly",
    left_out: "widening of thin nuts and bending of the threads (Alexander's C1 to C3: up to 25 % less in thin nuts), \
               which the 0.8 of the torque limit covers",
    checked_by: "validates_t10_strip_areas, laws in fasteners_thread.rs",
};

/// Shear strength of a ductile steel over its tensile strength.
const SHEAR_OVER_TENSILE: f64 = 0.6;

/// A metric thread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thread {
    d_mm: Number,
    p_mm: Number,
}

impl Thread {
    /// From nominal diameter (1 to 100 mm) and pitch (0.02 to 0.3 of it).
    ///
    /// # Errors
    /// `thread-diameter` or `thread-pitch` out of range.
    pub fn new(nominal: Length, pitch: Length) -> Result<Self, OutOfRange> {
        let d_mm = length_mm("thread-diameter", nominal, 1.0, 100.0)?;
        let p_mm = length_mm("thread-pitch", pitch, 0.02 * d_mm, 0.3 * d_mm)?;
        Ok(Self { d_mm, p_mm })
    }

    /// Nominal (outer) diameter d.
    pub fn nominal(self) -> Length {
        Length::millimetres(self.d_mm)
    }

    /// Pitch P.
    pub fn pitch(self) -> Length {
        Length::millimetres(self.p_mm)
    }

    /// Pitch diameter d2 ([`PROFILE`]).
    pub fn pitch_diameter(self) -> Length {
        Length::millimetres(self.d2_mm())
    }

    /// Minor diameter of the external thread at its rounded root, d3 ([`PROFILE`]).
    pub fn root_diameter(self) -> Length {
        Length::millimetres(self.d3_mm())
    }

    /// Minor diameter of the internal thread, D1 ([`PROFILE`]).
    pub fn internal_minor_diameter(self) -> Length {
        Length::millimetres(self.d1_mm())
    }

    /// Diameter of the stress area, d_s = (d2 + d3)/2.
    pub fn stress_diameter(self) -> Length {
        Length::millimetres(self.ds_mm())
    }

    /// Stress area of the solid round thread ([`STRESS_AREA`]).
    pub fn stress_area(self) -> Area {
        Area::square_millimetres(PI / 4.0 * self.ds_mm() * self.ds_mm())
    }

    pub(crate) const fn nominal_mm(self) -> Number {
        self.d_mm
    }
    pub(crate) const fn pitch_mm(self) -> Number {
        self.p_mm
    }
    pub(crate) fn d2_mm(self) -> Number {
        self.d_mm - 0.649_519 * self.p_mm
    }
    pub(crate) fn d3_mm(self) -> Number {
        self.d_mm - 1.226_869 * self.p_mm
    }
    pub(crate) fn d1_mm(self) -> Number {
        self.d_mm - 1.082_532 * self.p_mm
    }
    pub(crate) fn ds_mm(self) -> Number {
        (self.d2_mm() + self.d3_mm()) / 2.0
    }
}

/// A threaded axle end: solid or bored, round or with two parallel flats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadedSection {
    thread: Thread,
    /// Width across the flats; the nominal diameter where there are none.
    s_mm: Number,
    bore_mm: Number,
}

impl ThreadedSection {
    /// A solid round thread: an ordinary bolt.
    pub fn solid(thread: Thread) -> Self {
        Self { thread, s_mm: thread.nominal_mm(), bore_mm: 0.0.into() }
    }

    /// With two flats (`None`: round) and a bore (zero: solid).
    ///
    /// # Errors
    /// `bore` not in 0 to 0.9 of the root diameter, or `across-flats` not between bore and nominal diameter.
    pub fn new(thread: Thread, across_flats: Option<Length>, bore: Length) -> Result<Self, OutOfRange> {
        let bore_mm = length_mm("bore", bore, 0.0, 0.9 * thread.d3_mm())?;
        let s_mm = match across_flats {
            Some(s) => length_mm("across-flats", s, (bore_mm * 1.05).max(0.3 * thread.d_mm), thread.d_mm)?,
            None => thread.d_mm,
        };
        Ok(Self { thread, s_mm, bore_mm })
    }

    /// The thread.
    pub const fn thread(self) -> Thread {
        self.thread
    }

    /// Width across the flats; the nominal diameter where there are none.
    pub fn across_flats(self) -> Length {
        Length::millimetres(self.s_mm)
    }

    /// Diameter of the bore.
    pub fn bore(self) -> Length {
        Length::millimetres(self.bore_mm)
    }

    /// Stress area less the segments cut off by the flats and less the bore ([`NET_STRESS_AREA`]).
    pub fn net_stress_area(self) -> Area {
        Area::square_millimetres(self.net_area_mm2())
    }

    pub(crate) fn net_area_mm2(self) -> Number {
        flatted_circle_mm2(self.thread.ds_mm(), self.s_mm) - PI / 4.0 * self.bore_mm * self.bore_mm
    }

    /// Fully plastic torsion modulus in mm³ ([`TORSION_MODULUS`]).
    pub(crate) fn plastic_torsion_modulus_mm3(self) -> Number {
        let (ds, db) = (self.thread.ds_mm(), self.bore_mm);
        PI * (ds * ds * ds - db * db * db) / 12.0
    }

    pub(crate) const fn s_mm(self) -> Number {
        self.s_mm
    }
    pub(crate) const fn bore_mm(self) -> Number {
        self.bore_mm
    }
}

/// Area of a circle of diameter `d_mm` between two flats `s_mm` apart.
pub(crate) fn flatted_circle_mm2(d_mm: Number, s_mm: Number) -> Number {
    let circle = PI / 4.0 * d_mm * d_mm;
    let cos = s_mm / d_mm;
    let cut = d_mm * d_mm / 2.0 * (math::acos(cos) - cos * (1.0 - cos * cos).sqrt());
    math::if_above(d_mm, s_mm, circle - cut, circle)
}

/// Share of a circle of the given diameter that lies between the flats ([`ARC_FRACTION`]).
///
/// # Errors
/// `across-flats` or `diameter` out of 0.01 to 2000 mm.
pub fn arc_fraction(across_flats: Length, diameter: Length) -> Result<Ratio, OutOfRange> {
    let s_mm = size_mm("across-flats", across_flats)?;
    let d_mm = size_mm("diameter", diameter)?;
    Ok(Ratio::new(arc_share(s_mm, d_mm)))
}

fn arc_share(s_mm: Number, d_mm: Number) -> Number {
    math::if_above(d_mm, s_mm, 1.0 - 2.0 / PI * math::acos(s_mm / d_mm), 1.0)
}

/// The four diameters that decide which thread strips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripFit {
    /// Outer diameter of the axle or bolt thread (smallest allowed, where known).
    pub external_major: Length,
    /// Pitch diameter of the axle or bolt thread (smallest allowed, where known).
    pub external_pitch: Length,
    /// Minor diameter of the nut thread (largest allowed, where known).
    pub internal_minor: Length,
    /// Pitch diameter of the nut thread (largest allowed, where known).
    pub internal_pitch: Length,
}

impl StripFit {
    /// The basic sizes: no tolerance.
    pub fn basic(thread: Thread) -> Self {
        Self {
            external_major: thread.nominal(),
            external_pitch: thread.pitch_diameter(),
            internal_minor: thread.internal_minor_diameter(),
            internal_pitch: thread.pitch_diameter(),
        }
    }
}

/// Areas in which the two threads shear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripAreas {
    /// Of the axle's or bolt's thread.
    pub external: Area,
    /// Of the nut's thread.
    pub internal: Area,
}

/// Shear areas over the engaged length ([`STRIP_AREAS`]); `section` gives pitch and flats, `fit` the diameters.
///
/// # Errors
/// `engagement` out of 0.1 to 200 mm; a diameter of the fit more than 0.2 pitches away from its basic size.
pub fn strip_areas(section: ThreadedSection, fit: StripFit, engagement: Length) -> Result<StripAreas, OutOfRange> {
    let (thread, p) = (section.thread, section.thread.p_mm);
    let l_mm = length_mm("engagement", engagement, 0.1, 200.0)?;
    let near = |what, value, basic: Number| length_mm(what, value, basic - 0.2 * p, basic + 0.2 * p);
    let d = near("external-major-diameter", fit.external_major, thread.d_mm)?;
    let d2 = near("external-pitch-diameter", fit.external_pitch, thread.d2_mm())?;
    let d1 = near("internal-minor-diameter", fit.internal_minor, thread.d1_mm())?;
    let d2_nut = near("internal-pitch-diameter", fit.internal_pitch, thread.d2_mm())?;
    let third = 1.0 / 3.0_f64.sqrt();
    let external = PI * (l_mm / p) * d1 * (p / 2.0 + third * (d2 - d1)) * arc_share(section.s_mm, d1);
    let internal = PI * (l_mm / p) * d * (p / 2.0 + third * (d - d2_nut)) * arc_share(section.s_mm, d);
    Ok(StripAreas { external: Area::square_millimetres(external), internal: Area::square_millimetres(internal) })
}

/// Forces at which the threads strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripForces {
    /// The axle's or bolt's thread shears off.
    pub external: Force,
    /// The nut's thread shears off.
    pub internal: Force,
}

impl StripForces {
    /// The smaller of the two.
    pub fn least(self) -> Force {
        self.external.min(self.internal)
    }
}

/// Strip forces from the tensile strengths R_m of both parts, basic sizes ([`STRIP_FORCES`]).
///
/// # Errors
/// As [`strip_areas`]; `external-strength` or `internal-strength` out of range.
pub fn strip_forces(
    section: ThreadedSection,
    engagement: Length,
    external_strength: Stress,
    internal_strength: Stress,
) -> Result<StripForces, OutOfRange> {
    let external_mpa = strength_mpa("external-strength", external_strength)?;
    let internal_mpa = strength_mpa("internal-strength", internal_strength)?;
    within("external-strength", external_mpa, 0.1, 5000.0, "MPa")?;
    within("internal-strength", internal_mpa, 0.1, 5000.0, "MPa")?;
    let areas = strip_areas(section, StripFit::basic(section.thread), engagement)?;
    Ok(StripForces {
        external: Force::newtons(SHEAR_OVER_TENSILE * external_mpa * areas.external.as_square_millimetres()),
        internal: Force::newtons(SHEAR_OVER_TENSILE * internal_mpa * areas.internal.as_square_millimetres()),
    })
}
