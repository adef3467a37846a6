//! One error of a file, and how a person sees it.

use core::ops::Range;
use workbench::words::{fill, find, text as word};

/// What is wrong, where, and what to do next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Bytes of the file it is about.
    pub span: Range<usize>,
    /// What is wrong, and what is allowed.
    pub message: String,
    /// What to do next; may be empty.
    pub hint: String,
}

impl Diagnostic {
    /// In the words of `job-file.{key}`; `job-file.{key}-hint` says what to do next, where there is one.
    pub fn new(span: Range<usize>, key: &str, values: &[(&str, &str)]) -> Self {
        let hint = format!("job-file.{key}-hint");
        let hint = if find(&hint).is_some() { fill(&hint, values) } else { String::new() };
        Self { span, message: fill(&format!("job-file.{key}"), values), hint }
    }
    /// With another next step.
    #[must_use]
    pub fn with_hint(self, hint: String) -> Self {
        Self { hint, ..self }
    }
    /// With a nearer next step, if there is one.
    #[must_use]
    pub fn with_nearer_hint(self, hint: String) -> Self {
        if hint.is_empty() { self } else { self.with_hint(hint) }
    }
}

/// Line and column (both from 1, columns in characters) of a byte.
pub fn place(text: &str, byte: usize) -> (usize, usize) {
    let mut end = byte.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let before = &text[..end];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

/// All errors as text: message, place, the line itself, what to do next.
pub fn render(path: &str, text: &str, errors: &[Diagnostic]) -> String {
    let mut out = String::new();
    let mut sorted: Vec<&Diagnostic> = errors.iter().collect();
    sorted.sort_by_key(|e| e.span.start);
    for e in sorted {
        let (line, column) = place(text, e.span.start);
        let source = text.lines().nth(line - 1).unwrap_or("");
        let width = text.get(e.span.clone()).map_or(1, |s| s.lines().next().unwrap_or("").chars().count()).max(1);
        let gutter = line.to_string().len();
        out.push_str(&fill("job-file.error", &[("message", &e.message)]));
        out.push_str(&format!("\n{:gutter$}--> {path}:{line}:{column}\n", ""));
        out.push_str(&format!(
            "{:gutter$} |\n{line} | {source}\n{:gutter$} | {:>pad$}{}\n",
            "",
            "",
            "",
            "^".repeat(width),
            pad = column - 1
        ));
        if !e.hint.is_empty() {
            out.push_str(&fill("job-file.hint", &[("hint", &e.hint)]));
            out.push('\n');
        }
        out.push('\n');
    }
    let many = errors.len().to_string();
    out.push_str(&if errors.len() == 1 {
        word("job-file.one-error")
    } else {
        fill("job-file.errors", &[("n", &many)])
    });
    out.push('\n');
    out
}
