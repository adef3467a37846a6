//! `backdrive bench`: readings of one or two sessions, what they say, before and after, the hold test.

use crate::check_text;
use crate::output::{self, Exit, figure};
use proof::bench::{
    self, Basis, BenchFit, Comparison, Found, HoldFinding, HoldResult, Item, Outcome, Pair, Quantity, Row, Says, Sheet,
    When,
};
use proof::fit::Unfit;
use proof::fitted::{Fitted, fitted, with_doubt};
use proof::plot::{self, Dot};
use serde_json::{Value, json};
use std::path::Path;
use workbench::advice::{self, HoldTest};
use workbench::fact::list;
use workbench::job::Job;
use workbench::{check, words};

/// What was asked for on the command line.
pub struct Asked {
    /// Bench files.
    pub files: Vec<String>,
    /// text or json.
    pub format: String,
    /// Where the picture goes.
    pub plot: Option<String>,
    /// Where the as-fitted job goes.
    pub write: Option<String>,
}

/// One session with its fit.
struct Session {
    sheet: Sheet,
    fit: Result<BenchFit, Unfit>,
}

/// Everything found.
struct Report {
    sessions: Vec<Session>,
    comparison: Option<Comparison>,
    allowed: Option<HoldTest>,
    hold: Option<HoldResult>,
}

/// Prints a bench file to start from.
pub fn template() -> Exit {
    output::data(&words::text("bench.template.text"));
    Exit::Holds
}

/// Runs the command.
pub fn run(path: &str, asked: &Asked) -> Exit {
    let job = match crate::load(path) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    let sheets = match load_sheets(&job, &asked.files) {
        Ok(sheets) => sheets,
        Err(exit) => return exit,
    };
    let hub = match bench::hub(&job) {
        Ok(hub) => hub,
        Err(bench::Missing(id)) => {
            output::talk(&words::fill("bench.no-fact", &[("fact", &check_text::fact_name(id))]));
            return Exit::BadInput;
        }
    };
    let known = bench::known(&job);
    let result = check::check(&job);
    let allowed = advice::advise(&job, &result).hold_test;
    let holds: Vec<bench::Hold> = sheets.iter().flat_map(|s| s.holds.clone()).collect();
    let of = |when| sheets.iter().find(|s| s.when == when);
    let comparison = match (of(When::Before), of(When::After)) {
        (Some(b), Some(a)) => Some(bench::compare(hub, b, a, &known)),
        _ => None,
    };
    let report = Report {
        comparison,
        allowed,
        hold: bench::hold(&holds, allowed.map(|t| t.limit.as_newton_metres())),
        sessions: sheets
            .into_iter()
            .map(|sheet| Session { fit: bench::fit_sheet(hub, &sheet, &known), sheet })
            .collect(),
    };
    match asked.format.as_str() {
        "json" => output::data(&serde_json::to_string_pretty(&to_json(&job, &report)).unwrap_or_default()),
        _ => output::data(&text(&job, &report)),
    }
    if let Some(file) = &asked.plot
        && let Err(exit) = picture(&job, &report, file)
    {
        return exit;
    }
    if let Some(file) = &asked.write {
        let exit = write(path, file, &report);
        if exit != Exit::Holds {
            return exit;
        }
    }
    if stops(&report) { Exit::DoesNotHold } else { Exit::Holds }
}

fn load_sheets(job: &Job, files: &[String]) -> Result<Vec<Sheet>, Exit> {
    let mut sheets: Vec<Sheet> = Vec::new();
    let mut wrong = false;
    for file in files {
        match intake::load_bench(Path::new(file), &job.rack) {
            Ok(sheet) => {
                if sheet.job != job.number {
                    let given = &[("file", file.as_str()), ("given", &sheet.job), ("number", &job.number)];
                    output::talk(&words::fill("bench.other-job", given));
                    wrong = true;
                } else if let Some(other) = sheets.iter().find(|s| s.when == sheet.when) {
                    let both = &[("a", other.name.as_str()), ("b", file), ("when", sheet.when.token())];
                    output::talk(&words::fill("bench.two-of-a-kind", both));
                    wrong = true;
                }
                sheets.push(sheet);
            }
            Err(e) => {
                crate::say_load_error(e);
                wrong = true;
            }
        }
    }
    if wrong { Err(Exit::BadInput) } else { Ok(sheets) }
}

