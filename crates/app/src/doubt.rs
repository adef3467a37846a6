//! `backdrive doubt`: chances, and what to measure next.

use crate::check_text::{fact_name, link_name};
use crate::output::{self, Exit, figure};
use crate::progress::Progress;
use serde_json::{Value, json};
use workbench::check::{self, Check, LinkResult};
use workbench::doubt::causes::{Cause, Way, causes};
use workbench::doubt::rare::Rare;
use workbench::fact;
use workbench::job::Job;
use workbench::link::Link;
use workbench::words;

/// Draws in each half of the indices.
const HALF: usize = 4096;
/// Links looked into where none is named.
const WORST: usize = 3;

/// Runs the command.
pub fn run(m: &clap::ArgMatches) -> Exit {
    let word = |name: &str| m.get_one::<String>(name).map_or("", String::as_str);
    let mut job = match crate::load(word("job")) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    if let Some(n) = m.get_one::<f64>("one-in") {
        job.one_in = *n;
    }
    let draws = m.get_one::<usize>("samples").copied().unwrap_or_else(|| check::draws_for(job.one_in));
    let bar = Progress::new();
    let result = check::check_drawn(&job, draws, &|done| bar.at(done, draws));
    let named = m.get_one::<String>("link");
    let links: Vec<&LinkResult> = match named {
        Some(id) => result.links.iter().filter(|l| l.link.id() == *id).collect(),
        None => result.worst_first().into_iter().filter(|l| l.low_mid_high.is_some()).take(WORST).collect(),
    };
    if links.is_empty() && named.is_some() {
        let all: Vec<String> = result.links.iter().map(|l| l.link.id()).collect();
        output::talk(&words::fill("app.no-link", &[("link", word("link")), ("links", &all.join(", "))]));
        return Exit::BadInput;
    }
    let whys: Vec<(Link, Vec<Cause>)> =
        links.iter().filter_map(|l| Some((l.link, causes(&job, l.link, HALF)?))).collect();
    let rare: Vec<(Link, Rare)> = links
        .iter()
        .filter(|l| l.chance * (draws as f64) < 16.0)
        .filter_map(|l| Some((l.link, check::rare(&job, l.link, draws.min(65_536))?)))
        .collect();
    bar.done();
    match word("format") {
        "json" => output::data(&json_of(&job, &result, &whys, &rare)),
        _ => output::data(&text_of(&job, &result, &whys, &rare)),
    }
    if result.verdict <= check::Verdict::Marginal { Exit::Holds } else { Exit::DoesNotHold }
}

fn share(x: f64) -> String {
    if x <= 0.0 {
        "0".to_owned()
    } else if x >= 0.01 {
        format!("{} %", figure(x * 100.0))
    } else {
        let n = 1.0 / x;
        let size = 10f64.powf(n.log10().floor() - 1.0);
        words::fill("doubt.in-many", &[("n", &format!("{:.0}", (n / size).round() * size))])
    }
}

fn chance(x: f64, bound: f64, draws: usize) -> String {
    let seen = if x > 0.0 { share(x) } else { words::fill("doubt.none-in", &[("n", &draws.to_string())]) };
    words::fill("doubt.chance", &[("share", &seen), ("bound", &share(bound))])
}

fn percent(x: f64) -> String {
    if x > 10.0 { "> 1000 %".to_owned() } else { format!("{:.0} %", x * 100.0) }
}

