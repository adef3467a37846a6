//! The panel of one link: sentence, bar, what would change it, what to measure, single faults, working.

use crate::answer::Judged;
use crate::bike::Bike;
use crate::ctx::{Ctx, fresh_id};
use crate::fail::Fail;
use crate::holds;
use crate::layout::form_head;
use crate::show;
use crate::{field, walk};
use maud::{Markup, html};
use workbench::check::{self, LinkResult};
use workbench::fact::{self, FactId, Shape};
use workbench::link::Step;
use workbench::say::{fact_name, figure, name as link_name};
use workbench::words::{fill, text};

/// The panel.
pub fn panel(ctx: &Ctx, bike: &Bike, id: &str, above: &Markup) -> Result<Markup, Fail> {
    let judged = bike.judged()?;
    let links = &judged.check.links;
    let at = links.iter().position(|l| l.link.id() == id).ok_or_else(Fail::nothing_here)?;
    let l = &links[at];
    let (_, tape) = check::explain(&judged.job, l.link);
    let facts = tape.facts();
    let near = |i: Option<usize>| i.and_then(|i| links.get(i));
    let (before, after) = (near(at.checked_sub(1)), near(at.checked_add(1)));
    let to = |l: &LinkResult| bike.at(&format!("holds/{}", l.link.id()));
    Ok(html! {
        aside.panel #panel tabindex="-1" aria-labelledby="panel-title" data-close=(bike.at("holds")) {
            header {
                (show::glyph(l.verdict))
                h2 #panel-title { (link_name(l)) }
                a.plate.close href=(bike.at("holds")) { (text("page.close")) }
            }
            (above)
            p.word data-watch=(l.link.id()) { (show::word(l.verdict)) " " (show::full(l)) }
            p { (sentence(ctx, l)) }
            (show::bar(l, true))
            @if l.load.is_some() { p.quiet { (text("page.bar-marks")) @if let Some(s) = l.stacked { " " (fill("page.stacked", &[("full", &workbench::say::percent(s))])) } } }
            p { (text(&format!("link.{}.why", l.link.kind.id()))) }
            (levers(ctx, bike, l, &facts))
            (to_measure(bike, judged, l))
            (fault(bike, judged, l))
            details.working open[l.load.is_none()] {
                summary { (text("page.working")) }
                (values(ctx, bike, judged, &facts))
                @if !tape.steps().is_empty() {
                    h3 { (text("app.explain-steps")) }
                    ol.steps { @for s in tape.steps() { (step(&s)) } }
                }
            }
            nav.along aria-label=(text("page.along")) {
                @if let Some(b) = before { a.plate href=(to(b)) { "‹ " (link_name(b)) } }
                @if let Some(a) = after { a.plate href=(to(a)) { (link_name(a)) " ›" } }
            }
        }
    })
}

/// What is asked of a link and what it can take.
pub fn sentence(ctx: &Ctx, l: &LinkResult) -> String {
    let unit = l.link.kind.unit();
    let Some(load) = l.load else { return holds::detail(ctx, l) };
    let q = |x: f64| show::quantity(x, unit, &ctx.person);
    let values = [
        ("drive", q(load.drive)),
        ("brake", q(load.brake)),
        ("can", q(load.capacity)),
        ("chance", holds::chance(ctx, l)),
    ];
    let values: Vec<(&str, &str)> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
    fill("page.link-sentence", &values)
}

/// Values that a technician can choose or set, of those that this link reads; strongest first.
fn levers(ctx: &Ctx, bike: &Bike, l: &LinkResult, facts: &[FactId]) -> Markup {
    let rank = |id: FactId| l.swings.iter().position(|(f, _)| *f == id).unwrap_or(usize::MAX);
    let mut chosen: Vec<FactId> = facts.iter().copied().filter(|f| is_lever(*f)).collect();
    chosen.sort_by_key(|f| rank(*f));
    chosen.truncate(4);
    if chosen.is_empty() {
        return html! {};
    }
    html! {
        section.levers {
            h3 { (text("page.levers")) }
            @for id in chosen {
                form.lever method="post" action=(bike.at("facts")) {
                    (form_head(&fresh_id(), bike.file.revision))
                    input type="hidden" name="then" value=(here(ctx));
                    input type="hidden" name="how" value=(how(bike, id));
                    (field::one(ctx, bike, id, field::Size::Lever))
                    div.actions {
                        button.plate formmethod="get" formaction=(here(ctx)) data-try { (text("page.try")) }
                        button.plate { (text("page.keep")) }
                    }
                }
            }
        }
    }
}

/// The address without what is only tried.
pub fn here(ctx: &Ctx) -> &str {
    ctx.here.split('?').next().unwrap_or("/")
}

