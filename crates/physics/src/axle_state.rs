//! What the axle does under a pair of peaks, drive and brake: stays, works, seats itself, rocks or spins.

use super::Number;
use super::checked::within;
use super::checked::{force_n, ratio, stiffness_nm_rad, torque_nm};
use super::si::{Angle, Compliance, Force, Friction, Ratio, Torque, TorsionalStiffness, WheelTorque};
use super::thread::Thread;
use crate::{Formula, OutOfRange};
use core::f64::consts::TAU;

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&FIRST_SLIP, &ARM_SHARE, &CYCLIC_SLIP, &STATE, &UNWINDING, &AFTER_SLIP];

/// Torque at which the first of two sides slips.
pub const FIRST_SLIP: Formula = Formula {
    name: "first-slip",
    equation: "T_s = min over sides of T_side·Σk/k_side;  stiffness unknown: 2·min(T_L, T_R)",
    source: "own derivation (PHYSICS-DETAIL E1): stubs share by torsional stiffness",
    valid: "elastic stubs",
    left_out: "micro-slip below T_s",
    checked_by: "validates_two_sides, laws in fasteners_axle.rs",
};

/// Torque at which stiff faces slip although a soft arm helps.
pub const ARM_SHARE: Formula = Formula {
    name: "slip-with-arm",
    equation: "T = T_f·(1 + k_a/k_f)",
    source: "own derivation (PHYSICS-DETAIL E1), checked by simulation there",
    valid: "k_f unknown: T_f alone (safe)",
    left_out: "the arm's own limit",
    checked_by: "validates_slip_with_arm",
};

/// Slip at every reversal.
pub const CYCLIC_SLIP: Formula = Formula {
    name: "cyclic-slip",
    equation: "φ = max(0, T_d + T_b − 2·T_f·(1 + k_a/k_f))/k_a;  k_f unknown: bracket 1",
    source: "own derivation: Jenkins slider beside a spring (PHYSICS-DETAIL E1)",
    valid: "steady cycling between the two peaks",
    left_out: "first turn through the play; wear of friction",
    checked_by: "validates_t8_cyclic_slip",
};

/// State of the axle.
pub const STATE: Formula = Formula {
    name: "axle-state",
    equation: "still: max ≤ T_s;  working: max ≤ T_hold;  seated: one > T_hold;  rocking: both > T_hold;  spins: one > \
               T_hold and no stop;  T_hold = T_f + ΣT_0",
    source: "own derivation (PHYSICS-DETAIL section 2)",
    valid: "peaks with overshoot, drive and brake",
    left_out: "strength of the stop itself",
    checked_by: "validates_t7_states",
};

/// Reversals until a rocking axle has unwound its nut.
pub const UNWINDING: Formula = Formula {
    name: "unwinding",
    equation: "angle to zero clamp = F·δ·2π/P;  cycles ≥ angle/(2φ)",
    source: "own deduction from the slip criterion of Yokoyama et al. 2012 (PHYSICS-DETAIL E2): fastest rate",
    valid: "thread slips when loosening, faces when tightening",
    left_out: "elastic wind-up, which slows it (safe)",
    checked_by: "validates_t9_unwinding",
};

/// Friction after slip.
pub const AFTER_SLIP: Formula = Formula {
    name: "friction-after-slip",
    equation: "μ_after = 0.8·μ",
    source: "assumed (grade D)",
    valid: "fault states",
    left_out: "galling",
    checked_by: "nothing: an assumption",
};

/// Elastic stiffness of the two axle ends between hub and dropout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StubStiffness {
    /// Left end.
    pub left: TorsionalStiffness,
    /// Right end.
    pub right: TorsionalStiffness,
}

/// Torque at which the first side slips ([`FIRST_SLIP`]); `None`: stiffness unknown.
///
/// # Errors
/// A torque or stiffness out of range.
pub fn first_slip(left: Torque, right: Torque, stubs: Option<StubStiffness>) -> Result<Torque, OutOfRange> {
    let left_nm = torque_nm("left-hold", left)?;
    let right_nm = torque_nm("right-hold", right)?;
    let (share_left, share_right) = match stubs {
        None => (Number::from(0.5), Number::from(0.5)),
        Some(k) => {
            let k_left = stiffness_nm_rad("left-stiffness", k.left)?;
            let k_right = stiffness_nm_rad("right-stiffness", k.right)?;
            (k_left / (k_left + k_right), k_right / (k_left + k_right))
        }
    };
    Ok(Torque::newton_metres((left_nm / share_left).min(right_nm / share_right)))
}

/// Torque at which both sides slip: their sum.
///
/// # Errors
/// A torque out of range.
pub fn plastic_hold(left: Torque, right: Torque) -> Result<Torque, OutOfRange> {
    Ok(Torque::newton_metres(torque_nm("left-hold", left)? + torque_nm("right-hold", right)?))
}

/// `1 + k_a/k_f`, one where the faces' stiffness is not known.
fn arm_help(arms: TorsionalStiffness, faces: Option<TorsionalStiffness>) -> Result<Number, OutOfRange> {
    let k_a = stiffness_nm_rad("arm-stiffness", arms)?;
    Ok(match faces {
        None => 1.0.into(),
        Some(k) => 1.0 + k_a / stiffness_nm_rad("face-stiffness", k)?,
    })
}

/// Torque at which the faces slip beside an arm ([`ARM_SHARE`]).
///
/// # Errors
/// A torque or stiffness out of range.
pub fn slip_with_arm(
    faces_hold: Torque,
    arms: TorsionalStiffness,
    faces: Option<TorsionalStiffness>,
) -> Result<Torque, OutOfRange> {
    Ok(Torque::newton_metres(torque_nm("face-hold", faces_hold)? * arm_help(arms, faces)?))
}