fn text_of(job: &Job, c: &Check, whys: &[(Link, Vec<Cause>)], rare: &[(Link, Rare)]) -> String {
    let mut out = format!("{} {}\n\n", job.number, job.name);
    out.push_str(&format!("{}\n", words::fill("doubt.head", &[("draws", &c.draws.to_string())])));
    let whole = chance(c.chance, c.chance_at_most, c.draws);
    out.push_str(&format!("{}\n\n{}\n", words::fill("doubt.job", &[("chance", &whole)]), words::text("doubt.table")));
    let none = share(workbench::doubt::chance_at_most(0, c.draws));
    out.push_str(&format!("{}\n", words::fill("doubt.none-means", &[("bound", &none)])));
    for l in &c.links {
        let Some([low, mid, high]) = l.low_mid_high else { continue };
        let seen = if l.chance > 0.0 { chance(l.chance, l.chance_at_most, c.draws) } else { words::text("doubt.none") };
        let line = words::fill(
            "doubt.line",
            &[
                ("link", &link_name(l.link)),
                ("chance", &seen),
                ("low", &percent(low)),
                ("mid", &percent(mid)),
                ("high", &percent(high)),
            ],
        );
        out.push_str(&format!("  {line}\n"));
    }
    for (link, causes) in whys {
        out.push_str(&format!("\n{}\n", words::fill("doubt.why", &[("link", &link_name(*link))])));
        if let Some((_, r)) = rare.iter().find(|(l, _)| l == link) {
            let line = words::fill("doubt.rare", &[("chance", &share(r.chance)), ("bound", &share(r.at_most))]);
            out.push_str(&format!("  {line}\n"));
        }
        if causes.is_empty() {
            out.push_str(&format!("  {}\n", words::text("doubt.nothing")));
        }
        for cause in causes {
            let minutes = match (cause.way, cause.minutes) {
                (Way::Measure | Way::HoldTest, Some(n)) => words::fill("doubt.minutes", &[("n", &figure(n))]),
                (Way::Measured, _) => format!(" ({})", words::text("doubt.known")),
                (Way::Cannot, _) => format!(" ({})", words::text("doubt.cannot")),
                _ => String::new(),
            };
            let joint = if cause.total > cause.first + 0.05 {
                words::fill("doubt.total", &[("total", &percent(cause.total))])
            } else {
                String::new()
            };
            let line = words::fill(
                "doubt.why-line",
                &[
                    ("card", &words::text(&format!("card.{}.title", cause.card))),
                    ("minutes", &minutes),
                    ("first", &percent(cause.first)),
                    ("total", &joint),
                ],
            );
            let facts: Vec<String> = cause.facts.iter().map(|f| fact_name(*f)).collect();
            out.push_str(&format!("  {line}\n  {}\n", words::fill("doubt.facts", &[("facts", &facts.join("; "))])));
        }
    }
    out
}

fn number(x: f64) -> Value {
    serde_json::Number::from_f64(x).map_or(Value::Null, Value::Number)
}

fn json_of(job: &Job, c: &Check, whys: &[(Link, Vec<Cause>)], rare: &[(Link, Rare)]) -> String {
    let value = json!({
        "job": job.number,
        "name": job.name,
        "one_in": c.one_in,
        "draws": c.draws,
        "chance": number(c.chance),
        "chance_at_most": number(c.chance_at_most),
        "links": c.links.iter().filter_map(|l| l.low_mid_high.map(|f| (l, f))).map(|(l, full)| json!({
            "id": l.link.id(), "chance": number(l.chance), "chance_at_most": number(l.chance_at_most),
            "full_low_percent": number(full[0] * 100.0), "full_middle_percent": number(full[1] * 100.0),
            "full_high_percent": number(full[2] * 100.0),
        })).collect::<Vec<_>>(),
        "measure_next": whys.iter().map(|(link, causes)| json!({
            "link": link.id(),
            "rare": rare.iter().find(|(l, _)| l == link).map(|(_, r)| json!({
                "chance": number(r.chance), "standard_error": number(r.error), "chance_at_most": number(r.at_most),
                "distance_sigmas": number(r.distance),
            })),
            "causes": causes.iter().map(|x| json!({
                "card": x.card, "minutes": x.minutes,
                "way": match x.way { Way::Measure => "measure", Way::Measured => "measured", Way::Cannot => "cannot", Way::HoldTest => "hold-test" },
                "first_order_share": number(x.first), "total_share": number(x.total),
                "facts": x.facts.iter().map(|f| fact::describe(*f).1).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}
