//! Key in: the solved settings, in the order and names of the user's own device, with what it shows read back.

use crate::answer::Judged;
use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, work};
use crate::layout::{self, form_head};
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{Html, IntoResponse, Redirect, Response};
use jobbook::edit::{self, Edit};
use maud::{Markup, html};
use workbench::say::{fact_name, link_name, percent};
use workbench::settings::{At, Binds, Card, Keyed, Setting};
use workbench::words::{fill, text};

/// The page; the values themselves are asked for after it is there.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let doc = ctx.app.book.document(&format!("{number}/name-card"))?;
        let (revision, card) = doc.map_or((0, String::new()), |d| (d.revision, d.text));
        let body = html! {
            h1 { (text("page.stage.key-in")) }
            p.lead { (text("page.key-in.lead")) }
            section.later #sheet aria-busy="true" data-src=(bike.at("key-in/sheet")) { a.plate.go href=(bike.at("key-in/sheet")) { (text("page.key-in.work-out")) } }
            (card_form(&bike, &card, revision, ""))
        };
        Ok(layout::page(&ctx, &text("page.stage.key-in"), Some(&bike), &body))
    })
    .await
}

fn card_form(bike: &Bike, card: &str, revision: i64, wrong: &str) -> Markup {
    html! {
        details.editor open[!wrong.is_empty()] {
            summary { (text("page.key-in.card")) }
            @if !wrong.is_empty() { pre.say role="alert" { (wrong) } }
            form.stack method="post" action=(bike.at("name-card")) {
                (form_head(&fresh_id(), revision))
                textarea.text name="text" rows="14" spellcheck="false" aria-label=(text("page.key-in.card")) { (card) }
                button.plate { (text("page.measure.save")) }
            }
            p.quiet { (text("page.key-in.card-how")) }
        }
    }
}

/// Keeps the name card, if it can be read.
pub async fn keep_card(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let written = pairs.iter().find(|(k, _)| k == "text").map_or("", |(_, v)| v.as_str()).replace("\r\n", "\n");
        let from = value(&pairs, "from").parse().unwrap_or(0);
        if !written.trim().is_empty()
            && let Err(errors) = intake::read_name_card(&written)
        {
            let wrong = intake::render("name card", &written, &errors);
            let body = html! { h1 { (text("page.stage.key-in")) } (card_form(&bike, &written, from, &wrong)) };
            let mut page = layout::page(&ctx, &text("page.stage.key-in"), Some(&bike), &body);
            *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            return Ok(page);
        }
        let name = format!("{number}/name-card");
        let revision = ctx.app.book.set_document(&name, &written, from, &ctx.by(value(&pairs, "change")))?;
        change::tell(&ctx, &number, revision, value(&pairs, "change"));
        Ok(Redirect::to(&bike.at("key-in")).into_response())
    })
    .await
}

/// The values.
pub async fn sheet(ctx: Ctx, Path(number): Path<String>, headers: HeaderMap) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let inside = body(&ctx, &bike, bike.judged()?)?;
        if headers.contains_key("x-part") {
            return Ok(Html(inside.into_string()).into_response());
        }
        Ok(layout::page(
            &ctx,
            &text("page.stage.key-in"),
            Some(&bike),
            &html! { h1 { (text("page.stage.key-in")) } (inside) },
        ))
    })
    .await
}

fn body(ctx: &Ctx, bike: &Bike, judged: &Judged) -> Result<Markup, Fail> {
    let s = judged.settings();
    let doc = ctx.app.book.document(&format!("{}/name-card", bike.number()))?;
    let card = doc.and_then(|d| intake::read_name_card(&d.text).ok());
    let read = ctx.app.book.document(&format!("{}/key-in", bike.number()))?;
    let (revision, read) = read.map_or((0, String::new()), |d| (d.revision, d.text));
    Ok(html! {
        @if !judged.check.refused.is_empty() {
            p.say { (text("settings.refused")) }
            ul { @for r in &judged.check.refused { li { (r.sentence) } } }
        }
        p.say { (headline(s)) }
        @if !s.impossible.is_empty() { ul { @for i in &s.impossible { li {
            a href=(bike.at(&format!("holds/{}", i.link.id()))) { (link_name(i.link)) } " " (percent(i.full)) ": "
            (text(&format!("settings.hardware.{}", i.link.kind.id())))
        } } } }
        @if !s.missing.is_empty() { ul { @for f in &s.missing { li { a href=(crate::walk::address(bike, *f)) { (fact_name(*f)) } } } } }
        @match &card {
            Some(card) => { (by_card(ctx, bike, judged, card, revision, &read)) }
            None => { (plain(ctx, bike, &s.settings, revision, &read)) }
        }
        @if let Some(x) = s.full_braking_below { p { (fill("settings.full-below", &[("percent", &show::number(x.as_percent(), &ctx.person))])) } }
        @for x in s.settings.iter().filter(|x| x.keeper == "nobody") { p.say { (fill("settings.nobody", &[("name", &name(x))])) } }
    })
}

