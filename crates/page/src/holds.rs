//! Will it hold? The picture, the list, the table; single faults; options side by side.

use crate::answer::Judged;
use crate::bike::Bike;
use crate::change::{self, Pairs};
use crate::ctx::Ctx;
use crate::fail::work;
use crate::layout;
use crate::link;
use crate::show;
use axum::extract::{Path, Query};
use axum::response::{Html, IntoResponse, Redirect, Response};
use drawing::{Format, Options, Theme, load_path};
use maud::{Markup, PreEscaped, html};
use workbench::check::{LinkResult, Verdict};
use workbench::link::aftermath::faults;
use workbench::link::{Link, Path as Way};
use workbench::say::{self, fact_name};
use workbench::words::{fill, text};

/// The start page of a bike.
pub async fn start(Path(number): Path<String>) -> Redirect {
    Redirect::to(&format!("/bikes/{number}/holds"))
}

/// The picture alone.
pub async fn holds(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let wanted = ctx.here.split_once("?if=").map_or("", |(_, id)| id);
        let fault = bike.answer().ok().and_then(|j| fault(j, wanted));
        let body = match (fault, bike.answer()) {
            (Some(fault), Ok(judged)) => crate::faults::body(&ctx, &bike, judged, fault),
            _ => body(&ctx, &bike, None),
        };
        Ok(layout::page(&ctx, &text("page.holds.title"), Some(&bike), &body))
    })
    .await
}

/// The picture with the panel of one link.
/// What stands in the address as a form is tried, not kept: the picture follows at once.
pub async fn with_link(ctx: Ctx, Path((number, id)): Path<(String, String)>, Query(pairs): Query<Pairs>) -> Response {
    work(move || {
        let mut bike = Bike::load(&ctx.app, &number)?;
        let mut above = html! {};
        if let Some(file) = change::tried(&ctx, &bike, &pairs) {
            above = change::keep_or_back(&bike, &pairs, link::here(&ctx));
            bike = Bike::judge(&ctx.app, file, bike.shop);
        }
        let panel = link::panel(&ctx, &bike, &id, &above)?;
        Ok(layout::page(&ctx, &text("page.holds.title"), Some(&bike), &body(&ctx, &bike, Some(&panel))))
    })
    .await
}

fn body(ctx: &Ctx, bike: &Bike, panel: Option<&Markup>) -> Markup {
    let Ok(judged) = bike.answer() else {
        return html! { h1 { (text("page.holds.title")) } p { (text("page.holds.mend")) } p { a.plate href=(bike.at("measure")) { (text("page.stage.measure")) } } };
    };
    html! {
        div class=(if panel.is_some() { "sheet with-panel" } else { "sheet" }) {
            div.whole {
                h1.narrow { (text("page.holds.title")) }
                (verdict(ctx, judged))
                (crate::faults::switch(bike, judged, None))
                (picture(bike, judged, None))
                (list(ctx, bike, judged))
                section.later #advice data-src=(bike.at("advice")) {
                    a href=(bike.at("advice")) { (text("page.holds.what-would-fix")) }
                }
                (table(ctx, bike, judged))
            }
            @if let Some(panel) = panel { (panel) }
        }
    }
}

/// The fault of that name, if this bike can have it.
fn fault(judged: &Judged, id: &str) -> Option<Link> {
    let links: Vec<Link> = judged.check.links.iter().map(|l| l.link).collect();
    faults(&links).into_iter().find(|f| f.id() == id)
}

fn verdict(ctx: &Ctx, judged: &Judged) -> Markup {
    let check = &judged.check;
    html! {
        section.verdict data-state=(check.verdict.token()) {
            (show::axle_sign(check.state))
            div {
                p.word { (show::word(check.verdict)) }
                p { (layout::reason(ctx, judged)) }
                @for rule in check.refused.iter().skip(1) { p { (rule.sentence) } }
                p.quiet { (fill("page.holds.read-at", &[("one_in", &show::number(check.one_in, &ctx.person))])) }
            }
        }
    }
}

/// The load path: across for a desk, upright for a tablet; a phone has the list.
pub fn picture(bike: &Bike, judged: &Judged, fault: Option<Link>) -> Markup {
    let draw = |format: Format| {
        let options =
            Options { format, theme: Theme::Page, href: bike.at("holds/"), heading: false, fault, numbered: true };
        PreEscaped(load_path(&judged.job, &judged.check, &options))
    };
    html! {
        div.picture.wide { (draw(Format::Wide)) }
        div.picture.tall { (draw(Format::Tall)) }
    }
}

