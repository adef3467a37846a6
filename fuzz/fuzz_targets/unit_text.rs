//! Any text as a value with a unit, with either decimal mark: a value or an error, never a panic.
#![no_main]

use quantity::text::{Decimal, parse};

libfuzzer_sys::fuzz_target!(|text: &str| {
    for decimal in [Decimal::Point, Decimal::Comma] {
        if let Ok(reading) = parse(text, decimal) {
            let (low, high) = reading.bounds_si();
            assert!(low <= high, "{text:?}: {low} to {high}");
        }
    }
});
