//! Laws for any input.

use proptest::prelude::*;
use tracks::{Columns, Route, Smoothing, Track, read};

/// Reads and uses whatever comes; the answer is a track or an error, and every number of a route is finite.
fn use_up(bytes: &[u8]) -> Option<Track> {
    let track = read(bytes, &Columns::default()).ok()?;
    if let Ok(route) = Route::of(&track, Smoothing::default()) {
        for stretch in route.stretches() {
            assert!(stretch.length_m > 0.0 && stretch.grade.is_finite() && stretch.start_height_m.is_finite());
        }
        assert!(route.wishes().iter().all(|wish| wish.speed_m_s > 0.0 && wish.end_m > wish.start_m));
    }
    Some(track)
}

fn table(rows: &[(f64, f64)]) -> String {
    let rows: String = rows.iter().map(|(distance, height)| format!("{distance},{height}\n")).collect();
    format!("distance (m),height (m)\n{rows}")
}

proptest! {
    #[test]
    fn any_bytes_are_a_track_or_an_error(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        use_up(&bytes);
        use_up(&[b"\x0e\x20\0\x08\xff\xff\xff\xff.FIT\0\0", bytes.as_slice()].concat());
        use_up(&[b"<gpx>", bytes.as_slice()].concat());
        use_up(&[b"time_s,distance_m,height_m\n", bytes.as_slice()].concat());
    }

    #[test]
    fn any_text_is_a_track_or_an_error(text in "\\PC{0,300}", head in "(time|date|speed \\(km/h\\)|distance_m|height_m|,|;){0,8}") {
        use_up(text.as_bytes());
        use_up(format!("{head}\n{text}").as_bytes());
        let utf_16: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        use_up(&[&[0xff, 0xfe], utf_16.as_slice()].concat());
    }

    #[test]
    fn a_table_gives_back_what_was_written(
        rows in proptest::collection::vec((any::<f64>(), proptest::num::f64::NORMAL), 2..30),
    ) {
        let rows: Vec<(f64, f64)> = rows.into_iter().filter(|(a, b)| a.is_finite() && b.is_finite()).collect();
        prop_assume!(!rows.is_empty());
        let track = read(table(&rows).as_bytes(), &Columns::default()).unwrap();
        for (i, (distance, height)) in rows.iter().enumerate() {
            prop_assert_eq!(track.segments[0].values[0][i].to_bits(), distance.to_bits());
            prop_assert_eq!(track.segments[0].values[1][i].to_bits(), height.to_bits());
        }
    }

    #[test]
    fn smoothing_keeps_length_and_a_straight_slope(
        steps in proptest::collection::vec(0.1..80.0f64, 4..200),
        slope in -0.3..0.3f64,
        half_length_m in 0.0..500.0f64,
    ) {
        let mut distance = 0.0;
        let rows: Vec<(f64, f64)> = steps.iter().map(|step| { distance += step; (distance, 500.0 + slope * distance) }).collect();
        let track = read(table(&rows).as_bytes(), &Columns::default()).unwrap();
        let route = Route::of(&track, Smoothing { half_length_m, ..Smoothing::default() }).unwrap();
        prop_assert!((route.length_m() - (distance - rows[0].0)).abs() < 1e-6);
        for stretch in route.stretches() {
            prop_assert!((stretch.grade - slope).abs() < 1e-6, "{} {}", stretch.grade, slope);
        }
    }

    #[test]
    fn smoothing_never_roughens(heights in proptest::collection::vec(0.0..50.0f64, 10..100), half_length_m in 30.0..500.0f64) {
        let rows: Vec<(f64, f64)> = heights.iter().enumerate().map(|(i, height)| (i as f64 * 10.0, *height)).collect();
        let track = read(table(&rows).as_bytes(), &Columns::default()).unwrap();
        let bend = |half_length_m: f64| {
            let route = Route::of(&track, Smoothing { half_length_m, ..Smoothing::default() }).unwrap();
            let grades: Vec<f64> = route.stretches().map(|stretch| stretch.grade).collect();
            grades.windows(2).map(|pair| (pair[1] - pair[0]).powi(2)).sum::<f64>()
        };
        prop_assert!(bend(half_length_m) <= bend(0.0) + 1e-12);
    }
}
