//! `backdrive prove`: a ride's log held against the plan, and the plan of the test ride itself.

use crate::check_text;
use crate::output::{self, Exit, figure};
use proof::fitted::{Fitted, fitted, with_doubt};
use proof::follow::Day;
use proof::ladder::{self, Ladder, Rung};
use proof::road::{
    self, Channel, NoRoadFit, Observer, Promise, Promised, Proof, Ride, RoadFit, Shown, Unridden, Values,
};
use quantity::text::Decimal;
use serde_json::{Value, json};
use std::fs::File;
use std::path::Path;
use tracks::{Clock, Columns, LogReader, Quantity};
use workbench::check::Check;
use workbench::fact::{self, Distribution, Origin, list};
use workbench::job::Job;
use workbench::link::{Gap, Link, Place};
use workbench::{check, words};

/// What was asked for on the command line.
pub struct Asked {
    /// Log file.
    pub log: Option<String>,
    /// Columns file.
    pub columns: Option<String>,
    /// All-up mass of the ride, as text.
    pub mass: Option<String>,
    /// The road was flat.
    pub flat: bool,
    /// Only the plan of the test ride.
    pub plan: bool,
    /// text or json.
    pub format: String,
    /// Where the as-fitted job goes.
    pub write: Option<String>,
}

/// Which channel of the proof a column of a log is.
const CHANNELS: [(Quantity, Channel); Channel::COUNT] = [
    (Quantity::Speed, Channel::Speed),
    (Quantity::Height, Channel::Height),
    (Quantity::BusVoltage, Channel::BusVoltage),
    (Quantity::BatteryCurrent, Channel::BatteryCurrent),
    (Quantity::PhaseCurrent, Channel::PhaseCurrent),
    (Quantity::MotorTorque, Channel::MotorTorque),
    (Quantity::MotorTemperature, Channel::MotorTemperature),
    (Quantity::AirTemperature, Channel::AirTemperature),
    (Quantity::Cadence, Channel::Cadence),
    (Quantity::RiderPower, Channel::RiderPower),
];

/// A log as it was read.
pub struct Log {
    /// What happened in it.
    pub ride: Ride,
    /// What its reader should know.
    pub notes: Vec<String>,
    /// The day on which it begins, if its clock is one of the world.
    pub day: Option<Day>,
}

/// Everything that came out of one log.
struct Report {
    ride: Ride,
    proof: Proof,
    road: Result<RoadFit, NoRoadFit>,
    mass_assumed: bool,
    missing: Ladder,
    notes: Vec<String>,
}

/// Runs the command.
pub fn run(path: &str, asked: &Asked) -> Exit {
    let job = match crate::load(path) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    let json = asked.format == "json";
    let Some(log) = asked.log.as_deref().filter(|_| !asked.plan) else {
        let ladder = ladder::ladder(&job, None, true);
        let said = if json { pretty(&ladder_json(&ladder)) } else { plan_text(&job, &ladder) };
        output::data(&said);
        return Exit::Holds;
    };
    let result = check::check(&job);
    let report = match report(&job, &result, log, asked) {
        Ok(report) => report,
        Err(exit) => return exit,
    };
    output::data(&if json { pretty(&to_json(&job, &report)) } else { text(&job, &report) });
    if let Some(file) = &asked.write {
        let note = words::fill("prove.fact-note", &[("log", log)]);
        let exit = crate::as_fitted::write_job(path, file, &as_fitted(&job, &report), &note);
        if exit != Exit::Holds {
            return exit;
        }
    }
    let all_seen = report.proof.promises.iter().all(|p| p.shown == Shown::Seen);
    if all_seen { Exit::Holds } else { Exit::DoesNotHold }
}

fn pretty(v: &Value) -> String {
    serde_json::to_string_pretty(v).unwrap_or_default()
}

