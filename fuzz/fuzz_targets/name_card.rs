//! Any bytes give a name card or errors.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| intake::fuzz_name_card(bytes));
