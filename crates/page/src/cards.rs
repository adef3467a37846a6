//! Measuring cards: how a fact is found in minutes.

use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::fail::{Fail, work};
use crate::layout;
use crate::show;
use axum::extract::Path;
use axum::response::Response;
use maud::{Markup, html};
use workbench::fact::{self, FactId};
use workbench::say::fact_name;
use workbench::words::{fill, text};

/// All cards.
pub async fn all(ctx: Ctx) -> Response {
    let body = html! {
        h1 { (text("page.cards.title")) }
        p.lead { (text("page.cards.lead")) }
        ul.rows { @for c in evidence::cards::rows() { li {
            a href={ "/help/" (c.id) } { b { (c.id.to_uppercase()) } " " (text(&format!("card.{}.title", c.id))) }
            span.quiet { @if let Some(m) = c.minutes() { (fill("app.minutes", &[("n", &show::number(m, &ctx.person))])) " " } (c.good_to) }
        } } }
    };
    layout::page(&ctx, &text("page.cards.title"), None, &body)
}

/// One card.
pub async fn one(ctx: Ctx, Path(id): Path<String>) -> Response {
    work(move || {
        let c = evidence::cards::find(&id).ok_or_else(Fail::nothing_here)?;
        let bike = ctx.here.split_once("bike=").and_then(|(_, n)| Bike::load(&ctx.app, n).ok());
        let settles: Vec<FactId> = (0..fact::count(1) as u16).filter_map(fact::nth).filter(|f| fact::describe(*f).0.card == id).collect();
        let body = html! {
            p { a href="/help" { "‹ " (text("page.cards.title")) } }
            h1 { (text(&format!("card.{id}.title"))) }
            @if let Some(drawing) = crate::drawn::of_card(&id) { (drawing) }
            p.lead { (text(&format!("card.{id}.how"))) }
            p.say { (text("page.cards.trap")) " " (text(&format!("card.{id}.trap"))) }
            dl {
                @if let Some(m) = c.minutes() { dt { (text("page.cards.takes")) } dd { (fill("page.minutes", &[("n", &show::number(m, &ctx.person))])) } }
                dt { (text("page.cards.good")) } dd { (c.good_to) }
                dt { (text("page.cards.from")) } dd { (c.source.source) ", " (text("page.cards.grade")) " " (format!("{:?}", c.source.grade)) }
            }
            @if !settles.is_empty() { h2 { (text("page.cards.settles")) } ul { @for f in settles { li {
                @match &bike { Some(b) => { a href=(crate::walk::address(b, f)) { (fact_name(f)) } } None => { (fact_name(f)) } }
            } } } }
        };
        Ok(layout::page(&ctx, &text(&format!("card.{id}.title")), bike.as_ref(), &body))
    })
    .await
}

/// The cards that help with a question, folded.
pub fn helpers(bike: &Bike, cards: &[&str]) -> Markup {
    html! {
        @for card in cards {
            details.card-help {
                summary { (text(&format!("card.{card}.title"))) @if let Some(c) = evidence::cards::find(card) { span.quiet { " · " (c.good_to) } } }
                p { (text(&format!("card.{card}.how"))) }
                p { b { (text("page.cards.trap")) } " " (text(&format!("card.{card}.trap"))) }
                p { a href=(format!("/help/{card}?bike={}", bike.number())) { (text("page.cards.open")) } }
            }
        }
    }
}