fn report(job: &Job, result: &Check, log: &str, asked: &Asked) -> Result<Report, Exit> {
    let gap = |g: Gap| {
        output::talk(&words::fill("prove.no-plan", &[("why", &check_text::gap(&g))]));
        Exit::BadInput
    };
    let mass = given_mass(job, asked)?;
    let steer = road::steer(job).map_err(gap)?;
    let columns = columns(asked.columns.as_deref())?;
    let Log { ride, notes, .. } = read(log, &columns, steer)?;
    let proof = road::prove(job, result, &ride, mass.map(|m| m.0)).map_err(gap)?;
    let known = road::rolling(job, mass).map_err(gap)?;
    let open: Vec<Promised> =
        proof.promises.iter().filter(|p| matches!(p.shown, Shown::NotRidden(_))).map(|p| p.which).collect();
    let fit = road::road_fit(&ride.coasts, &known, asked.flat);
    let assumed = job.fact(list::USUAL.id()).is_none_or(|f| f.origin == Origin::Assumed);
    Ok(Report {
        missing: ladder::ladder(job, Some(&open), fit.is_err()),
        road: fit,
        mass_assumed: mass.is_none() && assumed,
        ride,
        proof,
        notes,
    })
}

/// Mass in kg with its standard deviation, where the person gave one.
fn given_mass(job: &Job, asked: &Asked) -> Result<Option<(f64, f64)>, Exit> {
    let Some(text) = &asked.mass else { return Ok(None) };
    match fact::read_fact(fact::definition(list::USUAL.id()), text, &job.rack, Origin::Measured, Decimal::Point) {
        Ok(f) => {
            let sigma = match f.spread {
                Distribution::Normal { sigma } => sigma,
                _ => 0.0,
            };
            Ok(Some((f.value, sigma)))
        }
        Err(_) => {
            output::talk(&words::fill("prove.mass", &[("given", text)]));
            Err(Exit::BadInput)
        }
    }
}

fn no_file(path: &str, why: &str) -> Exit {
    output::talk(&words::fill("app.no-file", &[("path", path), ("why", why)]));
    Exit::BadInput
}

/// Reads a columns file, if there is one.
pub fn columns(path: Option<&str>) -> Result<Columns, Exit> {
    let Some(path) = path else { return Ok(Columns::default()) };
    let text = std::fs::read_to_string(path).map_err(|e| no_file(path, &e.to_string()))?;
    Columns::parse(&text).map_err(|e| no_file(path, &e.to_string()))
}

/// Reads a log sample by sample and watches what happens in it.
pub fn read(path: &str, columns: &Columns, steer: road::Steer) -> Result<Log, Exit> {
    let file = File::open(Path::new(path)).map_err(|e| no_file(path, &e.to_string()))?;
    let mut reader = LogReader::new(file, columns).map_err(|e| no_file(path, &e.to_string()))?;
    let mut observer = Observer::new(steer);
    let mut places: Vec<Option<usize>> = Vec::new();
    let mut known = usize::MAX;
    let mut first = None;
    loop {
        // Some formats bring columns only later; places once given do not change.
        if reader.columns().len() != known {
            known = reader.columns().len();
            places = CHANNELS.iter().map(|(q, _)| reader.place_of(*q)).collect();
        }
        match reader.read_sample() {
            Ok(Some(sample)) => {
                let mut values: Values = [f64::NAN; Channel::COUNT];
                for ((_, channel), place) in CHANNELS.iter().zip(&places) {
                    if let Some(v) = place.and_then(|p| sample.values.get(p)) {
                        values[*channel as usize] = *v;
                    }
                }
                first = first.or(Some(sample.time_s).filter(|t| t.is_finite()));
                observer.push(sample.time_s, sample.segment, &values);
            }
            Ok(None) => break,
            Err(e) => return Err(no_file(path, &e.to_string())),
        }
    }
    let of_the_world = matches!(reader.clock(), Clock::Utc | Clock::Local);
    Ok(Log {
        notes: reader.notes().iter().map(ToString::to_string).collect(),
        day: first.filter(|_| of_the_world).map(Day::of_seconds),
        ride: observer.finish(),
    })
}

fn promise_name(p: Promised) -> String {
    words::text(&format!("prove.promise.{}", p.token()))
}

fn rung_name(r: Rung) -> String {
    words::text(&format!("prove.rung.{}.name", r.token()))
}

