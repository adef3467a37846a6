//! Who, when, what; and taking it back.

use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, work};
use crate::layout;
use axum::Form;
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::{Change, Error, Timestamp};
use maud::{Markup, html};
use workbench::fact;
use workbench::say::fact_name;
use workbench::words::{fill, text};

/// Everything that happened to a bike, newest first.
pub async fn history(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let all = ctx.app.book.history(&number)?;
        let body = html! {
            h1 { (text("page.stage.history")) }
            p { a href=(bike.at("job.toml")) download { (text("page.file.get")) } " · " a href=(bike.at("file")) { (text("page.file.put")) } " · " a href=(bike.at("files")) { (text("page.files.title")) } }
            ol.history { @for c in all.iter().rev() { (entry(&bike, c)) } }
        };
        Ok(layout::page(&ctx, &text("page.stage.history"), Some(&bike), &body))
    })
    .await
}

fn entry(bike: &Bike, c: &Change) -> Markup {
    let name = |key: &str| fact::find(key, bike.arms().max(8)).map_or_else(|| crate::office::doc::name(key), fact_name);
    let none = text("app.not-known");
    let what = c.document.rsplit('/').next().unwrap_or("");
    // Cards of a re-check are many; they share a name.
    let what = if what.starts_with("back-") { "back" } else { what };
    let first = c.revision == 1 && ["job", "card"].contains(&what);
    html! {
        li data-undone[c.undone_by.is_some()] {
            p { b { (c.who) } " · " (c.device) " · " time datetime=(c.at) title=(c.at) { (ago(c.at)) } " · " (text(&format!("page.document.{what}")))
                @if c.undoes.is_some() { " · " (text("page.history.takes-back")) }
                @if c.undone_by.is_some() { " · " (text("page.history.taken-back")) } }
            @if c.values.len() > 8 { p.quiet { (fill("page.history.values", &[("n", &c.values.len().to_string())])) } }
            @else { ul { @for v in &c.values { li {
                // Of a photo its name is enough; its size and digest stand beside it.
                @if what == "files" { (v.key.trim_matches('"')) ": " (text(if v.after.is_some() { "page.files.kept" } else { "page.files.taken-out" })) }
                @else { (name(&v.key)) ": " @if let Some(b) = &v.before { s { (b) } " → " } (v.after.as_ref().unwrap_or(&none)) }
            } } } }
            @if !first && c.undone_by.is_none() {
                form method="post" action=(bike.at("undo")) {
                    input type="hidden" name="change" value=(fresh_id());
                    input type="hidden" name="id" value=(c.id);
                    button.plate { (text("page.history.undo")) }
                }
            }
        }
    }
}

/// Takes a change back, as a new change.
pub async fn undo(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let id: i64 = value(&pairs, "id").parse().map_err(|_| Fail::nothing_here())?;
        if !ctx.app.book.history(&number)?.iter().any(|c| c.id == id) {
            return Err(Fail::from(Error::NoChange(id)));
        }
        let change = value(&pairs, "change");
        let revision = ctx.app.book.undo(id, &ctx.by(change))?;
        change::tell(&ctx, &number, revision, change);
        Ok(Redirect::to(&crate::ctx::own_path(value(&pairs, "then"), &bike.at("history"))).into_response())
    })
    .await
}

/// "4 minutes ago".
pub fn ago(at: Timestamp) -> String {
    let seconds = Timestamp::now().duration_since(at).as_secs().max(0);
    let say = |key: &str, n: i64| fill(&format!("page.ago.{key}"), &[("n", &n.to_string())]);
    match seconds {
        0..=59 => text("page.ago.now"),
        60..=3599 => say("minutes", seconds / 60),
        3600..=86_399 => say("hours", seconds / 3600),
        _ => say("days", seconds / 86_400),
    }
}
