//! What stands in the files: lengths, forbidden names, open ends, and lists that must not drift.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use house::{MANY_LINES, MOST_LINES, NEVER, code, files, names, root};

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn below(folder: &str, endings: &[&str]) -> Vec<PathBuf> {
    let folder = root().join(folder);
    let found = files(&folder, endings).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    assert!(!found.is_empty(), "no file in {}", folder.display());
    found
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}

fn crates() -> Vec<String> {
    let entries = fs::read_dir(root().join("crates")).expect("there are crates");
    let folders = entries.map(|entry| entry.expect("crates can be listed").path());
    let mut found: Vec<String> = folders
        .filter(|folder| folder.join("Cargo.toml").is_file())
        .map(|folder| folder.file_name().expect("a folder has a name").to_string_lossy().into_owned())
        .collect();
    found.sort();
    found
}

#[test]
fn files_are_short() {
    let mut wrong = Vec::new();
    for path in crates().iter().flat_map(|name| below(&format!("crates/{name}/src"), &[".rs"])) {
        let lines = read(&path).lines().count();
        if lines > MOST_LINES {
            wrong.push(format!("{} has {lines} lines; at most {MOST_LINES}", shown(&path)));
        } else if lines > MANY_LINES {
            eprintln!("{} has {lines} lines; split it before it reaches {MOST_LINES}", shown(&path));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn crates_name_nothing_that_they_must_not_know() {
    let mut wrong = Vec::new();
    for (name, banned, why) in NEVER {
        for path in below(&format!("crates/{name}/src"), &[".rs"]) {
            let code = code(&read(&path));
            for banned in banned.iter().filter(|banned| names(&code, banned)) {
                wrong.push(format!("{} names `{banned}`: {why}", shown(&path)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn nothing_is_left_open() {
    // Put together from halves, so that this file does not find itself.
    let marks = [
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
        concat!("XX", "X"),
        concat!("to", "do!"),
        concat!("unimple", "mented!"),
    ];
    let mut wrong = Vec::new();
    for path in below(".", &[".rs", ".md", ".toml", ".sh", ".py"]) {
        for (number, line) in read(&path).lines().enumerate() {
            for mark in marks.iter().filter(|mark| names(line, mark)) {
                wrong.push(format!("{}:{} says {mark}", shown(&path), number + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn lock_files_are_committed() {
    for lock in ["Cargo.lock", "fuzz/Cargo.lock"] {
        assert!(root().join(lock).is_file(), "{lock} is missing");
        if root().join(".git").exists() {
            let git = Command::new("git").args(["ls-files", "--error-unmatch", lock]).current_dir(root()).output();
            // A machine without git has no history to ask.
            if let Ok(git) = git {
                assert!(git.status.success(), "{lock} is not committed: {}", String::from_utf8_lossy(&git.stderr));
            }
        }
    }
}

#[test]
fn the_map_lists_every_crate() {
    let map = read(&root().join("ARCHITECTURE.md"));
    let missing: Vec<String> = crates().into_iter().filter(|name| !map.contains(&format!("`{name}`"))).collect();
    assert!(missing.is_empty(), "ARCHITECTURE.md does not name {missing:?} (in backquotes)");
}