/// The two peaks that the axle sees, with overshoot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peaks {
    /// Driving.
    pub drive: WheelTorque,
    /// Braking.
    pub brake: WheelTorque,
}

impl Peaks {
    fn newton_metres(self) -> Result<(Number, Number), OutOfRange> {
        let (drive, brake) = (self.drive.as_newton_metres(), self.brake.as_newton_metres());
        within("drive-peak", drive, 0.0, 1e4, "N·m")?;
        within("brake-peak", brake, 0.0, 1e4, "N·m")?;
        Ok((drive, brake))
    }
}

/// Slip of the faces at every reversal ([`CYCLIC_SLIP`]); zero if the range fits.
///
/// # Errors
/// A torque or stiffness out of range.
pub fn cyclic_slip(
    peaks: Peaks,
    faces_hold: Torque,
    arms: TorsionalStiffness,
    faces: Option<TorsionalStiffness>,
) -> Result<Angle, OutOfRange> {
    let (drive, brake) = peaks.newton_metres()?;
    let k_a = stiffness_nm_rad("arm-stiffness", arms)?;
    let held = 2.0 * torque_nm("face-hold", faces_hold)? * arm_help(arms, faces)?;
    Ok(Angle::radians((drive + brake - held).max(0.0) / k_a))
}

/// What holds the axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// First slip of the faces, T_s.
    pub first_slip: Torque,
    /// All faces slip, T_f.
    pub faces: Torque,
    /// Sum of what the arms hold without gap or yield, ΣT_0.
    pub arms: Torque,
    /// Stiffness of those arms, if known.
    pub arm_stiffness: Option<TorsionalStiffness>,
    /// What stops the axle after its play.
    pub stop: Stop,
}

/// What stops a turning axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stop {
    /// Nothing: the slot is as wide as the axle.
    None,
    /// Flats meet a slot or arm, of this stiffness if known.
    AfterPlay(Option<TorsionalStiffness>),
}

/// What the axle does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AxleState {
    /// No face ever slips.
    Still,
    /// No play is crossed, but faces slip at every reversal, by this angle where the stiffness is known (zero: only at
    /// first).
    Working {
        /// Slip at each reversal.
        slip: Option<Angle>,
    },
    /// Turned through the play once and stays against its stop.
    Seated {
        /// It works on against the stop at every reversal.
        working: bool,
        /// Slip at each reversal, where the stop's stiffness is known; zero if not working.
        slip: Option<Angle>,
    },
    /// Slips through the play at every reversal and unwinds its nut.
    Rocking,
    /// Turns without a stop.
    Spins,
}

/// State of the axle under a pair of peaks ([`STATE`]).
///
/// # Errors
/// A torque or stiffness out of range; `first-slip` above `faces`.
pub fn axle_state(peaks: Peaks, hold: &Hold) -> Result<AxleState, OutOfRange> {
    let (drive, brake) = peaks.newton_metres()?;
    let faces = torque_nm("face-hold", hold.faces)?;
    // Rounding may put the first slip of two equal sides a little above their sum.
    within("first-slip", hold.first_slip.as_newton_metres(), 0.0, faces * (1.0 + 1e-9), "N·m")?;
    let all = faces + torque_nm("arm-hold", hold.arms)?;
    let (larger, smaller) = (drive.max(brake), drive.min(brake));
    if larger <= hold.first_slip.as_newton_metres() {
        return Ok(AxleState::Still);
    }
    let slip = |over: Number, k: Option<TorsionalStiffness>| match k {
        _ if over <= 0.0 => Ok(Some(Angle::ZERO)),
        None => Ok(None),
        Some(k) => stiffness_nm_rad("stop-stiffness", k).map(|k| Some(Angle::radians(over / k))),
    };
    if larger <= all {
        return Ok(AxleState::Working { slip: slip(drive + brake - 2.0 * faces, hold.arm_stiffness)? });
    }
    match hold.stop {
        Stop::None => Ok(AxleState::Spins),
        Stop::AfterPlay(_) if smaller > all => Ok(AxleState::Rocking),
        Stop::AfterPlay(k) => {
            let over = drive + brake - 2.0 * all;
            Ok(AxleState::Seated { working: over > 0.0, slip: slip(over, k)? })
        }
    }
}

/// How fast a rocking axle unwinds its nut, at the fastest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unwinding {
    /// Turn of the nut from its preload to zero clamp.
    pub angle: Angle,
    /// Least number of drive–brake cycles to zero clamp (a pure number).
    pub cycles: Ratio,
}

/// Fastest unwinding of a rocking axle ([`UNWINDING`]); `compliance` of bolt and clamped parts together.
///
/// # Errors
/// `play` out of 0.001° to 90°, compliance out of 10⁻⁸ to 10⁻³ mm/N, force out of range.
pub fn unwinding(thread: Thread, clamp: Force, compliance: Compliance, play: Angle) -> Result<Unwinding, OutOfRange> {
    within("play", play.as_degrees(), 1e-3, 90.0, "degrees")?;
    let joint = compliance.as_millimetres_per_newton();
    within("joint-compliance", joint, 1e-8, 1e-3, "mm/N")?;
    let angle = force_n("clamp-force", clamp)? * joint * TAU / thread.pitch_mm();
    Ok(Unwinding { angle: Angle::radians(angle), cycles: Ratio::new(angle / (2.0 * play.as_radians())) })
}

/// Friction to use in a fault state after slip ([`AFTER_SLIP`]).
///
/// # Errors
/// `face-friction` out of range.
pub fn friction_after_slip(face: Friction) -> Result<Friction, OutOfRange> {
    let mu = ratio("face-friction", Ratio::new(face.get()), 0.01, 1.5)?;
    Ok(Friction::new(0.8 * mu))
}
