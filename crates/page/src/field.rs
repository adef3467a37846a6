//! One fact as a field of a form: number with its unit, or tiles; what is known, what would be assumed.

use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::show;
use jobbook::edit;
use maud::{Markup, html};
use quantity::text::{self, Decimal, Spread, print_exact};
use quantity::units::{System, Unit, find_unit, preferred_unit};
use workbench::fact::{self, Fact, FactId, Origin, Shape};
use workbench::kinds;
use workbench::say::fact_name;
use workbench::words::{fill, text as word};

/// How much of it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// With question, default, and how sure.
    Full,
    /// For the quick path: question and answer only.
    Quick,
    /// For the panel: name and stepper.
    Lever,
}

/// What the book has for a fact, as it was written.
pub fn written(bike: &Bike, name: &str) -> Option<String> {
    let doc = edit::parse(&bike.file.text).ok()?;
    edit::plain(&doc, name)
}

/// What somebody found out; what is only assumed, or stands as on another bike, is no answer yet.
pub fn stored(bike: &Bike, id: FactId) -> Option<Fact> {
    on_file(bike, id).filter(|f| f.origin != Origin::Assumed)
}

/// What the book has for a fact, read.
pub fn on_file(bike: &Bike, id: FactId) -> Option<Fact> {
    let (def, name) = fact::describe(id);
    let text = written(bike, &name)?;
    let default = if name.starts_with("settings.") { Origin::Chosen } else { Origin::Measured };
    let decimal = bike.decimal();
    let mut read = fact::read_fact(def, &text, &bike.shop.shop.rack, default, decimal).ok()?;
    if decimal == Decimal::Comma {
        read.text = read.text.replace(',', ".");
    }
    Some(read)
}

/// What would be taken if nobody knows.
fn assumed(bike: &Bike, id: FactId) -> Option<Fact> {
    if let Some(there) = on_file(bike, id) {
        return Some(there);
    }
    let from_job = bike.answer().ok().and_then(|j| j.job.fact(id).cloned()).filter(|f| f.origin == Origin::Assumed);
    from_job.or_else(|| kinds::assumed(id, bike.kind().as_deref()))
}

/// A number, its unit and its doubt, taken apart for editing without changing it.
pub struct Parts {
    /// `10.00`, or a range `0.12 to 0.20`.
    pub number: String,
    /// Symbol of its unit.
    pub unit: String,
    /// Behind ±.
    pub doubt: String,
}

/// Takes a reading apart.
pub fn parts(f: &Fact) -> Parts {
    let whole = Parts { number: f.text.clone(), unit: String::new(), doubt: String::new() };
    let Ok(reading) = text::parse(&f.text, Decimal::Point) else { return whole };
    let unit = reading.unit;
    let (value, doubt) = f.text.split_once('±').unwrap_or((&f.text, ""));
    let without = |s: &str| s.trim().strip_suffix(unit.symbol).map(|s| s.trim().to_owned());
    let number = without(value).filter(|s| s.chars().all(|c| c.is_ascii_digit() || c == '.' || c == '-'));
    let number = match (reading.spread, number) {
        (Spread::Range { .. }, _) => without(value).unwrap_or_else(|| value.to_owned()),
        (_, Some(number)) => number,
        (_, None) => without(&print_exact(reading.value_si, unit, Decimal::Point)).unwrap_or_default(),
    };
    Parts { number, unit: unit.symbol.to_owned(), doubt: doubt.trim().to_owned() }
}

/// Units in which a fact may be written: the stored one, this person's, the usual ones.
fn units(ctx: &Ctx, unit: &str, stored: &str) -> Vec<&'static Unit> {
    let own = find_unit(unit).unwrap_or(Unit::one());
    let mut all: Vec<&'static Unit> = Vec::new();
    let mut add = |u: Option<&'static Unit>| {
        if let Some(u) = u.filter(|u| u.matches(own))
            && !all.contains(&u)
        {
            all.push(u);
        }
    };
    if !stored.is_empty() {
        add(find_unit(stored));
    }
    add(Some(show::unit_for(unit, &ctx.person)));
    add(Some(own));
    for system in [System::Metric, System::Imperial] {
        add(preferred_unit(own.kind(), system));
    }
    all
}

