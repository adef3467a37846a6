//! `backdrive settings`: what to key in, in the order and names of the device that is fitted.

use crate::check_text::{fact_name, link_name};
use crate::output::{self, Exit, figure};
use crate::progress::Progress;
use quantity::Speed;
use quantity::text::{self, Decimal};
use serde_json::{Value, json};
use std::sync::Arc;
use workbench::job::Job;
use workbench::rules;
use workbench::settings::{self, At, Binds, Buy, Card, Gain, Keyed, Kind, Setting, Solution, Wish};
use workbench::words;

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
    let card = match m.get_one::<String>("card").map(|path| intake::load_name_card(std::path::Path::new(path))) {
        Some(Err(e)) => return crate::say_load_error(e),
        Some(Ok(card)) => Some(card),
        None => None,
    };
    let mut wish =
        Wish { draws: m.get_one::<usize>("samples").copied(), buy: !m.get_flag("no-buy"), speeds: Vec::new() };
    for given in m.get_many::<String>("at").unwrap_or_default() {
        match speed(given) {
            Ok(v) => wish.speeds.push(v),
            Err(why) => {
                output::talk(&why);
                return Exit::BadInput;
            }
        }
    }
    let bar = Progress::new();
    let found = settings::solve(&job, &wish, &|done, all| bar.at(done, all));
    bar.done();
    let (refused, _) = rules::hits(&job);
    match word("format") {
        "json" => output::data(&json_of(&job, &found, card.as_ref(), &refused)),
        _ => output::data(&text_of(&job, &found, card.as_ref(), &refused)),
    }
    if found.holds() && refused.is_empty() { Exit::Holds } else { Exit::DoesNotHold }
}

fn speed(given: &str) -> Result<Speed, String> {
    let wrong = |why: String| format!("error: `--at {given}`: {why}; for example --at \"15 km/h\"");
    let reading = text::parse(given, Decimal::Point).map_err(|e| wrong(e.to_string()))?;
    let kmh = quantity::units::find_unit("km/h").unwrap_or(quantity::units::Unit::one());
    text::expect(&reading, kmh.dimension, kmh.kinds).map_err(|e| wrong(e.to_string()))?;
    if (1.0..=90.0).contains(&kmh.from_si(reading.value_si)) {
        Ok(quantity::Quantity::from_si(reading.value_si))
    } else {
        Err(wrong("1 to 90 km/h".to_owned()))
    }
}

fn name(s: &Setting) -> String {
    let name = words::text(&format!("settings.name.{}", s.kind.id()));
    match s.at {
        At::Whole => name,
        At::Side(side) => format!("{name}, {}", words::text(&format!("side.{}", side.token()))),
        At::Arm(i) => format!("{name} {}", i + 1),
    }
}

fn shown(kind: Kind, value_si: f64) -> String {
    format!("{} {}", figure(kind.from_si(value_si)), kind.unit()).trim_end().to_owned()
}

fn why(b: Option<&Binds>) -> String {
    match b {
        Some(Binds::Link(l)) => words::fill("settings.binds-link", &[("link", &link_name(*l))]),
        Some(Binds::Rule(key)) => words::text(&format!("settings.rule.{key}")),
        None => words::text("settings.rule.range"),
    }
}

/// The same in a few words, for tables.
fn short(b: Option<&Binds>) -> String {
    match b {
        Some(Binds::Link(l)) => link_name(*l),
        other => why(other),
    }
}

fn percent(share: f64) -> String {
    if share > 10.0 { "> 1000 %".to_owned() } else { format!("{:.0} %", share * 100.0) }
}

fn keeper(token: &str) -> String {
    words::text(&format!("keeper.{token}"))
}

fn headline(s: &Solution) -> String {
    if !s.impossible.is_empty() {
        words::fill("settings.head-impossible", &[("n", &s.impossible.len().to_string())])
    } else if !s.missing.is_empty() {
        words::fill("settings.head-missing", &[("n", &s.missing.len().to_string())])
    } else {
        words::fill("settings.head-holds", &[("one_in", &s.one_in.to_string())])
    }
}

