//! Readings as people write them: what is read, and what is refused with which words.

use quantity::text::{Decimal, Problem, Reading, Spread, expect, parse, print};
use quantity::units::{System, find_unit, fits, preferred_unit, units};
use quantity::{Force, Quantity, Ratio, TemperatureRise, Torque};

fn read(text: &str) -> Reading {
    parse(text, Decimal::Point).unwrap_or_else(|error| panic!("`{text}`: {error}"))
}

fn refused(text: &str, decimal: Decimal) -> (Problem, String) {
    match parse(text, decimal) {
        Ok(reading) => panic!("`{text}` was read as {reading:?}"),
        Err(error) => (error.problem.clone(), text[error.span.start..error.span.end].to_owned()),
    }
}

#[test]
fn spellings_of_one_unit() {
    for (symbol, spellings) in [
        ("N·m", &["N·m", "N*m", "N m", "Nm", "N.m", "N-m", "N ⋅ m"] as &[_]),
        ("Ω", &["\u{3a9}", "\u{2126}", "ohm"]),
        ("mΩ", &["m\u{3a9}", "m\u{2126}", "mohm"]),
        ("µH", &["\u{b5}H", "\u{3bc}H", "uH"]),
        ("µF", &["\u{b5}F", "\u{3bc}F", "uF"]),
        ("mF", &["mF", "millifarad"]),
        ("µs", &["us", "\u{3bc}s"]),
        ("in", &["in", "″", "\"", "in.", "inches"]),
        ("lbf·ft", &["lbf·ft", "ft·lbf", "lb-ft", "ft-lb", "ft lbs", "lbf ft"]),
        ("km/h", &["km/h", "kmh", "km / h", "km per h"]),
        ("°C", &["°C", "C", "℃", "º C", "deg C"]),
        ("%", &["%", "per cent", "percent"]),
        ("N/mm²", &["N/mm2", "N/mm²", "N/mm^2"]),
        ("N·m·s", &["N·m·s", "Nms", "N·m·s/rad", "N m s / rad"]),
        ("kg·m²", &["kg·m²", "kg m2", "kg*m^2", "kgm²"]),
        ("%/K", &["%/K", "% / K", "% per K"]),
        ("1/A", &["1/A", "A^-1", "per A"]),
    ] {
        for spelling in spellings {
            assert_eq!(find_unit(spelling).map(|unit| unit.symbol), Some(symbol), "`{spelling}`");
        }
    }
    for nothing in ["", " ", ".", "nm", "furlong", "mΩ mΩ"] {
        assert_eq!(find_unit(nothing), None, "`{nothing}`");
    }
}

#[test]
fn forms_of_a_reading() {
    let range = |low_si, high_si| Spread::Range { low_si, high_si };
    for (text, value_si, spread) in [
        ("80 N·m", 80.0, Spread::None),
        ("  80Nm ", 80.0, Spread::None),
        ("80 N·m ± 4 %", 80.0, Spread::PlusMinusShare(0.04)),
        ("80 N·m±4%", 80.0, Spread::PlusMinusShare(0.04)),
        ("80 N·m +/- 3", 80.0, Spread::PlusMinusSi(3.0)),
        ("80 N·m ± 500 mN·m", 80.0, Spread::PlusMinusSi(0.5)),
        ("20 °C ± 3 °C", 293.15, Spread::PlusMinusSi(3.0)),
        ("20 °C ± 3 K", 293.15, Spread::PlusMinusSi(3.0)),
        ("68 °F ± 9", 293.15, Spread::PlusMinusSi(5.0)),
        ("10 to 12 mm", 0.011, range(0.01, 0.012)),
        ("9 mm to 1 cm", 0.0095, range(0.009, 0.01)),
        ("5–7 N", 6.0, range(5.0, 7.0)),
        ("5..7 N", 6.0, range(5.0, 7.0)),
        ("-5 to 7 N", 1.0, range(-5.0, 7.0)),
        ("45 N·m (40 to 50 N·m)", 45.0, range(40.0, 50.0)),
        ("45 N·m (40 to 50)", 45.0, range(40.0, 50.0)),
        ("0.12", 0.12, Spread::None),
        ("0.12 ± 10 %", 0.12, Spread::PlusMinusShare(0.1)),
        ("0.12 (0.08 to 0.16)", 0.12, range(0.08, 0.16)),
        ("5 %", 0.05, Spread::None),
        ("90 % ± 2", 0.9, Spread::PlusMinusSi(0.02)),
        ("1 234.5 N", 1234.5, Spread::None),
        ("1\u{2009}234 567 N", 1_234_567.0, Spread::None),
        ("1'234 N", 1234.0, Spread::None),
        ("0.003\u{202f}93 1/K", 0.003_93, Spread::None),
        ("0.5 1/A", 0.5, Spread::None),
        ("1.5e3 N", 1500.0, Spread::None),
        ("2E−3 N", 0.002, Spread::None),
        ("−5 N", -5.0, Spread::None),
        ("0.02 V/(rad/s)", 0.02, Spread::None),
        ("0.02 V/(rad/s) (0.01 to 0.03 V/(rad/s))", 0.02, range(0.01, 0.03)),
        (".5 N", 0.5, Spread::None),
    ] {
        let reading = read(text);
        assert_eq!((reading.value_si, reading.spread), (value_si, spread), "`{text}`");
    }
    let reading = read(" 80 N·m ± 4 %");
    assert_eq!(
        (reading.span.start, reading.number.end, reading.unit_span.map(|s| (s.start, s.end))),
        (1, 3, Some((4, 8)))
    );
    assert_eq!(read("80 N·m ± 5 %").bounds_si(), (76.0, 84.0));
}

