//! Writing facts: what was typed becomes a value of the job file, or is asked back; two who write the same see both.

use crate::app::News;
use crate::bike::Bike;
use crate::ctx::{Ctx, fresh_id, own_path};
use crate::fail::{Fail, Reply, work};
use crate::field;
use crate::layout::{self, form_head};
use crate::person::Person;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::edit::{self, Edit};
use jobbook::{Conflict, Error, Revision};
use maud::{Markup, html};
use quantity::text::{self, Decimal};
use quantity::units::find_unit;
use std::cmp::Reverse;
use workbench::fact::{self, FactId, Origin, Problem, Shape};
use workbench::say::fact_name;
use workbench::words::{fill, text as word};
use workbench::{kinds, reading_words};

/// A form as it was sent.
pub type Pairs = Vec<(String, String)>;

/// A field of the form.
pub fn value<'a>(pairs: &'a Pairs, name: &str) -> &'a str {
    pairs.iter().find(|(k, _)| k == name).map_or("", |(_, v)| v.trim())
}

/// Writes facts of a job.
pub async fn facts(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || save(&ctx, &number, &pairs)).await
}

/// The job as it would be with what a form holds, not kept; nothing where the form holds nothing new or nothing usable.
pub fn tried(ctx: &Ctx, bike: &Bike, pairs: &Pairs) -> Option<jobbook::Job> {
    let (edits, asked) = read(ctx, bike, pairs);
    if edits.is_empty() || !asked.is_empty() {
        return None;
    }
    let text = edit::apply(&bike.file.text, &edits).ok()?;
    Some(jobbook::Job { text, ..bike.file.clone() })
}

/// Keep or go back, above what is only tried.
pub fn keep_or_back(bike: &Bike, pairs: &Pairs, here: &str) -> Markup {
    html! {
        section.tried role="status" {
            p { b { (word("page.tried")) } }
            div.actions {
                form method="post" action=(bike.at("facts")) {
                    input type="hidden" name="change" value=(fresh_id());
                    (carried(pairs, &["change"]))
                    button.plate.go { (word("page.keep")) }
                }
                a.plate href=(here) { (word("page.back")) }
            }
        }
    }
}

/// Something that was typed and cannot be taken as it is.
struct Asked {
    name: String,
    ids: Vec<FactId>,
    typed: String,
    why: String,
    suggestions: Vec<String>,
}

fn save(ctx: &Ctx, number: &str, pairs: &Pairs) -> Reply {
    let bike = Bike::load(&ctx.app, number)?;
    let then = own_path(value(pairs, "then"), &bike.at("holds"));
    let from: Revision = value(pairs, "from").parse().unwrap_or(bike.file.revision);
    let (edits, asked) = read(ctx, &bike, pairs);
    if !asked.is_empty() {
        let body = ask_back(&bike, pairs, &asked);
        let mut page = layout::page(ctx, &word("page.ask-back.title"), Some(&bike), &body);
        *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
        return Ok(page);
    }
    if edits.is_empty() {
        return Ok(Redirect::to(&then).into_response());
    }
    write(ctx, &bike, pairs, &edits, from, &then)
}

/// Writes edits of a job file and tells every open page; a conflict becomes a page with both values.
pub fn write(ctx: &Ctx, bike: &Bike, pairs: &Pairs, edits: &[Edit], from: Revision, then: &str) -> Reply {
    let change = value(pairs, "change");
    let name = format!("{}/job", bike.number());
    let by = ctx.by(change);
    let mut done = ctx.app.book.set_values(&name, edits, from, &by);
    // Two values that one device typed while it had no link come in one after the other; its later one counts.
    if let Err(Error::Conflict(c)) = &done
        && !ctx.person.device.is_empty()
        && !c.clashes.is_empty()
        && c.clashes.iter().all(|clash| (&clash.who, &clash.device) == (&by.who, &by.device))
    {
        done = ctx.app.book.set_values(&name, edits, c.revision, &by);
    }
    match done {
        Ok(revision) => {
            tell(ctx, bike.number(), revision, change);
            Ok(Redirect::to(then).into_response())
        }
        Err(Error::Conflict(conflict)) => {
            let body = conflict_page(ctx, bike, pairs, &conflict, then);
            let mut page = layout::page(ctx, &word("page.conflict.title"), Some(bike), &body);
            *page.status_mut() = StatusCode::CONFLICT;
            Ok(page)
        }
        Err(e) => Err(Fail::from(e)),
    }
}

/// Tells every open page of this job.
pub fn tell(ctx: &Ctx, job: &str, revision: Revision, change: &str) {
    let by = ctx.by("");
    ctx.app.tell(News { job: job.to_owned(), revision, who: by.who, device: by.device, change: change.to_owned() });
}

