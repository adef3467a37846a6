//! Factors of the unit table against printed ones.
//!
//! Source: NIST Special Publication 811 (2008), appendix B.8, entries as printed there (from memory); more digits
//! where the definition gives them exactly. Tolerance: half the last printed digit, or none where exact.

use quantity::text::{Decimal, parse};

fn si(text: &str) -> f64 {
    parse(text, Decimal::Point).unwrap_or_else(|error| panic!("{text}: {error}")).value_si
}

#[test]
fn validates_exact_factors_to_the_bit() {
    for (text, exact_si) in [
        ("1 in", 0.0254_f64),
        ("1 ft", 0.3048),
        ("1 mi", 1609.344),
        ("1 in²", 6.4516e-4),
        ("1 ft²", 9.290304e-2),
        ("1 mph", 0.44704),
        ("1 ft/s", 0.3048),
        ("1 lb", 0.453_592_37),
        ("1 lbf", 4.448_221_615_260_5),
        ("1 kgf", 9.806_65),
        ("1 kgf·m", 9.806_65),
        ("1 kgf·cm", 0.098_066_5),
        ("1 lbf·ft", 1.355_817_948_331_400_4),
        ("1 hp", 745.699_871_582_270_22),
        ("1 Wh", 3600.0),
        ("1 kWh", 3.6e6),
        ("1 bar", 1e5),
        ("1 Ah", 3600.0),
        ("20 °C", 293.15),
        ("32 °F", 273.15),
        ("212 °F", 373.15),
    ] {
        assert_eq!(si(text).to_bits(), exact_si.to_bits(), "{text}: {} is not {exact_si}", si(text));
    }
}

#[test]
fn validates_printed_factors_to_half_the_last_digit() {
    for (text, printed_si, last_digit) in [
        // 59 · 1.355 817 948 331 400 4 by hand; two roundings may cost the last place of an f64.
        ("59 lbf·ft", 79.993_258_951_552_62, 3e-14),
        ("1 lbf·in", 1.129_848e-1, 1e-7),
        ("1 lbf·ft", 1.355_818, 1e-6),
        ("1 psi", 6.894_757e3, 1e-3),
        ("1 ksi", 6.894_757e6, 1.0),
        ("1 lbf/in", 1.751_268e2, 1e-4),
        ("1 oz", 2.834_952e-2, 1e-8),
        ("1 hp", 7.456_999e2, 1e-4),
        ("1 rpm", 1.047_198e-1, 1e-7),
        ("1 °", 1.745_329e-2, 1e-8),
        ("1 km/h", 2.777_778e-1, 1e-7),
    ] {
        let miss = (si(text) - printed_si).abs();
        // The slack is the rounding of the printed decimal itself.
        assert!(miss <= last_digit * 0.500_001, "{text}: {} is not {printed_si}", si(text));
    }
}
