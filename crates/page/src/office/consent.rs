//! Consent: seven sentences, each said yes to on its own, then signed. What was signed is kept word for word.

use super::doc::{self, Doc, keep};
use super::prices::{self, Prices};
use super::quote::Quote;
use super::sheet::{self, paper};
use super::sign;
use crate::bike::Bike;
use crate::change::{Pairs, value};
use crate::ctx::Ctx;
use crate::fail::{Fail, work};
use crate::layout;
use crate::person::Person;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::edit::Edit;
use jobbook::{Kind, Timestamp};
use maud::{Markup, html};
use quantity::Speed;
use workbench::fact::list;
use workbench::gain::{TOLD_AT_KMH, drag};
use workbench::words::{fill, text};

const PART: &str = "consent";
/// Sentences, by the number under which they are kept.
const SENTENCES: usize = 7;
/// What the seventh sentence has of its own.
const OWN: [&str; 2] = ["found", "against"];

fn key(n: usize) -> String {
    format!("yes{n}")
}

/// What each sentence says of this bike today.
fn sentences(person: &Person, bike: &Bike, quote: &Quote, d: &Doc) -> Result<Vec<String>, Fail> {
    let judged = bike.judged()?;
    let not_known = || text("app.not-known");
    let speed = Speed::kilometres_per_hour(TOLD_AT_KMH);
    let watts = drag(&judged.job, speed).map_or_else(|_| not_known(), |p| show::quantity(p.as_watts(), "W", person));
    let at = show::quantity(TOLD_AT_KMH, "km/h", person);
    let gone = judged.job.get(list::FADE_GONE).map(Speed::as_kilometres_per_hour);
    let gone = gone.map_or_else(not_known, |v| show::quantity(v, "km/h", person));
    let or_none = |key: &str| d.get(key).unwrap_or_else(|| text("office.consent.none"));
    // What is quoted against advice is signed as such, whether or not somebody wrote more about it.
    let against = quote.doc.get("against").map(|_| {
        let (letter, result) = (quote.doc.or_none("letter"), quote.doc.or_none("result"));
        fill("office.consent.against", &[("letter", &letter), ("result", &result)])
    });
    let against: Vec<String> = against.into_iter().chain(d.get("against")).collect();
    let against = if against.is_empty() { text("office.consent.none") } else { against.join("; ") };
    let already = bike.file.summary.kind == Kind::FoundLocked;
    Ok(vec![
        fill(
            if already { "office.consent.s1-found" } else { "office.consent.s1" },
            &[("watts", &watts), ("speed", &at)],
        ),
        sheet::undo(quote),
        text("office.consent.s3"),
        fill("office.consent.s4", &[("gone", &gone)]),
        text("office.consent.s5"),
        text("office.consent.s6"),
        fill("office.consent.s7", &[("found", &or_none("found")), ("against", &against)]),
    ])
}

/// What a signature stands under.
fn said(all: &[String], d: &Doc) -> String {
    all.iter().enumerate().map(|(i, s)| format!("{} {s} [{}]\n", i + 1, answer(d, i + 1))).collect()
}

/// `yes`, or for the sentence on coming back `no`; nothing while it was not answered.
fn answer(d: &Doc, n: usize) -> String {
    d.get(&key(n)).and_then(|a| a.split(',').next().map(str::to_owned)).unwrap_or_default()
}

struct Open {
    bike: Bike,
    prices: Prices,
    d: Doc,
    rider: Doc,
    all: Vec<String>,
    /// Digest of what a signature stands under, in the units that every device shares.
    of: String,
}

fn open(ctx: &Ctx, number: &str) -> Result<Open, Fail> {
    let bike = Bike::load(&ctx.app, number)?;
    let (prices, _) = prices::load(&ctx.app)?;
    let quote = Quote::load(ctx, number)?;
    let d = Doc::load(&ctx.app, number, PART)?;
    let rider = Doc::load(&ctx.app, number, "rider")?;
    let all = sentences(&ctx.person, &bike, &quote, &d)?;
    let of = sign::digest(&said(&sentences(&Person::anybody(), &bike, &quote, &d)?, &d));
    Ok(Open { bike, prices, d, rider, all, of })
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let o = open(&ctx, &number)?;
        let title = text("page.stage.consent");
        let left = (1..=SENTENCES).filter(|n| answer(&o.d, *n).is_empty()).count();
        let signer = o.rider.get("consent_signer");
        let name = signer.clone().or_else(|| o.rider.get("quote_signer")).or_else(|| o.rider.get("name"));
        let body = html! {
            h1 { (title) }
            p.lead { (text("office.consent.head")) }
            (sign::shown(&number, &o.d, signer.as_deref(), &o.of))
            form.stack method="post" action=(o.bike.at("consent")) {
                (doc::head(&o.d))
                (doc::remark(&o.d, "found", &text("office.key.found")))
                (doc::remark(&o.d, "against", &text("office.key.against")))
                div.actions { button.plate { (text("page.measure.save")) } }
            }
            ol.said { @for (i, s) in o.all.iter().enumerate() { li { (one(&o, i + 1, s)) } } }
            p.quiet { (if left == 0 { text("office.consent.all-said") } else { fill("office.consent.left", &[("n", &left.to_string())]) }) }
            @if left == 0 {
                form.stack method="post" action=(o.bike.at("consent/sign")) {
                    (doc::head(&o.d))
                    (sign::fields(&name.unwrap_or_default()))
                    div.actions { button.plate.go { (text("office.consent.sign")) } }
                }
            }
            p { a.plate href=(o.bike.at("consent/sheet")) { (text("office.sheet.open")) } }
        };
        Ok(layout::page(&ctx, &title, Some(&o.bike), &body))
    })
    .await
}