/// One fact.
pub fn one(ctx: &Ctx, bike: &Bike, id: FactId, size: Size) -> Markup {
    let (_, name) = fact::describe(id);
    joined(ctx, bike, &name, &[id], size)
}

/// Facts that get the same answer, shown as the first of them.
pub fn joined(ctx: &Ctx, bike: &Bike, name: &str, ids: &[FactId], size: Size) -> Markup {
    let Some(&id) = ids.first() else { return html! {} };
    let def = fact::describe(id).0;
    let stored = stored(bike, id);
    let assumed = if stored.is_none() { assumed(bike, id) } else { None };
    let label = match size {
        Size::Lever => fact_name(id),
        _ => word(&format!("{}.ask", words_key(id))),
    };
    html! {
        fieldset.fact #(fact::describe(id).1) data-known[stored.is_some()] {
            legend { (label) @if size == Size::Full && place(id).is_some() { " " span.place { "(" (place(id).unwrap_or_default()) ")" } } }
            @match def.shape {
                Shape::Choice(tokens) => { (tiles(name, tokens, stored.as_ref(), assumed.as_ref())) }
                Shape::Count { .. } => { (pad(ctx, name, "", stored.as_ref(), assumed.as_ref())) }
                Shape::Quantity { unit, .. } => { (pad(ctx, name, unit, stored.as_ref(), assumed.as_ref())) }
            }
            @if size == Size::Full {
                p.quiet {
                    @match (&stored, &assumed) {
                        (Some(f), _) => { (fill("page.measure.now", &[("value", &show::known(id, f, &ctx.person)), ("origin", &show::origin(f))])) }
                        (None, Some(f)) if f.tool.is_some() => { (fill("page.measure.as-on", &[("value", &show::known(id, f, &ctx.person)), ("origin", &show::origin(f))])) }
                        (None, Some(f)) => { (fill("page.measure.assumed", &[("value", &show::known(id, f, &ctx.person))])) }
                        (None, None) => { (word(if kinds::never_assumed().contains(&id) { "page.measure.never-assumed" } else { "page.measure.no-default" })) }
                    }
                    @if let Some(limits) = limits(ctx, id) { " " (limits) }
                }
            }
        }
    }
}

/// The smallest and largest plausible value.
pub fn limits(ctx: &Ctx, id: FactId) -> Option<String> {
    let values = |low: f64, high: f64, unit: &str| {
        fill(
            "page.measure.limits",
            &[
                (
                    "low",
                    &show::number(
                        show::unit_for(unit, &ctx.person).from_si(find_unit(unit).unwrap_or(Unit::one()).to_si(low)),
                        &ctx.person,
                    ),
                ),
                ("high", &show::quantity(high, unit, &ctx.person)),
            ],
        )
    };
    match fact::describe(id).0.shape {
        Shape::Quantity { unit, low, high } => Some(values(low, high, unit)),
        Shape::Count { low, high } => Some(values(low, high, "")),
        Shape::Choice(_) => None,
    }
}

/// Left, right, or which arm.
pub fn place(id: FactId) -> Option<String> {
    let name = fact::describe(id).1;
    let parts: Vec<&str> = name.split('.').collect();
    match parts.as_slice() {
        ["axle", side @ ("left" | "right"), _] => Some(word(&format!("side.{side}"))),
        ["arm", n, _] => Some(format!("{} {n}", word("arm"))),
        _ => None,
    }
}

/// Where the words of a fact stand.
pub fn words_key(id: FactId) -> String {
    let name = fact::describe(id).1;
    let parts: Vec<&str> = name.split('.').collect();
    match parts.as_slice() {
        ["axle", "left" | "right", key] => format!("fact.axle.side.{key}"),
        ["arm", _, key] => format!("fact.arm.{key}"),
        _ => format!("fact.{name}"),
    }
}

fn tiles(name: &str, tokens: &[&str], stored: Option<&Fact>, assumed: Option<&Fact>) -> Markup {
    let at = |f: Option<&Fact>| f.and_then(|f| tokens.get(f.value as usize).copied());
    let (now, ghost) = (at(stored), at(assumed));
    html! {
        div.tiles role="group" {
            @for token in tokens {
                label.tile data-ghost[ghost == Some(token)] {
                    input type="radio" name={ "f." (name) } value=(token) checked[now == Some(token)];
                    span { (show::answer(token)) @if ghost == Some(token) { " " small { (word("page.measure.usual")) } } }
                }
            }
            @if let Some(now) = now { input type="hidden" name={ "o." (name) } value=(now); }
        }
    }
}

