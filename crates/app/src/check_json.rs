//! The verdict for programs: JSON and CSV. Each bare number carries its unit in its key or in a `unit` beside it.

use serde_json::{Value, json};
use workbench::advice::Advice;
use workbench::check::{Check, LinkResult};
use workbench::fact;
use workbench::job::Job;

/// Infinity has no number in JSON: `null`.
fn number(x: f64) -> Value {
    serde_json::Number::from_f64(x).map_or(Value::Null, Value::Number)
}

fn ids(facts: &[fact::FactId]) -> Vec<String> {
    facts.iter().map(|f| fact::describe(*f).1).collect()
}

fn link(l: &LinkResult) -> Value {
    json!({
        "id": l.link.id(),
        "name": crate::check_text::name(l),
        "path": l.link.kind.path().token(),
        "verdict": l.verdict.token(),
        "full_percent": l.load.map_or(Value::Null, |x| number(x.full * 100.0)),
        "unit": l.link.kind.unit(),
        "demand_drive": l.load.map_or(Value::Null, |x| number(x.drive)),
        "demand_brake": l.load.map_or(Value::Null, |x| number(x.brake)),
        "capacity": l.load.map_or(Value::Null, |x| number(x.capacity)),
        "middle_percent": l.middle.map_or(Value::Null, |x| number(x.full * 100.0)),
        "stacked_worst_percent": l.stacked.map_or(Value::Null, |x| number(x * 100.0)),
        "chance": number(l.chance),
        "chance_at_most": number(l.chance_at_most),
        "full_low_percent": l.low_mid_high.map(|f| number(f[0] * 100.0)),
        "full_high_percent": l.low_mid_high.map(|f| number(f[2] * 100.0)),
        "mostly_assumed": l.mostly_assumed,
        "missing": ids(&l.missing),
        "why": l.gap.as_ref().map(crate::check_text::gap),
    })
}

/// The whole answer.
pub fn json(job: &Job, c: &Check, advice: &Advice) -> String {
    let rule = |r: &std::sync::Arc<workbench::rules::HouseRule>| json!({ "rule": r.id, "sentence": r.sentence });
    let value = json!({
        "job": job.number,
        "name": job.name,
        "verdict": c.verdict.token(),
        "state": c.state.map(workbench::check::State::token),
        "state_shares": workbench::check::State::ALL.iter().map(|s| (s.token().to_owned(), number(c.state_shares[*s as usize]))).collect::<serde_json::Map<_, _>>(),
        "play_deg": c.rocks_degrees,
        "one_in": c.one_in,
        "chance": number(c.chance),
        "chance_at_most": number(c.chance_at_most),
        "draws": c.draws,
        "refused": c.refused.iter().map(rule).collect::<Vec<_>>(),
        "rules_without": job.rules_without,
        "cautions": c.cautions.iter().map(rule).collect::<Vec<_>>(),
        "links": c.links.iter().map(link).collect::<Vec<_>>(),
        "tighten": advice.tighten.iter().map(|t| json!({
            "what": t.key, "place": t.place, "torque_nm": t.torque.as_newton_metres(),
            "at_most_nm": t.at_most.map(|m| m.as_newton_metres()), "give_nm": t.give.as_newton_metres(),
            "tool": t.tool, "thread": t.thread_state,
        })).collect::<Vec<_>>(),
        "hold_test": advice.hold_test.map(|t| json!({
            "torque_nm": t.torque.as_newton_metres(), "asked_nm": t.asked.as_newton_metres(),
            "limit_nm": t.limit.as_newton_metres(), "pull_at_one_metre_kg": t.pull_at_one_metre.as_kilograms(),
        })),
        "measure_next": advice.measure.iter().map(|m| json!({
            "card": m.card, "minutes": m.minutes, "facts": ids(&m.facts),
            "of": m.of.map(|(link, share)| json!({ "link": link.id(), "share_of_doubt": share })),
        })).collect::<Vec<_>>(),
        "would_fix": advice.fixes.iter().map(|f| json!({
            "changes": f.changes.iter().map(|x| json!({ "lever": x.key, "value": x.value })).collect::<Vec<_>>(),
            "verdict": f.verdict.token(), "fullest": f.fullest, "full_percent": number(f.full * 100.0),
        })).collect::<Vec<_>>(),
        "braking_ceiling": advice.ceiling.iter().map(|p| json!({
            "speed_km_h": p.speed.as_kilometres_per_hour(), "torque_nm": p.torque.as_newton_metres(), "stopped_by": p.stopped_by,
        })).collect::<Vec<_>>(),
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}

/// One line a link.
pub fn csv(c: &Check) -> String {
    let mut out = "link,path,verdict,full_percent,demand_drive,demand_brake,capacity,unit,chance,missing\n".to_owned();
    for l in &c.links {
        let n = |x: Option<f64>| x.map_or_else(String::new, |v| format!("{v}"));
        out.push_str(&format!(
            "{},{},{},{},{},{},{},{},{},{}\n",
            l.link.id(),
            l.link.kind.path().token(),
            l.verdict.token(),
            n(l.load.map(|x| x.full * 100.0)),
            n(l.load.map(|x| x.drive)),
            n(l.load.map(|x| x.brake)),
            n(l.load.map(|x| x.capacity)),
            l.link.kind.unit(),
            l.chance,
            ids(&l.missing).join(" ")
        ));
    }
    out
}
