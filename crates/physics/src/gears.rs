//! Planetary gear: tooth stress, reversed bending, and the blow when play is crossed.

use super::checked::within;
use super::checked::{count, force_n, ratio, size_mm, stiffness_nm_rad};
use super::math;
use super::si::{
    Angle, Force, Frequency, Inertia, Length, Ratio, RotorTorque, Stress, Time, TorsionalStiffness, WheelTorque,
};
use crate::{Formula, OutOfRange};
use core::f64::consts::TAU;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] =
    &[&LEWIS_FACTOR, &TOOTH_STRESS, &PLANET_SHARE, &REVERSED_BENDING, &REVERSAL_PEAK, &DRIVE_FREQUENCY, &RAMPED_PEAK];

/// Lewis form factor.
pub const LEWIS_FACTOR: Formula = Formula {
    name: "lewis-form-factor",
    equation: "Y(z), 12 to 300 teeth and rack, linear between in 1/z",
    source: "Shigley, Mechanical Engineering Design, table 14-2 (20° full depth, load at the tip), from memory",
    valid: "external 20° full-depth teeth, no profile shift; ring gears: take the rack (safe)",
    left_out: "profile shift; load at the pitch point (plastic gears: about twice this factor)",
    checked_by: "validates_lewis_example",
};

/// Bending stress of a tooth.
pub const TOOTH_STRESS: Formula = Formula {
    name: "tooth-stress",
    equation: "σ = F_t/(b·m·Y)",
    source: "Lewis 1892; Shigley, Mechanical Engineering Design, section 14-1",
    valid: "static peak; Y for load at the tip",
    left_out: "stress concentration and dynamic factor (multiply F_t)",
    checked_by: "validates_lewis_example, validates_plastic_tooth_example",
};

/// Force on one planet's tooth.
pub const PLANET_SHARE: Formula = Formula {
    name: "planet-share",
    equation: "F_t = T_sun/(n·r_sun)·K_γ",
    source: "PHYSICS-DETAIL E13; K_γ 1.0 (three planets, floating) to 1.5 in gear-rating practice",
    valid: "n planets on one sun",
    left_out: "nothing more",
    checked_by: "validates_planet_share",
};

/// Fatigue strength when the load reverses.
pub const REVERSED_BENDING: Formula = Formula {
    name: "reversed-bending",
    equation: "σ_allow,rev = 0.7·σ_allow",
    source: "usual gear-rating practice, from memory",
    valid: "sun, ring and stepped planets of a locked hub; idler planets always reversed",
    left_out: "case hardening (0.7 to 0.8)",
    checked_by: "nothing: recalled practice",
};

/// Peak when the drive crosses its play in one step.
pub const REVERSAL_PEAK: Formula = Formula {
    name: "reversal-peak",
    equation: "T_peak = T + √(T² + 2·k_w·T·β_w)",
    source: "energy balance of a step of torque, own derivation (PHYSICS-DETAIL section 3)",
    valid: "play and stiffness seen at the wheel, no damping",
    left_out: "damping (safe); the rise time of the torque",
    checked_by: "validates_t25_impact",
};

/// Frequency of the drive on its stiffness.
pub const DRIVE_FREQUENCY: Formula = Formula {
    name: "drive-frequency",
    equation: "f = √(k_w/(J·N²))/(2π)",
    source: "single oscillator",
    valid: "wheel and rider much heavier than the rotor at the wheel",
    left_out: "tyre and spokes in series (in k_w)",
    checked_by: "validates_t25_impact",
};

/// Peak with a ramp of torque.
pub const RAMPED_PEAK: Formula = Formula {
    name: "ramped-reversal-peak",
    equation: "ramp ≥ 5/f: 1.15·T;  shorter: as a step",
    source: "PHYSICS-DETAIL section 3, simulated there (ζ 0.05)",
    valid: "β_w ≤ 1° for the ramp to count",
    left_out: "the gain of shorter ramps (safe)",
    checked_by: "validates_ramp_against_simulation",
};

/// Most that a ramp of five periods or more adds to a torque (PHYSICS-DETAIL section 3).
pub const SOFT: f64 = 1.15;

/// Teeth and form factor, ascending.
const LEWIS: [(f64, f64); 24] = [
    (12.0, 0.245),
    (13.0, 0.261),
    (14.0, 0.277),
    (15.0, 0.290),
    (16.0, 0.296),
    (17.0, 0.303),
    (18.0, 0.309),
    (19.0, 0.314),
    (20.0, 0.322),
    (21.0, 0.328),
    (22.0, 0.331),
    (24.0, 0.337),
    (26.0, 0.346),
    (28.0, 0.353),
    (30.0, 0.359),
    (34.0, 0.371),
    (38.0, 0.384),
    (43.0, 0.397),
    (50.0, 0.409),
    (60.0, 0.422),
    (75.0, 0.435),
    (100.0, 0.447),
    (150.0, 0.460),
    (300.0, 0.472),
];
const LEWIS_RACK: f64 = 0.485;

