//! Routes: segments, gaps, stops, speeds, smoothing.

use tracks::{Columns, Route, Smoothing, Track, ascents, read};

/// Metres per degree of latitude at the equator on WGS 84, from the series of the meridian's length
/// (6 378 137 m · (1 − e²) · π/180 at latitude zero).
const METRES_PER_DEGREE: f64 = 6_378_137.0 * (1.0 - 0.006_694_379_990_14) * core::f64::consts::PI / 180.0;

/// A point so many metres north of the equator.
fn point(north_m: f64, height_m: Option<f64>, time_s: Option<f64>) -> String {
    let height = height_m.map_or(String::new(), |height| format!("<ele>{height}</ele>"));
    let time = time_s.map_or(String::new(), |t| {
        let t = t as u32;
        format!("<time>2026-09-01T{:02}:{:02}:{:02}Z</time>", t / 3600, t / 60 % 60, t % 60)
    });
    format!("<trkpt lat=\"{:.9}\" lon=\"8\">{height}{time}</trkpt>", north_m / METRES_PER_DEGREE)
}

fn gpx(segments: &[Vec<String>]) -> Track {
    let segments: String = segments.iter().map(|points| format!("<trkseg>{}</trkseg>", points.concat())).collect();
    read(format!("<gpx><trk>{segments}</trk></gpx>").as_bytes(), &Columns::default()).unwrap()
}

fn plain() -> Smoothing {
    Smoothing { step_m: 10.0, half_length_m: 0.0 }
}

fn says(route: &Route, what: &str) -> bool {
    route.notes().iter().any(|note| note.what.contains(what))
}

#[test]
fn segments_are_never_bridged() {
    let first = (0..=10).map(|i| point(f64::from(i) * 50.0, Some(f64::from(i)), None)).collect();
    let second = (0..=10).map(|i| point(20_000.0 + f64::from(i) * 50.0, Some(300.0 - f64::from(i)), None)).collect();
    let track = gpx(&[first, second]);
    assert!((track.length_m().unwrap() - 1000.0).abs() < 0.01);
    let route = Route::of(&track, plain()).unwrap();
    assert!((route.length_m() - 1000.0).abs() < 0.01);
    let seams: Vec<f64> = route.seams_m().collect();
    assert!(seams.len() == 1 && (seams[0] - 500.0).abs() < 0.01 && says(&route, "seam"));
    assert!((route.height_at(499.9) - 10.0).abs() < 0.01 && (route.height_at(500.1) - 300.0).abs() < 0.01);
    assert!(route.stretches().all(|stretch| stretch.grade.abs() < 0.021), "the seam is no slope");
    let total: f64 = route.stretches().map(|stretch| stretch.length_m).sum();
    assert!((total - route.length_m()).abs() < 1e-9);
    assert_eq!(route.grade_at(-1.0), 0.0);
    assert_eq!(route.grade_at(1e9), 0.0);
}

#[test]
fn missing_heights_are_an_even_slope() {
    let height = |i: i32| if (3..8).contains(&i) { None } else { Some(f64::from(i) * 2.0) };
    let route =
        Route::of(&gpx(&[(0..=10).map(|i| point(f64::from(i) * 30.0, height(i), None)).collect()]), plain()).unwrap();
    assert!(
        route.stretches().all(|stretch| (stretch.grade - 2.0 / 30.0).abs() < 1e-5) && says(&route, "missing heights")
    );
    let none = gpx(&[(0..=10).map(|i| point(f64::from(i) * 30.0, None, None)).collect()]);
    assert!(Route::of(&none, plain()).unwrap_err().what.contains("no heights"));
}

#[test]
fn stops_and_speeds_come_from_the_times() {
    // 5 m/s for 100 s, 40 s of standing with jitter and drifting height, 10 m/s for 50 s.
    let mut points: Vec<String> =
        (0..=100).map(|i| point(f64::from(i) * 5.0, Some(10.0), Some(f64::from(i)))).collect();
    points.extend(
        (1..=40)
            .map(|i| point(500.0 + f64::from(i % 3) * 0.2, Some(10.0 + f64::from(i % 5)), Some(100.0 + f64::from(i)))),
    );
    points.extend((1..=50).map(|i| point(500.0 + f64::from(i) * 10.0, Some(10.0), Some(140.0 + f64::from(i)))));
    let route = Route::of(&gpx(&[points]), Smoothing::default()).unwrap();
    assert!((route.length_m() - 1000.0).abs() < 1.0, "{}", route.length_m());
    let stops = route.stops();
    assert!(
        stops.len() == 1 && (stops[0].time_s - 40.0).abs() <= 3.0 && (stops[0].at_m - 500.0).abs() < 2.0,
        "{stops:?}"
    );
    assert_eq!(route.wishes().len(), 20);
    for wish in route.wishes() {
        let wanted = if wish.end_m <= 500.5 { 5.0 } else { 10.0 };
        assert!((wish.speed_m_s - wanted).abs() < 0.15, "{wish:?}");
    }
    let steepest = route.stretches().map(|stretch| stretch.grade.abs()).fold(0.0, f64::max);
    assert!(steepest < 0.04 && says(&route, "wandered"), "{steepest}");
}

