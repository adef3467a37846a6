//! The table. Order within a kind is order of preference.
//!
//! Factors: NIST Special Publication 811 (2008), appendix B, from the definitions inch = 25.4 mm, pound =
//! 0.453 592 37 kg and standard acceleration 9.806 65 m/s² (from memory; the printed factors are checked in
//! `tests/validates_nist.rs`).

use super::System::{Both, Imperial, Metric};
use super::Unit;
use crate::Dimension;
use core::f64::consts::PI;

const fn d(kg: i8, m: i8, s: i8, a: i8, k: i8) -> Dimension {
    Dimension::new(kg, m, s, a, k)
}

const NUMBER: Dimension = d(0, 0, 0, 0, 0);
const LENGTH: Dimension = d(0, 1, 0, 0, 0);
const AREA: Dimension = d(0, 2, 0, 0, 0);
const MASS: Dimension = d(1, 0, 0, 0, 0);
const TIME: Dimension = d(0, 0, 1, 0, 0);
const SPEED: Dimension = d(0, 1, -1, 0, 0);
const RATE: Dimension = d(0, 0, -1, 0, 0);
const FORCE: Dimension = d(1, 1, -2, 0, 0);
const TORQUE: Dimension = d(1, 2, -2, 0, 0);
const STRESS: Dimension = d(1, -1, -2, 0, 0);
const STIFFNESS: Dimension = d(1, 0, -2, 0, 0);
const COMPLIANCE: Dimension = d(-1, 0, 2, 0, 0);
const DAMPING: Dimension = d(1, 2, -1, 0, 0);
const INERTIA: Dimension = d(1, 2, 0, 0, 0);
const POWER: Dimension = d(1, 2, -3, 0, 0);
const CURRENT: Dimension = d(0, 0, 0, 1, 0);
const CHARGE: Dimension = d(0, 0, 1, 1, 0);
const VOLTAGE: Dimension = d(1, 2, -3, -1, 0);
const RESISTANCE: Dimension = d(1, 2, -3, -2, 0);
const INDUCTANCE: Dimension = d(1, 2, -2, -2, 0);
const CAPACITANCE: Dimension = d(-1, -2, 4, 2, 0);
const FLUX: Dimension = d(1, 2, -2, -1, 0);
const KELVIN: Dimension = d(0, 0, 0, 0, 1);

const ONE: (f64, f64) = (1.0, 1.0);
const KILO: (f64, f64) = (1e3, 1.0);
const MEGA: (f64, f64) = (1e6, 1.0);
const MILLI: (f64, f64) = (1.0, 1e3);
const MICRO: (f64, f64) = (1.0, 1e6);

/// 4.448 221 615 260 5 N.
const POUND_FORCE: (f64, f64) = (8_896_443_230_521.0, 2e12);
/// 1.355 817 948 331 400 4 N·m.
const FOOT_POUND: (f64, f64) = (3_389_544_870_828_501.0, 2.5e15);
/// A twelfth of it.
const INCH_POUND: (f64, f64) = (1_129_848_290_276_167.0, 1e16);
/// Pound-force per square inch, 4.448 221 615 260 5 N / 0.000 645 16 m².
const PSI: (f64, f64) = (8_896_443_230_521.0, 1_290_320_000.0);
/// 550 foot pounds a second: 745.699 871 582 270 22 W. The numerator 37 284 993 579 113 511 is rounded.
const HORSEPOWER: (f64, f64) = (37_284_993_579_113_511.0, 5e13);
/// 9.806 65 N.
const KILOGRAM_FORCE: (f64, f64) = (980_665.0, 1e5);