/// The tool or origin that a value has keeps with its new number; what was assumed becomes chosen.
fn how(bike: &Bike, id: FactId) -> String {
    match field::stored(bike, id) {
        Some(f) if f.tool.is_some() => f.tool.unwrap_or_default(),
        Some(f) if f.origin != fact::Origin::Assumed => f.origin.token().to_owned(),
        _ => fact::Origin::Chosen.token().to_owned(),
    }
}

/// Torques to give, settings, state of the faces, kind of arm: what the workshop decides.
fn is_lever(id: FactId) -> bool {
    let (def, name) = fact::describe(id);
    let last = name.rsplit('.').next().unwrap_or("");
    (name.starts_with("settings.") && !last.ends_with("kept_by"))
        || last.ends_with("torque")
        || (name.starts_with("arm.") && last == "kind")
        || last == "faces"
        || last == "downhill_speed"
        || (name.starts_with("motor.lock_") && def.card != "assume")
}

fn to_measure(bike: &Bike, judged: &Judged, l: &LinkResult) -> Markup {
    let doubt: Vec<FactId> = l.swings.iter().map(|(f, _)| *f).take(3).collect();
    let wanted: Vec<FactId> = if l.missing.is_empty() { doubt } else { l.missing.clone() };
    if wanted.is_empty() {
        return html! {};
    }
    html! {
        section {
            h3 { (text(if l.missing.is_empty() { "app.explain-swings" } else { "page.to-measure" })) }
            ul.rows { @for id in wanted {
                li {
                    a href=(walk::address(bike, id)) { (fact_name(id)) }
                    @let card = fact::describe(id).0.card;
                    a.quiet href=(format!("/help/{card}?bike={}", bike.number())) { (text(&format!("card.{card}.title")))
                        @if let Some(m) = evidence::cards::find(card).and_then(evidence::cards::Card::minutes) { " " (fill("app.minutes", &[("n", &figure(m))])) } }
                    @if let Some((_, s)) = l.swings.iter().find(|(f, _)| *f == id) {
                        span.quiet { (points(*s)) }
                    }
                    @if judged.job.fact(id).is_none() { span.quiet { (text("app.not-known")) } }
                }
            } }
        }
    }
}

/// By how much a fact swings "how full" from one end of its doubt to the other.
fn points(swing: f64) -> String {
    if swing.abs() > 10.0 {
        text("page.points-decide")
    } else {
        fill("page.points", &[("points", &format!("{:+.0}", swing * 100.0))])
    }
}

/// The worst single fault, for a link that a fault can load.
fn fault(bike: &Bike, judged: &Judged, l: &LinkResult) -> Markup {
    use workbench::link::Path;
    if l.link.kind.path() != Path::Reaction {
        return html! {};
    }
    let full = |l: &&LinkResult| l.load.map_or(0.0, |x| x.full);
    let faults = judged.check.links.iter().filter(|f| f.link.kind.path() == Path::Fault);
    let Some(worst) = faults.max_by(|a, b| a.verdict.cmp(&b.verdict).then(full(a).total_cmp(&full(b)))) else {
        return html! {};
    };
    html! {
        p.fault { (text("page.worst-fault")) " "
            a href=(bike.at(&format!("holds/{}", worst.link.id()))) { (link_name(worst)) } ": " (show::word(worst.verdict)) " " (show::full(worst)) }
    }
}

fn values(ctx: &Ctx, bike: &Bike, judged: &Judged, facts: &[FactId]) -> Markup {
    html! {
        h3 { (text("app.explain-facts")) }
        ul.rows.values { @for id in facts {
            li {
                a href=(walk::address(bike, *id)) { (fact_name(*id)) }
                @match judged.job.fact(*id) {
                    Some(f) => { b { (show::known(*id, f, &ctx.person)) } span.quiet { (show::origin(f)) ", " (f.origin.grade()) } }
                    None => { b { (text("app.not-known")) } }
                }
            }
        } }
    }
}

fn step(s: &Step) -> Markup {
    let place = match s.place.as_str() {
        "" => String::new(),
        side @ ("left" | "right") => format!(", {}", text(&format!("side.{side}"))),
        arm => format!(" {arm}"),
    };
    html! {
        li {
            p { (text(&format!("step.{}", s.key))) (place) ": " b { (s.result.symbol) " = " (figure(s.result.value)) " " (s.result.unit) } }
            p.equation { (s.formula.equation) }
            p.quiet { @for (i, p) in s.put.iter().enumerate() { @if i > 0 { ", " } (p.symbol) " = " (figure(p.value)) " " (p.unit) } }
            p.quiet { (text("app.source")) ": " (s.formula.source) }
        }
    }
}

/// Whether a fact is a choice; the page then shows tiles instead of a pad.
pub fn is_choice(id: FactId) -> bool {
    matches!(fact::describe(id).0.shape, Shape::Choice(_))
}