/// Rows in the order of need: won't hold, not known, just holds; the rest in one closed fold.
fn list(ctx: &Ctx, bike: &Bike, judged: &Judged) -> Markup {
    let order = |v: Verdict| match v {
        Verdict::Refused => 0,
        Verdict::Fails => 1,
        Verdict::NotKnown => 2,
        Verdict::Marginal => 3,
        Verdict::Holds => 4,
    };
    let mut rows = judged.check.worst_first();
    rows.sort_by_key(|l| order(l.verdict));
    let (first, rest): (Vec<&LinkResult>, Vec<&LinkResult>) =
        rows.into_iter().partition(|l| l.verdict != Verdict::Holds);
    let n = rest.len().to_string();
    html! {
        section.list {
            @if !first.is_empty() {
                h2 { (text("page.holds.look-first")) }
                ul.links { @for l in &first { (row(ctx, bike, l)) } }
            }
            details open[first.is_empty()] {
                summary { (fill("page.holds.links-hold", &[("n", &n)])) }
                ul.links { @for l in &rest { (row(ctx, bike, l)) } }
            }
        }
    }
}

fn row(ctx: &Ctx, bike: &Bike, l: &LinkResult) -> Markup {
    html! {
        li {
            a href=(bike.at(&format!("holds/{}", l.link.id()))) {
                (show::glyph(l.verdict))
                span.name { (say::name(l)) }
                span.pair {
                    span data-watch=(l.link.id()) { (show::word(l.verdict)) " " (show::full(l)) }
                    " · " (detail(ctx, l))
                    @if l.mostly_assumed { " · " (text("app.assumed")) }
                }
                (show::bar(l, false))
            }
        }
    }
}

/// The pair of numbers, or why there is none.
pub fn detail(ctx: &Ctx, l: &LinkResult) -> String {
    match (&l.load, &l.gap) {
        (Some(_), _) => show::pair(l, &ctx.person),
        (None, Some(gap)) => say::gap(gap),
        (None, None) => {
            let names: Vec<String> = l.missing.iter().take(2).map(|f| fact_name(*f)).collect();
            fill("app.measure", &[("facts", &names.join("; "))])
        }
    }
}

