//! Come back: the card of a re-check, what it says, what was done, when next. The hand-over is the first card.

use crate::after::{self, DECISIONS, Kept};
use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, Reply, work};
use crate::layout;
use crate::person::Person;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::Edit;
use jobbook::edit;
use maud::{Markup, html};
use proof::follow::{Decision, Drift, Mark, Watch};
use workbench::words::{fill, text};

/// What is measured at a re-check: name of the field, key of the card, unit.
const FIELDS: [(&str, &str, &str); 8] = [
    ("odometer", "odometer", "km"),
    ("left-nut", "left_nut", "N·m"),
    ("right-nut", "right_nut", "N·m"),
    ("pull", "pull", "g"),
    ("mark-left-nut", "marks.left_nut", "°"),
    ("mark-right-nut", "marks.right_nut", "°"),
    ("mark-arm", "marks.arm", "°"),
    ("mark-anchor", "marks.anchor", "°"),
];
const LONGEST_NOTE: usize = 2000;

/// The stage.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let body = body(&ctx, &bike, &Vec::new(), "")?;
        Ok(layout::page(&ctx, &text("page.stage.back"), Some(&bike), &body))
    })
    .await
}

fn body(ctx: &Ctx, bike: &Bike, typed: &Pairs, wrong: &str) -> Result<Markup, Fail> {
    let cards = after::cards(&ctx.app, bike.number(), &bike.shop.shop.rack)?;
    let handed = cards.iter().any(|k| k.card.hand_over);
    let watch = after::watch(bike, &cards);
    Ok(html! {
        h1 { (text("page.stage.back")) }
        @if !wrong.is_empty() { pre.say role="alert" { (wrong) } }
        @if handed { (says(ctx, bike, &cards, &watch)?) }
        @else { p.lead { (text("page.came.first")) } }
        (form(ctx, bike, !handed, typed))
        (crate::photos::of_slots(ctx, bike, &["p15", "p16"])?)
        @if !cards.is_empty() { (table(ctx, &cards)) }
        @if handed && bike.file.summary.stage != "closed" { details { summary { (text("page.came.again")) } (form(ctx, bike, true, typed)) } }
    })
}

/// What the cards come to, when next, and who else may have it.
fn says(ctx: &Ctx, bike: &Bike, cards: &[Kept], w: &Watch) -> Result<Markup, Fail> {
    let came = cards.last().is_some_and(|k| !k.card.hand_over);
    let all = if after::found(cards, w) { after::out(&ctx.app)? } else { Vec::new() };
    let own = all.iter().find(|o| o.number == bike.number());
    let alike = own.map(|o| after::alike(o, &all)).unwrap_or_default();
    let state = match w.decision {
        Decision::GoOn => "holds",
        Decision::NotKnown => "not-known",
        Decision::Retighten | Decision::Stop => "fails",
    };
    Ok(html! {
        section.verdict data-state=(state) { div {
            @if came { p.word { (text(&format!("watch.decision.{}", w.decision.token()))) } }
            ul { @for r in &w.reasons { li { (r.sentence()) } } }
            @if came && let Some(k) = cards.last() && !k.decision.is_empty() {
                p { (text("page.came.done")) " " b { (text(&format!("page.came.decision.{}", k.decision))) } }
            }
            p { (next(ctx, w)) }
        } }
        @for t in w.trends.iter().filter(|t| t.sure) { p { (text(&format!("watch.drift.{}", t.of.token()))) ": "
            (drift(ctx, t.of, t.ends.0)) " → " (drift(ctx, t.of, t.ends.1)) " (" (text("watch.sure")) ")" } }
        @if !alike.is_empty() {
            h2 { (text("page.due.alike")) }
            ul.rows { @for a in alike { li { (crate::due::alike_row(&a)) } } }
        }
    })
}

fn drift(ctx: &Ctx, of: Drift, v: f64) -> String {
    show::quantity(v, of.unit(), &ctx.person)
}

fn next(ctx: &Ctx, w: &Watch) -> String {
    match &w.due {
        None => text("watch.no-more"),
        Some(d) => {
            let at = show::quantity((d.odometer / 1e3).round(), "km", &ctx.person);
            fill("page.came.next", &[("check", &crate::due::which(ctx, d.after)), ("at", &at), ("day", &d.day.text())])
        }
    }
}

fn form(ctx: &Ctx, bike: &Bike, hand_over: bool, typed: &Pairs) -> Markup {
    let title = text(if hand_over { "page.came.hand-over" } else { "page.came.card" });
    let was = |key: &str| value(typed, key).to_owned();
    let number = |(name, _, unit): &(&str, &str, &str)| {
        html! {
            label.sum-input { (text(&format!("page.came.{name}")))
                span.pad { input.number type="text" inputmode="decimal" name=(name) value=(was(name)) maxlength="12" autocomplete="off" required[*name == "odometer"];
                    span.unit { (show::unit_for(unit, &ctx.person).symbol) } } }
        }
    };
    let day = if was("date").is_empty() { after::today().text() } else { was("date") };
    html! {
        form.question method="post" action=(bike.at("back")) {
            input type="hidden" name="change" value=(fresh_id());
            @if hand_over { input type="hidden" name="hand-over" value="yes"; }
            h2 { (title) }
            label.sum-input { (text("page.came.date")) input type="date" name="date" value=(day) required; }
            div.two {
                div { @for f in &FIELDS[..4] { (number(f)) } }
                @if !hand_over { div { p.quiet { (text("page.came.marks")) } @for f in &FIELDS[4..] { (number(f)) } } }
            }
            @if hand_over {
                label { (text("page.came.faces")) input name="faces" value=(was("faces")) maxlength="120" autocomplete="off"; }
            } @else {
                label.check { input type="checkbox" name="wheel-out" value="yes" checked[!was("wheel-out").is_empty()]; span { (text("page.came.wheel-out")) } }
                label { (text("page.came.found")) textarea name="notes" rows="2" maxlength=(LONGEST_NOTE) { (was("notes")) } }
                fieldset.fact { legend { (text("page.came.what-done")) } div.tiles role="group" {
                    @for d in DECISIONS { label.tile { input type="radio" name="decision" value=(d) checked[was("decision") == d] required; span { (text(&format!("page.came.decision.{d}"))) } } }
                } }
            }
            div.actions { button.plate.go { (text("page.measure.save")) } }
        }
    }
}