fn stops(r: &Report) -> bool {
    r.comparison.as_ref().is_some_and(|c| !matches!(c.outcome, Outcome::Same | Outcome::Look))
        || r.hold.as_ref().is_some_and(|h| h.finding != HoldFinding::Held || h.beyond_limit)
        || r.sessions.iter().any(|s| s.fit.is_err() && s.sheet.holds.is_empty())
}

fn row_name(row: &Row) -> String {
    let (key, n, k) = row.said();
    words::fill(&format!("bench.row.{key}"), &[("n", &n.to_string()), ("k", &k.to_string())])
}

fn quantity_name(q: Quantity) -> String {
    words::text(&format!("bench.quantity.{}", q.token()))
}

fn names(all: &[Quantity]) -> String {
    all.iter().map(|q| quantity_name(*q)).collect::<Vec<_>>().join(", ")
}

fn basis(f: &Found) -> String {
    match &f.basis {
        Basis::Measured => words::text("bench.measured"),
        Basis::Leaning(with) if with.is_empty() => words::text("bench.measured"),
        Basis::Leaning(with) => words::fill("bench.leaning", &[("with", &names(with))]),
        Basis::NotTold(with) => {
            let apart =
                if with.is_empty() { String::new() } else { words::fill("bench.apart", &[("with", &names(with))]) };
            words::fill("bench.not-told", &[("apart", &apart)])
        }
        Basis::NothingMeasured => words::text("bench.nothing-measured"),
    }
}

fn shown(value_si: f64, (unit, per_si): (&str, f64)) -> String {
    format!("{} {unit}", figure(value_si * per_si)).trim_end().to_owned()
}

fn unfit(e: &Unfit) -> String {
    let key = match e {
        Unfit::TooFew { rows: 0, .. } => return words::text("bench.nothing"),
        Unfit::TooFew { .. } => "few",
        Unfit::Singular => "open",
        Unfit::NoMinimum(_) => "minimum",
    };
    words::fill("bench.no-fit", &[("why", &words::text(&format!("bench.no-fit-{key}")))])
}

fn text(job: &Job, r: &Report) -> String {
    let mut out = words::fill("bench.head", &[("number", &job.number), ("name", &job.name)]) + "\n";
    for s in &r.sessions {
        out.push('\n');
        out.push_str(&session_text(s));
    }
    if let Some(c) = &r.comparison {
        out.push('\n');
        out.push_str(&comparison_text(c));
    }
    out.push('\n');
    out.push_str(&hold_text(r));
    out
}

