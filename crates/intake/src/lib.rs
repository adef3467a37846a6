//! Reads what people write in files: jobs and tool racks, in TOML with units in the values.
//!
//! All errors of a file come at once, each with its place, what is allowed and what to do next. Nothing of a faulty
//! file is used.

mod diagnostic;
mod job;
mod name_card;
mod rack;

use std::fs;
use std::path::Path;

pub use diagnostic::{Diagnostic, render};
pub use job::read_job;
pub use name_card::read_name_card;
pub use rack::read_rack;
use workbench::job::Job;

/// A file that could not be used.
#[derive(Debug)]
pub enum LoadError {
    /// The file cannot be opened or is not text.
    File {
        /// The file.
        path: String,
        /// Why not.
        why: String,
    },
    /// The file can be read, but not used.
    Content {
        /// The file.
        path: String,
        /// Its text.
        text: String,
        /// All that is wrong.
        errors: Vec<Diagnostic>,
    },
}

/// Largest job file, in bytes.
const LARGEST: u64 = 1 << 20;

fn slurp(path: &Path) -> Result<String, LoadError> {
    let fail = |why: String| LoadError::File { path: path.display().to_string(), why };
    let size = fs::metadata(path).map_err(|e| fail(e.to_string()))?.len();
    if size > LARGEST {
        return Err(fail(format!("{size} bytes; a job file has at most {LARGEST}")));
    }
    let bytes = fs::read(path).map_err(|e| fail(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| fail(format!("not UTF-8 text (byte {})", e.utf8_error().valid_up_to())))
}

/// Loads a job file and the tool rack that it names (a file beside it).
///
/// # Errors
/// [`LoadError`] with everything that is wrong with the job, or with its rack.
pub fn load_job(path: &Path) -> Result<Job, LoadError> {
    let text = slurp(path)?;
    let content = |path: &Path, text: &str, errors| LoadError::Content {
        path: path.display().to_string(),
        text: text.to_owned(),
        errors,
    };
    let rack = match job::rack_name(&text) {
        Some(name) if Path::new(&name).components().count() != 1 || name.starts_with('.') => {
            return Err(LoadError::File {
                path: name,
                why: "the rack is a file beside the job file, named without folders".to_owned(),
            });
        }
        Some(name) => {
            let rack_path = path.with_file_name(&name);
            let rack_text = slurp(&rack_path)?;
            read_rack(&rack_text).map_err(|errors| content(&rack_path, &rack_text, errors))?
        }
        None => Vec::new(),
    };
    read_job(&text, &rack).map_err(|errors| content(path, &text, errors))
}

/// Loads a person's own name card of a controller and display.
///
/// # Errors
/// [`LoadError`] with everything that is wrong with it.
pub fn load_name_card(path: &Path) -> Result<workbench::settings::Card, LoadError> {
    let text = slurp(path)?;
    read_name_card(&text).map_err(|errors| LoadError::Content { path: path.display().to_string(), text, errors })
}

/// For the fuzzer: any bytes give a card or errors, never a panic.
pub fn fuzz_name_card(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes)
        && let Err(errors) = read_name_card(text)
    {
        let _ = render("fuzz.toml", text, &errors);
    }
}

/// For the fuzzer: any bytes give a job or errors, never a panic.
pub fn fuzz_job(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes) {
        if let Err(errors) = read_job(text, &[]) {
            let _ = render("fuzz.toml", text, &errors);
        }
        let _ = read_rack(text);
    }
}