fn table(ctx: &Ctx, cards: &[Kept]) -> Markup {
    let q = |v: Option<f64>, unit: &str| v.map_or_else(|| "–".to_owned(), |v| show::quantity(v, unit, &ctx.person));
    // A pull of a mass is kept as a force.
    let grams = |newtons: f64| (newtons / 9.806_65 * 1e3).round();
    html! {
        h2 { (text("page.came.cards")) }
        div.scroll tabindex="0" role="region" aria-label=(text("page.came.cards")) { table {
            thead { tr {
                @for key in ["date", "odometer", "left-nut", "right-nut", "pull"] { th scope="col" { (text(&format!("page.came.{key}"))) } }
                @for m in Mark::ALL { th scope="col" { (text(&format!("page.came.mark-{}", m.token()))) } }
                th scope="col" { (text("page.came.what-done")) }
            } }
            tbody { @for k in cards.iter().rev() { tr {
                th scope="row" { (k.card.day.text()) }
                td.n { (q(Some((k.card.odometer / 1e3).round()), "km")) }
                @for nut in k.card.nuts { td.n { (q(nut, "N·m")) } }
                td.n { (q(k.card.pull.map(|p| grams(p.0)), "g")) }
                @for moved in k.card.moved { td.n { (q(moved.map(|d| d.round()), "°")) } }
                td { @if k.card.hand_over { (text("page.came.hand-over")) } @else if !k.decision.is_empty() { (text(&format!("page.came.decision.{}", k.decision))) }
                    @if k.card.wheel_out { " · " (text("page.came.wheel-out")) }
                    @if !k.notes.is_empty() { " · " (k.notes) } @if !k.faces.is_empty() { " · " (text("page.came.faces")) ": " (k.faces) } " · " (k.who) }
            } } }
        } }
    }
}

/// The card as a text of the form that `backdrive watch` reads.
fn card_text(number: &str, pairs: &Pairs, person: &Person) -> Option<String> {
    let mut edits = vec![
        Edit::put("job", number),
        Edit::put("date", value(pairs, "date")),
        Edit::put("hand_over", !value(pairs, "hand-over").is_empty()),
        Edit::put("wheel_out", !value(pairs, "wheel-out").is_empty()),
    ];
    for (name, key, unit) in FIELDS {
        let typed = value(pairs, name).replace(',', ".");
        if !typed.is_empty() {
            edits.push(Edit::put(key, format!("{typed} {}", show::unit_for(unit, person).symbol)));
        }
    }
    for key in ["notes", "faces"] {
        let said: String = value(pairs, key).chars().take(LONGEST_NOTE).collect();
        if !said.is_empty() {
            edits.push(Edit::put(key, said));
        }
    }
    if let Some(d) = DECISIONS.iter().find(|d| **d == value(pairs, "decision")) {
        edits.push(Edit::put("decision", *d));
    }
    // Tables stand behind the values.
    edits.sort_by_key(|e| e.key.contains('.'));
    edit::apply("", &edits).ok()
}

/// Keeps a card.
pub async fn save(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || keep(&ctx, &number, &pairs)).await
}

fn keep(ctx: &Ctx, number: &str, pairs: &Pairs) -> Reply {
    let bike = Bike::load(&ctx.app, number)?;
    let written = card_text(bike.number(), pairs, &ctx.person).ok_or_else(Fail::nothing_here)?;
    let mut wrong = match intake::read_card(&written, "card", &bike.shop.shop.rack) {
        Err(errors) => errors.iter().map(|e| format!("{}. {}", e.message, e.hint)).collect::<Vec<_>>().join("\n"),
        Ok(card) => {
            let before = after::cards(&ctx.app, number, &bike.shop.shop.rack)?;
            let newest = before.iter().map(|k| k.card.odometer).fold(0.0, f64::max);
            if card.odometer < newest && !card.hand_over { text("page.came.backwards") } else { String::new() }
        }
    };
    if wrong.is_empty() && value(pairs, "hand-over").is_empty() && !DECISIONS.contains(&value(pairs, "decision")) {
        wrong = text("page.came.no-decision");
    }
    if !wrong.is_empty() {
        let mut page = layout::page(ctx, &text("page.stage.back"), Some(&bike), &body(ctx, &bike, pairs, &wrong)?);
        *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
        return Ok(page);
    }
    let sent = value(pairs, "change");
    let id: String = sent.chars().filter(char::is_ascii_alphanumeric).take(12).collect();
    let id = if id.len() < 8 { fresh_id() } else { id };
    let revision = ctx.app.book.set_document(&format!("{number}/back-{id}"), &written, 0, &ctx.by(sent))?;
    change::tell(ctx, number, revision, sent);
    Ok(Redirect::to(&bike.at("back")).into_response())
}