/// Everything as a table: for copying, printing and screen readers.
fn table(ctx: &Ctx, bike: &Bike, judged: &Judged) -> Markup {
    let head = |key: &str| text(&format!("page.table.{key}"));
    html! {
        section.table {
            h2 { (text("page.holds.table")) }
            div.scroll tabindex="0" role="region" aria-label=(text("page.holds.table")) {
                table {
                    thead { tr {
                        th scope="col" { abbr title=(head("number")) { "#" } } th scope="col" { (head("link")) } th scope="col" { (head("result")) } th scope="col" { (head("full")) }
                        th scope="col" { (head("drive")) } th scope="col" { (head("brake")) } th scope="col" { (head("can")) } th scope="col" { (head("chance")) }
                    } }
                    @for way in [Way::Reaction, Way::Drive, Way::Energy, Way::Fault] {
                        tbody {
                            tr.way { th colspan="8" scope="rowgroup" { (text(&format!("page.way.{}", way.token()))) } }
                            @for (i, l) in judged.check.links.iter().enumerate().filter(|(_, l)| l.link.kind.path() == way) {
                                tr {
                                    td.n { (i + 1) }
                                    th scope="row" { a href=(bike.at(&format!("holds/{}", l.link.id()))) { (say::name(l)) } }
                                    td { (show::word(l.verdict)) @if l.mostly_assumed { " (" (text("app.assumed")) ")" } }
                                    td.n { (show::full(l)) }
                                    @if let Some(x) = l.load {
                                        td.n { (show::quantity(x.drive, l.link.kind.unit(), &ctx.person)) }
                                        td.n { (show::quantity(x.brake, l.link.kind.unit(), &ctx.person)) }
                                        td.n { (show::quantity(x.capacity, l.link.kind.unit(), &ctx.person)) }
                                        td.n { (chance(ctx, l)) }
                                    } @else { td colspan="4" { (detail(ctx, l)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Failing bikes, as a technician would say it.
pub fn chance(ctx: &Ctx, l: &LinkResult) -> String {
    if l.chance <= 0.0 {
        return text("page.none-seen");
    }
    fill("page.bikes-of-1000", &[("n", &show::number(l.chance * 1000.0, &ctx.person))])
}

/// What follows from the result; asked for after the picture is there.
pub async fn advice(ctx: Ctx, Path(number): Path<String>, headers: axum::http::HeaderMap) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let judged = bike.judged()?;
        let inside = advice_body(&ctx, &bike, judged);
        if headers.contains_key("x-part") {
            return Ok(Html(inside.into_string()).into_response());
        }
        let whole = html! { h1 { (text("page.holds.what-would-fix")) } (inside) };
        Ok(layout::page(&ctx, &text("page.holds.what-would-fix"), Some(&bike), &whole))
    })
    .await
}

fn advice_body(ctx: &Ctx, bike: &Bike, judged: &Judged) -> Markup {
    let advice = judged.advice();
    let n = |x: f64| show::number(x, &ctx.person);
    let nm = |x: f64| show::quantity(x, "N·m", &ctx.person);
    let minutes: f64 = advice.measure.iter().filter_map(|m| m.minutes).sum();
    html! {
        @if !advice.fixes.is_empty() {
            h2 { (text("app.would-fix")) }
            ul.options {
                @for fix in &advice.fixes {
                    li.option data-state=(fix.verdict.token()) {
                        (show::glyph(fix.verdict))
                        p { b { @for (i, c) in fix.changes.iter().enumerate() { @if i > 0 { " + " } (fill(&format!("lever.{}", c.key), &[("value", &c.value)])) } } }
                        p { (show::word(fix.verdict)) " · " (fix.fullest) " " (say::percent(fix.full)) }
                    }
                }
            }
        }
        @if !advice.measure.is_empty() {
            h2 { (text("app.measure-next")) " " span.quiet { (fill("app.minutes", &[("n", &n(minutes))])) } }
            ul.rows { @for m in &advice.measure {
                li {
                    a href=(format!("/help/{}?bike={}", m.card, bike.number())) { (text(&format!("card.{}.title", m.card))) }
                    span { @for (i, f) in m.facts.iter().enumerate() { @if i > 0 { "; " }
                        a href=(crate::walk::address(bike, *f)) { (fact_name(*f)) } } }
                    @if let Some(x) = m.minutes { span.quiet { (fill("app.minutes", &[("n", &n(x))])) } }
                    @if let Some(of) = say::of_doubt(m) { span.quiet { (of) } }
                }
            } }
        }
        @if !advice.tighten.is_empty() {
            h2 { (text("app.tighten")) }
            ul.rows { @for t in &advice.tighten {
                li { span { (text(&format!("page.tighten.{}", t.key))) " " (t.place) }
                    b { (nm(t.torque.as_newton_metres())) }
                    span.quiet { (t.tool.clone().unwrap_or_else(|| text("app.no-tool")))
                        @if let Some(m) = t.at_most { " · " (text("page.tighten.at-most")) " " (nm(m.as_newton_metres())) } } }
            } }
        }
        @if let Some(t) = advice.hold_test {
            h2 { (text("app.hold-test")) }
            p { (fill("page.hold-test", &[
                ("pull", &show::quantity(t.pull_at_one_metre.as_kilograms(), "kg", &ctx.person)),
                ("torque", &nm(t.torque.as_newton_metres())), ("asked", &nm(t.asked.as_newton_metres())), ("limit", &nm(t.limit.as_newton_metres())),
            ])) }
        }
        @if !judged.check.cautions.is_empty() {
            h2 { (text("app.watch")) }
            ul { @for r in &judged.check.cautions { li { (r.sentence) } } }
        }
        @if !advice.ceiling.is_empty() {
            h2 { (text("app.ceiling")) }
            div.scroll tabindex="0" role="region" aria-label=(text("app.ceiling")) { table {
                thead { tr { th scope="col" { (text("page.ceiling.speed")) } th scope="col" { (text("page.ceiling.most")) } th scope="col" { (text("page.ceiling.why")) } } }
                tbody { @for p in &advice.ceiling { tr {
                    td.n { (show::quantity(p.speed.as_kilometres_per_hour(), "km/h", &ctx.person)) }
                    td.n { (nm(p.torque.as_newton_metres())) }
                    td { (text(&format!("link.{}.name", p.stopped_by))) }
                } } }
            } }
        }
        details { summary { (text("app.cautions")) } ul { @for k in workbench::advice::CAUTIONS { li { (text(&format!("caution.{k}"))) } } } }
    }
}
