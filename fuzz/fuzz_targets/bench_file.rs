//! Any bytes as a bench file or a come-back card: readings or errors, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| intake::fuzz_bench(bytes));
