//! What a quote can be made of: the bike as it is, or what would fix it; each with its lines from shelf and prices.

use super::money::{Count, Money};
use super::prices::{Entry, Prices};
use crate::answer::Judged;
use crate::shelf::Part;
use workbench::check::Verdict;
use workbench::say;
use workbench::words::{fill, text};

/// Most choices side by side; more than three nobody compares at a counter.
const SIDE_BY_SIDE: usize = 3;
/// The choice that changes nothing but what every conversion does.
pub const AS_IT_IS: &str = "as-it-is";

/// One way to do the job.
pub struct Choice {
    /// Name that the book keeps: the levers, joined by `+`.
    pub key: String,
    /// A, B, C.
    pub letter: char,
    /// What is changed, in words.
    pub changes: Vec<String>,
    /// Levers that are pulled.
    pub levers: Vec<&'static str>,
    /// The result then.
    pub verdict: Verdict,
    /// Fullest link then.
    pub fullest: String,
    /// How full it is.
    pub full: String,
}

impl Choice {
    /// Whether it holds, or just does; what does not is built against advice.
    pub fn holds(&self) -> bool {
        matches!(self.verdict, Verdict::Holds | Verdict::Marginal)
    }
}

/// One line of a quote.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its name in the document.
    pub id: String,
    /// What it is.
    pub what: String,
    /// How much.
    pub count: Count,
    /// What one costs; nothing while nobody has said.
    pub each: Option<Money>,
}

impl Line {
    /// What it comes to.
    pub fn amount(&self) -> Option<Money> {
        self.each.map(|each| each.times(self.count))
    }
}

/// What the lines come to, and whether one of them has no price yet.
pub fn total(lines: &[Line]) -> (Money, bool) {
    (lines.iter().filter_map(Line::amount).sum(), lines.iter().any(|l| l.each.is_none()))
}

/// Hours of work in the lines.
pub fn hours(lines: &[Line]) -> Count {
    Count::Minutes(lines.iter().map(|l| l.count.minutes()).sum())
}

/// The best first: what holds with the least.
pub fn choices(judged: &Judged) -> Vec<Choice> {
    let check = &judged.check;
    let mut out: Vec<Choice> = Vec::new();
    match check.verdict {
        Verdict::Holds | Verdict::Marginal => {
            let fullest = check.worst_first().into_iter().find(|l| l.load.is_some());
            out.push(Choice {
                key: AS_IT_IS.to_owned(),
                letter: 'A',
                changes: vec![text("office.quote.as-it-is")],
                levers: Vec::new(),
                verdict: check.verdict,
                fullest: fullest.map_or_else(String::new, say::name),
                full: fullest.and_then(|l| l.load).map_or_else(String::new, |x| say::percent(x.full)),
            });
        }
        Verdict::Fails => {
            let mut fixes: Vec<_> = judged.advice().fixes.iter().collect();
            fixes.sort_by(|a, b| a.verdict.cmp(&b.verdict).then(a.full.total_cmp(&b.full)));
            for (fix, letter) in fixes.into_iter().zip('A'..).take(SIDE_BY_SIDE) {
                let say = |c: &workbench::advice::Change| fill(&format!("lever.{}", c.key), &[("value", &c.value)]);
                out.push(Choice {
                    key: fix.changes.iter().map(|c| c.key).collect::<Vec<_>>().join("+"),
                    letter,
                    changes: fix.changes.iter().map(say).collect(),
                    levers: fix.changes.iter().map(|c| c.key).collect(),
                    verdict: fix.verdict,
                    fullest: fix.fullest.clone(),
                    full: say::percent(fix.full),
                });
            }
        }
        Verdict::Refused | Verdict::NotKnown => {}
    }
    out
}

/// Parts, things and work of a choice. `locks` says whether a clutch has to be locked.
pub fn lines(levers: &[&str], locks: bool, prices: &Prices, shelf: &[Part]) -> Vec<Line> {
    let wanted = |purpose: &str| purpose.is_empty() || levers.contains(&purpose) || (locks && purpose == "lock");
    let parts = shelf.iter().filter(|p| !p.purpose.is_empty() && wanted(&p.purpose)).map(|p| Entry {
        what: p.name.clone(),
        count: Count::Hundredths(100),
        each: Money::read(&p.price),
        purpose: String::new(),
    });
    let entries = prices.items.iter().chain(&prices.work).filter(|e| wanted(&e.purpose)).cloned();
    let line =
        |(i, e): (usize, Entry)| Line { id: format!("l{:02}", i + 1), what: e.what, count: e.count, each: e.each };
    parts.chain(entries).enumerate().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::{Count, hours, lines, total};
    use crate::office::prices::read;
    use crate::shelf::parts;

    /// By hand: arm 34, anchor 4, welder 60, grease and so on 17, tag 2; work 50+30+45+45+90+30+40+40+20 min = 6:30 at 52.
    #[test]
    fn the_lines_of_a_choice_are_its_parts_and_work_and_nothing_else() {
        let prices = read(include_str!("../../../../demo/prices.toml")).expect("prices");
        let shelf = parts(include_str!("../../../../demo/shelf.toml"));
        let all = lines(&["pinch-arm"], true, &prices, &shelf);
        assert_eq!(hours(&all), Count::Minutes(390));
        let (sum, open) = total(&all);
        assert_eq!((sum.to_string().as_str(), open), ("455", false), "117 of parts and 338 of work: {all:#?}");
        assert!(!all.iter().any(|l| l.what.contains("Clutch, new")), "what undoes it is not part of it");
        // Without welding no welder comes.
        let less = lines(&["pinch-arm"], false, &prices, &shelf);
        assert_eq!(total(&less).0.to_string(), "356", "60 and 39 less");
    }
}
