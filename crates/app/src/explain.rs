//! The working of one link: facts with their origin, equations with the numbers put in, sources.

use crate::check_text::{fact_name, gap};
use crate::output::{self, Exit, figure};
use serde_json::json;
use workbench::fact;
use workbench::link::{self, Step};
use workbench::{check, words};

/// Prints the working.
pub fn run(path: &str, wanted: &str, format: &str) -> Exit {
    let job = match crate::load(path) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    let links = link::plan(&job);
    let Some(link) = links.iter().find(|l| l.id() == wanted) else {
        let ids: Vec<String> = links.iter().map(|l| l.id()).collect();
        output::talk(&words::fill("app.no-link", &[("link", wanted), ("links", &ids.join(", "))]));
        return Exit::BadInput;
    };
    let (answer, tape) = check::explain(&job, *link);
    let steps = tape.steps();
    let swings = check::check_one(&job, *link);
    if format == "json" {
        let value = json!({
            "link": link.id(),
            "full_percent": answer.ok().map(|l| l.full * 100.0),
            "demand_drive": answer.ok().map(|l| l.drive),
            "demand_brake": answer.ok().map(|l| l.brake),
            "capacity": answer.ok().map(|l| l.capacity),
            "unit": link.kind.unit(),
            "facts": tape.facts().iter().map(|f| {
                let known = job.fact(*f);
                json!({ "fact": fact::describe(*f).1, "value": known.map(|k| k.text.clone()), "origin": known.map(|k| k.origin.token()), "tool": known.and_then(|k| k.tool.clone()) })
            }).collect::<Vec<_>>(),
            "steps": steps.iter().map(|s| json!({
                "what": words::text(&format!("step.{}", s.key)), "place": s.place, "equation": s.formula.equation, "source": s.formula.source,
                "put": s.put.iter().map(|p| json!({ "symbol": p.symbol, "value": p.value, "unit": p.unit })).collect::<Vec<_>>(),
                "result": { "symbol": s.result.symbol, "value": s.result.value, "unit": s.result.unit },
            })).collect::<Vec<_>>(),
            "would_change_it_most": swings.iter().map(|(f, s)| json!({ "fact": fact::describe(*f).1, "full_percent_from_end_to_end": s * 100.0 })).collect::<Vec<_>>(),
        });
        output::data(&serde_json::to_string_pretty(&value).unwrap_or_default());
        return Exit::Holds;
    }
    let mut out = format!("{}: {}\n", link.id(), words::text(&format!("link.{}.why", link.kind.id())));
    match answer {
        Ok(l) => out.push_str(&words::fill(
            "app.explain-head",
            &[
                ("drive", &figure(l.drive)),
                ("brake", &figure(l.brake)),
                ("capacity", &figure(l.capacity)),
                ("unit", link.kind.unit()),
                ("full", &format!("{:.0} %", l.full * 100.0)),
            ],
        )),
        Err(g) => out.push_str(&words::fill("app.explain-gap", &[("why", &gap(&g))])),
    }
    out.push_str(&format!("\n\n{}\n", words::text("app.explain-facts")));
    for f in tape.facts() {
        let value = job.fact(f).map_or_else(
            || words::text("app.not-known"),
            |k| {
                let tool = k.tool.as_ref().map_or_else(String::new, |t| format!(" {t}"));
                let origin = words::text(&format!("origin.{}", k.origin.token()));
                format!("{} ({origin}{tool}, {})", k.text, k.origin.grade())
            },
        );
        out.push_str(&format!("  {}: {value}\n", fact_name(f)));
    }
    out.push_str(&format!("\n{}\n", words::text("app.explain-steps")));
    for s in &steps {
        out.push_str(&step(s));
    }
    if !swings.is_empty() {
        out.push_str(&format!("\n{}\n", words::text("app.explain-swings")));
        for (f, s) in swings.iter().take(5) {
            let points = format!("{:+.0}", s * 100.0);
            out.push_str(&format!(
                "  {}\n",
                words::fill("app.swing", &[("fact", &fact_name(*f)), ("points", &points)])
            ));
        }
    }
    output::data(&out);
    Exit::Holds
}

fn step(s: &Step) -> String {
    let put: Vec<String> =
        s.put.iter().map(|p| format!("{} = {} {}", p.symbol, figure(p.value), p.unit).trim_end().to_owned()).collect();
    let place = match s.place.as_str() {
        "" => String::new(),
        side @ ("left" | "right") => format!(", {}", words::text(&format!("side.{side}"))),
        arm => format!(" {arm}"),
    };
    let head = format!(
        "  {}{place}: {} = {} {}",
        words::text(&format!("step.{}", s.key)),
        s.result.symbol,
        figure(s.result.value),
        s.result.unit
    );
    format!(
        "{}\n    {}\n    {}\n    {}: {}\n",
        head.trim_end(),
        s.formula.equation,
        put.join(", "),
        words::text("app.source"),
        s.formula.source
    )
}