/// The edits that a form asks for, and what has to be asked back.
fn read(ctx: &Ctx, bike: &Bike, pairs: &Pairs) -> (Vec<Edit>, Vec<Asked>) {
    let unknown = value(pairs, "do") == "unknown";
    let mut edits = Vec::new();
    let mut asked = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for (key, _) in pairs {
        // A group of tiles without an answer sends nothing but its old one.
        let Some(name) = key.strip_prefix("f.") else { continue };
        if seen.contains(&name) {
            continue;
        }
        seen.push(name);
        if name.starts_with("arms.") {
            if value(pairs, key) != value(pairs, &format!("o.{name}")) {
                arm(bike, name, value(pairs, key), unknown, &mut edits);
            }
            continue;
        }
        let ids: Vec<FactId> = name.split('+').filter_map(|n| fact::find(n, bike.arms())).collect();
        if ids.is_empty() {
            continue;
        }
        if unknown {
            edits.extend(ids.iter().map(|id| Edit::remove(&fact::describe(*id).1)));
            continue;
        }
        let typed = value(pairs, key);
        let same = typed == value(pairs, &format!("o.{name}"));
        let doubt = value(pairs, &format!("s.{name}"));
        let before = field::stored(bike, ids[0]);
        let same_doubt = before.as_ref().map_or(doubt.is_empty(), |f| plain(&field::parts(f).doubt) == plain(doubt));
        let same_unit = before.as_ref().is_none_or(|f| {
            let unit = value(pairs, &format!("u.{name}"));
            unit.is_empty() || field::parts(f).unit == unit
        });
        if typed.is_empty() || (same && same_doubt && same_unit && value(pairs, "resend").is_empty()) {
            continue;
        }
        match compose(ctx, bike, pairs, name, ids[0], typed, doubt) {
            Ok(text) => edits.extend(ids.iter().map(|id| Edit::put(&fact::describe(*id).1, text.as_str()))),
            Err(mut ask) => {
                ask.ids = ids;
                asked.push(ask);
            }
        }
    }
    // Taking an arm off gives those behind it other numbers: all else is written first, and the last arm goes first.
    edits.sort_by_key(|e| e.key.strip_prefix("arm.").and_then(|n| n.parse::<usize>().ok()).map(Reverse));
    (edits, asked)
}

fn plain(s: &str) -> String {
    s.replace(',', ".").replace(' ', "")
}

/// None, slotted or pinching at one side.
fn arm(bike: &Bike, name: &str, kind: &str, unknown: bool, edits: &mut Vec<Edit>) {
    let side = name.trim_start_matches("arms.");
    if !["left", "right"].contains(&side) || (kind.is_empty() && !unknown) {
        return;
    }
    let arms = bike.arms();
    // An arm that this same form has put at the other side counts too.
    let new = edits.iter().filter(|e| e.key.ends_with(".side") && e.value.is_some()).count();
    let here = (1..=arms).find(|i| field::written(bike, &format!("arm.{i}.side")).is_some_and(|s| s.starts_with(side)));
    match (kind, here) {
        ("none", Some(i)) => edits.push(Edit::remove(&format!("arm.{i}"))),
        ("slotted" | "pinching", Some(i)) => edits.push(Edit::put(&format!("arm.{i}.kind"), kind)),
        ("slotted" | "pinching", None) => {
            let i = arms + new + 1;
            edits.push(Edit::put(&format!("arm.{i}.side"), side));
            edits.push(Edit::put(&format!("arm.{i}.kind"), kind));
        }
        _ => {}
    }
}

/// `10,15` and `10.15` are the same; `1,234` could be two things and is asked back.
fn decimal(typed: &str, person: &Person) -> Result<String, String> {
    let foreign = if person.decimal == Decimal::Comma { '.' } else { ',' };
    let grouped = typed.split(foreign).skip(1).any(|rest| {
        let digits = rest.chars().take_while(char::is_ascii_digit).count();
        digits == 3 && !rest.chars().nth(3).is_some_and(|c| c.is_ascii_digit())
    });
    if grouped && !typed.trim_start().starts_with('0') {
        return Err(fill("page.problem.grouped", &[("text", typed)]));
    }
    if typed.contains(',') && typed.contains('.') {
        return Err(fill("page.problem.both-marks", &[("text", typed)]));
    }
    Ok(typed.replace(',', "."))
}

