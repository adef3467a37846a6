//! The clutch lock: what torque it sees, and the welds, pins or keys that carry it.

use super::checked::within;
use super::checked::{count, length_mm, ratio, size_mm, torque_nm};
use super::si::{Length, Ratio, Stress, Torque, WheelTorque};
use crate::{Formula, OutOfRange};
use core::f64::consts::{PI, TAU};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&LOCK_TORQUE, &WELD_SHEAR, &PIN_SHEAR, &KEY_SHEAR];

/// Torque at the lock.
pub const LOCK_TORQUE: Formula = Formula {
    name: "lock-torque",
    equation: "ring–shell T_w;  carrier–axle (N + 1)/N·T_w;  ring–axle (N − 1)/N·T_w;  rotor T_w/(N·η)",
    source: "torque balance of a planetary gear (own derivation, PHYSICS-DETAIL E12)",
    valid: "N > 1; carrier–axle for ring-output gears, ring–axle for carrier-output gears",
    left_out: "gear loss at ring and carrier (a few per cent)",
    checked_by: "validates_lock_by_torque_balance, validates_weld_example",
};

/// Shear in a circular fillet weld or a ring of tacks.
pub const WELD_SHEAR: Formula = Formula {
    name: "weld-shear",
    equation: "τ = T/(0.707·leg·L·r);  L = 2π·r (ring) or (n − missing)·l (tacks)",
    source: "Shigley, Mechanical Engineering Design, section 9-4 (throat 0.707·leg); Bhandari form T/(2π·t·r²)",
    valid: "leg ≤ r/2; parts centred by a seat, so that a missing tack does not shift the centre",
    left_out: "cracking of hardened race steel, end craters, residual stress (unsafe: judge with the worst tack missing)",
    checked_by: "validates_weld_example, validates_weld_textbook",
};

/// Shear of pins.
pub const PIN_SHEAR: Formula = Formula {
    name: "pin-shear",
    equation: "τ = T/(r·n·π/4·d²)",
    source: "Shigley, Mechanical Engineering Design (from memory); even sharing assumed",
    valid: "n pins on the radius r, one shear plane each",
    left_out: "uneven sharing (leave out one pin), bearing in the hole",
    checked_by: "validates_pin_and_key",
};

/// Shear of a key.
pub const KEY_SHEAR: Formula = Formula {
    name: "key-shear",
    equation: "τ = T/(r·w·l)",
    source: "Shigley, Mechanical Engineering Design, section 7-7 (from memory)",
    valid: "key of width w and length l at radius r",
    left_out: "side pressure (twice the shear for a square key)",
    checked_by: "validates_pin_and_key",
};

/// Between which parts the freewheel is locked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LockPlace {
    /// Between ring gear and hub shell.
    RingToShell,
    /// Between planet carrier and axle, ring drives the shell.
    CarrierToAxle,
    /// Between ring and axle, carrier drives the shell.
    RingToAxle,
    /// On the rotor's side of the gears.
    Rotor,
}

/// Torque that the lock sees ([`LOCK_TORQUE`]).
///
/// # Errors
/// `gear-ratio` out of 1.1 to 100 (1 allowed for the ring and the rotor), `gear-efficiency` out of 0.5 to 1, torque
/// out of 0 to 10 kN·m.
pub fn lock_torque(
    wheel: WheelTorque,
    gear_ratio: Ratio,
    efficiency: Ratio,
    place: LockPlace,
) -> Result<Torque, OutOfRange> {
    within("wheel-torque", wheel.as_newton_metres(), 0.0, 1e4, "N·m")?;
    let geared = matches!(place, LockPlace::CarrierToAxle | LockPlace::RingToAxle);
    let n = ratio("gear-ratio", gear_ratio, if geared { 1.1 } else { 1.0 }, 100.0)?;
    let eta = ratio("gear-efficiency", efficiency, 0.5, 1.0)?;
    let factor = match place {
        LockPlace::RingToShell => 1.0.into(),
        LockPlace::CarrierToAxle => (n + 1.0) / n,
        LockPlace::RingToAxle => (n - 1.0) / n,
        LockPlace::Rotor => 1.0 / (n * eta),
    };
    Ok(Torque::newton_metres(wheel.as_newton_metres() * factor))
}

/// How a weld runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weld {
    /// All round.
    Ring,
    /// Tacks of one length.
    Tacks {
        /// How many (a pure count).
        number: u32,
        /// Length of each.
        length: Length,
        /// How many to count as missing (a pure count): one for the worst case.
        missing: u32,
    },
}

/// Shear stress in the throat of a lock's weld ([`WELD_SHEAR`]).
///
/// # Errors
/// `weld-leg` above half the radius, fewer than one tack left, tacks longer together than the circle.
pub fn weld_shear(torque: Torque, radius: Length, leg: Length, weld: Weld) -> Result<Stress, OutOfRange> {
    let r = size_mm("weld-radius", radius)?;
    let throat = 0.707 * length_mm("weld-leg", leg, 0.1, r / 2.0)?;
    let run = match weld {
        Weld::Ring => TAU * r,
        Weld::Tacks { number, length, missing } => {
            let n = count("weld-tacks", number, 1, 100)?;
            let l = length_mm("tack-length", length, 0.5, TAU * r / n)?;
            l * (n - count("tacks-missing", missing, 0, number - 1)?)
        }
    };
    Ok(Stress::megapascals(torque_nm("lock-torque", torque)? * 1e3 / (throat * run * r)))
}

/// Shear stress of pins on a circle ([`PIN_SHEAR`]).
///
/// # Errors
/// `pins` out of 1 to 100, a size or torque out of range.
pub fn pin_shear(torque: Torque, radius: Length, pin_diameter: Length, pins: u32) -> Result<Stress, OutOfRange> {
    let d = size_mm("pin-diameter", pin_diameter)?;
    let area = count("pins", pins, 1, 100)? * PI / 4.0 * d * d;
    Ok(Stress::megapascals(torque_nm("lock-torque", torque)? * 1e3 / (size_mm("pin-radius", radius)? * area)))
}

/// Shear stress of a key ([`KEY_SHEAR`]).
///
/// # Errors
/// A size or torque out of range.
pub fn key_shear(torque: Torque, radius: Length, width: Length, length: Length) -> Result<Stress, OutOfRange> {
    let area = size_mm("key-width", width)? * size_mm("key-length", length)?;
    Ok(Stress::megapascals(torque_nm("lock-torque", torque)? * 1e3 / (size_mm("key-radius", radius)? * area)))
}
