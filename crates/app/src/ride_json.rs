//! The hill for programs: each bare number carries its unit in its key.

use quantity::Speed;
use serde_json::{Map, Value, json};
use workbench::job::Job;
use workbench::ride::answers::{ANSWERS, Pair};
use workbench::ride::course::Course;
use workbench::ride::ensemble::{Ensemble, SHARES, WORTHS};
use workbench::ride::rainflow::CLASS;
use workbench::ride::run::End;
use workbench::ride::study::{LOADS, Study};
use workbench::ride::tally::Ledger;

/// Infinity has no number in JSON: `null`.
fn number(x: f64) -> Value {
    serde_json::Number::from_f64(x).map_or(Value::Null, Value::Number)
}

/// The whole answer.
pub fn json(job: &Job, course: &Course, s: &Study) -> String {
    let (grade, speed) = s.held;
    let loads: Vec<Value> = s
        .pairs
        .iter()
        .zip(LOADS)
        .enumerate()
        .map(|(i, (p, (_, key)))| {
            let mut one = ride(p);
            one.insert("load".to_owned(), json!(key));
            one.insert("mass_kg".to_owned(), number(s.masses[i].as_kilograms()));
            one.insert(
                "longest_descent".to_owned(),
                json!({ "height_m": number(s.longest[i].height.as_metres()), "ends_by": s.longest[i].ends_by.token() }),
            );
            Value::Object(one)
        })
        .collect();
    let value = json!({
        "job": job.number,
        "name": job.name,
        "course": {
            "length_km": number(course.length().as_metres() / 1000.0),
            "climb_m": number(course.climb().as_metres()),
            "drop_m": number(course.drop().as_metres()),
            "stops": course.stops(),
        },
        "held": { "grade_percent": number(grade.as_percent()), "speed_km_h": number(speed.as_kilometres_per_hour()) },
        "highest_charge_percent": s.highest_charge.map_or(Value::Null, |c| number(c.as_percent())),
        "least_stable_hold_km_h": s.least_stable.map_or(Value::Null, |v| number(v.as_kilometres_per_hour())),
        "loads": loads,
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}

fn ride(p: &Pair) -> Map<String, Value> {
    let mut out = Map::new();
    out.insert("worth".to_owned(), json!(p.worth().token()));
    out.insert("sentence".to_owned(), json!(crate::ride_text::worth(p)));
    out.insert("survives".to_owned(), json!(p.survives()));
    let end = match p.locked.end {
        End::Arrived => "arrived",
        End::TooSteep => "too-steep",
        End::TooLong => "too-long",
        End::Stopped => "stopped",
    };
    out.insert("end".to_owned(), json!(end));
    for a in ANSWERS {
        out.insert(a.key.to_owned(), (a.of)(p).map_or(Value::Null, number));
    }
    out.insert("ledger_locked".to_owned(), ledger(&p.locked.tally.ledger));
    out.insert("ledger_free".to_owned(), ledger(&p.free.tally.ledger));
    let classes = p.locked.rainflow.classes();
    let cycles: Vec<Value> = classes
        .iter()
        .enumerate()
        .filter(|(_, n)| **n > 0.0)
        .map(|(i, n)| {
            let from = i as f64 * CLASS;
            json!({ "range_from_nm": from, "range_to_nm": from + CLASS, "cycles": n })
        })
        .collect();
    out.insert("axle_cycles".to_owned(), Value::Array(cycles));
    let openings: Vec<Value> = p
        .locked
        .openings
        .iter()
        .map(|o| {
            json!({
                "time_s": number(o.t_s), "way_m": number(o.x_m), "speed_km_h": number(Speed::metres_per_second(o.speed_m_s).as_kilometres_per_hour()),
                "slope_percent": number(o.slope * 100.0), "braking_lost_m_s2": number(o.lost_m_s2),
                "gained_km_h": number(Speed::metres_per_second(o.gained_m_s).as_kilometres_per_hour()), "supply_v": number(o.bus_v),
            })
        })
        .collect();
    out.insert("pack_opens".to_owned(), Value::Array(openings));
    let weak = p.locked.weak.iter().map(|w| json!({ "from_m": number(w.from_m), "to_m": number(w.to_m) })).collect();
    out.insert("pack_weak".to_owned(), Value::Array(weak));
    out
}

fn ledger(l: &Ledger) -> Value {
    let wh = |j: f64| number(j / 3600.0);
    json!({
        "legs_wh": wh(l.legs_j), "battery_chemistry_wh": wh(l.chemical_j), "height_wh": wh(l.height_j),
        "speed_wh": wh(l.kinetic_j), "air_wh": wh(l.air_j), "rolling_wh": wh(l.rolling_j), "hand_brakes_wh": wh(l.hands_j),
        "gears_wh": wh(l.gear_j), "drag_wh": wh(l.drag_j), "copper_wh": wh(l.copper_j), "switches_wh": wh(l.inverter_j),
        "standby_wh": wh(l.standby_j), "battery_heat_wh": wh(l.pack_j), "open_share": number(l.open_share()),
    })
}

/// Quantiles of many variants.
pub fn variants(job: &Job, e: &Ensemble) -> String {
    let answers: Map<String, Value> = ANSWERS
        .iter()
        .zip(&e.quantiles)
        .map(|(a, q)| (a.key.to_owned(), Value::Array(q.iter().map(|x| number(*x)).collect())))
        .collect();
    let worth: Map<String, Value> =
        WORTHS.iter().zip(e.worth).map(|(w, share)| (w.token().to_owned(), number(share))).collect();
    let value = json!({
        "job": job.number,
        "name": job.name,
        "variants": e.variants,
        "failed": e.failed.0,
        "why_failed": e.failed.1.as_ref().map(workbench::say::ride_error),
        "arrives_share": number(e.arrives),
        "survives_share": number(e.survives),
        "worth_shares": worth,
        "at_shares": SHARES,
        "answers": answers,
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}