/// The value as it will stand in the job file.
fn compose(
    ctx: &Ctx,
    bike: &Bike,
    pairs: &Pairs,
    name: &str,
    id: FactId,
    typed: &str,
    doubt: &str,
) -> Result<String, Asked> {
    let def = fact::describe(id).0;
    let no = |why: String, suggestions: Vec<String>| Asked {
        name: name.to_owned(),
        ids: Vec::new(),
        typed: typed.to_owned(),
        why,
        suggestions,
    };
    let how = value(pairs, "how");
    let rack = &bike.shop.shop.rack;
    let tool = rack.iter().find(|t| t.id == how).map(|t| t.id.as_str());
    let setting = fact::describe(id).1.starts_with("settings.");
    let origin = match Origin::ALL.into_iter().find(|o| o.token() == how) {
        Some(origin) => origin,
        // A wrench gives a torque that somebody has chosen; everything else a tool has measured.
        None if tool.is_some() && chosen_with_a_tool(id) => Origin::Chosen,
        None if setting => Origin::Chosen,
        None => Origin::Measured,
    };
    let body = match def.shape {
        Shape::Choice(_) => typed.to_owned(),
        Shape::Count { .. } => decimal(typed, &ctx.person).map_err(|why| no(why, Vec::new()))?,
        Shape::Quantity { .. } => {
            let number = decimal(typed, &ctx.person).map_err(|why| no(why, Vec::new()))?;
            let unit = value(pairs, &format!("u.{name}"));
            let unit = if unit.is_empty() || number.trim().ends_with(|c: char| c.is_alphabetic() || "%°²·".contains(c))
            {
                ""
            } else {
                unit
            };
            let mut body = format!("{number} {unit}").trim().to_owned();
            if !doubt.is_empty() && !number.contains('±') {
                let doubt = decimal(doubt, &ctx.person).map_err(|why| no(why, Vec::new()))?;
                body.push_str(&format!(" ± {}", doubt.trim_start_matches('±').trim()));
            }
            body
        }
    };
    let tail = match (tool, def.shape) {
        (Some(tool), Shape::Quantity { .. }) => format!(", {} with {tool}", origin.token()),
        _ => format!(", {}", origin.token()),
    };
    let text = format!("{body}{tail}");
    match fact::read_fact(def, &text, rack, origin, Decimal::Point) {
        Ok(_) if bike.decimal() == Decimal::Comma => Ok(format!("{}{tail}", body.replace('.', ","))),
        Ok(_) => Ok(text),
        Err(problems) => {
            let why: Vec<String> = problems.iter().map(|p| say(ctx, id, p)).collect();
            Err(no(why.join(" "), suggestions(ctx, id, &body)))
        }
    }
}

fn chosen_with_a_tool(id: FactId) -> bool {
    fact::describe(id).1.ends_with("torque")
}

fn say(ctx: &Ctx, id: FactId, p: &Problem) -> String {
    let limits = field::limits(ctx, id).unwrap_or_default();
    match p {
        Problem::Text(e) => fill("page.problem.text", &[("why", &reading_words::say(e))]),
        Problem::Range { value, unit, .. } => {
            fill("page.problem.range", &[("value", &show::quantity(*value, unit, &ctx.person)), ("limits", &limits)])
        }
        Problem::Choice { given, .. } => fill("page.problem.choice", &[("text", given)]),
        Problem::NotWhole(v) => fill("page.problem.not-whole", &[("value", &show::number(*v, &ctx.person))]),
        Problem::Origin(text) | Problem::Tool(text) => fill("page.problem.tool", &[("text", text)]),
        Problem::ToolKind { tool, takes } => {
            let takes = word(&format!("unit-kind.{}", takes.replace(' ', "-")));
            fill("page.problem.tool-kind", &[("tool", tool), ("takes", &takes)])
        }
        Problem::Spread => word("page.problem.doubt"),
    }
}

/// Numbers that somebody may have meant: a slipped point, or another unit.
fn suggestions(ctx: &Ctx, id: FactId, body: &str) -> Vec<String> {
    let Shape::Quantity { unit, low, high } = fact::describe(id).0.shape else { return Vec::new() };
    let (Some(own), Ok(reading)) = (find_unit(unit), text::parse(body, Decimal::Point)) else { return Vec::new() };
    let written = reading.unit.from_si(reading.value_si);
    let fits = |si: f64| (low..=high).contains(&own.from_si(si));
    let mut out = Vec::new();
    for power in [-1, 1, -2, 2, -3, 3] {
        let text = text::print(reading.unit.to_si(written * 10_f64.powi(power)), reading.unit, 6, ctx.person.decimal);
        let meant = text::parse(&text, ctx.person.decimal).is_ok_and(|r| fits(r.value_si));
        if meant && out.len() < 2 {
            out.push(text);
        }
    }
    let others = quantity::units::units().iter().filter(|u| u.matches(own) && *u != reading.unit);
    for other in others {
        if fits(other.to_si(written)) && out.len() < 4 {
            out.push(text::print(other.to_si(written), other, 6, ctx.person.decimal));
        }
    }
    out
}