fn headline(s: &workbench::settings::Solution) -> String {
    if !s.impossible.is_empty() {
        fill("settings.head-impossible", &[("n", &s.impossible.len().to_string())])
    } else if !s.missing.is_empty() {
        fill("settings.head-missing", &[("n", &s.missing.len().to_string())])
    } else {
        fill("settings.head-holds", &[("one_in", &s.one_in.to_string())])
    }
}

fn name(s: &Setting) -> String {
    let name = text(&format!("settings.name.{}", s.kind.id()));
    match s.at {
        At::Whole => name,
        At::Side(side) => format!("{name}, {}", text(&format!("side.{}", side.token()))),
        At::Arm(i) => format!("{name} {}", i + 1),
    }
}

fn why(b: Option<&Binds>) -> String {
    match b {
        Some(Binds::Link(l)) => link_name(*l),
        Some(Binds::Rule(key)) => text(&format!("settings.rule.{key}")),
        None => text("settings.rule.range"),
    }
}

fn read_back(bike: &Bike, key: &str, read: &str, revision: i64) -> Markup {
    let slot: String = key.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let shown = edit::parse(read).ok().and_then(|d| edit::plain(&d, &slot)).unwrap_or_default();
    html! {
        form.read-back method="post" action=(bike.at("key-in/read-back")) {
            (form_head(&fresh_id(), revision))
            input type="hidden" name="slot" value=(slot);
            label { (text("page.key-in.shown")) " " input name="shown" value=(shown) maxlength="40" autocomplete="off"; }
            button.plate { (text("page.keep")) }
        }
    }
}

fn plain(ctx: &Ctx, bike: &Bike, settings: &[Setting], revision: i64, read: &str) -> Markup {
    html! { ul.keyed { @for s in settings { li {
        p { (name(s)) }
        p.value { (show::quantity(s.shown(), s.kind.unit(), &ctx.person)) }
        p.quiet {
            @if let Some(now) = s.now { (text("page.key-in.now")) " " (show::quantity(s.kind.from_si(now), s.kind.unit(), &ctx.person)) " · " }
            (text("page.key-in.stops")) " " (why(s.binds.as_ref())) " · " (text(&format!("keeper.{}", s.keeper)))
        }
        (read_back(bike, &s.id(), read, revision))
    } } } }
}

fn by_card(ctx: &Ctx, bike: &Bike, judged: &Judged, card: &Card, revision: i64, read: &str) -> Markup {
    html! {
        h2 { (fill("settings.sheet", &[("device", &card.device)])) }
        ul.keyed { @for line in card.sheet(&judged.job, &judged.settings().settings) { li {
            p { @if let Some(p) = &line.entry.page { (p) " · " } b { (line.entry.name) } }
            p.value { @match &line.keyed {
                Keyed::Value { text, .. } => { (text) }
                Keyed::OutOfReach { needed, nearest } => { (fill("settings.sheet-reach", &[("needed", needed), ("nearest", nearest)])) }
                Keyed::NotThere => { (text("settings.sheet-none")) }
            } }
            p.quiet {
                @if let Some(old) = &line.entry.old { (text("page.key-in.now")) " " (old) " · " }
                @if let Some(s) = line.setting { (text("page.key-in.stops")) " " (why(s.binds.as_ref())) " · " (text(&format!("keeper.{}", s.keeper))) }
            }
            (read_back(bike, &line.entry.name, read, revision))
        } } }
        p.quiet { (fill("page.holds.read-at", &[("one_in", &show::number(judged.check.one_in, &ctx.person))])) }
    }
}

/// What the display shows after saving.
pub async fn keep_read_back(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let slot = value(&pairs, "slot");
        if slot.is_empty() || slot.len() > 60 || !slot.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
            return Err(Fail::nothing_here());
        }
        let shown: String = value(&pairs, "shown").chars().take(40).collect();
        let from = value(&pairs, "from").parse().unwrap_or(0);
        let edit = [Edit::put(slot, shown.as_str())];
        let revision =
            ctx.app.book.set_values(&format!("{number}/key-in"), &edit, from, &ctx.by(value(&pairs, "change")))?;
        change::tell(&ctx, &number, revision, value(&pairs, "change"));
        Ok(Redirect::to(&bike.at("key-in")).into_response())
    })
    .await
}