/// Lewis form factor of an external gear ([`LEWIS_FACTOR`]); `None`: rack, to be used for ring gears.
///
/// # Errors
/// `teeth` out of 12 to 10 000.
pub fn lewis_factor(teeth: Option<u32>) -> Result<Ratio, OutOfRange> {
    let Some(teeth) = teeth else { return Ok(Ratio::new(LEWIS_RACK)) };
    let z = count("teeth", teeth, 12, 10_000)?;
    let above = LEWIS.partition_point(|row| row.0 < z);
    let (inverse_b, y_b) = LEWIS.get(above).map_or((0.0, LEWIS_RACK), |row| (1.0 / row.0, row.1));
    let (z_a, y_a) = LEWIS[above.saturating_sub(1)];
    let inverse_a = 1.0 / z_a;
    if inverse_a == inverse_b {
        return Ok(Ratio::new(y_a));
    }
    Ok(Ratio::new(y_a + (y_b - y_a) * (1.0 / z - inverse_a) / (inverse_b - inverse_a)))
}

/// Bending stress of a tooth ([`TOOTH_STRESS`]).
///
/// # Errors
/// `form-factor` out of 0.1 to 1.2, a size or force out of range.
pub fn tooth_stress(
    force: Force,
    face_width: Length,
    module: Length,
    form_factor: Ratio,
) -> Result<Stress, OutOfRange> {
    let area = size_mm("face-width", face_width)? * size_mm("module", module)?;
    let y = ratio("form-factor", form_factor, 0.1, 1.2)?;
    Ok(Stress::megapascals(force_n("tooth-force", force)? / (area * y)))
}

/// Force on the teeth of the most loaded planet ([`PLANET_SHARE`]).
///
/// # Errors
/// `planets` out of 1 to 12, `load-sharing` out of 1 to 2, torque or radius out of range.
pub fn planet_tooth_force(
    sun: RotorTorque,
    sun_radius: Length,
    planets: u32,
    load_sharing: Ratio,
) -> Result<Force, OutOfRange> {
    within("sun-torque", sun.as_newton_metres(), 0.0, 1e4, "N·m")?;
    let n = count("planets", planets, 1, 12)?;
    let k = ratio("load-sharing", load_sharing, 1.0, 2.0)?;
    Ok(Force::newtons(sun.as_newton_metres() * 1e3 * k / (n * size_mm("sun-radius", sun_radius)?)))
}

/// Fatigue strength of a tooth that is bent both ways, from that for one way ([`REVERSED_BENDING`]).
///
/// # Errors
/// `allowable-stress` out of range.
pub fn reversed_allowable(one_way: Stress) -> Result<Stress, OutOfRange> {
    super::checked::strength_mpa("allowable-stress", one_way)?;
    Ok(one_way * 0.7)
}

/// Peak of torque when the play is crossed by a step ([`REVERSAL_PEAK`]); all at the wheel.
///
/// # Errors
/// `wheel-torque` out of 0 to 10 kN·m, `gear-play` out of 0 to 30°, stiffness out of range.
pub fn reversal_peak(
    torque: WheelTorque,
    stiffness: TorsionalStiffness,
    play: Angle,
) -> Result<WheelTorque, OutOfRange> {
    let t = torque.as_newton_metres();
    within("wheel-torque", t, 0.0, 1e4, "N·m")?;
    within("gear-play", play.as_degrees(), 0.0, 30.0, "degrees")?;
    let k = stiffness_nm_rad("drive-stiffness", stiffness)?;
    Ok(WheelTorque::newton_metres(t + (t * t + 2.0 * k * t * play.as_radians()).sqrt()))
}

/// Frequency at which the rotor swings on the drive's stiffness ([`DRIVE_FREQUENCY`]).
///
/// # Errors
/// `rotor-inertia` out of 10⁻⁶ to 1 kg·m², `gear-ratio` out of 1 to 100, stiffness out of range.
pub fn drive_frequency(
    stiffness: TorsionalStiffness,
    rotor: Inertia,
    gear_ratio: Ratio,
) -> Result<Frequency, OutOfRange> {
    let j = rotor.as_kilogram_square_metres();
    within("rotor-inertia", j, 1e-6, 1.0, "kg·m²")?;
    let n = ratio("gear-ratio", gear_ratio, 1.0, 100.0)?;
    Ok(Frequency::hertz((stiffness_nm_rad("drive-stiffness", stiffness)? / j).sqrt() / n / TAU))
}

/// Peak of torque when the play is crossed by a ramp ([`RAMPED_PEAK`]).
///
/// # Errors
/// As [`reversal_peak`]; `ramp-time` out of 0 to 60 s, `drive-frequency` out of 0.1 to 10 000 Hz.
pub fn ramped_reversal_peak(
    torque: WheelTorque,
    stiffness: TorsionalStiffness,
    play: Angle,
    ramp: Time,
    frequency: Frequency,
) -> Result<WheelTorque, OutOfRange> {
    within("ramp-time", ramp.as_seconds(), 0.0, 60.0, "s")?;
    within("drive-frequency", frequency.as_hertz(), 0.1, 1e4, "Hz")?;
    let step = reversal_peak(torque, stiffness, play)?;
    let (sharp, gentle) = (step.as_newton_metres(), step.min(torque * SOFT).as_newton_metres());
    let slow = math::if_above(5.0, ramp.as_seconds() * frequency.as_hertz(), sharp, gentle);
    Ok(WheelTorque::newton_metres(math::if_up_to(play.as_degrees(), 1.0, slow, sharp)))
}
