//! A log of 10 h at 10 Hz with 12 columns and a GPX file of 100 MB, each beside the plain library loop over the same
//! bytes in the same run. Run: `cargo bench -p tracks`; the ratio of two medians is the price of what is read.

use std::hint::black_box;
use std::sync::OnceLock;

use divan::Bencher;
use divan::counter::BytesCount;
use tracks::{Columns, LogReader, Route, Smoothing, Track, read};

fn main() {
    divan::main();
}

/// Numbers that look like a ride: a fixed sequence (Numerical Recipes, linear congruential).
fn noise(state: &mut u32) -> f64 {
    *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
    f64::from(*state) / f64::from(u32::MAX)
}

fn log() -> &'static str {
    static LOG: OnceLock<String> = OnceLock::new();
    LOG.get_or_init(|| {
        let mut text = String::from(
            "time,speed_kmh,distance_m,height_m,bus_voltage_v,battery_current_a,phase_current_a,motor_temp_c,\
             controller_temp_c,motor_torque_nm,cadence_rpm,rider_power_w\n",
        );
        let mut state = 1;
        for i in 0..360_000 {
            let mut n = || noise(&mut state);
            text += &format!(
                "2026-09-01T{:02}:{:02}:{:02}.{}00Z,{:.4},{:.3},{:.3},{:.4},{:.5},{:.5},{:.3},{:.3},{:.5},{:.2},{:.3}\n",
                i / 36_000, i / 600 % 60, i / 10 % 60, i % 10,
                20.0 + 10.0 * n(), f64::from(i) * 0.6, 500.0 + 100.0 * n(), 48.0 + 6.0 * n(), 30.0 * n() - 10.0,
                90.0 * n() - 30.0, 40.0 + 40.0 * n(), 30.0 + 30.0 * n(), 60.0 * n() - 30.0, 60.0 + 30.0 * n(), 200.0 * n(),
            );
        }
        text
    })
}

fn gpx() -> &'static str {
    static GPX: OnceLock<String> = OnceLock::new();
    GPX.get_or_init(|| {
        let mut text =
            String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\">\n<trk><trkseg>\n");
        let (mut state, mut latitude, mut longitude, mut height) = (1, 46.5, 7.2, 600.0);
        let mut i = 0;
        while text.len() < 100_000_000 {
            latitude += 5e-5 * noise(&mut state);
            longitude += 8e-5 * (noise(&mut state) - 0.4);
            height += noise(&mut state) - 0.5;
            text += &format!(
                "   <trkpt lat=\"{latitude:.7}\" lon=\"{longitude:.7}\">\n    <ele>{height:.1}</ele>\n    \
                 <time>2026-09-{:02}T{:02}:{:02}:{:02}Z</time>\n   </trkpt>\n",
                1 + i / 86_400,
                i / 3600 % 24,
                i / 60 % 60,
                i % 60,
            );
            i += 1;
        }
        text + "</trkseg></trk></gpx>\n"
    })
}

fn gpx_track() -> &'static Track {
    static TRACK: OnceLock<Track> = OnceLock::new();
    TRACK.get_or_init(|| read(gpx().as_bytes(), &Columns::default()).expect("a whole file"))
}

/// All samples of the log, as a command that judges it sees them.
#[divan::bench(sample_count = 10)]
fn log_streamed(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(log())).bench(|| {
        let mut reader = LogReader::new(log().as_bytes(), &Columns::default()).expect("a log");
        let mut sum = 0.0;
        while let Some(sample) = reader.read_sample().expect("whole") {
            sum += sample.time_s + sample.values.iter().sum::<f64>();
        }
        sum
    });
}

/// The same log as a table in memory.
#[divan::bench(sample_count = 10)]
fn log_whole(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(log())).bench(|| read(log().as_bytes(), &Columns::default()));
}

/// The general CSV reader over the same bytes: cells found, no number read.
#[divan::bench(sample_count = 10)]
fn log_peer_csv_cells_only(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(log())).bench(|| {
        let mut reader = csv::Reader::from_reader(log().as_bytes());
        let mut record = csv::ByteRecord::new();
        let mut cells = 0;
        while reader.read_byte_record(&mut record).expect("a table") {
            cells += black_box(&record).len();
        }
        cells
    });
}

/// The general CSV reader with the library's own way to numbers.
#[divan::bench(sample_count = 10)]
fn log_peer_csv_numbers(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(log())).bench(|| {
        let mut reader = csv::Reader::from_reader(log().as_bytes());
        let mut record = csv::StringRecord::new();
        let mut sum = 0.0;
        while reader.read_record(&mut record).expect("a table") {
            sum += record.iter().skip(1).map(|cell| cell.parse::<f64>().unwrap_or(f64::NAN)).sum::<f64>();
        }
        sum
    });
}

#[divan::bench(sample_count = 5)]
fn gpx_whole(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(gpx())).bench(|| read(gpx().as_bytes(), &Columns::default()));
}

/// The XML reader over the same bytes: events found, nothing read.
#[divan::bench(sample_count = 5)]
fn gpx_peer_events_only(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(gpx())).bench(|| {
        let mut reader = quick_xml::Reader::from_reader(gpx().as_bytes());
        let mut buffer = Vec::new();
        let mut events = 0;
        while !matches!(black_box(reader.read_event_into(&mut buffer)), Ok(quick_xml::events::Event::Eof) | Err(_)) {
            buffer.clear();
            events += 1;
        }
        events
    });
}

/// Geodesics, standing, smoothing.
#[divan::bench(sample_count = 5)]
fn gpx_to_route(bencher: Bencher<'_, '_>) {
    bencher.counter(BytesCount::of_str(gpx())).bench(|| Route::of(gpx_track(), Smoothing::default()));
}
