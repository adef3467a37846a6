//! Laws of reading and printing, on generated texts and values.

use proptest::prelude::*;
use quantity::text::{Decimal, Spread, parse, print_exact};
use quantity::units::{Unit, find_unit, units};

fn any_unit() -> impl Strategy<Value = &'static Unit> {
    (0..units().len()).prop_map(|i| &units()[i])
}

fn any_decimal() -> impl Strategy<Value = Decimal> {
    prop_oneof![Just(Decimal::Point), Just(Decimal::Comma)]
}

/// Numbers of any size a person might write, and all digits an `f64` has.
fn any_value() -> impl Strategy<Value = f64> {
    prop_oneof![
        (any::<i32>(), -9..4_i32).prop_map(|(digits, power)| f64::from(digits) * 10f64.powi(power)),
        (-1.0..1.0_f64, -40..40_i32).prop_map(|(mantissa, power)| mantissa * 10f64.powi(power)),
    ]
}

/// Texts made of the pieces the grammar knows, mostly in the wrong order.
fn any_text() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        prop::sample::select(vec![
            "1", "23", "456", "0", ".", ",", "..", "-", "−", "+", "±", "+/-", "to", " to ", "–", "(", ")", " ",
            "\u{2009}", "'", "’", "e", "E", "e5", "N", "N·m", "%", "°", "°C", "µ", "Ω", "\u{2126}", "1/", "/", "nan",
            "∞", "²", "^", "in", "″", "…", "\u{202f}", "t", "to1",
        ])
        .prop_map(str::to_owned),
        any::<char>().prop_map(String::from),
    ];
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

fn read(text: &str, decimal: Decimal) -> f64 {
    parse(text, decimal).unwrap_or_else(|error| panic!("`{text}`: {error}")).value_si
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_was_read_prints_and_reads_back_to_the_bit(value in any_value(), unit in any_unit(), decimal in any_decimal()) {
        let value_si = unit.to_si(value);
        prop_assume!(value_si != 0.0 || value == 0.0);
        let text = print_exact(value_si, unit, decimal);
        let back_si = read(&text, decimal);
        prop_assert_eq!(back_si.to_bits(), value_si.to_bits(), "{} is not {}: {}", back_si, value_si, text);
    }

    #[test]
    fn any_value_prints_within_two_last_places(value_si in any_value(), unit in any_unit(), decimal in any_decimal()) {
        let text = print_exact(value_si, unit, decimal);
        let back_si = read(&text, decimal);
        // °C and °F resolve what an f64 resolves at their zero.
        let scale_si = if unit.is_offset() { value_si.abs().max(512.0) } else { value_si.abs() };
        prop_assert!((back_si - value_si).abs() <= 2.0 * (scale_si.next_up() - scale_si), "{back_si} is not {value_si}");
        prop_assert_eq!(read(&print_exact(back_si, unit, decimal), decimal).to_bits(), back_si.to_bits());
    }

    #[test]
    fn a_coherent_unit_prints_every_value_exactly(bits in any::<u64>(), decimal in any_decimal()) {
        let value_si = f64::from_bits(bits);
        prop_assume!(value_si.is_finite());
        for symbol in ["N·m", "rad", "K", "A"] {
            let text = print_exact(value_si, find_unit(symbol).expect("in the table"), decimal);
            prop_assert_eq!(read(&text, decimal).to_bits(), bits, "{}", text);
        }
    }

    #[test]
    fn no_text_panics_and_every_place_is_in_it(text in any_text(), decimal in any_decimal()) {
        match parse(&text, decimal) {
            Err(error) => {
                prop_assert!(text.get(error.span.start..error.span.end).is_some(), "{:?}", error.span);
                prop_assert!(!error.to_string().is_empty());
            }
            Ok(reading) => {
                for span in [Some(reading.span), Some(reading.number), reading.unit_span].into_iter().flatten() {
                    prop_assert!(text.get(span.start..span.end).is_some_and(|part| !part.is_empty()), "{span:?}");
                }
                let (low_si, high_si) = reading.bounds_si();
                prop_assert!(low_si <= reading.value_si && reading.value_si <= high_si);
            }
        }
    }

    #[test]
    fn any_string_is_read_or_refused(text in any::<String>(), decimal in any_decimal()) {
        if let Err(error) = parse(&text, decimal) {
            prop_assert!(text.get(error.span.start..error.span.end).is_some());
        }
    }

    #[test]
    fn comma_and_point_say_the_same(whole in 0_u32..100_000, fraction in 0_u32..100, unit in any_unit()) {
        let with = |mark: char| format!("{whole}{mark}{fraction:02} {}", unit.symbol);
        prop_assert_eq!(read(&with(','), Decimal::Comma), read(&with('.'), Decimal::Point));
        prop_assert!(parse(&with(','), Decimal::Point).is_err());
    }

    #[test]
    fn a_reading_displays_as_it_can_be_read(value in 1.0..1e4_f64, low in 0.1..1.0_f64, unit in any_unit(), form in 0..4) {
        let symbol = unit.symbol;
        let text = match form {
            0 => format!("{value} {symbol}"),
            1 => format!("{value} {symbol} ± {low}"),
            2 if symbol != "%" && !unit.is_offset() => format!("{value} {symbol} ± {low} %"),
            _ => format!("{value} {symbol} ({low} to {} {symbol})", value * 2.0),
        };
        let reading = parse(&text, Decimal::Point).expect(&text);
        let again = parse(&reading.to_string(), Decimal::Point).expect(&text);
        prop_assert_eq!(reading.value_si.to_bits(), again.value_si.to_bits());
        prop_assert_eq!(reading.spread, again.spread, "{}", text);
        prop_assert_eq!(reading.spread == Spread::None, form == 0);
    }
}
