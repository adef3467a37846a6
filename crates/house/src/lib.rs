//! The rules of this repository as data, and how a file is read when they are checked. The tests do the checking.

use std::{fs, io, path::Path, path::PathBuf};

/// Which crates of this workspace, and which libraries, one of its crates may use.
pub struct Arrows {
    /// The crate.
    pub name: &'static str,
    /// Crates of this workspace that it may depend on, in any way (normal, build, dev).
    pub inner: &'static [&'static str],
    /// Libraries that its code may depend on (for the workbench: numbers, sampling, and reading of data built into it);
    /// `None`: any whose licence is allowed. Tests may use more.
    pub outer: Option<&'static [&'static str]>,
}

/// The only list of arrows. They point down: nobody names a crate that stands above.
pub const ARROWS: &[Arrows] = &[
    Arrows { name: "quantity", inner: &[], outer: Some(&[]) },
    Arrows { name: "physics", inner: &["quantity"], outer: Some(&["libm"]) },
    Arrows { name: "evidence", inner: &["quantity"], outer: Some(&["csv"]) },
    Arrows {
        name: "workbench",
        inner: &["quantity", "physics", "evidence"],
        outer: Some(&[
            "fearless_simd",
            "levenberg-marquardt",
            "libm",
            "nalgebra",
            "rand",
            "rand_chacha",
            "rayon",
            "serde",
            "serde_json",
            "sobol",
            "statrs",
            "toml",
        ]),
    },
    Arrows { name: "tracks", inner: &["quantity"], outer: None },
    Arrows { name: "proof", inner: &["quantity", "physics", "workbench"], outer: None },
    Arrows { name: "intake", inner: &["quantity", "workbench", "tracks", "proof"], outer: None },
    Arrows { name: "drawing", inner: &["quantity", "workbench", "intake"], outer: Some(&["libm"]) },
    Arrows { name: "jobbook", inner: &["quantity", "workbench"], outer: None },
    Arrows {
        name: "page",
        inner: &["quantity", "evidence", "workbench", "tracks", "proof", "drawing", "intake", "jobbook"],
        outer: None,
    },
    Arrows {
        name: "app",
        inner: &[
            "quantity",
            "physics",
            "evidence",
            "workbench",
            "tracks",
            "proof",
            "intake",
            "drawing",
            "jobbook",
            "page",
        ],
        outer: None,
    },
    Arrows { name: "e2e", inner: &["jobbook", "page"], outer: None },
    Arrows { name: "validation", inner: &["quantity", "physics", "evidence", "workbench", "proof"], outer: None },
    Arrows { name: "house", inner: &["physics"], outer: None },
];

/// Licences under which a library may come in.
pub const LICENCES: &[&str] = &[
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Libraries that come under another licence, with the reason why that is fine.
pub const LICENCE_EXCEPTIONS: &[(&str, &str, &str)] = &[];

/// What a crate's sources must not name: (crate, paths and identifiers, why).
pub const NEVER: &[(&str, &[&str], &str)] = &[
    (
        "quantity",
        &["std::fs", "std::time", "std::thread", "std::net", "std::env"],
        "a quantity knows nothing but its number",
    ),
    (
        "physics",
        &["std::fs", "std::io", "std::time", "std::thread", "std::net", "std::env", "rand", "serde", "evidence"],
        "a formula is a pure function of quantities",
    ),
    (
        "workbench",
        &[
            "std::fs",
            "std::path",
            "std::net",
            "std::env",
            "std::process",
            "PathBuf",
            "rusqlite",
            "sqlx",
            "axum",
            "hyper",
            "reqwest",
            "typst",
            "SELECT",
            "INSERT",
        ],
        "facts, links and verdicts know no file, database, network or page",
    ),
];

/// A source file longer than this fails the check.
pub const MOST_LINES: usize = 700;
/// A source file longer than this is named as too long for one job.
pub const MANY_LINES: usize = 500;

/// The folder of the workspace.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("a crate stands two folders below the root").into()
}

/// Every file below a folder whose name ends in one of the endings, sorted; build output and hidden folders left out.
///
/// # Errors
/// If a folder cannot be read.
pub fn files(folder: &Path, endings: &[&str]) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
            if path.is_dir() {
                if !name.starts_with('.') && !matches!(name, "target" | "corpus" | "artifacts") {
                    open.push(path);
                }
            } else if endings.iter().any(|ending| name.ends_with(ending)) {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// The code of a source file without its line comments, so that prose may name what code must not.
pub fn code(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

/// Whether code names this identifier or path as a whole: `rand` is not in `operand`, `std::fs` is in `std::fs::File`
/// and in `use std::{fs, io}`.
pub fn names(code: &str, wanted: &str) -> bool {
    let word = |text: &str, wanted: &str| {
        text.match_indices(wanted).any(|(at, _)| {
            let part = |c: char| c.is_alphanumeric() || c == '_';
            !text[..at].chars().next_back().is_some_and(part)
                && !text[at + wanted.len()..].chars().next().is_some_and(part)
        })
    };
    if word(code, wanted) {
        return true;
    }
    let Some((crate_name, module)) = wanted.split_once("::") else { return false };
    let group = format!("{crate_name}::{{");
    code.match_indices(&group).any(|(at, _)| {
        let inside = &code[at + group.len()..];
        word(&inside[..inside.find(';').unwrap_or(inside.len())], module)
    })
}

#[cfg(test)]
mod tests {
    use super::{code, names};

    #[test]
    fn a_name_is_found_as_a_whole_only() {
        assert!(names("use std::fs;", "std::fs"));
        assert!(names("use std::{fs, io};", "std::fs"));
        assert!(names("use std::{\n    io,\n    fs::File,\n};", "std::fs"));
        assert!(names("let x = rand::random();", "rand"));
        assert!(!names("let operand = 1;", "rand"));
        assert!(!names("use std::{io}; let fs = 1;", "std::fs"));
        assert!(!names(&code("a(); // reads no std::fs"), "std::fs"));
    }
}
