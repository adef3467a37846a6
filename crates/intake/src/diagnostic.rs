//! One error of a file, and how a person sees it.

use core::ops::Range;

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
        out.push_str(&format!("error: {}\n{:gutter$}--> {path}:{line}:{column}\n", e.message, ""));
        out.push_str(&format!(
            "{:gutter$} |\n{line} | {source}\n{:gutter$} | {:>pad$}{}\n",
            "",
            "",
            "",
            "^".repeat(width),
            pad = column - 1
        ));
        if !e.hint.is_empty() {
            out.push_str(&format!("hint: {}\n", e.hint));
        }
        out.push('\n');
    }
    let many = if errors.len() == 1 { "1 error" } else { &format!("{} errors", errors.len()) };
    out.push_str(&format!("{many}, nothing checked\n"));
    out
}