fn session_text(s: &Session) -> String {
    let when = words::text(&format!("bench.when-{}", s.sheet.when.token()));
    let fit = match &s.fit {
        Ok(fit) => fit,
        Err(e) => return format!("{when}, {}: {}\n", s.sheet.name, unfit(e)),
    };
    let mut out = words::fill(
        "bench.session",
        &[
            ("when", &when),
            ("file", &s.sheet.name),
            ("date", &date(&s.sheet)),
            ("readings", &fit.residuals.len().to_string()),
            ("spare", &format!("{:.0}", fit.freedom)),
            ("noise", &figure(fit.noise)),
        ],
    ) + "\n";
    for f in &fit.found {
        let name = quantity_name(f.quantity);
        let value = f.value.map_or_else(
            || words::text("bench.none"),
            |v| {
                let (unit, per_si) = f.quantity.shown();
                format!("{} {unit}", with_doubt(v * per_si, f.half * per_si)).trim_end().to_owned()
            },
        );
        out.push_str(&format!("  {name:34} {value:>24}   {}\n", basis(f)));
    }
    let inductance = words::text("fact.motor.inductance.name");
    out.push_str(&format!(
        "  {inductance:34} {:>24}   {}\n",
        words::text("bench.none"),
        words::text("bench.inductance")
    ));
    out.push_str(&format!("\n  {}\n", words::text("bench.left-over")));
    for residual in &fit.residuals {
        let dot = dot(residual);
        let (read, fitted) = (shown(residual.read, residual.row.shown()), shown(residual.fitted, residual.row.shown()));
        out.push_str(&format!(
            "  {:34} {read:>12} {fitted:>12}  {}  {:+.1}\n",
            dot.name,
            plot::line(&dot),
            dot.studentised
        ));
    }
    for residual in fit.residuals.iter().filter(|x| x.bad) {
        let unit = residual.row.shown();
        let said = [
            ("row", row_name(&residual.row)),
            ("read", shown(residual.read, unit)),
            ("fitted", shown(residual.fitted, unit)),
        ];
        let said: Vec<(&str, &str)> = said.iter().map(|(k, v)| (*k, v.as_str())).collect();
        out.push_str(&format!("  {}\n", words::fill("bench.bad", &said)));
    }
    for f in fit.found.iter().filter(|f| !matches!(f.basis, Basis::Measured)) {
        let how = words::text(&format!("bench.tells.{}", f.quantity.token()));
        let said = [("what", quantity_name(f.quantity)), ("how", how)];
        let said: Vec<(&str, &str)> = said.iter().map(|(k, v)| (*k, v.as_str())).collect();
        out.push_str(&format!("  {}\n", words::fill("bench.to-tell", &said)));
    }
    out
}

fn date(s: &Sheet) -> String {
    s.date.as_ref().filter(|d| !d.is_empty()).map_or(String::new(), |d| words::fill("bench.date", &[("date", d)]))
}

fn dot(r: &bench::Residual) -> Dot {
    Dot { name: row_name(&r.row), studentised: r.studentised, bad: r.bad }
}

fn says(p: &Pair) -> String {
    let why = match p.says {
        Says::Refused(key) => words::text(&format!("bench.refused.{key}")),
        _ => String::new(),
    };
    words::fill(&format!("bench.says.{}", p.says.token()), &[("why", &why)])
}

fn pair_name(p: &Pair) -> String {
    words::fill(&format!("bench.item.{}", p.item.token()), &[("at", &p.at)])
}

fn pair_value(p: &Pair, value: f64) -> String {
    if !value.is_finite() {
        return words::text("bench.none");
    }
    if p.item == Item::Feel {
        let token = [bench::Feel::Smooth, bench::Feel::TightSpot, bench::Feel::Gritty]
            .into_iter()
            .find(|f| f64::from(*f as u8) == value)
            .map_or("smooth", bench::Feel::token);
        return words::text(&format!("bench.feel.{token}"));
    }
    shown(value, p.item.shown())
}

fn comparison_text(c: &Comparison) -> String {
    let mut out = format!(
        "{:30} {:>12} {:>12}   {:>18}\n",
        words::text("bench.compare-head"),
        words::text("bench.when-before"),
        words::text("bench.when-after"),
        words::text("bench.columns")
    );
    for p in &c.pairs {
        let per_si = p.item.shown().1;
        let change = if matches!(p.says, Says::Refused(_)) || p.item == Item::Feel {
            String::new()
        } else {
            format!("{} ± {}", signed((p.after - p.before) * per_si), figure(p.half * per_si))
        };
        out.push_str(&format!(
            "  {:28} {:>12} {:>12}   {change:>18}   {}\n",
            pair_name(p),
            pair_value(p, p.before),
            pair_value(p, p.after),
            says(p)
        ));
    }
    out.push_str(&match &c.drag {
        Some(d) => words::fill(
            "bench.drag",
            &[
                ("change", &signed(d.newton_metres)),
                ("half", &figure(d.half)),
                ("z", &signed(d.z)),
                ("notice", &figure(d.would_notice)),
            ],
        ),
        None => words::text("bench.no-drag"),
    });
    out.push('\n');
    out.push_str(&outcome(c));
    out.push('\n');
    out
}