fn text_of(job: &Job, s: &Solution, card: Option<&Card>, refused: &[Arc<rules::HouseRule>]) -> String {
    let mut out = format!("{} {}\n\n", job.number, job.name);
    if !refused.is_empty() {
        out.push_str(&format!("{}\n", words::text("settings.refused")));
        for r in refused {
            out.push_str(&format!("  {}\n", r.sentence));
        }
        out.push('\n');
    }
    out.push_str(&format!("{}\n", headline(s)));
    out.push_str(&format!("{}\n", words::fill("settings.read-at", &[("draws", &s.draws.to_string())])));
    out.push_str(&format!("{}\n", words::text("settings.objective")));
    section(
        &mut out,
        "settings.impossible",
        s.impossible.iter().map(|i| {
            let hardware = words::text(&format!("settings.hardware.{}", i.link.kind.id()));
            words::fill(
                "settings.impossible-line",
                &[("link", &link_name(i.link)), ("full", &percent(i.full)), ("hardware", &hardware)],
            )
        }),
    );
    section(&mut out, "settings.missing", s.missing.iter().map(|f| fact_name(*f)));
    if let Some(card) = card {
        sheet(&mut out, job, s, card);
    }
    section(
        &mut out,
        "settings.table",
        s.settings.iter().map(|x| {
            let now = x.now.map_or_else(String::new, |v| words::fill("settings.now", &[("value", &shown(x.kind, v))]));
            words::fill(
                "settings.line",
                &[
                    ("name", &name(x)),
                    ("value", &shown(x.kind, x.value)),
                    ("now", &now),
                    ("why", &why(x.binds.as_ref())),
                    ("keeper", &keeper(x.keeper)),
                ],
            )
        }),
    );
    out.push('\n');
    for line in notes(s) {
        out.push_str(&format!("{line}\n"));
    }
    section(
        &mut out,
        "settings.speeds",
        s.speeds.iter().map(|p| {
            words::fill(
                "settings.speed-line",
                &[
                    ("kmh", &figure(p.speed.as_kilometres_per_hour())),
                    ("nm", &figure(p.torque.as_newton_metres())),
                    ("amps", &figure(p.current.as_amperes())),
                    ("watts", &figure(p.charging.as_watts())),
                    ("why", &short(p.binds.as_ref())),
                ],
            )
        }),
    );
    section(
        &mut out,
        "settings.buys",
        s.buys.iter().map(|b| {
            let change = words::fill(&format!("settings.buy.{}", b.key), &[("value", &b.value)]);
            let gains = gains(&s.before_buying, b);
            let gains = if gains.is_empty() { words::text("settings.buy-nothing") } else { gains.join(", ") };
            words::fill("settings.buy-line", &[("change", &change), ("gains", &gains)])
        }),
    );
    let mut fullest = s.links.clone();
    fullest.sort_by(|a, b| b.1.total_cmp(&a.1));
    section(
        &mut out,
        "settings.links",
        fullest
            .iter()
            .take(8)
            .map(|(l, full)| words::fill("settings.link-line", &[("link", &link_name(*l)), ("full", &percent(*full))])),
    );
    out.push_str(&format!("\n{}\n", words::text("settings.cautions")));
    out
}

/// What stands below the table.
fn notes(s: &Solution) -> Vec<String> {
    let mut out = Vec::new();
    if s.tested {
        out.push(words::text("settings.tested"));
    }
    if s.charge_limit_not_kept {
        out.push(words::text("settings.not-kept"));
    }
    if let Some(x) = s.summer {
        let amps = |v: f64| figure(Kind::ChargeLimit.from_si(v));
        out.push(words::fill("settings.summer", &[("all_year", &amps(x.all_year)), ("warm", &amps(x.warm))]));
    }
    if let Some(x) = s.full_braking_below {
        out.push(words::fill("settings.full-below", &[("percent", &figure(x.as_percent()))]));
    }
    let kmh = |kind: Kind| s.get(kind, At::Whole).map(|x| figure(x.shown()));
    out.push(match (kmh(Kind::HoldSlowest), kmh(Kind::HoldFastest)) {
        (Some(low), Some(high)) if low != high => words::fill("settings.switch", &[("low", &low), ("high", &high)]),
        (_, Some(high)) => words::fill("settings.hold-one", &[("high", &high)]),
        _ => words::text("settings.no-hold"),
    });
    if let Some(a) = &s.assist {
        let steps: Vec<String> = a.steps.iter().map(|x| figure(*x)).collect();
        out.push(words::fill(
            "settings.assist",
            &[
                ("least", &figure(a.least)),
                ("most", &figure(a.most)),
                ("steps", &steps.join(" · ")),
                ("drag", &figure(a.drag.as_watts())),
                ("rider", &figure(a.rider.as_watts())),
            ],
        ));
        out.push(a.class.map_or_else(
            || words::text("settings.no-class"),
            |c| {
                words::fill(
                    "settings.class",
                    &[("cut_off", &figure(c.cut_off_km_h)), ("power", &figure(c.power_w)), ("source", c.source)],
                )
            },
        ));
    }
    for x in s.settings.iter().filter(|x| x.keeper == "nobody") {
        out.push(words::fill("settings.nobody", &[("name", &name(x))]));
    }
    out
}