#[test]
fn decimal_comma_is_never_skipped() {
    for (text, value_si) in [
        ("1,5 N", 1.5),
        ("1 234,5 N", 1234.5),
        ("0,125 N", 0.125),
        ("1,500 N", 1.5),
        ("1.5 N", 1.5),
        ("0.125 N", 0.125),
    ] {
        assert_eq!(parse(text, Decimal::Comma).map(|reading| reading.value_si), Ok(value_si), "`{text}`");
    }
    for (text, decimal, problem, place) in [
        ("1,5 N", Decimal::Point, Problem::AmbiguousComma, "1,5"),
        ("1,500 N", Decimal::Point, Problem::AmbiguousComma, "1,500"),
        ("1,234.5 N", Decimal::Point, Problem::AmbiguousComma, "1,234.5"),
        ("2 N ± 0,5 N", Decimal::Point, Problem::AmbiguousComma, "0,5"),
        ("1.500 N", Decimal::Comma, Problem::AmbiguousPoint, "1.500"),
        ("1.234,5 N", Decimal::Comma, Problem::AmbiguousPoint, "1.234,5"),
        ("1.234.567 N", Decimal::Point, Problem::AmbiguousPoint, "1.234.567"),
    ] {
        assert_eq!(refused(text, decimal), (problem, place.to_owned()), "`{text}`");
    }
}

#[test]
fn refusals_say_where() {
    let unit = |text: &str| find_unit(text).expect("in the table");
    let unknown = |text: &str| Problem::UnknownUnit { nearest: Some(unit(text)) };
    for (text, problem, place) in [
        ("", Problem::Empty, ""),
        ("  ", Problem::Empty, "  "),
        ("tight", Problem::NotANumber, "tight"),
        ("NaN", Problem::NotFinite, "NaN"),
        ("-inf N", Problem::NotFinite, "-inf"),
        ("1e999 N", Problem::NotFinite, "1e999"),
        ("1e-999 N", Problem::NotFinite, "1e-999"),
        ("1e308 km", Problem::NotFinite, "1e308 km"),
        ("12 34 N", Problem::BadGrouping, "12 34"),
        ("0 123 N", Problem::BadGrouping, "0 123"),
        ("80 nm", unknown("N·m"), "nm"),
        ("80 Mpa", unknown("MPa"), "Mpa"),
        ("80 snorkels", Problem::UnknownUnit { nearest: None }, "snorkels"),
        ("80 N·m ± 4 N", Problem::UnitsDiffer { first: unit("N·m"), second: unit("N") }, "4 N"),
        ("80 N·m ± 4 J", Problem::UnitsDiffer { first: unit("N·m"), second: unit("J") }, "4 J"),
        ("80 N ± -4 N", Problem::NegativeSpread, "-4"),
        ("90 % ± 2 %", Problem::PercentOfPercent, "2 %"),
        ("20 °C ± 5 %", Problem::PercentOfTemperature, "5 %"),
        ("12 to 10 mm", Problem::ReversedRange, "12 to 10 mm"),
        ("5-7 N", Problem::HyphenRange, "5-7 N"),
        ("60 N·m (40 to 50 N·m)", Problem::ValueOutsideRange, "(40 to 50 N·m)"),
        ("45 N·m (40 to 50 N·m", Problem::OpenParen, "(40 to 50 N·m"),
        ("45 N·m (40 N·m)", Problem::NotARange, "(40 N·m)"),
        ("45 N·m ± 1 ± 2", Problem::Trailing, "± 2"),
        ("45 N·m (40 to 50) dry", Problem::Trailing, "dry"),
        ("45 N·m ±", Problem::NotANumber, ""),
    ] {
        assert_eq!(refused(text, Decimal::Point), (problem, place.to_owned()), "`{text}`");
    }
}