#[rustfmt::skip]
pub(super) static UNITS: [Unit; 113] = [
    Unit::new("", &["pure number"], NUMBER, ONE, Both, &[]),
    Unit::new("%", &["pure number"], NUMBER, (1.0, 100.0), Both, &["per cent", "percent", "pct"]),
    Unit::new("°", &["angle"], NUMBER, (PI, 180.0), Both, &["deg", "degree", "degrees"]),
    Unit::new("rad", &["angle"], NUMBER, ONE, Both, &["radian", "radians"]),
    Unit::new("mm", &["length"], LENGTH, MILLI, Metric, &["millimetre", "millimetres", "millimeter", "millimeters"]),
    Unit::new("cm", &["length"], LENGTH, (1.0, 100.0), Metric, &["centimetre", "centimetres", "centimeter", "centimeters"]),
    Unit::new("m", &["length"], LENGTH, ONE, Metric, &["metre", "metres", "meter", "meters"]),
    Unit::new("km", &["length"], LENGTH, KILO, Metric, &["kilometre", "kilometres", "kilometer", "kilometers", "Km"]),
    Unit::new("µm", &["length"], LENGTH, MICRO, Metric, &["micrometre", "micrometres"]),
    Unit::new("in", &["length"], LENGTH, (127.0, 5e3), Imperial, &["″", "\"", "”", "''", "inch", "inches"]),
    Unit::new("ft", &["length"], LENGTH, (381.0, 1_250.0), Imperial, &["foot", "feet"]),
    Unit::new("mi", &["length"], LENGTH, (201_168.0, 125.0), Imperial, &["mile", "miles"]),
    Unit::new("mm²", &["area"], AREA, MICRO, Metric, &["sq mm"]),
    Unit::new("cm²", &["area"], AREA, (1.0, 1e4), Metric, &["sq cm"]),
    Unit::new("m²", &["area"], AREA, ONE, Metric, &["sq m"]),
    Unit::new("in²", &["area"], AREA, (16_129.0, 25e6), Imperial, &["sq in"]),
    Unit::new("ft²", &["area"], AREA, (145_161.0, 1_562_500.0), Imperial, &["sq ft"]),
    Unit::new("kg", &["mass"], MASS, ONE, Metric, &["kilogram", "kilograms", "Kg", "KG"]),
    Unit::new("g", &["mass"], MASS, MILLI, Metric, &["gram", "grams"]),
    Unit::new("lb", &["mass"], MASS, (45_359_237.0, 1e8), Imperial, &["lbs", "pound", "pounds"]),
    Unit::new("oz", &["mass"], MASS, (45_359_237.0, 1.6e9), Imperial, &["ounce", "ounces"]),
    Unit::new("s", &["time"], TIME, ONE, Both, &["sec", "second", "seconds"]),
    Unit::new("ms", &["time"], TIME, MILLI, Both, &["millisecond", "milliseconds"]),
    Unit::new("µs", &["time"], TIME, MICRO, Both, &["microsecond", "microseconds"]),
    Unit::new("min", &["time"], TIME, (60.0, 1.0), Both, &["mins", "minute", "minutes"]),
    Unit::new("h", &["time"], TIME, (3_600.0, 1.0), Both, &["hr", "hrs", "hour", "hours"]),
    Unit::new("km/h", &["speed"], SPEED, (5.0, 18.0), Metric, &["kmh", "kph", "kmph", "Km/h", "KM/H"]),
    Unit::new("mph", &["speed"], SPEED, (1_397.0, 3_125.0), Imperial, &["mi/h", "MPH"]),
    Unit::new("m/s", &["speed"], SPEED, ONE, Metric, &["mps"]),
    Unit::new("ft/s", &["speed"], SPEED, (381.0, 1_250.0), Imperial, &["fps"]),
    Unit::new("m/s²", &["acceleration"], d(0, 1, -2, 0, 0), ONE, Both, &["m/s/s"]),
    Unit::new("rpm", &["angular speed"], RATE, (PI, 30.0), Both, &["RPM", "r/min", "rev/min", "1/min", "min⁻¹", "min^-1"]),
    Unit::new("rad/s", &["angular speed"], RATE, ONE, Both, &[]),
    Unit::new("Hz", &["frequency"], RATE, ONE, Both, &["hertz", "1/s"]),
    Unit::new("kHz", &["frequency"], RATE, KILO, Both, &[]),
    Unit::new("N", &["force"], FORCE, ONE, Metric, &["newton", "newtons"]),
    Unit::new("kN", &["force"], FORCE, KILO, Metric, &["kilonewton", "kilonewtons", "KN"]),
    Unit::new("lbf", &["force"], FORCE, POUND_FORCE, Imperial, &["lb-f"]),
    Unit::new("kgf", &["force"], FORCE, KILOGRAM_FORCE, Metric, &["kg-f", "kp"]),
    Unit::new("N·m", &["torque"], TORQUE, ONE, Metric, &["Nm", "newton metre", "newton metres", "newton meter", "newton meters"]),
    Unit::new("mN·m", &["torque"], TORQUE, MILLI, Metric, &["mNm"]),
    Unit::new("kN·m", &["torque"], TORQUE, KILO, Metric, &["kNm"]),
    Unit::new("lbf·ft", &["torque"], TORQUE, FOOT_POUND, Imperial, &["ft·lbf", "lb·ft", "ft·lb", "ft·lbs", "lbs·ft", "lbft", "ftlb", "ftlbs", "lbfft", "foot pound", "foot pounds"]),
    Unit::new("lbf·in", &["torque"], TORQUE, INCH_POUND, Imperial, &["in·lbf", "lb·in", "in·lb", "in·lbs", "lbs·in", "inlb", "inlbs", "inch pound", "inch pounds"]),
    Unit::new("kgf·m", &["torque"], TORQUE, KILOGRAM_FORCE, Metric, &["kgfm", "kp·m"]),
    Unit::new("kgf·cm", &["torque"], TORQUE, (980_665.0, 1e7), Metric, &["kgfcm", "kp·cm"]),
    Unit::new("N·m/rad", &["torsional stiffness"], TORQUE, ONE, Both, &["Nm/rad"]),
    Unit::new("N·m/°", &["torsional stiffness"], TORQUE, (180.0, PI), Both, &["Nm/°", "N·m/deg", "Nm/deg"]),
    Unit::new("N/mm", &["stiffness"], STIFFNESS, KILO, Metric, &[]),
    Unit::new("kN/mm", &["stiffness"], STIFFNESS, MEGA, Metric, &[]),
    Unit::new("N/m", &["stiffness"], STIFFNESS, ONE, Metric, &[]),
    Unit::new("lbf/in", &["stiffness"], STIFFNESS, (8_896_443_230_521.0, 5.08e10), Imperial, &["lb/in"]),
    Unit::new("mm/N", &["compliance"], COMPLIANCE, MILLI, Both, &[]),
    Unit::new("mm/kN", &["compliance"], COMPLIANCE, MICRO, Both, &[]),
    Unit::new("m/N", &["compliance"], COMPLIANCE, ONE, Both, &[]),
    Unit::new("N·m·s", &["damping"], DAMPING, ONE, Both, &["Nms", "N·m·s/rad", "Nms/rad", "N·m/(rad/s)", "Nm/(rad/s)"]),
    Unit::new("mN·m·s", &["damping"], DAMPING, MILLI, Both, &["mNms", "mN·m·s/rad", "mNms/rad"]),
    Unit::new("µN·m·s", &["damping"], DAMPING, MICRO, Both, &["µNms", "µN·m·s/rad"]),
    Unit::new("kg·m²", &["moment of inertia"], INERTIA, ONE, Both, &["kgm²"]),
    Unit::new("kg·cm²", &["moment of inertia"], INERTIA, (1.0, 1e4), Both, &["kgcm²"]),
    Unit::new("g·m²", &["moment of inertia"], INERTIA, MILLI, Both, &["gm²"]),
    Unit::new("MPa", &["stress", "pressure"], STRESS, MEGA, Metric, &["megapascal", "megapascals"]),
    Unit::new("N/mm²", &["stress"], STRESS, MEGA, Metric, &[]),
    Unit::new("GPa", &["stress"], STRESS, (1e9, 1.0), Metric, &["gigapascal", "gigapascals"]),
    Unit::new("bar", &["pressure"], STRESS, (1e5, 1.0), Metric, &["bars"]),
    Unit::new("hPa", &["pressure"], STRESS, (100.0, 1.0), Metric, &["mbar"]),
    Unit::new("kPa", &["pressure", "stress"], STRESS, KILO, Metric, &[]),
    Unit::new("Pa", &["pressure", "stress"], STRESS, ONE, Metric, &["pascal", "pascals", "N/m²"]),
    Unit::new("psi", &["pressure", "stress"], STRESS, PSI, Imperial, &["PSI", "lbf/in²", "lb/in²"]),
    Unit::new("ksi", &["stress"], STRESS, (8_896_443_230_521.0, 1_290_320.0), Imperial, &[]),
    Unit::new("kg/m³", &["density"], d(1, -3, 0, 0, 0), ONE, Both, &[]),
    Unit::new("g/cm³", &["density"], d(1, -3, 0, 0, 0), KILO, Both, &["kg/dm³"]),
    Unit::new("W", &["power"], POWER, ONE, Both, &["watt", "watts"]),
    Unit::new("kW", &["power"], POWER, KILO, Both, &["kilowatt", "kilowatts", "KW"]),
    Unit::new("hp", &["power"], POWER, HORSEPOWER, Imperial, &["HP", "bhp", "horsepower"]),
    Unit::new("Wh", &["energy"], TORQUE, (3_600.0, 1.0), Both, &["W·h", "watt hour", "watt hours"]),
    Unit::new("kWh", &["energy"], TORQUE, (3.6e6, 1.0), Both, &["kW·h", "KWh"]),
    Unit::new("J", &["energy"], TORQUE, ONE, Both, &["joule", "joules", "W·s"]),
    Unit::new("kJ", &["energy"], TORQUE, KILO, Both, &["kilojoule", "kilojoules"]),
    Unit::new("Wh/km", &["energy per distance"], FORCE, (18.0, 5.0), Metric, &["W·h/km"]),
    Unit::new("Wh/mi", &["energy per distance"], FORCE, (3_125.0, 1_397.0), Imperial, &["W·h/mi", "Wh/mile"]),
    Unit::new("A", &["current"], CURRENT, ONE, Both, &["amp", "amps", "ampere", "amperes"]),
    Unit::new("mA", &["current"], CURRENT, MILLI, Both, &[]),
    Unit::new("Ah", &["charge"], CHARGE, (3_600.0, 1.0), Both, &["A·h", "amp hour", "amp hours"]),
    Unit::new("mAh", &["charge"], CHARGE, (18.0, 5.0), Both, &["mA·h"]),
    Unit::new("A·s", &["charge"], CHARGE, ONE, Both, &["As", "coulomb", "coulombs"]),
    Unit::new("V", &["voltage"], VOLTAGE, ONE, Both, &["volt", "volts"]),
    Unit::new("mV", &["voltage"], VOLTAGE, MILLI, Both, &["millivolt", "millivolts"]),
    Unit::new("kV", &["voltage"], VOLTAGE, KILO, Both, &[]),
    Unit::new("Ω", &["resistance"], RESISTANCE, ONE, Both, &["ohm", "ohms", "Ohm"]),
    Unit::new("mΩ", &["resistance"], RESISTANCE, MILLI, Both, &["mohm", "mohms", "mOhm", "milliohm", "milliohms"]),
    Unit::new("kΩ", &["resistance"], RESISTANCE, KILO, Both, &["kohm", "kohms", "kOhm"]),
    Unit::new("H", &["inductance"], INDUCTANCE, ONE, Both, &["henry", "henries"]),
    Unit::new("mH", &["inductance"], INDUCTANCE, MILLI, Both, &[]),
    Unit::new("µH", &["inductance"], INDUCTANCE, MICRO, Both, &["microhenry", "microhenries"]),
    Unit::new("µF", &["capacitance"], CAPACITANCE, MICRO, Both, &["microfarad", "microfarads"]),
    Unit::new("mF", &["capacitance"], CAPACITANCE, MILLI, Both, &["millifarad", "millifarads"]),
    Unit::new("F", &["capacitance"], CAPACITANCE, ONE, Both, &["farad", "farads"]),
    Unit::new("mWb", &["flux linkage"], FLUX, MILLI, Both, &["mV·s", "mVs", "milliweber", "milliwebers"]),
    Unit::new("Wb", &["flux linkage"], FLUX, ONE, Both, &["weber", "webers"]),
    Unit::new("V·s", &["flux linkage"], FLUX, ONE, Both, &["Vs", "V·s/rad", "Vs/rad", "V/(rad/s)"]),
    Unit::new("N·m/A", &["torque constant"], FLUX, ONE, Both, &["Nm/A"]),
    Unit::new("1/A", &["flux droop"], d(0, 0, 0, -1, 0), ONE, Both, &["/A", "A⁻¹", "A^-1", "per A"]),
    Unit::new("%/A", &["flux droop"], d(0, 0, 0, -1, 0), (1.0, 100.0), Both, &[]),
    Unit::new("°C", &["temperature"], KELVIN, (100.0, 100.0), Metric, &["C", "deg·C", "degC", "° C", "degrees C"]).zero_at(27_315.0),
    Unit::new("°F", &["temperature"], KELVIN, (100.0, 180.0), Imperial, &["deg·F", "degF", "° F", "degrees F"]).zero_at(45_967.0),
    Unit::new("K", &["temperature", "temperature rise"], KELVIN, ONE, Both, &["kelvin", "kelvins"]),
    Unit::new("1/K", &["temperature coefficient"], d(0, 0, 0, 0, -1), ONE, Both, &["/K", "K⁻¹", "K^-1", "per K", "1/°C", "/°C"]),
    Unit::new("%/K", &["temperature coefficient"], d(0, 0, 0, 0, -1), (1.0, 100.0), Both, &["%/°C"]),
    Unit::new("J/K", &["heat capacity"], d(1, 2, -2, 0, -1), ONE, Both, &["J/°C"]),
    Unit::new("kJ/K", &["heat capacity"], d(1, 2, -2, 0, -1), KILO, Both, &[]),
    Unit::new("K/W", &["thermal resistance"], d(-1, -2, 3, 0, 1), ONE, Both, &["°C/W"]),
    Unit::new("W/K", &["thermal conductance"], d(1, 2, -3, 0, -1), ONE, Both, &["W/°C"]),
];
