//! What the book's commands print, as text, JSON or CSV.

use jobbook::{Change, File, Hit, Job, Summary, Timestamp, Verified};
use serde_json::{Value, json};
use workbench::words;

fn pretty(value: &Value) -> String {
    serde_json::to_string_pretty(value).unwrap_or_default()
}

fn csv(head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut out = csv::Writer::from_writer(Vec::new());
    // Writing to memory does not fail, and every row has as many fields as the head.
    let _ = out.write_record(head);
    for row in rows {
        let _ = out.write_record(row);
    }
    String::from_utf8(out.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// Columns under each other, the last one as long as it is.
fn columns(rows: &[Vec<String>]) -> String {
    let width = |column: usize| rows.iter().filter_map(|r| r.get(column)).map(|c| c.chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    for row in rows {
        let mut line = String::new();
        for (i, cell) in row.iter().enumerate() {
            let pad = if i + 1 < row.len() { width(i) + 2 } else { 0 };
            line.push_str(&format!("{cell:pad$}"));
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

fn minute(at: Timestamp) -> String {
    at.strftime("%Y-%m-%d %H:%M").to_string()
}

fn one_job(job: &Summary) -> Value {
    json!({
        "number": job.number,
        "title": job.title,
        "kind": job.kind.token(),
        "stage": job.stage,
        "of": job.of,
        "started_at": job.started_at.to_string(),
        "changed_at": job.changed_at.to_string(),
    })
}

/// The list of jobs, of one stage if one is named.
pub fn jobs(all: &[Summary], stage: &str, format: &str) -> String {
    let jobs: Vec<&Summary> = all.iter().filter(|j| stage.is_empty() || j.stage == stage).collect();
    let row = |j: &Summary, at: fn(Timestamp) -> String| {
        let of = j.of.clone().unwrap_or_default();
        vec![j.number.clone(), j.stage.clone(), j.kind.token().to_owned(), at(j.changed_at), j.title.clone(), of]
    };
    match format {
        "json" => pretty(&json!({ "jobs": jobs.iter().map(|j| one_job(j)).collect::<Vec<_>>() })),
        "csv" => csv(
            &["number", "stage", "kind", "changed_at", "title", "of"],
            jobs.iter().map(|j| row(j, |at| at.to_string())),
        ),
        _ if jobs.is_empty() => words::text("book.say.no-jobs"),
        _ => {
            let head = ["number", "stage", "kind", "changed", "title", "of"];
            let mut rows = vec![head.iter().map(|h| words::text(&format!("book.column.{h}"))).collect()];
            rows.extend(jobs.iter().map(|j| row(j, minute)));
            columns(&rows)
        }
    }
}

/// One job with its files.
pub fn job(job: &Job, text: &str, files: &[File], format: &str) -> String {
    let s = &job.summary;
    if format == "json" {
        let files: Vec<Value> = files
            .iter()
            .map(|f| {
                json!({ "name": f.name, "media_type": f.media_type, "slot": f.slot, "personal": f.personal,
                        "size_bytes": f.size_bytes, "sha256": f.sha256 })
            })
            .collect();
        let mut value = one_job(s);
        value["revision"] = json!(job.revision);
        value["job_file_toml"] = json!(text);
        value["rider_toml"] = json!(job.rider.1);
        value["files"] = json!(files);
        return pretty(&value);
    }
    let values = [
        ("number", s.number.as_str()),
        ("title", &s.title),
        ("kind", s.kind.token()),
        ("stage", &s.stage),
        ("started", &minute(s.started_at)),
        ("changed", &minute(s.changed_at)),
        ("revision", &job.revision.to_string()),
    ];
    let mut out = words::fill("book.show.head", &values);
    if !job.rider.1.is_empty() {
        out.push_str(&words::fill("book.show.rider", &[("rider", &indented(&job.rider.1))]));
    }
    if !files.is_empty() {
        let rows: Vec<Vec<String>> = files
            .iter()
            .map(|f| vec![format!("  {}", f.name), format!("{} B", f.size_bytes), f.sha256.chars().take(16).collect()])
            .collect();
        out.push_str(&words::fill("book.show.files", &[("files", &columns(&rows))]));
    }
    out.push_str(&words::fill("book.show.text", &[("text", text)]));
    out
}

fn indented(text: &str) -> String {
    text.lines().map(|line| format!("  {line}\n")).collect()
}

/// A job's history.
pub fn history(all: &[Change], format: &str) -> String {
    match format {
        "json" => {
            let change = |c: &Change| {
                let values = c.values.iter().map(|v| json!({ "key": v.key, "before": v.before, "after": v.after }));
                json!({
                    "change": c.id, "document": c.document, "revision": c.revision, "who": c.who, "device": c.device,
                    "at": c.at.to_string(), "values": values.collect::<Vec<_>>(), "undoes": c.undoes,
                    "undone_by": c.undone_by,
                })
            };
            pretty(&json!({ "changes": all.iter().map(change).collect::<Vec<_>>() }))
        }
        "csv" => csv(
            &["change", "document", "revision", "who", "device", "at", "key", "before", "after", "undoes"],
            all.iter().flat_map(|c| {
                let undoes = c.undoes.map(|id| id.to_string()).unwrap_or_default();
                let head =
                    [c.id.to_string(), c.document.clone(), c.revision.to_string(), c.who.clone(), c.device.clone()];
                let row = move |key: &str, before: &str, after: &str| {
                    let rest = [c.at.to_string(), key.to_owned(), before.to_owned(), after.to_owned(), undoes.clone()];
                    head.iter().cloned().chain(rest).collect::<Vec<_>>()
                };
                if c.values.is_empty() {
                    return vec![row("", "", "")];
                }
                let text = |v: &Option<String>| v.clone().unwrap_or_default();
                c.values.iter().map(|v| row(&v.key, &text(&v.before), &text(&v.after))).collect()
            }),
        ),
        _ => all.iter().map(change_text).collect(),
    }
}

/// Values shown of a change that has many, such as a whole job file.
const MOST_VALUES: usize = 12;

fn change_text(c: &Change) -> String {
    let id = c.id.to_string();
    let mut head = words::fill(
        "book.history.head",
        &[("id", &id), ("at", &minute(c.at)), ("who", &c.who), ("device", &c.device), ("what", &c.document)],
    );
    for (key, id) in [("undoes", c.undoes), ("undone", c.undone_by)] {
        if let Some(id) = id {
            head.push_str(&words::fill(&format!("book.history.{key}"), &[("id", &id.to_string())]));
        }
    }
    head.push('\n');
    if c.values.is_empty() {
        head.push_str(&format!("      {}\n", words::text("book.history.no-values")));
    }
    let nothing = words::text("book.nothing");
    for v in c.values.iter().take(MOST_VALUES) {
        let (before, after) = (v.before.as_ref().unwrap_or(&nothing), v.after.as_ref().unwrap_or(&nothing));
        head.push_str(&format!("      {}: {before} → {after}\n", v.key));
    }
    if c.values.len() > MOST_VALUES {
        let more = (c.values.len() - MOST_VALUES).to_string();
        head.push_str(&format!("      {}\n", words::fill("book.history.more", &[("n", &more)])));
    }
    head
}

/// What was found.
pub fn hits(all: &[Hit], format: &str) -> String {
    match format {
        "json" => {
            let hit = |h: &Hit| json!({ "number": h.number, "title": h.title, "document": h.document, "key": h.key, "text": h.text });
            pretty(&json!({ "hits": all.iter().map(hit).collect::<Vec<_>>() }))
        }
        "csv" => csv(
            &["number", "title", "document", "key", "text"],
            all.iter()
                .map(|h| vec![h.number.clone(), h.title.clone(), h.document.clone(), h.key.clone(), h.text.clone()]),
        ),
        _ => {
            let mut out = String::new();
            let mut last = "";
            for h in all {
                if h.number != last {
                    out.push_str(&format!("{}  {}\n", h.number, h.title));
                    last = &h.number;
                }
                let key = if h.key.is_empty() { "#" } else { &h.key };
                out.push_str(&format!("      {key}  {}\n", h.text));
            }
            if out.is_empty() { words::text("book.say.nothing-found") } else { out }
        }
    }
}

/// One line about a sound book.
pub fn verified(key: &str, v: &Verified) -> String {
    words::fill(
        &format!("book.say.{key}"),
        &[
            ("jobs", &v.jobs.to_string()),
            ("changes", &v.changes.to_string()),
            ("files", &v.files.to_string()),
            ("bytes", &v.file_bytes.to_string()),
        ],
    )
}

/// What was read, and every fault.
pub fn verified_as(v: &Verified, format: &str) -> String {
    if format == "json" {
        return pretty(&json!({
            "jobs": v.jobs, "changes": v.changes, "files": v.files, "file_bytes": v.file_bytes, "faults": v.faults,
        }));
    }
    let mut out = verified(if v.faults.is_empty() { "sound" } else { "faulty" }, v) + "\n";
    out.extend(v.faults.iter().map(|fault| format!("  {fault}\n")));
    out
}
