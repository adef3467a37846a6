//! Every ride file that some registry packages ship, point by point and in total, against independent readers
//! (gpxpy, fitdecode, tcxreader) and an independent geodesic library (geographiclib for Python). The packages are
//! fetched into the target folder; without a network the check says that it was skipped.

use std::path::{Path, PathBuf};
use std::process::Command;

use tracks::{Columns, Quantity, Smoothing, Track, ascents, read};

/// Runs a command; its stderr if it fails.
fn run(command: &mut Command) -> Result<(), String> {
    let output = command.output().map_err(|error| format!("{command:?}: {error}"))?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    eprint!("{said}");
    output.status.success().then_some(()).ok_or_else(|| format!("{command:?}: {}", said.lines().last().unwrap_or("")))
}

/// The folder with what the referees read; fetched and computed once.
fn referees() -> Result<PathBuf, String> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rides");
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("../validation/python");
    let python = folder.join("python/bin/python");
    if !folder.join("complete").is_file() {
        std::fs::create_dir_all(&folder).map_err(|error| error.to_string())?;
        run(Command::new("python3").args(["-m", "venv"]).arg(folder.join("python")))?;
        let requirements = scripts.join("rides-requirements.txt");
        let pip = ["-m", "pip", "install", "--quiet", "--retries=1", "--disable-pip-version-check", "--requirement"];
        run(Command::new(&python).args(pip).arg(requirements))?;
        run(Command::new(&python).env("PYTHONDONTWRITEBYTECODE", "1").arg(scripts.join("rides.py")).arg(&folder))?;
    }
    Ok(folder)
}

/// Rows of a table; a cell that is empty is not-a-number.
fn rows(path: &Path) -> Vec<csv::StringRecord> {
    let mut reader = csv::Reader::from_path(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    reader.records().map(|row| row.expect("the script writes a table")).collect()
}

fn number(cell: &str) -> f64 {
    if cell.is_empty() { f64::NAN } else { cell.parse().expect("the script writes numbers") }
}

fn near(ours: f64, theirs: f64, tolerance: f64) -> bool {
    ours == theirs || (ours - theirs).abs() <= tolerance || (ours.is_nan() && theirs.is_nan())
}

/// The columns of the script's tables after segment and time, with half of the last digit that the formats carry.
const FIELDS: [(Quantity, f64); 8] = [
    (Quantity::Latitude, 1e-12),
    (Quantity::Longitude, 1e-12),
    (Quantity::Height, 1e-9),
    (Quantity::Distance, 1e-9),
    (Quantity::Speed, 1e-12),
    (Quantity::Cadence, 1e-12),
    (Quantity::RiderPower, 0.0),
    (Quantity::AirTemperature, 0.0),
];

/// What differs from the referee's points.
fn differences(track: &Track, points: &[csv::StringRecord]) -> Vec<String> {
    let mut wrong = Vec::new();
    let ours = track.segments.iter().enumerate().flat_map(|(at, s)| (0..s.len()).map(move |i| (at, s, i)));
    for (row, (at, segment, i)) in points.iter().zip(ours) {
        let mut compare = |name: &str, ours: f64, theirs: f64, tolerance: f64| {
            if !near(ours, theirs, tolerance) {
                wrong.push(format!("segment {at} point {i}, {name}: {ours}, referee {theirs}"));
            }
        };
        compare("segment", at as f64, number(&row[0]), 0.0);
        compare("time", segment.time_s[i], number(&row[1]), 1e-6);
        for (place, (quantity, tolerance)) in FIELDS.iter().enumerate() {
            let ours = segment.column(*quantity).map_or(f64::NAN, |values| values[i]);
            compare(quantity.name(), ours, number(&row[place + 2]), *tolerance);
        }
    }
    wrong
}

#[test]
fn validates_ride_files_against_independent_readers() {
    let folder = match referees() {
        Ok(folder) => folder,
        Err(why) => return eprintln!("skipped: the referees or their files could not be fetched ({why})"),
    };
    let (mut files, mut points, mut refused, mut wrong) = (0, 0, 0, Vec::new());
    for row in rows(&folder.join("index.csv")) {
        let (path, counted) = (PathBuf::from(&row[1]), &row[3]);
        let bytes = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let ours = read(&bytes, &Columns::default());
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if !row[6].is_empty() {
            // The referee cannot read it; what we make of it nobody can compare.
            eprintln!("{name}: the referee refuses it ({})", &row[6]);
            refused += 1;
            continue;
        }
        files += 1;
        if counted == "0" {
            if !matches!(&ours, Err(error) if error.what.contains("no point")) {
                wrong.push(format!("{name}: the referee finds no point, we say {ours:?}"));
            }
            continue;
        }
        let track = match ours {
            Ok(track) => track,
            Err(error) => {
                wrong.push(format!("{name}: {error}"));
                continue;
            }
        };
        let theirs = rows(&folder.join("points").join(format!("{}.csv", &row[0])));
        points += theirs.len();
        let length_m = track.length_m().unwrap_or(0.0);
        if track.points() != theirs.len() || track.segments.len().to_string() != row[2] {
            wrong.push(format!("{name}: {} points in {} segments", track.points(), track.segments.len()));
        }
        if !near(length_m, number(&row[4]), 1e-6 + 1e-9 * length_m) {
            wrong.push(format!("{name}: {length_m} m, referee {} m", &row[4]));
        }
        let found = differences(&track, &theirs);
        wrong.extend(found.iter().take(3).map(|what| format!("{name}: {what} ({} in all)", found.len())));
        if let Ok(ascents) = ascents(&track, Smoothing::default()) {
            if !near(ascents.raw_up_m, number(&row[5]), 1e-6) {
                wrong.push(format!("{name}: {} m up, referee {} m", ascents.raw_up_m, &row[5]));
            }
            eprintln!(
                "{name}: {} points, {length_m:.1} m, {:.1} m up raw, {:.1} m smoothed",
                track.points(),
                ascents.raw_up_m,
                ascents.smoothed_up_m
            );
        }
    }
    eprintln!("{files} files with {points} points compared, {refused} refused by their referee");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(files > 0, "nothing was compared");
}