fn around((value, half): (f64, f64)) -> String {
    with_doubt(value, half)
}

fn why(u: &Unridden) -> String {
    match u {
        Unridden::NoColumn(c) => {
            words::fill("prove.why.no-column", &[("what", &words::text(&format!("prove.channel.{}", c.token())))])
        }
        Unridden::TooSlow(rate) => words::fill("prove.why.too-slow", &[("rate", &figure(*rate))]),
        Unridden::NoEvent => words::text("prove.why.no-event"),
        Unridden::OnlyTo(share) => words::fill("prove.why.only-to", &[("share", &percent(*share))]),
        Unridden::NotPlanned(id) => {
            let what = id.map_or_else(String::new, check_text::fact_name);
            words::fill("prove.why.not-planned", &[("what", &what)])
        }
    }
}

fn percent(share: f64) -> String {
    format!("{:.0}", share * 100.0)
}

fn line(p: &Promise) -> String {
    let unit = p.which.unit();
    let show = |v: Option<(f64, f64)>| v.map_or_else(|| words::text("bench.none"), around);
    let word = words::text(&format!("prove.shown.{}", p.shown.token()));
    let tail = match &p.shown {
        Shown::NotRidden(u) => why(u),
        _ => {
            let z = p.z.map_or_else(String::new, |z| words::fill("prove.z", &[("z", &figure(z))]));
            let limit = p.limit.map_or_else(String::new, |(l, u)| {
                words::fill("prove.limit", &[("limit", &figure(l)), ("upper", &figure(u)), ("unit", unit)])
            });
            format!("{z}{limit}")
        }
    };
    format!("  {:40} {:>16} {:>16} {:6} {word:15} {tail}\n", promise_name(p.which), show(p.planned), show(p.seen), unit)
}

/// Which fact would explain a difference.
fn explanation(proof: &Proof, which: Promised) -> String {
    let all: Vec<String> = proof
        .explained_by
        .iter()
        .filter(|(p, _, _)| *p == which)
        .map(|(_, fact, off)| {
            let sigma = format!("{off:+.1}");
            words::fill("prove.explains-fact", &[("fact", &check_text::fact_name(*fact)), ("off", &sigma)])
        })
        .collect();
    let said = if all.is_empty() {
        words::text("prove.explains-nothing")
    } else {
        words::fill("prove.explains", &[("facts", &all.join("; "))])
    };
    format!("      {said}\n")
}

fn text(job: &Job, r: &Report) -> String {
    let c = &r.ride.clock;
    let mut out = words::fill("prove.head", &[("number", &job.number), ("name", &job.name)]) + "\n";
    out.push_str(&words::fill(
        "prove.log",
        &[
            ("samples", &c.samples.to_string()),
            ("rate", &figure(c.rate())),
            ("km", &figure(r.ride.distance / 1e3)),
            ("minutes", &figure(c.covered / 60.0)),
            ("gaps", &c.gaps.to_string()),
            ("back", &c.steps_back.to_string()),
            ("bad", &(c.without_time + c.doubled).to_string()),
        ],
    ));
    out.push('\n');
    out.push_str(&words::fill(
        "prove.events",
        &[
            ("brakings", &r.ride.brakings.to_string()),
            ("held", &r.ride.held.len().to_string()),
            ("coasts", &r.ride.coasts.len().to_string()),
            ("starts", &r.ride.starts.to_string()),
            ("reversals", &r.ride.reversal_count.to_string()),
        ],
    ));
    out.push_str("\n\n");
    out.push_str(&format!(
        "  {:40} {:>16} {:>16}\n",
        words::text("prove.columns.promise"),
        words::text("prove.columns.planned"),
        words::text("prove.columns.seen")
    ));
    for p in &r.proof.promises {
        out.push_str(&line(p));
        if p.shown == Shown::Differs {
            out.push_str(&explanation(&r.proof, p.which));
        }
    }
    out.push_str(&words::fill("prove.beyond", &[("z", &figure(r.proof.beyond))]));
    out.push_str("\n\n");
    out.push_str(&road_text(r));
    if !r.missing.rungs.is_empty() {
        out.push_str(&format!("\n{}\n", words::text("prove.still")));
        out.push_str(&rungs_text(job, &r.missing));
    }
    out.push_str(&format!("\n{}\n", never_text(&r.missing)));
    for note in &r.notes {
        out.push_str(&words::fill("prove.note", &[("note", note)]));
        out.push('\n');
    }
    out
}

