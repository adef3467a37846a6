//! `backdrive watch`: come-back cards and logs of one bike since hand-over.

use crate::check_text;
use crate::output::{self, Exit, figure};
use crate::prove;
use proof::follow::{self, Card, Decision, Logged, Reason, Trend, Watch};
use proof::road::{self, Promised};
use serde_json::{Value, json};
use std::path::Path;
use workbench::check::{self, Check};
use workbench::fact::{Side, list};
use workbench::job::Job;
use workbench::words;

/// Prints a come-back card to start from.
pub fn template() -> Exit {
    output::data(&words::text("watch.template.text"));
    Exit::Holds
}

/// Runs the command.
pub fn run(path: &str, files: &[String], columns: Option<&str>, format: &str) -> Exit {
    let job = match crate::load(path) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    let result = check::check(&job);
    let (cards, logs) = match load(&job, &result, files, columns) {
        Ok(both) => both,
        Err(exit) => return exit,
    };
    let asked = Side::BOTH.map(|side| job.side(list::NUT_TORQUE, side).map(|t| t.as_newton_metres()));
    let watch = follow::watch(&cards, &logs, asked);
    match format {
        "json" => output::data(&serde_json::to_string_pretty(&to_json(&job, &watch, &logs)).unwrap_or_default()),
        _ => output::data(&text(&job, &watch, &cards, &logs)),
    }
    if watch.decision == Decision::GoOn { Exit::Holds } else { Exit::DoesNotHold }
}

fn load(job: &Job, result: &Check, files: &[String], columns: Option<&str>) -> Result<(Vec<Card>, Vec<Logged>), Exit> {
    let columns = prove::columns(columns)?;
    let (mut cards, mut logs, mut wrong) = (Vec::new(), Vec::new(), false);
    for file in files {
        if Path::new(file).extension().is_some_and(|e| e.eq_ignore_ascii_case("toml")) {
            match intake::load_card(Path::new(file), &job.rack) {
                Ok(card) if card.job != job.number => {
                    let given = [("file", file.as_str()), ("given", &card.job), ("number", &job.number)];
                    output::talk(&words::fill("bench.other-job", &given));
                    wrong = true;
                }
                Ok(card) => cards.push(card),
                Err(e) => {
                    crate::say_load_error(e);
                    wrong = true;
                }
            }
        } else {
            logs.push(logged(job, result, file, &columns)?);
        }
    }
    if wrong { Err(Exit::BadInput) } else { Ok((cards, logs)) }
}

fn logged(job: &Job, result: &Check, file: &str, columns: &tracks::Columns) -> Result<Logged, Exit> {
    let gap = |g| {
        output::talk(&words::fill("prove.no-plan", &[("why", &check_text::gap(&g))]));
        Exit::BadInput
    };
    let log = prove::read(file, columns, road::steer(job).map_err(gap)?)?;
    let proof = road::prove(job, result, &log.ride, None).map_err(gap)?;
    let per_ampere = proof.promises.iter().find(|p| p.which == Promised::TorquePerAmpere).and_then(|p| p.seen);
    Ok(Logged {
        name: file.to_owned(),
        day: log.day,
        distance: log.ride.distance,
        reversals: log.ride.reversal_count,
        beyond: road::reversals_beyond(job, result, &log.ride).map_err(gap)?,
        per_ampere,
    })
}

fn trend(t: &Trend) -> String {
    let half = if t.half.is_finite() { figure(t.half) } else { words::text("app.not-known") };
    let sure = words::text(if t.sure { "watch.sure" } else { "watch.not-sure" });
    words::fill(
        "watch.trend",
        &[
            ("what", &words::text(&format!("watch.drift.{}", t.of.token()))),
            ("first", &figure(t.ends.0)),
            ("last", &figure(t.ends.1)),
            ("change", &figure(t.change)),
            ("half", &half),
            ("unit", t.of.unit()),
            ("n", &t.readings.to_string()),
            ("sure", &sure),
        ],
    )
}

fn text(job: &Job, w: &Watch, cards: &[Card], logs: &[Logged]) -> String {
    let mut out = words::fill("watch.head", &[("number", &job.number), ("name", &job.name)]) + "\n";
    out.push_str(&words::fill(
        "watch.files",
        &[
            ("cards", &cards.len().to_string()),
            ("logs", &logs.len().to_string()),
            ("km", &figure(w.logged / 1e3)),
            ("reversals", &w.reversals.to_string()),
            ("beyond", &w.beyond.map_or_else(|| words::text("app.not-known"), |n| n.to_string())),
        ],
    ));
    out.push_str("\n\n");
    out.push_str(&words::text(&format!("watch.decision.{}", w.decision.token())));
    out.push('\n');
    for r in &w.reasons {
        out.push_str(&format!("  {}\n", r.sentence()));
    }
    if !w.trends.is_empty() {
        out.push_str(&format!("\n{}\n", words::text("watch.trends")));
        for t in &w.trends {
            out.push_str(&format!("  {}\n", trend(t)));
        }
    }
    out.push('\n');
    out.push_str(&match &w.due {
        Some(d) => {
            let pace = d.at_pace.map_or_else(String::new, |p| words::fill("watch.pace", &[("day", &p.text())]));
            let late = if d.overdue { words::text("watch.overdue") } else { String::new() };
            let km = format!("{:.0}", d.odometer / 1e3);
            words::fill("watch.due", &[("km", &km), ("day", &d.day.text()), ("pace", &pace), ("late", &late)])
        }
        None if cards.is_empty() => words::text("watch.no-card"),
        None => words::text("watch.no-more"),
    });
    out.push('\n');
    out
}

fn to_json(job: &Job, w: &Watch, logs: &[Logged]) -> Value {
    json!({
        "job": job.number,
        "decision": w.decision.token(),
        "reasons": w.reasons.iter().map(Reason::sentence).collect::<Vec<_>>(),
        "reversals": w.reversals,
        "reversals_beyond_hold": w.beyond,
        "logged_m": w.logged,
        "trends": w.trends.iter().map(|t| json!({
            "of": t.of.token(), "unit": t.of.unit(), "first": t.ends.0, "last": t.ends.1, "change": t.change,
            "change_half_95": if t.half.is_finite() { json!(t.half) } else { Value::Null }, "readings": t.readings,
            "sure": t.sure,
        })).collect::<Vec<_>>(),
        "due": w.due.map(|d| json!({
            "odometer_m": d.odometer, "day": d.day.text(), "at_pace": d.at_pace.map(|p| p.text()), "overdue": d.overdue,
        })),
        "logs": logs.iter().map(|l| json!({
            "file": l.name, "day": l.day.map(|d| d.text()), "distance_m": l.distance, "reversals": l.reversals,
            "beyond_hold": l.beyond, "torque_per_ampere_nm_per_a": l.per_ampere.map(|p| p.0),
        })).collect::<Vec<_>>(),
    })
}
