//! The demo jobs show what they are there to show, and the settings found for the good one hold on it.

use std::process::{Command, Output};

fn run(command: &str, job: &str, more: &[&str]) -> Output {
    let path = format!("{}/../../demo/{job}.toml", env!("CARGO_MANIFEST_DIR"));
    Command::new(env!("CARGO_BIN_EXE_backdrive")).arg(command).arg(path).args(more).output().unwrap()
}

#[test]
fn each_demo_job_has_its_verdict() {
    for (job, exit, says) in [
        ("0117-bread-longtail", 0, "Holds."),
        ("0109-bread-longtail-as-found", 1, "Won't hold. First fix Axle in the frame"),
        ("0121-folding-commuter", 1, "Don't convert"),
        ("0124-compact-hauler", 1, "Won't hold."),
        ("0126-second-hauler", 1, "Can't say yet"),
    ] {
        let found = run("check", job, &[]);
        let text = String::from_utf8(found.stdout).unwrap();
        assert_eq!(found.status.code(), Some(exit), "{job}: {text}");
        assert!(text.lines().nth(2).is_some_and(|line| line.starts_with(says)), "{job}: {text}");
    }
}

/// What the second sample asks for is turned alone: the charge limit stays where the supply binds it.
#[test]
fn the_settings_of_the_good_demo_hold() {
    let found = run("settings", "0117-bread-longtail", &["--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    assert_eq!((found.status.code(), &json["holds"]), (Some(0), &serde_json::Value::Bool(true)), "{json}");
    let settings = json["settings"].as_array().unwrap();
    let limit = settings.iter().find(|s| s["id"].as_str().unwrap().contains("charge-limit")).unwrap();
    assert_eq!(limit["binds"]["link"], "pack-cuts-out", "{limit}");
}