/// One sentence with its own yes. The sixth is a question: who will not come says so.
fn one(o: &Open, n: usize, sentence: &str) -> Markup {
    let now = answer(&o.d, n);
    let button = |answer: &str, words: &str| {
        html! {
            form.yes method="post" action=(o.bike.at("consent/say")) {
                (doc::head(&o.d))
                input type="hidden" name="n" value=(n);
                input type="hidden" name="answer" value=(answer);
                button.plate { (text(words)) span.hear { ": " (n) } }
            }
        }
    };
    html! {
        p { (sentence) }
        div.answers {
            @if now.is_empty() {
                (button("yes", if n == 6 { "office.consent.will-come" } else { "office.consent.understood" }))
                @if n == 6 { (button("no", "office.consent.will-not-come")) }
            } @else {
                @let when = o.d.get(&key(n)).and_then(|a| a.split_once(", ").map(|(_, at)| at.to_owned())).unwrap_or_default();
                b { "✓ " (text(&format!("office.consent.said-{}", if n == 6 { now.as_str() } else { "understood" }))) } span.quiet { " " (when) }
                (button("", "page.history.undo"))
            }
        }
    }
}

/// Keeps one yes.
pub async fn say(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let d = Doc::load(&ctx.app, &number, PART)?;
        let n: usize =
            value(&form, "n").parse().ok().filter(|n| (1..=SENTENCES).contains(n)).ok_or_else(Fail::nothing_here)?;
        let edit = match value(&form, "answer") {
            "" => Edit::remove(&key(n)),
            answer if answer == "yes" || (answer == "no" && n == 6) => {
                Edit::put(&key(n), format!("{answer}, {}", Timestamp::now().strftime("%H:%M UTC")))
            }
            _ => return Err(Fail::nothing_here()),
        };
        let from = doc::from(&form, "from", d.revision);
        let kept = keep(&ctx, &bike, PART, &[edit], from, &form, value(&form, "change"))?;
        Ok(kept.unwrap_or_else(|| Redirect::to(&bike.at("consent")).into_response()))
    })
    .await
}

/// Keeps what was found and what is done against advice. Sentence seven then has to be said again.
pub async fn save(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let d = Doc::load(&ctx.app, &number, PART)?;
        let mut edits = doc::edits(&form, &OWN);
        if !edits.is_empty() && !answer(&d, SENTENCES).is_empty() {
            edits.push(Edit::remove(&key(SENTENCES)));
        }
        let from = doc::from(&form, "from", d.revision);
        let kept = keep(&ctx, &bike, PART, &edits, from, &form, value(&form, "change"))?;
        Ok(kept.unwrap_or_else(|| Redirect::to(&bike.at("consent")).into_response()))
    })
    .await
}

/// Signs: all sentences must have been said yes to, and none may have changed since the page was made.
pub async fn sign(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let o = open(&ctx, &number)?;
        let left: Vec<String> =
            (1..=SENTENCES).filter(|n| answer(&o.d, *n).is_empty()).map(|n| n.to_string()).collect();
        if !left.is_empty() {
            return Err(Fail::bad(fill("office.consent.not-all", &[("which", &left.join(", "))])));
        }
        let from = doc::from(&form, "from", o.d.revision);
        if from != o.d.revision && o.d.or_none("signed.of") != o.of {
            return Err(Fail::bad(text("office.sign.moved")));
        }
        let signature = sign::read(&form)?;
        let change = value(&form, "change");
        let mut edits = sign::keep(&ctx, &number, PART, &signature, &o.of, change)?;
        edits.extend(o.all.iter().enumerate().map(|(i, s)| Edit::put(&format!("signed.s{}", i + 1), s.as_str())));
        let kept = keep(&ctx, &o.bike, PART, &edits, from, &form, change)?;
        Ok(kept.unwrap_or_else(|| Redirect::to(&o.bike.at("consent")).into_response()))
    })
    .await
}

/// As it prints: what was signed, word for word, or what would be signed today.
pub async fn sheet(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let o = open(&ctx, &number)?;
        let signed = o.d.get("signed.at").is_some();
        let words = |i: usize, now: &String| if signed { o.d.get(&format!("signed.s{}", i + 1)).unwrap_or_else(|| now.clone()) } else { now.clone() };
        let signer = o.rider.get("consent_signer");
        let body = html! {
            p { (text("office.consent.head")) }
            ol.said { @for (i, s) in o.all.iter().enumerate() { li {
                (words(i, s))
                @let now = answer(&o.d, i + 1);
                @if i + 1 == 6 { " " b { (text(match now.as_str() { "yes" => "office.consent.print-come", "no" => "office.consent.print-not-come", _ => "office.consent.print-open-come" })) } }
                @else { " " b { (text(if now.is_empty() { "office.consent.print-open" } else { "office.consent.print-yes" })) } }
            } } }
            (sign::printed(&number, &o.d, signer.as_deref(), &o.of, &o.prices.shop_name()))
            p { (text("office.consent.copy")) }
        };
        Ok(paper(&ctx, &o.bike, &o.prices, &text("office.consent.title"), &body))
    })
    .await
}
