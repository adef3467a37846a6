//! Any bytes as a route, ride or log: a track or an error, never a panic; a route of it has finite heights.
#![no_main]

use tracks::{Columns, Route, Smoothing, read};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Ok(track) = read(bytes, &Columns::default()) else { return };
    if let Ok(route) = Route::of(&track, Smoothing::default()) {
        for stretch in route.stretches() {
            assert!(stretch.length_m > 0.0 && stretch.grade.is_finite() && stretch.start_height_m.is_finite());
        }
    }
});