fn road_text(r: &Report) -> String {
    let mut out = match &r.road {
        Ok(f) => words::fill(
            "prove.road",
            &[
                ("rolling", &around((f.rolling, f.rolling_half))),
                ("air", &around((f.drag_area, f.drag_area_half))),
                ("used", &f.used.to_string()),
                ("aside", &f.set_aside.to_string()),
            ],
        ),
        Err(why) => words::text(&format!("prove.no-road.{}", why.token())),
    };
    out.push('\n');
    if r.mass_assumed {
        out.push_str(&words::text("prove.mass-assumed"));
        out.push('\n');
    }
    out
}

fn link_name(l: &Link) -> String {
    let name = words::text(&format!("link.{}.name", l.kind.id()));
    match l.place {
        Place::Whole => name,
        Place::At(side) => format!("{name}, {}", words::text(&format!("side.{}", side.token()))),
        Place::Arm(i) => format!("{name} {}", i + 1),
    }
}

fn link_names(all: &[Link]) -> String {
    all.iter().map(link_name).collect::<Vec<_>>().join("; ")
}

/// How the rung is ridden on this bike.
fn how(job: &Job, rung: Rung) -> String {
    let text = |id| job.fact(id).map_or_else(|| words::text("app.not-known"), |f| f.text.clone());
    words::fill(
        &format!("prove.rung.{}.how", rung.token()),
        &[
            ("speed", &rung.speed().map_or_else(String::new, figure)),
            ("braking", &rung.braking().map_or_else(String::new, percent)),
            ("current", &text(list::BRAKE_CURRENT.id())),
            ("drive", &text(list::DRIVE_CURRENT.id())),
            ("hold", &text(list::HOLD_FASTEST.id())),
            ("hill", &text(list::STEEPEST.id())),
            ("charge", &text(list::CHARGE_TO.id())),
        ],
    )
}

fn rungs_text(job: &Job, l: &Ladder) -> String {
    let mut out = String::new();
    for (i, (rung, shows)) in l.rungs.iter().zip(&l.shows).enumerate() {
        let head = [("n", (i + 1).to_string()), ("name", rung_name(*rung)), ("minutes", figure(rung.minutes()))];
        let head: Vec<(&str, &str)> = head.iter().map(|(k, v)| (*k, v.as_str())).collect();
        out.push_str(&format!("  {}\n", words::fill("prove.rung-line", &head)));
        out.push_str(&format!("     {}\n", how(job, *rung)));
        let stop = words::text(&format!("prove.rung.{}.stop", rung.token()));
        out.push_str(&format!("     {}\n", words::fill("prove.stop-if", &[("stop", &stop)])));
        if !shows.is_empty() {
            out.push_str(&format!("     {}\n", words::fill("prove.shows", &[("links", &link_names(shows))])));
        }
    }
    out
}

fn never_text(l: &Ladder) -> String {
    words::fill("prove.never", &[("links", &link_names(&l.never))])
}

fn plan_text(job: &Job, l: &Ladder) -> String {
    let mut out = words::fill("prove.plan-head", &[("number", &job.number), ("name", &job.name)]) + "\n";
    out.push_str(&words::fill("prove.plan-minutes", &[("minutes", &figure(l.minutes))]));
    out.push_str("\n\n");
    for key in ["before", "ride", "hub"] {
        out.push_str(&format!("  {}\n", words::text(&format!("prove.caution.{key}"))));
    }
    out.push('\n');
    out.push_str(&rungs_text(job, l));
    out.push_str(&format!("  {}\n\n", words::text("prove.after")));
    out.push_str(&format!("{}\n", never_text(l)));
    out.push_str(&words::fill("prove.otherwise", &[("links", &link_names(&l.otherwise))]));
    out.push('\n');
    out
}

