//! Papers as they print: the shop's head, one page, the foot that every sheet has; and the quote's own sheet.

use super::choices::{hours, total};
use super::doc::Doc;
use super::money::Money;
use super::prices::{self, Prices};
use super::quote::Quote;
use super::sign;
use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::fail::{Fail, work};
use crate::layout;
use crate::show;
use axum::extract::Path;
use axum::response::Response;
use jobbook::Timestamp;
use maud::{Markup, html};
use workbench::words::{fill, text};

/// A paper of this shop on this bike.
pub fn paper(ctx: &Ctx, bike: &Bike, prices: &Prices, title: &str, body: &Markup) -> Response {
    let inside = html! {
        p.along { a.plate href=(bike.at("holds")) { (bike.number()) } button.plate type="button" data-print hidden { (text("office.sheet.print")) } }
        article.paper {
            header {
                p { b { (prices.shop_name()) } @for part in prices.shop.iter().skip(1).filter(|s| !s.is_empty()) { " · " (part) } }
                p { (Timestamp::now().strftime("%Y-%m-%d").to_string()) }
            }
            h1 { (title) }
            p { (fill("office.sheet.bike", &[("number", bike.number()), ("name", &bike.file.summary.title)])) }
            (body)
            p.advice { (text("page.advice")) }
        }
    };
    layout::page(ctx, title, Some(bike), &inside)
}

/// The quote as a sheet.
pub async fn quote(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let judged = bike.judged()?;
        let (prices, _) = prices::load(&ctx.app)?;
        let quote = Quote::load(&ctx, &number)?;
        let rider = Doc::load(&ctx.app, &number, "rider")?;
        let d = &quote.doc;
        let Some(changes) = d.get("changes") else { return Err(Fail::bad(text("office.quote.none-yet"))) };
        let signer = rider.get("quote_signer");
        let row = |key: &str| {
            html! { @if let Some(words) = d.get(key) { p { b { (text(&format!("office.key.{key}"))) ": " } (words) } } }
        };
        let (sum, open) = total(&quote.lines);
        let body = html! {
            @if let Some(name) = rider.get("name") { p { (fill("office.sheet.for", &[("name", &name)])) } }
            p { (fill("office.sheet.dates", &[("made", &d.or_none("made_on")), ("until", &d.or_none("valid_until"))])) }
            p { b { (fill("office.quote.option", &[("letter", &d.or_none("letter"))])) ": " } (changes) "." }
            p { b { (text("office.sheet.result")) ": " } (d.or_none("result")) ". " (fill("page.holds.read-at", &[("one_in", &show::number(judged.check.one_in, &ctx.person))])) }
            @if d.get("against").is_some() { p.say { (text("office.quote.against")) } }
            @if let Some(now) = quote.differs(judged) { p.say { (fill("office.quote.differs", &[("now", &now)])) } }
            table {
                thead { tr { th scope="col" { (text("office.key.line-what")) } th.n scope="col" { (text("office.sheet.amount")) } th.n scope="col" { (text("office.key.line-each")) } th.n scope="col" { (text("office.key.line-amount")) } } }
                tbody { @for l in &quote.lines { tr {
                    th scope="row" { (l.what) } td.n { (l.count) }
                    td.n { (l.each.map_or_else(|| "—".to_owned(), |m| m.to_string())) } td.n { (l.amount().map_or_else(|| "—".to_owned(), |m| m.to_string())) }
                } } }
                tfoot { tr { th scope="row" { (text("office.quote.sum")) @if open { " " (text("office.quote.and-more")) } } td.n { (hours(&quote.lines)) " h" } td {} td.n { b { (quote.show(sum)) } } } }
            }
            @if let Some(deposit) = d.get("deposit").and_then(|m| Money::read(&m)) { p { b { (text("office.key.deposit")) ": " } (quote.show(deposit)) } }
            (row("waiting")) (row("rechecks")) (row("not_lockable"))
            p { (undo(&quote)) }
            (row("remark"))
            @if !judged.advice().tighten.is_empty() {
                p { b { (text("app.tighten")) ": " } @for (i, t) in judged.advice().tighten.iter().enumerate() { @if i > 0 { "; " }
                    (text(&format!("page.tighten.{}", t.key))) " " (t.place) " " (show::quantity(t.torque.as_newton_metres(), "N·m", &ctx.person)) } }
            }
            (sign::printed(&number, d, signer.as_deref(), &sign::digest(&quote.said()), &prices.shop_name()))
        };
        let title = fill("office.sheet.quote", &[("number", &d.or_none("number"))]);
        Ok(paper(&ctx, &bike, &prices, &title, &body))
    })
    .await
}

/// That locking cannot be undone without a new clutch, and what that costs here.
pub fn undo(quote: &Quote) -> String {
    let d = &quote.doc;
    match (d.get("undo_part"), d.get("undo_price").and_then(|m| Money::read(&m))) {
        (Some(part), Some(price)) => fill("office.sheet.undo", &[("part", &part), ("price", &quote.show(price))]),
        _ => text("office.sheet.undo-unknown"),
    }
}
