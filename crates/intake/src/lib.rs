//! Reads what people write in files: jobs, tool racks and house rules, in TOML with units in the values.
//!
//! All errors of a file come at once, each with its place, what is allowed and what to do next. Nothing of a faulty
//! file is used.

mod as_fitted;
mod bench;
mod card;
mod diagnostic;
mod job;
mod name_card;
mod rack;
mod route;
mod rules;

use std::fs;
use std::path::Path;

pub use as_fitted::{Replacement, job_text, replace};
pub use bench::{fuzz_bench, load_bench, read_bench};
pub use card::{load_card, read_card};
pub use diagnostic::{Diagnostic, render};
pub use job::read_job;
pub use name_card::read_name_card;
pub use rack::read_rack;
pub use route::read_route;
pub use rules::{Rules, read_rules};
use workbench::fact::Tool;
use workbench::job::Job;
use workbench::words;

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

/// What a shop brings to each of its jobs.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    /// Its tools.
    pub rack: Vec<Tool>,
    /// Its house rules.
    pub rules: Rules,
}

pub(crate) fn not_toml(e: &toml::de::Error) -> Diagnostic {
    Diagnostic::new(e.span().unwrap_or(0..0), "not-toml", &[("why", &e.message().replace('\n', " "))])
}

fn slurp(path: &Path) -> Result<String, LoadError> {
    let fail = |why: String| LoadError::File { path: path.display().to_string(), why };
    let size = fs::metadata(path).map_err(|e| fail(e.to_string()))?.len();
    if size > LARGEST {
        let (size, most) = (size.to_string(), LARGEST.to_string());
        return Err(fail(words::fill("job-file.too-large", &[("size", &size), ("most", &most)])));
    }
    let bytes = fs::read(path).map_err(|e| fail(e.to_string()))?;
    String::from_utf8(bytes)
        .map_err(|e| fail(words::fill("job-file.not-utf8", &[("byte", &e.utf8_error().valid_up_to().to_string())])))
}

/// Loads a job file and the tool rack and house rules that it names (files beside it).
///
/// # Errors
/// [`LoadError`] with everything that is wrong with the job, or with a file that it names.
pub fn load_job(path: &Path) -> Result<Job, LoadError> {
    job_from(path, &slurp(path)?)
}

/// As [`load_job`], with a text that would stand in the file.
///
/// # Errors
/// As [`load_job`].
pub fn job_from(path: &Path, text: &str) -> Result<Job, LoadError> {
    let named = job::named_files(text);
    let shop = Shop {
        rack: beside(path, named.rack, read_rack)?.unwrap_or_default(),
        rules: beside(path, named.rules, read_rules)?.unwrap_or_default(),
    };
    read_job(text, &shop).map_err(|errors| content(path, text, errors))
}

fn content(path: &Path, text: &str, errors: Vec<Diagnostic>) -> LoadError {
    LoadError::Content { path: path.display().to_string(), text: text.to_owned(), errors }
}

fn beside<T>(
    job: &Path,
    name: Option<String>,
    read: impl Fn(&str) -> Result<T, Vec<Diagnostic>>,
) -> Result<Option<T>, LoadError> {
    let Some(name) = name else { return Ok(None) };
    if Path::new(&name).components().count() != 1 || name.starts_with('.') {
        return Err(LoadError::File { path: name, why: words::text("job-file.beside") });
    }
    let path = job.with_file_name(&name);
    let text = slurp(&path)?;
    read(&text).map(Some).map_err(|errors| content(&path, &text, errors))
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
        if let Err(errors) = read_job(text, &Shop::default()) {
            let _ = render("fuzz.toml", text, &errors);
        }
        let _ = read_rack(text);
        let _ = read_rules(text);
    }
}
