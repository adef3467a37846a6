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
use axum::http::StatusCode;
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

/// What stands behind a yes, so that it counts only for the words to which it was said.
fn mark(sentence: &str) -> String {
    sign::digest(sentence)[..16].to_owned()
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
    /// Digest of each sentence, in the units that every device shares.
    marks: Vec<String>,
    /// Digest of what a signature stands under, in the units that every device shares.
    of: String,
}

impl Open {
    /// The answer to a sentence, if it was given to what the sentence says today.
    fn stands(&self, n: usize) -> String {
        let to = self.d.get(&key(n)).and_then(|a| a.split(", ").nth(2).map(str::to_owned));
        if to.as_deref() == Some(&self.marks[n - 1]) { answer(&self.d, n) } else { String::new() }
    }

    /// Sentences to which no answer stands.
    fn left(&self) -> Vec<usize> {
        (1..=SENTENCES).filter(|n| self.stands(*n).is_empty()).collect()
    }

    /// Sentences that were answered and have changed since.
    fn moved(&self) -> Vec<usize> {
        self.left().into_iter().filter(|n| !answer(&self.d, *n).is_empty()).collect()
    }

    /// What the page shows, sentence by sentence: its words and the answer to it.
    fn read(&self) -> Vec<String> {
        self.marks.iter().enumerate().map(|(i, mark)| format!("{mark} {}", self.stands(i + 1))).collect()
    }
}

/// Numbers in a row.
fn listed(which: &[usize]) -> String {
    which.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
}

fn open(ctx: &Ctx, number: &str) -> Result<Open, Fail> {
    let bike = Bike::load(&ctx.app, number)?;
    let (prices, _) = prices::load(&ctx.app)?;
    let quote = Quote::load(ctx, number)?;
    let d = Doc::load(&ctx.app, number, PART)?;
    let rider = Doc::load(&ctx.app, number, "rider")?;
    let all = sentences(&ctx.person, &bike, &quote, &d)?;
    let shared = sentences(&Person::anybody(), &bike, &quote, &d)?;
    let marks = shared.iter().map(|s| mark(s)).collect();
    let of = sign::digest(&said(&shared, &d));
    Ok(Open { bike, prices, d, rider, all, marks, of })
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || Ok(shown(&ctx, &number, &open(&ctx, &number)?, None))).await
}

/// The page once more: these sentences have changed since somebody read them, and nothing was kept.
fn read_again(ctx: &Ctx, number: &str, o: &Open, which: &[usize]) -> Response {
    let why = fill("office.consent.moved", &[("which", &listed(which))]);
    let mut page = shown(ctx, number, o, Some(&why));
    *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    page
}

fn shown(ctx: &Ctx, number: &str, o: &Open, why: Option<&str>) -> Response {
    let title = text("page.stage.consent");
    let left = o.left().len();
    let signer = o.rider.get("consent_signer");
    let name = signer.clone().or_else(|| o.rider.get("quote_signer")).or_else(|| o.rider.get("name"));
    let body = html! {
        h1 { (title) }
        @if let Some(why) = why { p.say role="alert" { (why) } }
        p.lead { (text("office.consent.head")) }
        (sign::shown(number, &o.d, signer.as_deref(), &o.of))
        form.stack method="post" action=(o.bike.at("consent")) {
            (doc::head(&o.d))
            (doc::remark(&o.d, "found", &text("office.key.found")))
            (doc::remark(&o.d, "against", &text("office.key.against")))
            div.actions { button.plate { (text("page.measure.save")) } }
        }
        ol.said { @for (i, s) in o.all.iter().enumerate() { li { (one(o, i + 1, s)) } } }
        p.quiet { (if left == 0 { text("office.consent.all-said") } else { fill("office.consent.left", &[("n", &left.to_string())]) }) }
        @if left == 0 {
            form.stack method="post" action=(o.bike.at("consent/sign")) {
                (doc::head(&o.d))
                input type="hidden" name="read" value=(o.read().join(","));
                (sign::fields(&name.unwrap_or_default()))
                div.actions { button.plate.go { (text("office.consent.sign")) } }
            }
        }
        p { a.plate href=(o.bike.at("consent/sheet")) { (text("office.sheet.open")) } }
    };
    layout::page(ctx, &title, Some(&o.bike), &body)
}

/// One sentence with its own yes. The sixth is a question: who will not come says so.
fn one(o: &Open, n: usize, sentence: &str) -> Markup {
    let now = o.stands(n);
    let button = |answer: &str, words: &str| {
        html! {
            form.yes method="post" action=(o.bike.at("consent/say")) {
                (doc::head(&o.d))
                input type="hidden" name="n" value=(n);
                input type="hidden" name="read" value=(o.marks[n - 1]);
                input type="hidden" name="answer" value=(answer);
                button.plate { (text(words)) span.hear { ": " (n) } }
            }
        }
    };
    html! {
        p { (sentence) }
        @if now.is_empty() && !answer(&o.d, n).is_empty() { p.say role="alert" { (text("office.consent.changed")) } }
        div.answers {
            @if now.is_empty() {
                (button("yes", if n == 6 { "office.consent.will-come" } else { "office.consent.understood" }))
                @if n == 6 { (button("no", "office.consent.will-not-come")) }
            } @else {
                @let when = o.d.get(&key(n)).and_then(|a| a.split(", ").nth(1).map(str::to_owned)).unwrap_or_default();
                b { "✓ " (text(&format!("office.consent.said-{}", if n == 6 { now.as_str() } else { "understood" }))) } span.quiet { " " (when) }
                (button("", "page.history.undo"))
            }
        }
    }
}

/// Keeps one yes, to the words that the page showed; none where they have changed since.
pub async fn say(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let o = open(&ctx, &number)?;
        let n: usize =
            value(&form, "n").parse().ok().filter(|n| (1..=SENTENCES).contains(n)).ok_or_else(Fail::nothing_here)?;
        let mark = &o.marks[n - 1];
        let edit = match value(&form, "answer") {
            "" => Edit::remove(&key(n)),
            answer if answer == "yes" || (answer == "no" && n == 6) => {
                if value(&form, "read") != mark {
                    return Ok(read_again(&ctx, &number, &o, &[n]));
                }
                Edit::put(&key(n), format!("{answer}, {}, {mark}", Timestamp::now().strftime("%H:%M UTC")))
            }
            _ => return Err(Fail::nothing_here()),
        };
        let from = doc::from(&form, "from", o.d.revision);
        let kept = keep(&ctx, &o.bike, PART, &[edit], from, &form, value(&form, "change"))?;
        Ok(kept.unwrap_or_else(|| Redirect::to(&o.bike.at("consent")).into_response()))
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

/// Signs: all sentences must have been said yes to, and none may have changed since its yes or since the page was made.
pub async fn sign(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let o = open(&ctx, &number)?;
        let moved = o.moved();
        if !moved.is_empty() {
            return Ok(read_again(&ctx, &number, &o, &moved));
        }
        let left = o.left();
        if !left.is_empty() {
            return Err(Fail::bad(fill("office.consent.not-all", &[("which", &listed(&left))])));
        }
        let mut was = value(&form, "read").split(',');
        let other: Vec<usize> =
            (1..).zip(o.read()).filter(|(_, now)| was.next() != Some(now)).map(|(n, _)| n).collect();
        if !other.is_empty() {
            return Ok(read_again(&ctx, &number, &o, &other));
        }
        let from = doc::from(&form, "from", o.d.revision);
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
                @let now = if signed { answer(&o.d, i + 1) } else { o.stands(i + 1) };
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