#[test]
fn a_pause_between_segments_at_one_place_is_a_stop() {
    let ride = |from: f64, at_s: f64| {
        (0..=20).map(|i| point(from + f64::from(i) * 5.0, Some(1.0), Some(at_s + f64::from(i)))).collect()
    };
    let route = Route::of(&gpx(&[ride(0.0, 0.0), ride(110.0, 620.0), ride(5_000.0, 900.0)]), plain()).unwrap();
    assert!(route.stops().len() == 1 && route.stops()[0].time_s == 600.0, "{:?}", route.stops());
}

#[test]
fn points_astray_are_left_out_and_jumps_cut() {
    let ride = |i: i32| point(f64::from(i) * 5.0, Some(1.0), Some(f64::from(i)));
    let mut astray: Vec<String> = (0..40).map(ride).collect();
    astray[20] = point(4_000.0, Some(900.0), Some(20.0));
    let route = Route::of(&gpx(&[astray]), plain()).unwrap();
    assert!((route.length_m() - 195.0).abs() < 0.1 && says(&route, "nobody can have ridden"), "{}", route.length_m());
    let mut jump: Vec<String> = (0..20).map(ride).collect();
    jump.extend((0..20).map(|i| point(9_000.0 + f64::from(i) * 5.0, Some(1.0), Some(20.0 + f64::from(i)))));
    let route = Route::of(&gpx(&[jump]), plain()).unwrap();
    assert!((route.length_m() - 190.0).abs() < 0.1 && route.seams_m().count() == 1 && says(&route, "jumps"));
}

#[test]
fn smoothing_shows_its_effect() {
    // Hills of 2 m over 500 m with 0.5 m of noise that repeats every 20 m.
    let height =
        |s: f64| 2.0 * (s / 500.0 * core::f64::consts::TAU).sin() + 0.5 * (s / 20.0 * core::f64::consts::TAU).sin();
    let points = (0..=1000).map(|i| point(f64::from(i) * 5.0, Some(height(f64::from(i) * 5.0)), None)).collect();
    let track = gpx(&[points]);
    let result = ascents(&track, Smoothing::default()).unwrap();
    // Ten hills of 4 m.
    assert!(result.raw_up_m > 200.0, "{result:?}");
    assert!((result.smoothed_up_m - 40.0).abs() < 2.0, "{result:?}");
    assert!((result.smoothed_up_m - result.smoothed_down_m).abs() < 1.0);
    for wrong in [f64::NAN, -1.0, f64::INFINITY] {
        assert!(Route::of(&track, Smoothing { step_m: 10.0, half_length_m: wrong }).is_err());
        assert!(Route::of(&track, Smoothing { step_m: wrong, half_length_m: 100.0 }).is_err());
    }
}

#[test]
fn a_plan_beside_the_ride_is_left_out() {
    let points = |name: &str| -> String {
        let line = (0..=20).map(|i| point(f64::from(i) * 50.0, Some(5.0), None)).collect::<String>();
        line.replace("trkpt", name)
    };
    let route = |text: &str| {
        let track = read(format!("<gpx>{text}</gpx>").as_bytes(), &Columns::default()).unwrap();
        Route::of(&track, plain()).unwrap()
    };
    let plan = format!("<rte>{}</rte>", points("rtept"));
    let both = route(&format!("{plan}<trk><trkseg>{}</trkseg></trk>", points("trkpt")));
    assert!((both.length_m() - 1000.0).abs() < 0.01 && says(&both, "planned"), "{}", both.length_m());
    assert!((route(&plan).length_m() - 1000.0).abs() < 0.01);
}

#[test]
fn a_table_of_positions_is_a_route() {
    let rows: String =
        (0..=20).map(|i| format!("{i},{:.9},8,{}\n", f64::from(i) * 50.0 / METRES_PER_DEGREE, 500 + i)).collect();
    let track = read(format!("time (s),lat,lon,altitude (m)\n{rows}").as_bytes(), &Columns::default()).unwrap();
    let route = Route::of(&track, plain()).unwrap();
    assert!((route.length_m() - 1000.0).abs() < 0.01 && (route.grade_at(500.0) - 0.02).abs() < 1e-5);
    assert!((ascents(&track, plain()).unwrap().raw_up_m - 20.0).abs() < 1e-9);
}
