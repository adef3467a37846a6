//! Any bytes as a job file: a job or errors, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| intake::fuzz_job(bytes));
