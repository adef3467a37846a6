//! The verdict as text for a terminal or a printer.

use crate::output::figure;
use workbench::advice::Advice;
use workbench::check::{Check, LinkResult};
use workbench::fact;
use workbench::job::Job;
use workbench::link::Path;
use workbench::{say, words};

pub use workbench::say::{fact_name, gap, headline, link_name, name};

fn row(l: &LinkResult, width: usize) -> String {
    let word = words::text(&format!("verdict.{}.word", l.verdict.token()));
    let head = format!("  {:width$}  {:<11}", name(l), word);
    let tail = match (&l.load, &l.gap) {
        (Some(x), _) => {
            let full = percent(x.full);
            let unit = l.link.kind.unit();
            let bar = bar(x.full);
            let assumed = if l.mostly_assumed { words::text("app.assumed") } else { String::new() };
            format!(
                "{full:>8}  {bar}  {:>6} | {:>6} {} {:>6} {unit}  {assumed}",
                figure(x.drive),
                figure(x.brake),
                words::text("app.of"),
                figure(x.capacity)
            )
        }
        (None, Some(g)) => gap(g),
        (None, None) => {
            let names: Vec<String> = l.missing.iter().take(2).map(|f| fact_name(*f)).collect();
            let more = l.missing.len().saturating_sub(2);
            let more = if more > 0 { words::fill("app.and-more", &[("n", &more.to_string())]) } else { String::new() };
            words::fill("app.measure", &[("facts", &(names.join("; ") + &more))])
        }
    };
    format!("{head} {tail}").trim_end().to_owned() + "\n"
}

/// A share as whole per cent; beyond ten times nobody needs the figure.
fn percent(share: f64) -> String {
    if share > 10.0 { "> 1000 %".to_owned() } else { format!("{:.0} %", share * 100.0) }
}

fn bar(full: f64) -> String {
    let filled = (full * 10.0).round().clamp(0.0, 15.0) as usize;
    let mut bar: Vec<char> = "·········|·····".chars().collect();
    for c in bar.iter_mut().take(filled) {
        *c = if *c == '|' { '╋' } else { '█' };
    }
    bar.into_iter().collect()
}

/// The whole answer.
pub fn text(job: &Job, c: &Check, advice: &Advice) -> String {
    let mut out = format!("{} {}\n\n{}\n", job.number, job.name, headline(c));
    for r in &c.refused {
        out.push_str(&format!("  {}\n", r.sentence));
    }
    let state =
        c.state.map_or_else(|| words::text("app.state-not-known"), |s| words::text(&format!("state.{}", s.token())));
    out.push_str(&words::fill("app.state", &[("state", &state)]));
    if let (Some(s), Some(d)) = (c.state, c.rocks_degrees)
        && s > workbench::check::State::Working
    {
        out.push_str(&words::fill("app.rocks", &[("degrees", &figure(d))]));
    }
    out.push('\n');
    out.push_str(&words::fill("app.read-at", &[("one_in", &format!("{}", c.one_in)), ("draws", &c.draws.to_string())]));
    out.push('\n');
    let width = c.links.iter().map(|l| name(l).chars().count()).max().unwrap_or(20);
    for path in [Path::Reaction, Path::Drive, Path::Energy, Path::Fault] {
        out.push_str(&format!("\n{}\n", words::text(&format!("path.{}", path.token()))));
        for l in c.links.iter().filter(|l| l.link.kind.path() == path) {
            out.push_str(&row(l, width));
        }
    }
    out.push_str(&format!("\n{}\n", words::text("app.columns")));
    section(
        &mut out,
        "app.tighten",
        advice.tighten.iter().map(|t| {
            let nm = |t: quantity::Torque| figure(t.as_newton_metres());
            let limit = match t.at_most {
                None => String::new(),
                Some(most) if t.give < t.torque => {
                    words::fill("app.lowered", &[("nm", &nm(most)), ("asked", &nm(t.torque))])
                }
                Some(most) => words::fill("app.at-most", &[("nm", &nm(most))]),
            };
            let thread = t.thread_state.map_or_else(String::new, |s| words::text(&format!("token.{s}")));
            let tool = t.tool.clone().unwrap_or_else(|| words::text("app.no-tool"));
            words::fill(
                &format!("app.tighten-{}", t.key),
                &[("place", &t.place), ("nm", &nm(t.give)), ("tool", &tool), ("thread", &thread), ("limit", &limit)],
            )
        }),
    );
    if let Some(t) = advice.hold_test {
        let pull = words::fill(
            "app.hold-test-line",
            &[
                ("nm", &figure(t.torque.as_newton_metres())),
                ("kg", &figure(t.pull_at_one_metre.as_kilograms())),
                ("limit", &figure(t.limit.as_newton_metres())),
                ("asked", &figure(t.asked.as_newton_metres())),
            ],
        );
        let short = (t.torque < t.asked).then(|| words::text("app.hold-test-short"));
        section(&mut out, "app.hold-test", std::iter::once(pull).chain(short));
    }
    section(
        &mut out,
        "app.measure-next",
        advice.measure.iter().map(|m| {
            let names: Vec<String> = m.facts.iter().map(|f| fact_name(*f)).collect();
            let minutes = m.minutes.map_or_else(String::new, |x| words::fill("app.minutes", &[("n", &figure(x))]));
            let line = format!("{} — {} {minutes}", words::text(&format!("card.{}.title", m.card)), names.join("; "));
            line + &say::of_doubt(m).map_or_else(String::new, |of| format!(", {of}"))
        }),
    );
    section(
        &mut out,
        "app.would-fix",
        advice.fixes.iter().map(|f| {
            let word = words::text(&format!("verdict.{}.word", f.verdict.token()));
            let changes: Vec<String> =
                f.changes.iter().map(|c| words::fill(&format!("lever.{}", c.key), &[("value", &c.value)])).collect();
            words::fill(
                "app.fix-line",
                &[("changes", &changes.join(" + ")), ("word", &word), ("link", &f.fullest), ("full", &percent(f.full))],
            )
        }),
    );
    section(
        &mut out,
        "app.ceiling",
        advice.ceiling.iter().map(|p| {
            words::fill(
                "app.ceiling-line",
                &[
                    ("kmh", &figure(p.speed.as_kilometres_per_hour())),
                    ("nm", &figure(p.torque.as_newton_metres())),
                    ("why", &words::text(&format!("link.{}.name", p.stopped_by))),
                ],
            )
        }),
    );
    let without = job.rules_without.iter().map(|id| words::fill("app.rule-without", &[("id", id)]));
    section(&mut out, "app.watch", c.cautions.iter().map(|r| r.sentence.clone()).chain(without));
    section(&mut out, "app.cautions", workbench::advice::CAUTIONS.iter().map(|k| words::text(&format!("caution.{k}"))));
    let known = job.facts.iter().flatten();
    let assumed = known.clone().filter(|f| f.origin == fact::Origin::Assumed).count().to_string();
    let all = known.count().to_string();
    out.push_str(&format!(
        "
{}
",
        words::fill("app.foot", &[("assumed", &assumed), ("all", &all)])
    ));
    out
}

fn section(out: &mut String, title: &str, lines: impl Iterator<Item = String>) {
    let mut any = false;
    for l in lines {
        if !any {
            out.push_str(&format!("\n{}\n", words::text(title)));
            any = true;
        }
        out.push_str(&format!("  {}\n", l.trim_end()));
    }
}
