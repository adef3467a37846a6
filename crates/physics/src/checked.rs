//! The ranges that the mechanical formulas share: a quantity in, a plain number in the unit of the name out.

use super::si::{Force, Friction, Length, Ratio, Stress, Torque, TorsionalStiffness};
use super::{Number, math};
use crate::OutOfRange;

/// `Ok` if `low ≤ value ≤ high`; not-a-number is never in range.
#[inline]
pub(crate) fn within(
    what: &'static str,
    value: impl Into<Number>,
    low: impl Into<Number>,
    high: impl Into<Number>,
    unit: &'static str,
) -> Result<(), OutOfRange> {
    let (value, low, high) = (value.into(), low.into(), high.into());
    if math::between(value, low, high) { Ok(()) } else { Err(out_of_range(what, value, low, high, unit)) }
}

#[cold]
fn out_of_range(what: &'static str, value: Number, low: Number, high: Number, unit: &'static str) -> OutOfRange {
    OutOfRange { what, value: math::shown(value), low: math::shown(low), high: math::shown(high), unit }
}

/// A real size of a part, 0.01 to 2000 mm.
#[inline]
pub(crate) fn size_mm(what: &'static str, value: Length) -> Result<Number, OutOfRange> {
    length_mm(what, value, 0.01, 2000.0)
}

/// A length between two limits in millimetres.
#[inline]
pub(crate) fn length_mm(
    what: &'static str,
    value: Length,
    low: impl Into<Number>,
    high: impl Into<Number>,
) -> Result<Number, OutOfRange> {
    let value_mm = value.as_millimetres();
    within(what, value_mm, low, high, "mm")?;
    Ok(value_mm)
}

/// A magnitude of force, 0 to 1000 kN.
#[inline]
pub(crate) fn force_n(what: &'static str, value: Force) -> Result<Number, OutOfRange> {
    within(what, value.as_newtons(), 0.0, 1e6, "N")?;
    Ok(value.as_newtons())
}

/// A magnitude of torque, 0 to 10 kN·m.
#[inline]
pub(crate) fn torque_nm(what: &'static str, value: Torque) -> Result<Number, OutOfRange> {
    within(what, value.as_newton_metres(), 0.0, 1e4, "N·m")?;
    Ok(value.as_newton_metres())
}

/// A strength, modulus or allowable pressure of a material, 0.1 MPa to 1000 GPa.
#[inline]
pub(crate) fn strength_mpa(what: &'static str, value: Stress) -> Result<Number, OutOfRange> {
    within(what, value.as_megapascals(), 0.1, 1e6, "MPa")?;
    Ok(value.as_megapascals())
}

/// A coefficient of friction, 0.01 to 1.5.
#[inline]
pub(crate) fn friction(what: &'static str, value: Friction) -> Result<Number, OutOfRange> {
    within(what, value.get(), 0.01, 1.5, "one")?;
    Ok(value.get())
}

/// A pure number between two limits.
#[inline]
pub(crate) fn ratio(
    what: &'static str,
    value: Ratio,
    low: impl Into<Number>,
    high: impl Into<Number>,
) -> Result<Number, OutOfRange> {
    within(what, value.get(), low, high, "one")?;
    Ok(value.get())
}

/// A torsional stiffness, 1 to 10⁹ N·m/rad.
#[inline]
pub(crate) fn stiffness_nm_rad(what: &'static str, value: TorsionalStiffness) -> Result<Number, OutOfRange> {
    within(what, value.as_newton_metres_per_radian(), 1.0, 1e9, "N·m/rad")?;
    Ok(value.as_newton_metres_per_radian())
}

/// A count between two limits, as a number.
#[inline]
pub(crate) fn count(what: &'static str, value: u32, low: u32, high: u32) -> Result<f64, OutOfRange> {
    within(what, f64::from(value), f64::from(low), f64::from(high), "pieces")?;
    Ok(f64::from(value))
}
