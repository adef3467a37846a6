//! Looking for jobs: by part, batch, welder, customer, remark.

use crate::edit;
use crate::error::Error;
use crate::store::Book;

/// Where a job has what was looked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hit {
    /// The job.
    pub number: String,
    /// What the bike is called.
    pub title: String,
    /// The document: `0117/job`.
    pub document: String,
    /// Dotted path of the value; empty for a line that is a comment, or no TOML.
    pub key: String,
    /// The value or the line.
    pub text: String,
}

impl Book {
    /// Values, keys and comments in which one of the words stands (capitals do not matter), of the jobs that have all of
    /// the words somewhere.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn find(&self, words: &[&str]) -> Result<Vec<Hit>, Error> {
        let words: Vec<String> = words.iter().map(|w| w.to_lowercase()).filter(|w| !w.is_empty()).collect();
        self.read(|tx| {
            let mut all = Vec::new();
            let mut job = Vec::new();
            let sql = "SELECT j.number, j.title, d.name, d.text FROM job j JOIN document d ON d.job = j.number \
                       ORDER BY j.number, d.name";
            let mut rows = tx.prepare(sql)?;
            let mut rows = rows.query([])?;
            let mut number = String::new();
            let mut seen = String::new();
            let mut end = |job: &mut Vec<Hit>, seen: &mut String| {
                if !words.is_empty() && words.iter().all(|word| seen.contains(word)) {
                    all.append(job);
                }
                job.clear();
                seen.clear();
            };
            while let Some(row) = rows.next()? {
                let next: String = row.get(0)?;
                if next != number {
                    end(&mut job, &mut seen);
                    number = next;
                }
                let (title, document, text): (String, String, String) = (row.get(1)?, row.get(2)?, row.get(3)?);
                let lower = text.to_lowercase();
                if words.iter().any(|word| lower.contains(word)) {
                    for (key, value) in places(&text, &words) {
                        let (number, title, document) = (number.clone(), title.clone(), document.clone());
                        job.push(Hit { number, title, document, key, text: value });
                    }
                }
                seen.push_str(&lower);
                seen.push('\n');
            }
            end(&mut job, &mut seen);
            Ok(all)
        })
    }
}

/// Values, keys, comments and lines with one of the words.
fn places(text: &str, words: &[String]) -> Vec<(String, String)> {
    let has = |place: &str| words.iter().any(|word| place.to_lowercase().contains(word));
    let Ok(doc) = edit::parse(text) else {
        return text.lines().filter(|line| has(line)).map(|line| (String::new(), line.to_owned())).collect();
    };
    // An entry of a list stands there for its own sake; its values follow.
    let values =
        edit::leaves(&doc).into_iter().filter(|(key, literal)| !literal.is_empty() && has(&format!("{key} {literal}")));
    let mut all: Vec<(String, String)> =
        values.map(|(key, literal)| (key, literal.parse().map_or(literal, |v| edit::shown(&v)))).collect();
    // A `#` behind an odd number of quotes stands inside a text.
    let comment = |line: &str| {
        let mut marks = line.match_indices('#').map(|(at, _)| at);
        let at = marks.find(|at| line[..*at].matches('"').count().is_multiple_of(2))?;
        Some(line[at + 1..].trim().to_owned()).filter(|comment| has(comment))
    };
    all.extend(text.lines().filter_map(comment).map(|comment| (String::new(), comment)));
    all
}