fn sheet(out: &mut String, job: &Job, s: &Solution, card: &Card) {
    out.push_str(&format!("\n{}\n", words::fill("settings.sheet", &[("device", &card.device)])));
    if !card.firmware.is_empty() {
        let list: Vec<String> = card.firmware.iter().map(|(part, v)| format!("{part} {v}")).collect();
        out.push_str(&format!("  {}\n", words::fill("settings.firmware", &[("list", &list.join(", "))])));
    }
    for line in card.sheet(job, &s.settings) {
        let page =
            line.entry.page.as_ref().map_or_else(String::new, |p| words::fill("settings.sheet-page", &[("page", p)]));
        let old =
            line.entry.old.as_ref().map_or_else(String::new, |o| words::fill("settings.sheet-old", &[("old", o)]));
        let value = match &line.keyed {
            Keyed::Value { text, .. } => text.clone(),
            Keyed::OutOfReach { needed, nearest } => {
                words::fill("settings.sheet-reach", &[("needed", needed), ("nearest", nearest)])
            }
            Keyed::NotThere => words::text("settings.sheet-none"),
        };
        let binds = line.setting.and_then(|x| x.binds);
        let kept = line.setting.map_or("nobody", |x| x.keeper);
        let text = words::fill(
            "settings.sheet-line",
            &[
                ("page", &page),
                ("name", &line.entry.name),
                ("value", &value),
                ("old", &old),
                ("why", &short(binds.as_ref())),
                ("keeper", &keeper(kept)),
            ],
        );
        out.push_str(&format!("  {text}\n"));
    }
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

fn signed(x: f64) -> (&'static str, String) {
    (if x < 0.0 { "−" } else { "+" }, figure(x.abs()))
}

fn gains(base: &Gain, b: &Buy) -> Vec<String> {
    let mut out = Vec::new();
    for ((v, now), (_, then)) in base.braking.iter().zip(&b.gain.braking) {
        let by = then.as_newton_metres() - now.as_newton_metres();
        if by.abs() >= 0.1 {
            let (sign, nm) = signed(by);
            let kmh = figure(v.as_kilometres_per_hour());
            out.push(words::fill("settings.buy-braking", &[("sign", sign), ("nm", &nm), ("kmh", &kmh)]));
        }
    }
    let by = b.gain.hold_fastest.as_kilometres_per_hour() - base.hold_fastest.as_kilometres_per_hour();
    if by.abs() > 0.5 {
        let (sign, by) = signed(by);
        let kmh = figure(b.gain.hold_fastest.as_kilometres_per_hour());
        out.push(words::fill("settings.buy-hold", &[("kmh", &kmh), ("sign", sign), ("by", &by)]));
    }
    for (key, by) in [
        ("settings.buy-drive", b.gain.drive_current.as_amperes() - base.drive_current.as_amperes()),
        ("settings.buy-charge", b.gain.charge_limit.as_amperes() - base.charge_limit.as_amperes()),
    ] {
        if by.abs() > 0.01 {
            let (sign, amps) = signed(by);
            out.push(words::fill(key, &[("sign", sign), ("amps", &amps)]));
        }
    }
    if (b.gain.charge_to.as_percent() - base.charge_to.as_percent()).abs() > 0.5 {
        out.push(words::fill("settings.buy-to", &[("percent", &figure(b.gain.charge_to.as_percent()))]));
    }
    if b.mended != 0 {
        let key = if b.mended > 0 { "settings.buy-mended" } else { "settings.buy-worse" };
        out.push(words::fill(key, &[("n", &b.mended.abs().to_string())]));
    }
    out
}

fn number(x: f64) -> Value {
    serde_json::Number::from_f64(x).map_or(Value::Null, Value::Number)
}

fn binds_json(b: Option<&Binds>) -> Value {
    match b {
        Some(Binds::Link(l)) => json!({ "link": l.id() }),
        Some(Binds::Rule(key)) => json!({ "rule": key }),
        None => Value::Null,
    }
}

fn gain_json(g: &Gain) -> Value {
    json!({
        "braking": g.braking.iter().map(|(v, t)| json!({ "speed_km_h": v.as_kilometres_per_hour(), "torque_nm": t.as_newton_metres() })).collect::<Vec<_>>(),
        "hold_fastest_km_h": g.hold_fastest.as_kilometres_per_hour(),
        "drive_current_a": g.drive_current.as_amperes(),
        "charge_limit_a": g.charge_limit.as_amperes(),
        "charge_to_percent": g.charge_to.as_percent(),
    })
}

fn json_of(job: &Job, s: &Solution, card: Option<&Card>, refused: &[Arc<rules::HouseRule>]) -> String {
    let value = json!({
        "job": job.number,
        "name": job.name,
        "holds": s.holds() && refused.is_empty(),
        "refused": refused.iter().map(|r| r.id.clone()).collect::<Vec<_>>(),
        "one_in": s.one_in,
        "draws": s.draws,
        "settings": s.settings.iter().map(|x| json!({
            "id": x.id(), "name": name(x), "value": number(x.shown()), "unit": x.kind.unit(),
            "now": x.now.map(|v| number(x.kind.from_si(v))), "binds": binds_json(x.binds.as_ref()), "kept_by": x.keeper,
        })).collect::<Vec<_>>(),
        "impossible": s.impossible.iter().map(|i| json!({
            "link": i.link.id(), "full_percent": number(i.full * 100.0),
            "hardware": words::text(&format!("settings.hardware.{}", i.link.kind.id())),
        })).collect::<Vec<_>>(),
        "missing": s.missing.iter().map(|f| workbench::fact::describe(*f).1).collect::<Vec<_>>(),
        "charge_limit_all_year_a": s.summer.map(|x| number(Kind::ChargeLimit.from_si(x.all_year))),
        "charge_limit_warm_a": s.summer.map(|x| number(Kind::ChargeLimit.from_si(x.warm))),
        "full_braking_below_charge_percent": s.full_braking_below.map(|x| number(x.as_percent())),
        "charge_limit_kept": !s.charge_limit_not_kept,
        "nuts_kept_by_hold_test": s.tested,
        "assist": s.assist.as_ref().map(|a| json!({
            "least_factor": a.least, "most_factor": a.most, "steps_factor": a.steps,
            "drag_at_20_km_h_w": a.drag.as_watts(), "rider_w": a.rider.as_watts(),
            "cut_off_km_h": a.class.map(|c| c.cut_off_km_h), "power_w": a.class.map(|c| c.power_w),
            "source": a.class.map(|c| c.source),
        })),
        "speeds": s.speeds.iter().map(|p| json!({
            "speed_km_h": p.speed.as_kilometres_per_hour(), "torque_nm": p.torque.as_newton_metres(),
            "current_a": p.current.as_amperes(), "charging_w": p.charging.as_watts(), "binds": binds_json(p.binds.as_ref()),
        })).collect::<Vec<_>>(),
        "brings": gain_json(&s.gain),
        "would_buy": s.buys.iter().map(|b| json!({
            "change": b.key, "value": b.value, "brings": gain_json(&b.gain), "links_mended": b.mended,
        })).collect::<Vec<_>>(),
        "links": s.links.iter().map(|(l, full)| json!({ "link": l.id(), "full_percent": number(full * 100.0) })).collect::<Vec<_>>(),
        "device": card.map(|c| json!({
            "name": c.device,
            "firmware": c.firmware.iter().map(|(p, v)| (p.clone(), json!(v))).collect::<serde_json::Map<_, _>>(),
            "sheet": c.sheet(job, &s.settings).iter().map(|l| json!({
                "page": l.entry.page, "name": l.entry.name, "is": l.setting.map(Setting::id),
                "unit": l.entry.unit.symbol, "old": l.entry.old,
                "value": match &l.keyed { Keyed::Value { number: n, .. } => number(*n), _ => Value::Null },
                "out_of_reach": matches!(l.keyed, Keyed::OutOfReach { .. }),
                "kept_by": l.setting.map(|x| x.keeper),
            })).collect::<Vec<_>>(),
        })),
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}
