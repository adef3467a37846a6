//! A job written anew with what was measured, its history kept as comments.

use crate::output::{self, Exit};
use std::path::Path;
use workbench::{check, words};

/// Writes a file that was asked for by name.
pub fn save(path: &str, text: &str) -> Result<(), Exit> {
    std::fs::write(path, text).map_err(|e| {
        output::talk(&words::fill("app.no-file", &[("path", path), ("why", &e.to_string())]));
        Exit::BadInput
    })
}

/// Writes a job with what was measured in place of what stood there, and judges it again.
pub fn write_job(old: &str, new: &str, facts: &[proof::fitted::Fitted], note: &str) -> Exit {
    if facts.is_empty() {
        output::talk(&words::text("bench.wrote-nothing"));
        return Exit::Holds;
    }
    let text = match intake::job_text(Path::new(old)) {
        Ok(text) => text,
        Err(e) => {
            return crate::say_load_error(e);
        }
    };
    let changes: Vec<intake::Replacement> =
        facts.iter().map(|f| intake::Replacement { id: f.id.clone(), text: f.text.clone() }).collect();
    let changed = match intake::replace(&text, &changes, note) {
        Ok(changed) => changed,
        Err(why) => {
            output::talk(&words::fill("app.no-file", &[("path", old), ("why", &why)]));
            return Exit::BadInput;
        }
    };
    let job = match intake::job_from(Path::new(old), &changed) {
        Ok(job) => job,
        Err(e) => {
            output::talk(&words::fill("bench.wrote-bad", &[("path", new)]));
            return crate::say_load_error(e);
        }
    };
    if let Err(exit) = save(new, &changed) {
        return exit;
    }
    let n = facts.len().to_string();
    output::talk(&words::fill("bench.wrote", &[("path", new), ("n", &n)]));
    output::talk(&crate::check_text::headline(&check::check(&job)));
    Exit::Holds
}