fn signed(x: f64) -> String {
    let text = figure(x);
    if x > 0.0 && text != "0" { format!("+{text}") } else { text }
}

fn outcome(c: &Comparison) -> String {
    let row = |p: &Pair| format!("{}: {} → {}", pair_name(p), pair_value(p, p.before), pair_value(p, p.after));
    let why = match c.outcome {
        Outcome::Same => String::new(),
        Outcome::Look => c.pairs.iter().filter(|p| p.says == Says::Look).map(row).collect::<Vec<_>>().join("; "),
        Outcome::NotKnown => match &c.drag {
            Some(d) => words::fill("bench.too-coarse", &[("notice", &figure(d.would_notice))]),
            None => words::text("bench.no-pair"),
        },
        Outcome::Stop => {
            let rises = c.drag.as_ref().filter(|d| d.newton_metres > d.half);
            let mut all: Vec<String> = rises
                .map(|d| words::fill("bench.stop-drag", &[("change", &signed(d.newton_metres))]))
                .into_iter()
                .collect();
            let rows = c.pairs.iter().filter(|p| p.says == Says::Stop && (rises.is_none() || p.item != Item::NoLoad));
            all.extend(rows.map(|p| {
                let key = if p.item == Item::Wires { "bench.stop-wires" } else { "bench.stop-row" };
                words::fill(key, &[("row", &row(p))])
            }));
            all.join("; ")
        }
    };
    words::fill(&format!("bench.outcome-{}", c.outcome.token()), &[("why", &why)])
}

fn hold_text(r: &Report) -> String {
    let mut out = words::text("bench.hold-head") + "\n";
    let line = match &r.allowed {
        Some(t) => words::fill(
            "bench.hold-allowed",
            &[
                ("kg", &figure(t.pull_at_one_metre.as_kilograms())),
                ("nm", &figure(t.torque.as_newton_metres())),
                ("limit", &figure(t.limit.as_newton_metres())),
                ("asked", &figure(t.asked.as_newton_metres())),
            ],
        ),
        None => words::fill("bench.hold-no-limit", &[("why", &words::text("app.not-known"))]),
    };
    out.push_str(&format!("  {line}\n"));
    if let Some(h) = &r.hold {
        let way = |t: Option<f64>| t.map_or_else(|| words::text("bench.none"), figure);
        let both = words::fill("bench.hold-both", &[("forwards", &way(h.forwards)), ("backwards", &way(h.backwards))]);
        let nm = figure(h.proves.or(h.moved_at).unwrap_or(0.0));
        let finding = words::fill(&format!("bench.hold-{}", h.finding.token()), &[("nm", &nm)]);
        out.push_str(&format!("  {both}\n  {finding}\n"));
        if h.beyond_limit {
            out.push_str(&format!("  {}\n", words::text("bench.hold-beyond")));
        }
    }
    out
}

fn picture(job: &Job, r: &Report, file: &str) -> Result<(), Exit> {
    let dots: Vec<Dot> = r
        .sessions
        .iter()
        .filter_map(|s| Some((s, s.fit.as_ref().ok()?)))
        .flat_map(|(s, fit)| {
            let when = words::text(&format!("bench.when-{}", s.sheet.when.token()));
            fit.residuals.iter().map(move |x| Dot { name: format!("{when}: {}", row_name(&x.row)), ..dot(x) })
        })
        .collect();
    let title = words::fill("bench.head", &[("number", &job.number), ("name", &job.name)]);
    crate::as_fitted::save(file, &plot::svg(&title, &words::text("bench.axis"), &dots))
}

/// The values that go back into the job: of the last session that was fitted, and the hold test.
fn as_fitted(r: &Report) -> Vec<Fitted> {
    let last = r.sessions.iter().max_by_key(|s| s.sheet.when == When::After).and_then(|s| s.fit.as_ref().ok());
    let mut out: Vec<Fitted> = last
        .map(bench::facts)
        .unwrap_or_default()
        .into_iter()
        .map(|(id, value, half)| fitted(id, value, half, None))
        .collect();
    if let Some(h) = &r.hold
        && let Some(nm) = h.proves
    {
        out.push(fitted(list::HOLD_TEST.id(), nm, 0.0, None));
    }
    out
}

