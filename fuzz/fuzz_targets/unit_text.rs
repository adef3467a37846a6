//! Any text as a value with a unit: a value or an error, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| {
    let _ = quantity::text::parse(text);
});
