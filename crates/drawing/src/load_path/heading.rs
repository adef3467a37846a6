//! Number, name and result of the job above the picture.

use crate::letters;
use crate::sign::Sign;
use crate::svg::{Hold, Svg, n};
use workbench::check::{Check, Verdict};
use workbench::job::Job;
use workbench::say;
use workbench::words;

const TITLE: f64 = 20.0;
const WORD: f64 = 24.0;
const SENTENCE: f64 = 15.0;
/// More lines than these are cut.
const LINES: usize = 6;

/// The heading, broken into lines.
pub struct Heading {
    title: Vec<String>,
    verdict: Verdict,
    word: String,
    sentences: Vec<String>,
    /// How high it is.
    pub height: f64,
}

impl Heading {
    /// The heading of a result, no wider than that.
    pub fn new(job: &Job, check: &Check, width: f64) -> Self {
        let title = letters::wrap(&format!("{} {}", job.number, job.name), TITLE, true, width, 2);
        let word = words::text(&format!("verdict.{}.word", check.verdict.token()));
        let mut sentences = Vec::new();
        if check.refused.is_empty() {
            sentences = letters::wrap(&say::headline(check), SENTENCE, false, width, LINES);
        }
        for rule in &check.refused {
            let left = LINES.saturating_sub(sentences.len());
            if left > 0 {
                sentences.extend(letters::wrap(&rule.sentence, SENTENCE, false, width, left));
            }
        }
        let height = 34.0 + 26.0 * title.len() as f64 + 40.0 + 20.0 * sentences.len() as f64;
        Self { title, verdict: check.verdict, word, sentences, height }
    }

    /// Draws it from the left edge.
    pub fn draw(&self, svg: &mut Svg, x: f64) {
        let mut y = 34.0;
        for line in &self.title {
            svg.text("bold", TITLE, Hold::Start, x, y, line);
            y += 26.0;
        }
        svg.raw(&format!("<svg x=\"{}\" y=\"{}\" width=\"40\" height=\"40\" class=\"sign\">", n(x), n(y - 14.0)));
        svg.raw(Sign::Result(self.verdict).inside()).raw("</svg>");
        svg.text("bold", WORD, Hold::Start, x + 52.0, y + 14.0, &self.word);
        y += 50.0;
        for line in &self.sentences {
            svg.text("", SENTENCE, Hold::Start, x, y, line);
            y += 20.0;
        }
    }
}