#[test]
fn a_force_or_an_energy_is_no_torque() {
    let torque = |text: &str| expect(&read(text), Torque::DIMENSION, &["torque"]).map_err(|error| error.problem);
    assert_eq!(torque("80 N·m"), Ok(()));
    assert_eq!(torque("59 ft-lb ± 4 %"), Ok(()));
    let unit = |symbol| find_unit(symbol).expect("in the table");
    let wrong = |symbol| Problem::WrongKind { found: unit(symbol), expected: vec!["torque"] };
    assert_eq!(torque("80 N"), Err(wrong("N")));
    assert_eq!(torque("80 J"), Err(wrong("J")));
    assert_eq!(torque("80"), Err(Problem::MissingUnit { expected: vec!["torque"] }));
    let friction = |text| expect(&read(text), Ratio::DIMENSION, &["pure number"]);
    assert!(friction("0.12").is_ok() && friction("12 %").is_ok() && friction("12°").is_err());
    let rise = |text| expect(&read(text), TemperatureRise::DIMENSION, &["temperature rise"]);
    assert!(rise("20 K").is_ok() && rise("20 °C").is_err());
    assert!(expect(&read("20 N"), Force::DIMENSION, &[]).is_ok());
}

#[test]
fn prints_as_people_write() {
    let unit = |text: &str| find_unit(text).expect("in the table");
    let point = |value_si, symbol, digits| print(value_si, unit(symbol), digits, Decimal::Point);
    assert_eq!(point(98.0, "N·m", 3), "98 N·m");
    assert_eq!(point(1.77_f64.to_radians(), "°", 3), "1.77°");
    assert_eq!(print(0.12, quantity::units::Unit::one(), 3, Decimal::Point), "0.12");
    assert_eq!(print(0.12, quantity::units::Unit::one(), 3, Decimal::Comma), "0,12");
    assert_eq!(point(79.993_258_951_552_62, "lbf·ft", 3), "59 lbf·ft");
    assert_eq!(point(12_345.6, "N", 3), "12300 N");
    assert_eq!(point(0.999_96, "N", 3), "1 N");
    assert_eq!(point(273.15, "°C", 3), "0 °C");
    assert_eq!(point(273.15 + 0.1, "°C", 12), "0.1 °C");
    assert_eq!(point(1.234e-7, "F", 3), "1.23e-7 F");
    assert_eq!(point(-2.5, "A", 2), "-2.5 A");
}

#[test]
fn each_habit_has_its_preferred_unit() {
    for (kind, metric, imperial) in [
        ("torque", "N·m", "lbf·ft"),
        ("force", "N", "lbf"),
        ("length", "mm", "in"),
        ("speed", "km/h", "mph"),
        ("mass", "kg", "lb"),
        ("temperature", "°C", "°F"),
        ("stress", "MPa", "psi"),
        ("voltage", "V", "V"),
    ] {
        let symbol = |system| preferred_unit(kind, system).map(|unit| unit.symbol);
        assert_eq!((symbol(System::Metric), symbol(System::Imperial)), (Some(metric), Some(imperial)), "{kind}");
    }
    assert_eq!(preferred_unit("taste", System::Metric), None);
    for unit in units() {
        assert!(unit.kinds.iter().all(|kind| fits(kind).contains(&unit.symbol)));
    }
}