/// What the ride has to say in place of the job's facts; only where it knows better.
fn as_fitted(job: &Job, r: &Report) -> Vec<Fitted> {
    let mut found: Vec<(fact::FactId, f64, f64)> = Vec::new();
    if let (Ok(f), false) = (&r.road, r.mass_assumed) {
        found.push((list::ROLLING.id(), f.rolling, f.rolling_half));
        found.push((list::DRAG_AREA.id(), f.drag_area, f.drag_area_half));
    }
    if let (Some((flux, half)), false) = (r.proof.flux, r.mass_assumed) {
        found.push((list::FLUX.id(), flux, half));
    }
    found
        .into_iter()
        .filter(|(id, _, half)| proof::fitted::knows_better(job, *id, *half))
        .map(|(id, value, half)| fitted(id, value, half, None))
        .collect()
}

fn ladder_json(l: &Ladder) -> Value {
    let ids = |all: &[Link]| all.iter().map(|l| l.id()).collect::<Vec<_>>();
    json!({
        "minutes": l.minutes,
        "rungs": l.rungs.iter().zip(&l.shows).map(|(r, s)| json!({
            "rung": r.token(), "minutes": r.minutes(), "speed_kmh": r.speed(), "braking_share": r.braking(), "shows": ids(s),
            "stop_if": words::text(&format!("prove.rung.{}.stop", r.token())),
        })).collect::<Vec<_>>(),
        "never": ids(&l.never),
        "otherwise": ids(&l.otherwise),
    })
}

fn to_json(job: &Job, r: &Report) -> Value {
    let c = &r.ride.clock;
    let pair = |p: Option<(f64, f64)>, i: usize| p.map(|(a, b)| if i == 0 { a } else { b });
    json!({
        "job": job.number,
        "log": { "samples": c.samples, "rate_hz": c.rate(), "distance_m": r.ride.distance, "covered_s": c.covered,
            "gaps": c.gaps, "steps_back": c.steps_back, "without_time": c.without_time, "doubled": c.doubled },
        "events": { "brakings": r.ride.brakings, "held": r.ride.held.len(), "coasts": r.ride.coasts.len(),
            "full_power_starts": r.ride.starts, "reversals": r.ride.reversal_count,
            "recovered_wh": r.ride.recovered / 3600.0 },
        "beyond_deviations": r.proof.beyond,
        "promises": r.proof.promises.iter().map(|p| json!({
            "promise": p.which.token(), "unit": p.which.unit(), "shown": p.shown.token(),
            "planned": pair(p.planned, 0), "planned_half_95": pair(p.planned, 1),
            "seen": pair(p.seen, 0), "seen_half_95": pair(p.seen, 1), "deviations": p.z,
            "can_take": pair(p.limit, 0), "seen_at_most": pair(p.limit, 1), "events": p.events,
            "why": match &p.shown { Shown::NotRidden(u) => Some(why(u)), _ => None },
            "manoeuvre": match p.shown { Shown::NotRidden(_) => ladder::rung_of(p.which).map(Rung::token), _ => None },
        })).collect::<Vec<_>>(),
        "explained_by": r.proof.explained_by.iter().map(|(p, f, off)| json!({
            "promise": p.token(), "fact": fact::describe(*f).1, "off_by_deviations": off })).collect::<Vec<_>>(),
        "road": match &r.road {
            Ok(f) => json!({ "rolling": f.rolling, "rolling_half_95": f.rolling_half, "drag_area_m2": f.drag_area,
                "drag_area_half_95_m2": f.drag_area_half, "stretches": f.used, "set_aside": f.set_aside }),
            Err(e) => json!({ "why_not": e.token() }),
        },
        "flux_linkage_mwb": r.proof.flux.map(|f| f.0 * 1e3),
        "flux_linkage_half_95_mwb": r.proof.flux.map(|f| f.1 * 1e3),
        "mass_assumed": r.mass_assumed,
        "still_to_ride": ladder_json(&r.missing),
        "as_fitted": as_fitted(job, r).iter().map(|f| json!({ "fact": f.id, "text": f.text })).collect::<Vec<_>>(),
        "notes": r.notes,
    })
}
