//! Long rides on a terminal: a bar that moves, and Ctrl-C that ends cleanly.
#![cfg(target_os = "linux")]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Longer than any machine here needs for a start.
const PATIENCE: Duration = Duration::from_secs(60);

fn job() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demo/0117-bread-longtail.toml")
}

/// An empty folder for one test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// A long hilly route as CSV.
fn route(folder: &Path) -> PathBuf {
    let mut text = "distance_m,height_m\n".to_owned();
    for i in 0..=2000 {
        let at = 100.0 * f64::from(i);
        let _ = writeln!(text, "{at},{:.2}", 300.0 + 20.0 * (at / 320.0).cos());
    }
    let path = folder.join("route.csv");
    std::fs::write(&path, text).unwrap();
    path
}

/// Waits until the process catches SIGINT itself.
fn catches_interrupts(child: &Child) {
    let begin = Instant::now();
    loop {
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap();
        let caught = status.lines().find_map(|l| l.strip_prefix("SigCgt:")).unwrap().trim();
        if u64::from_str_radix(caught, 16).unwrap() & 1 << 1 != 0 {
            return;
        }
        assert!(begin.elapsed() < PATIENCE, "never listens to SIGINT");
        std::thread::sleep(Duration::from_millis(5));
    }
}

fn interrupt(pid: u32) {
    assert!(Command::new("kill").args(["-INT", &pid.to_string()]).status().unwrap().success());
}

#[test]
fn ctrl_c_ends_variants_with_130_and_no_output() {
    let folder = folder("interrupted");
    let child = Command::new(env!("CARGO_BIN_EXE_backdrive"))
        .arg("ride")
        .args([job(), route(&folder)])
        .args(["--variants", "50000"])
        .current_dir(&folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    catches_interrupts(&child);
    std::thread::sleep(Duration::from_millis(300));
    let begin = Instant::now();
    interrupt(child.id());
    let out = child.wait_with_output().unwrap();
    assert!(begin.elapsed() < Duration::from_secs(20), "took {:?} to end", begin.elapsed());
    assert_eq!(out.status.code(), Some(130), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(out.stdout.is_empty(), "half an answer: {}", String::from_utf8_lossy(&out.stdout));
    let said = String::from_utf8(out.stderr).unwrap();
    assert!(!said.contains("panicked"), "{said}");
    assert!(said.lines().count() >= 1, "says nothing");
    let left: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|f| f.unwrap().file_name()).collect();
    assert_eq!(left, ["route.csv"], "files left behind");
}

/// The bar is drawn on a terminal only; `script` lends one.
#[test]
fn a_terminal_sees_a_bar_and_a_pipe_does_not() {
    let folder = folder("bar");
    let route = route(&folder);
    let line =
        format!("'{}' ride '{}' '{}' --variants 24", env!("CARGO_BIN_EXE_backdrive"), job().display(), route.display());
    let Ok(out) = Command::new("script").args(["-qec", &line, "/dev/null"]).stdin(Stdio::null()).output() else {
        eprintln!("skipped: script is missing (apt-get install bsdutils)");
        return;
    };
    let seen = String::from_utf8_lossy(&out.stdout);
    assert!(seen.contains(" %") && seen.contains("100 %") | seen.contains('█'), "no bar in {seen:?}");
    let piped = Command::new("sh").args(["-c", &line]).output().unwrap();
    assert!(!String::from_utf8_lossy(&piped.stderr).contains('█'));
}

fn ridden(more: &[&str]) -> std::process::Output {
    let ride = ["ride", "--descent", "7 %, 133 m"];
    Command::new(env!("CARGO_BIN_EXE_backdrive")).args(ride).arg(job()).args(more).output().unwrap()
}

/// At the charge limit the motor's force falls as P/v and the air's rises as v²: their sum has its least at
/// v³ = P/(ρ·CdA), and below it any excess of speed grows (PHYSICS-DETAIL E6).
#[test]
fn a_hold_at_the_charge_limit_is_called_unstable_below_its_speed() {
    let json: serde_json::Value = serde_json::from_slice(&ridden(&["--format", "json"]).stdout).unwrap();
    let kmh = json["least_stable_hold_km_h"].as_f64().expect("a charge limit is kept");
    let text = String::from_utf8(ridden(&[]).stdout).unwrap();
    let line = text.lines().find(|l| l.contains("unstable")).expect("a word on it");
    let (before, after) = line.split_once(" km/h ").unwrap();
    let (side, said) = before.rsplit_once(' ').unwrap();
    assert!((said.parse::<f64>().unwrap() / kmh - 1.0).abs() < 0.01, "{line} against {kmh}");
    let slope = |v: f64| {
        let force = |v: f64| kmh.powi(3) / v + 0.5 * v * v;
        force(v * 1.001) - force(v)
    };
    assert!(slope(0.9 * kmh) < 0.0 && slope(1.1 * kmh) > 0.0);
    assert!(side.eq_ignore_ascii_case("below") && after.contains("unstable"), "{line}");
}
