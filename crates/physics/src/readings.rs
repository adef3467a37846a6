//! What readings on the bench mean: thread budget, centre of mass from a scale, amplitude from three clamp readings.

use crate::checked::within;
use crate::checked::{length_mm, size_mm};
use crate::thread::Thread;
use crate::{Formula, OutOfRange};
use quantity::{Length, Mass, PhaseCurrent, Ratio};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&THREAD_BUDGET, &CENTRE_AHEAD, &CENTRE_HEIGHT, &THREE_CLAMP];

/// Thread that is left for the nut.
pub const THREAD_BUDGET: Formula = Formula {
    name: "thread-budget",
    equation: "left = free − arm − washers − nut;  engaged = min(nut, free − arm − washers);  turns = engaged/P",
    source: "geometry",
    valid: "full thread up to the axle's end",
    left_out: "chamfers: count half a turn each off the engaged length (unsafe by that)",
    checked_by: "validates_thread_budget",
};

/// How far the centre of mass is ahead of the rear axle.
pub const CENTRE_AHEAD: Formula = Formula {
    name: "centre-ahead",
    equation: "b = L·m_front/(m_front + m_rear)",
    source: "statics, moments about the rear contact",
    valid: "both wheels at one height, rider in riding posture",
    left_out: "nothing",
    checked_by: "validates_centre_of_mass_by_planar_statics",
};

/// How high the centre of mass is.
pub const CENTRE_HEIGHT: Formula = Formula {
    name: "centre-height",
    equation: "h = r + L·(m_front − m_front,raised)/((m_front + m_rear)·tan θ);  sin θ = block/L",
    source: "statics, moments about the rear contact with the front wheel raised",
    valid: "equal wheels, wheels free to roll, block ≥ 50 mm and < 0.7·L",
    left_out: "rider leaning with the bike; tyre squash",
    checked_by: "validates_centre_of_mass_by_planar_statics",
};

/// Amplitude of a three-phase current from one reading a wire.
pub const THREE_CLAMP: Formula = Formula {
    name: "three-clamp",
    equation: "î = √(⅔·(a² + b² + c²))",
    source: "balanced three-phase currents: the sum of the squares is 3/2·î² at every angle",
    valid: "sine currents; the three read at one angle, or the rotor held",
    left_out: "error of the clamps: a + b + c should be zero",
    checked_by: "validates_three_clamps_at_every_angle",
};

/// What is left of the thread on one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadBudget {
    /// Length of thread that the nut grips.
    pub engaged: Length,
    /// Thread beyond the nut; negative where the nut is not full.
    pub left: Length,
    /// Turns engaged.
    pub turns: Ratio,
}

/// Thread left for a nut over what lies on the axle ([`THREAD_BUDGET`]).
///
/// # Errors
/// `free-length` out of 0 to 200 mm, `arm` or `washers` out of 0 to 100 mm, `nut-height` out of 1 to 50 mm; parts that
/// leave no thread at all.
pub fn thread_budget(
    thread: Thread,
    free: Length,
    arm: Length,
    washers: Length,
    nut: Length,
) -> Result<ThreadBudget, OutOfRange> {
    let free_mm = length_mm("free-length", free, 0.0, 200.0)?;
    let on_it_mm = length_mm("arm", arm, 0.0, 100.0)? + length_mm("washers", washers, 0.0, 100.0)?;
    let nut_mm = length_mm("nut-height", nut, 1.0, 50.0)?;
    within("arm-and-washers", on_it_mm, 0.0, free_mm, "mm")?;
    let room_mm = free_mm - on_it_mm;
    let engaged_mm = nut_mm.min(room_mm);
    Ok(ThreadBudget {
        engaged: Length::millimetres(engaged_mm),
        left: Length::millimetres(room_mm - nut_mm),
        turns: Ratio::new(engaged_mm / thread.pitch_mm()),
    })
}

fn mass_kg(what: &'static str, mass: Mass, low: f64) -> Result<f64, OutOfRange> {
    within(what, mass.as_kilograms(), low, 1000.0, "kg")?;
    Ok(mass.as_kilograms())
}

/// How far the centre of mass is ahead of the rear axle ([`CENTRE_AHEAD`]).
///
/// # Errors
/// `front-mass` or `rear-mass` out of 1 to 1000 kg, `wheelbase` out of range.
pub fn centre_ahead(wheelbase: Length, front: Mass, rear: Mass) -> Result<Length, OutOfRange> {
    let front_kg = mass_kg("front-mass", front, 1.0)?;
    let total_kg = front_kg + mass_kg("rear-mass", rear, 1.0)?;
    Ok(Length::millimetres(length_mm("wheelbase", wheelbase, 200.0, 5000.0)? * front_kg / total_kg))
}

/// How high the centre of mass is above the road ([`CENTRE_HEIGHT`]).
///
/// # Errors
/// As [`centre_ahead`]; `block-height` out of 50 mm to 0.7 wheelbases; a raised front that weighs more.
pub fn centre_height(
    wheelbase: Length,
    wheel_radius: Length,
    front: Mass,
    rear: Mass,
    block: Length,
    front_raised: Mass,
) -> Result<Length, OutOfRange> {
    let base_mm = length_mm("wheelbase", wheelbase, 200.0, 5000.0)?;
    let radius_mm = size_mm("wheel-radius", wheel_radius)?;
    let front_kg = mass_kg("front-mass", front, 1.0)?;
    let total_kg = front_kg + mass_kg("rear-mass", rear, 1.0)?;
    let raised_kg = mass_kg("front-mass-raised", front_raised, 0.0)?;
    within("front-mass-raised", raised_kg, 0.0, front_kg, "kg")?;
    let block_mm = length_mm("block-height", block, 50.0, 0.7 * base_mm)?;
    let tan = block_mm / (base_mm * base_mm - block_mm * block_mm).sqrt();
    Ok(Length::millimetres(radius_mm + base_mm * (front_kg - raised_kg) / (total_kg * tan)))
}

/// Amplitude from the direct readings of three wires, signs not needed ([`THREE_CLAMP`]).
///
/// # Errors
/// A reading out of ±2000 A.
pub fn three_clamp(a: PhaseCurrent, b: PhaseCurrent, c: PhaseCurrent) -> Result<PhaseCurrent, OutOfRange> {
    let mut squares = 0.0;
    for (what, current) in [("current-a", a), ("current-b", b), ("current-c", c)] {
        within(what, current.as_amperes(), -2000.0, 2000.0, "A")?;
        squares += current.as_amperes() * current.as_amperes();
    }
    Ok(PhaseCurrent::amperes((squares * 2.0 / 3.0).sqrt()))
}