fn pad(ctx: &Ctx, name: &str, unit: &str, stored: Option<&Fact>, assumed: Option<&Fact>) -> Markup {
    let comma = |s: String| if ctx.person.decimal == Decimal::Comma { s.replace('.', ",") } else { s };
    let now = stored.map(parts);
    let ghost = assumed.map(parts);
    let number = now.as_ref().map_or_else(String::new, |p| comma(p.number.clone()));
    let doubt = now.as_ref().map_or_else(String::new, |p| comma(p.doubt.clone()));
    let all = units(ctx, unit, now.as_ref().map_or("", |p| &p.unit));
    // A default is shown in its own unit; it is only there to be seen.
    let hint = ghost.map_or_else(String::new, |p| comma(format!("{} {}", p.number, p.unit).trim().to_owned()));
    html! {
        div.pad {
            input.number type="text" inputmode="decimal" name={ "f." (name) } value=(number) placeholder=(hint)
                autocomplete="off" maxlength="40" aria-label=(word("page.measure.number"));
            @if let [only] = all.as_slice() {
                @if !only.symbol.is_empty() { span.unit { (only.symbol) } }
                input type="hidden" name={ "u." (name) } value=(only.symbol);
            } @else {
                select.unit name={ "u." (name) } aria-label=(word("page.measure.unit")) {
                    @for u in &all { option value=(u.symbol) { (if u.symbol.is_empty() { "—" } else { u.symbol }) } }
                }
            }
            input type="hidden" name={ "o." (name) } value=(number);
            details.sure {
                summary { (word("page.measure.how-sure")) @if !doubt.is_empty() { " ± " (doubt) } }
                label { "± " input type="text" inputmode="decimal" name={ "s." (name) } value=(doubt) maxlength="20" placeholder=(word("page.measure.doubt-like")); }
            }
        }
    }
}

/// The tools that may have taken these facts, last used first; then the other ways to know.
pub fn sources(bike: &Bike, ids: &[FactId]) -> Markup {
    let quantities: Vec<&str> = ids
        .iter()
        .filter_map(|id| match fact::describe(*id).0.shape {
            Shape::Quantity { unit, .. } => find_unit(unit).map(Unit::kind),
            _ => None,
        })
        .collect();
    let fits = |t: &&fact::Tool| match &t.absolute {
        Some((_, kind)) => quantities.contains(&kind.as_str()),
        None => t.share > 0.0 && quantities.iter().any(|k| !["length", "angle", "pure number", "mass"].contains(k)),
    };
    let mut tools: Vec<&fact::Tool> = bike.shop.shop.rack.iter().filter(fits).collect();
    let text = &bike.file.text;
    // The tool that this job names last is the one in the hand.
    tools.sort_by_key(|t| core::cmp::Reverse(text.rfind(&format!(" with {}\"", t.id))));
    let used = ids.first().and_then(|id| stored(bike, *id));
    let now = used.as_ref().map(|f| f.tool.clone().unwrap_or_else(|| f.origin.token().to_owned()));
    let setting = ids.iter().all(|id| fact::describe(*id).1.starts_with("settings."));
    let first = if setting { "chosen" } else { "measured" };
    let now = now.unwrap_or_else(|| if tools.is_empty() { first.to_owned() } else { tools[0].id.clone() });
    html! {
        fieldset.sources {
            legend { (word("page.measure.how-known")) }
            div.tiles role="group" {
                @for t in tools.iter().take(6) {
                    label.tile title=(t.name) {
                        input type="radio" name="how" value=(t.id) checked[now == t.id];
                        span { b { (t.id) } " " small { (t.name.split(',').next().unwrap_or("")) } }
                    }
                }
                @for origin in Origin::ALL {
                    @if origin != Origin::Assumed {
                        label.tile {
                            input type="radio" name="how" value=(origin.token()) checked[now == origin.token()];
                            span { (word(&format!("page.how.{}", origin.token()))) }
                        }
                    }
                }
            }
        }
    }
}
