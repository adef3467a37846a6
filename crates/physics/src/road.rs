//! Forces of road and air, and the density of the air.

use super::checked::within;
use super::math;
use super::si::*;
use crate::{Formula, OutOfRange};

/// All formulas of this module.
pub const FORMULAS: &[&Formula] = &[&ROAD_FORCE, &AIR_DENSITY];

/// Force that road and air ask for.
pub const ROAD_FORCE: Formula = Formula {
    name: "road-force",
    equation: "F = m·g·(sin α + C_rr·cos α) + ½·ρ·CdA·(v + w)·|v + w|, α = atan(grade), w head wind",
    source: "Martin et al. 1998, J Appl Biomech 14(3) 276–291, steady terms; the wind's sign so that a tail wind pushes",
    valid: "steady speed, straight ahead",
    left_out: "bearings, wheel inertia, cross wind",
    checked_by: "validates_road_power (Martin et al. 1998, Appendix I)",
};

/// Density of moist air.
pub const AIR_DENSITY: Formula = Formula {
    name: "air-density",
    equation: "ρ = p·M_a/(Z·R·T)·[1 − x_v·(1 − M_v/M_a)]",
    source: "CIPM-2007 (Picard et al., Metrologia 45 (2008) 149–155), 400 µmol/mol carbon dioxide",
    valid: "600 to 1100 hPa, −30 to 50 °C (the standard itself: 15 to 27 °C)",
    left_out: "other carbon dioxide contents",
    checked_by: "validates_air_density",
};

/// Standard gravity, m/s².
pub(crate) const GRAVITY: f64 = 9.806_65;

/// A bike on a road.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnRoad {
    /// All-up mass.
    pub mass: Mass,
    /// Slope, negative downhill.
    pub grade: Grade,
    /// Rolling resistance.
    pub rolling: Ratio,
    /// Drag coefficient times frontal area.
    pub drag_area: DragArea,
    /// Density of the air.
    pub air: Density,
    /// Head wind; a tail wind is negative.
    pub wind: Speed,
}

/// Force needed at the tyre to keep the speed; negative when the bike must be braked.
///
/// # Errors
/// [`OutOfRange`] for a mass, slope or speed beyond a bike's.
pub fn road_force(b: &OnRoad, speed: Speed) -> Result<Force, OutOfRange> {
    let (m_kg, v, w) = (b.mass.as_kilograms(), speed.as_metres_per_second(), b.wind.as_metres_per_second());
    within("mass", m_kg, 1.0, 2000.0, "kg")?;
    within("grade", b.grade.as_percent(), -100.0, 100.0, "%")?;
    within("speed", v, -60.0, 60.0, "m/s")?;
    within("wind", w, -60.0, 60.0, "m/s")?;
    within("rolling-resistance", b.rolling.get(), 0.0, 0.2, "one")?;
    let slope = b.grade.get();
    let cos = 1.0 / (1.0 + slope * slope).sqrt();
    let against = v + w;
    let air_n = 0.5 * b.air.as_kilograms_per_cubic_metre() * b.drag_area.as_square_metres() * against * against.abs();
    Ok(Force::newtons(m_kg * GRAVITY * cos * (slope + b.rolling.get()) + air_n))
}

/// Density of moist air.
///
/// # Errors
/// [`OutOfRange`] outside the valid range.
pub fn air_density(temperature: Temperature, pressure: Pressure, humidity: Ratio) -> Result<Density, OutOfRange> {
    let (t_c, t, p) = (temperature.as_celsius(), temperature.as_kelvins(), pressure.as_pascals());
    within("air-temperature", t_c, -30.0, 50.0, "°C")?;
    within("air-pressure", pressure.as_hectopascals(), 600.0, 1100.0, "hPa")?;
    within("humidity", humidity.get(), 0.0, 1.0, "one")?;
    let saturated = math::exp(1.237_884_7e-5 * t * t - 1.912_131_6e-2 * t + 33.937_110_47 - 6.343_164_5e3 / t);
    let enhance = 1.000_62 + 3.14e-8 * p + 5.6e-7 * t_c * t_c;
    let x_v = humidity.get() * enhance * saturated / p;
    let pt = p / t;
    let z = 1.0
        - pt * (1.581_23e-6 - 2.933_1e-8 * t_c
            + 1.104_3e-10 * t_c * t_c
            + (5.707e-6 - 2.051e-8 * t_c) * x_v
            + (1.989_8e-4 - 2.376e-6 * t_c) * x_v * x_v)
        + pt * pt * (1.83e-11 - 0.765e-8 * x_v * x_v);
    Ok(Density::kilograms_per_cubic_metre(3.483_74e-3 * p / (z * t) * (1.0 - 0.378_0 * x_v)))
}