/// Everything of the form but these fields, to be sent again.
pub fn carried(pairs: &Pairs, but: &[&str]) -> Markup {
    html! {
        @for (k, v) in pairs {
            @if !but.contains(&k.as_str()) { input type="hidden" name=(k) value=(v); }
        }
    }
}

fn ask_back(bike: &Bike, pairs: &Pairs, asked: &[Asked]) -> Markup {
    let names: Vec<String> = asked.iter().map(|a| format!("f.{}", a.name)).collect();
    let mut but: Vec<&str> = names.iter().map(String::as_str).collect();
    but.extend(["change", "do"]);
    html! {
        h1 { (word("page.ask-back.title")) }
        form.stack method="post" action=(bike.at("facts")) {
            input type="hidden" name="change" value=(fresh_id());
            (carried(pairs, &but))
            @for a in asked {
                fieldset.fact {
                    legend { (a.ids.first().map_or_else(String::new, |id| fact_name(*id))) }
                    p.say role="alert" { (a.why) }
                    div.pad {
                        input.number type="text" inputmode="decimal" name={ "f." (a.name) } value=(a.typed) maxlength="40" autofocus aria-label=(word("page.measure.number"));
                    }
                    @if !a.suggestions.is_empty() {
                        p { (word("page.ask-back.meant")) }
                        div.tiles { @for s in &a.suggestions {
                            button.tile type="submit" name={ "f." (a.name) } value=(s) { (s) }
                        } }
                    }
                }
            }
            div.actions { button.plate.go { (word("page.measure.save")) } a.plate href=(own_path(value(pairs, "then"), &bike.at("measure"))) { (word("page.measure.skip")) } }
        }
        @if asked.iter().any(|a| a.ids.iter().any(|id| kinds::never_assumed().contains(id))) { p { (word("page.measure.never-assumed")) } }
    }
}

/// Both values of each clash.
pub fn both_values(c: &Conflict, name: impl Fn(&str) -> String) -> Markup {
    let none = word("app.not-known");
    html! {
        h1 { (word("page.conflict.title")) }
        @for clash in &c.clashes {
            section.clash {
                h2 { (name(&clash.key)) }
                p { (fill("page.conflict.both", &[
                    ("who", &clash.who), ("device", &clash.device), ("ago", &crate::history::ago(clash.at)),
                    ("theirs", clash.theirs.as_ref().unwrap_or(&none)), ("mine", clash.mine.as_ref().unwrap_or(&none)),
                ])) }
            }
        }
    }
}

fn conflict_page(ctx: &Ctx, bike: &Bike, pairs: &Pairs, c: &Conflict, then: &str) -> Markup {
    let name = |key: &str| fact::find(key, bike.arms()).map_or_else(|| key.to_owned(), fact_name);
    let none = word("app.not-known");
    html! {
        (both_values(c, name))
        div.actions {
            form method="post" action=(bike.at("facts")) {
                (form_head(&fresh_id(), c.revision))
                input type="hidden" name="resend" value="1";
                (carried(pairs, &["change", "from", "resend"]))
                button.plate { (fill("page.conflict.mine", &[("value", c.clashes.first().and_then(|x| x.mine.as_deref()).unwrap_or(&none))])) }
            }
            a.plate href=(then) { (fill("page.conflict.theirs", &[("value", c.clashes.first().and_then(|x| x.theirs.as_deref()).unwrap_or(&none))])) }
            @if let Some(id) = c.clashes.first().and_then(|x| fact::find(&x.key, bike.arms())) {
                a.plate href=(crate::walk::address(bike, id)) { (word("page.conflict.look")) }
            }
        }
        p.quiet { (fill("page.conflict.nothing-lost", &[("who", &ctx.by("").who)])) }
    }
}

/// "As left" for the right end: what the left end has is written for the right one.
pub async fn as_left(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let doc = edit::parse(&bike.file.text).map_err(|_| Fail::nothing_here())?;
        let edits: Vec<Edit> = crate::walk::AS_LEFT
            .iter()
            .filter_map(|key| {
                let left = edit::plain(&doc, &format!("axle.left.{key}"))?;
                Some(Edit::put(&format!("axle.right.{key}"), left))
            })
            .collect();
        let from = value(&pairs, "from").parse().unwrap_or(bike.file.revision);
        let then = own_path(value(&pairs, "then"), &bike.at("measure"));
        write(&ctx, &bike, &pairs, &edits, from, &then)
    })
    .await
}
