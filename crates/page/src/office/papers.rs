//! Papers: class, lease, warranty, insurer. It asks and writes down; it never says what the law is.

use super::doc::{self, Doc};
use super::prices;
use super::sheet::paper;
use super::talk::{UNKNOWN, keep_both, tokens};
use crate::bike::Bike;
use crate::change::Pairs;
use crate::ctx::Ctx;
use crate::fail::{Reply, work};
use crate::layout;
use axum::Form;
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use workbench::fact::list;
use workbench::words::{fill, text};

const PART: &str = "papers";
/// The rider's personal data that the papers ask for; they stand in the rider's own document.
pub const RIDER: [&str; 6] = ["name", "phone", "email", "address", "insurer", "policy"];

/// Questions and their answers.
const QUESTIONS: [(&str, &[&str]); 7] = [
    ("may_decide", &["yes", "no"]),
    ("held", &["own", "leased", "rented", UNKNOWN]),
    ("warranty", &["running", "over", UNKNOWN]),
    ("warranty_understood", &["yes", "no"]),
    ("insurer_told", &["yes", "no", "will-do"]),
    ("authority_asked", &["yes", "no", "will-do"]),
    ("plate_seen", &["yes", "none"]),
];
/// Class before and after.
const CLASSES: [&str; 2] = ["class_before", "class_after"];

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let (prices, _) = prices::load(&ctx.app)?;
        let d = Doc::load(&ctx.app, &number, PART)?;
        let rider = Doc::load(&ctx.app, &number, "rider")?;
        let plate: Vec<_> = ctx.app.book.attachments(&number)?.into_iter().filter(|f| f.slot == "p03").collect();
        let title = text("page.stage.papers");
        let classes = tokens(list::VEHICLE_CLASS.id());
        let body = html! {
            h1 { (title) }
            p.lead { (text("office.papers.lead")) }
            @if !prices.papers.is_empty() { p.say { (prices.papers) } }
            form.stack method="post" action=(bike.at("papers")) {
                (doc::head(&d))
                input type="hidden" name="from_rider" value=(rider.revision);
                @for key in CLASSES { (doc::tiles(&d, key, &text(&format!("office.key.{key}")), "token.", classes)) }
                @for (key, answers) in QUESTIONS { (doc::tiles(&d, key, &text(&format!("office.papers.{key}")), "office.papers.answer.", answers)) }
                div.two { @for key in &RIDER[4..] { div { (doc::line(&rider, key, &text(&format!("office.key.{key}")), "")) } } }
                (doc::remark(&d, "remark", &text("office.key.remark")))
                div.actions { button.plate.go { (text("page.measure.save")) } a.plate href=(bike.at("papers/notice")) { (text("office.papers.notice")) } }
            }
            h2 { (text("page.photo.p3")) }
            ul.photos { @for f in &plate { li { img src=(bike.at(&format!("files/{}", f.name))) alt=(text("page.photo.p3")) loading="lazy"; } } }
            p { a.plate href=(bike.at("files?slot=p03")) { (text("page.files.photo")) } }
        };
        Ok(layout::page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

/// Keeps the answers.
pub async fn save(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let mut keys: Vec<&str> = QUESTIONS.iter().map(|(k, _)| *k).chain(CLASSES).collect();
        keys.push("remark");
        save_both(&ctx, &bike, PART, &keys, &form, "papers")
    })
    .await
}

/// Keeps a paper and the rider's data, then goes back to its page.
pub fn save_both(ctx: &Ctx, bike: &Bike, part: &str, keys: &[&str], form: &Pairs, page: &str) -> Reply {
    let kept = keep_both(ctx, bike, part, keys, form)?;
    Ok(kept.unwrap_or_else(|| Redirect::to(&bike.at(page)).into_response()))
}

/// The notice that the rider sends to the insurer; what nobody has said is a line to fill in by hand.
pub async fn notice(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let (prices, _) = prices::load(&ctx.app)?;
        let d = Doc::load(&ctx.app, &number, PART)?;
        let rider = Doc::load(&ctx.app, &number, "rider")?;
        let line = |v: Option<String>| v.unwrap_or_else(|| "______________________".to_owned());
        let class = |key: &str| line(d.get(key).map(|c| text(&format!("token.{c}"))));
        let body = html! {
            p { (fill("office.notice.to", &[("insurer", &line(rider.get("insurer")))])) }
            p { (fill("office.notice.from", &[("name", &line(rider.get("name"))), ("address", &line(rider.get("address"))), ("policy", &line(rider.get("policy")))])) }
            p { (text("office.notice.change")) }
            p { (fill("office.notice.class", &[("before", &class("class_before")), ("after", &class("class_after"))])) }
            p { (fill("office.notice.shop", &[("shop", &prices.shop_name())])) }
            p { (text("office.notice.ask")) }
            div.by-hand { p { (text("office.sign.line-rider")) } p { (text("office.sign.line-date")) } }
        };
        Ok(paper(&ctx, &bike, &prices, &text("office.notice.title"), &body))
    })
    .await
}