fn write(job_path: &str, file: &str, r: &Report) -> Exit {
    let note = r.sessions.last().map_or(String::new(), |s| {
        let when = words::text(&format!("bench.when-{}", s.sheet.when.token())).to_lowercase();
        words::fill("bench.fact-note", &[("when", &when), ("date", &date(&s.sheet))])
    });
    crate::as_fitted::write_job(job_path, file, &as_fitted(r), &note)
}

fn to_json(job: &Job, r: &Report) -> Value {
    json!({
        "job": job.number,
        "sessions": r.sessions.iter().map(session_json).collect::<Vec<_>>(),
        "comparison": r.comparison.as_ref().map(|c| json!({
            "outcome": c.outcome.token(),
            "drag_change_nm": c.drag.as_ref().map(|d| d.newton_metres),
            "drag_change_half_95_nm": c.drag.as_ref().map(|d| d.half),
            "drag_change_deviations": c.drag.as_ref().map(|d| d.z),
            "would_notice_nm": c.drag.as_ref().map(|d| d.would_notice),
            "pairs": c.pairs.iter().map(|p| json!({
                "item": p.item.token(), "at": p.at, "unit": p.item.shown().0, "says": p.says.token(),
                "before": finite(p.before * p.item.shown().1), "after": finite(p.after * p.item.shown().1),
                "change_half_95": finite(p.half * p.item.shown().1),
                "why": match p.says { Says::Refused(key) => Some(words::text(&format!("bench.refused.{key}"))), _ => None },
            })).collect::<Vec<_>>(),
        })),
        "hold_test": json!({
            "allowed_nm": r.allowed.as_ref().map(|t| t.torque.as_newton_metres()),
            "limit_nm": r.allowed.as_ref().map(|t| t.limit.as_newton_metres()),
            "result": r.hold.as_ref().map(|h| json!({
                "finding": h.finding.token(), "forwards_nm": h.forwards, "backwards_nm": h.backwards,
                "holds_at_least_nm": h.proves, "moved_at_nm": h.moved_at, "beyond_limit": h.beyond_limit,
            })),
        }),
        "as_fitted": as_fitted(r).iter().map(|f| json!({ "fact": f.id, "text": f.text })).collect::<Vec<_>>(),
    })
}

fn finite(x: f64) -> Value {
    serde_json::Number::from_f64(x).map_or(Value::Null, Value::Number)
}

fn session_json(s: &Session) -> Value {
    let tokens = |all: &[Quantity]| all.iter().map(|q| q.token()).collect::<Vec<_>>();
    json!({
        "file": s.sheet.name,
        "when": s.sheet.when.token(),
        "why_no_fit": s.fit.as_ref().err().map(unfit),
        "readings_to_spare": s.fit.as_ref().ok().map(|f| f.freedom),
        "scatter_over_promise": s.fit.as_ref().ok().map(|f| f.noise),
        "found": s.fit.as_ref().ok().map(|fit| fit.found.iter().map(|f| {
            let (unit, per_si) = f.quantity.shown();
            let (basis, with) = match &f.basis {
                Basis::Measured => ("measured", vec![]),
                Basis::Leaning(w) => ("leaning", tokens(w)),
                Basis::NotTold(w) => ("not-told", tokens(w)),
                Basis::NothingMeasured => ("nothing-measured", vec![]),
            };
            json!({ "quantity": f.quantity.token(), "value": f.value.map(|v| v * per_si), "half_95": f.half * per_si,
                "unit": unit, "basis": basis, "with": with })
        }).collect::<Vec<_>>()),
        "readings": s.fit.as_ref().ok().map(|fit| fit.residuals.iter().map(|x| {
            let (unit, per_si) = x.row.shown();
            json!({ "reading": row_name(&x.row), "read": x.read * per_si, "fitted": x.fitted * per_si, "unit": unit,
                "studentised": x.studentised, "set_aside": x.bad })
        }).collect::<Vec<_>>()),
    })
}
