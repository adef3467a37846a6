//! The quote: choices side by side, one of them with its parts and hours, and who accepted it.

use super::choices::{self, Choice, Line, choices, hours, total};
use super::doc::{self, Doc, Wrong, ask_again, keep};
use super::money::{Count, Money};
use super::prices::{self, Prices};
use super::sign;
use crate::answer::Judged;
use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, Reply, work};
use crate::layout;
use crate::shelf::Part;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::edit::{self, Edit};
use jobbook::{Kind, Timestamp};
use maud::{Markup, html};
use std::time::Duration;
use workbench::check::Verdict;
use workbench::words::{fill, text};

const PART: &str = "quote";
/// Lines to type besides the parts and hours.
const TEXTS: [&str; 6] = ["deposit", "valid_until", "waiting", "rechecks", "not_lockable", "remark"];
const MOST_LINES: usize = 60;

/// A quote as it stands in the book.
pub struct Quote {
    /// The document.
    pub doc: Doc,
    /// Its lines.
    pub lines: Vec<Line>,
}

impl Quote {
    /// Loads it.
    pub fn load(ctx: &Ctx, number: &str) -> Result<Self, Fail> {
        let doc = Doc::load(&ctx.app, number, PART)?;
        let mut ids: Vec<String> =
            doc.below("lines.").into_iter().filter_map(|(k, _)| Some(k.split('.').nth(1)?.to_owned())).collect();
        ids.dedup();
        let lines = ids.into_iter().filter_map(|id| {
            let get = |key: &str| doc.or_none(&format!("lines.{id}.{key}"));
            let count = Count::read(&get("count"))?;
            Some(Line { what: get("what"), count, each: Money::read(&get("each")), id: id.clone() })
        });
        Ok(Self { lines: lines.collect(), doc: doc.clone() })
    }

    /// What was chosen, if anything was.
    pub fn option(&self) -> Option<String> {
        self.doc.get("option")
    }

    /// Everything that a signature stands under, as one text.
    pub fn said(&self) -> String {
        let all = self.doc.below("").into_iter().filter(|(k, _)| !k.starts_with("signed."));
        all.map(|(k, v)| format!("{k} = {v}\n")).collect()
    }

    /// Money as this quote names it.
    pub fn show(&self, amount: Money) -> String {
        format!("{amount} {}", self.doc.or_none("currency")).trim().to_owned()
    }

    /// The result today, if it is no longer the one that was quoted.
    pub fn differs(&self, judged: &Judged) -> Option<String> {
        let now = choices(judged).into_iter().find(|c| Some(&c.key) == self.option().as_ref());
        let now = now.map_or_else(|| show::word(judged.check.verdict), |c| result(&c));
        (now != self.doc.or_none("result")).then_some(now)
    }
}

/// The result of a choice in one line.
fn result(c: &Choice) -> String {
    format!("{} · {} {}", show::word(c.verdict), c.fullest, c.full)
}

/// Whether a clutch has to be locked in this job.
fn locks(bike: &Bike) -> bool {
    bike.file.summary.kind == Kind::Convert || bike.file.summary.kind == Kind::Sister
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let (prices, shelf) = prices::load(&ctx.app)?;
        let quote = Quote::load(&ctx, &number)?;
        let rider = Doc::load(&ctx.app, &number, "rider")?;
        let title = text("page.stage.quote");
        let body = html! {
            h1 { (title) }
            @match bike.answer() {
                Err(_) => { p { (text("page.holds.mend")) } }
                Ok(judged) => {
                    @if prices.hour.is_none() { p.say { (text("office.prices.no-hour")) " " a href="/prices" { (text("page.prices.title")) } } }
                    (side_by_side(&bike, judged, &quote, &prices, &shelf))
                    @if quote.option().is_some() { (made(&ctx, &bike, judged, &quote, &rider)) }
                }
            }
        };
        Ok(layout::page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

fn side_by_side(bike: &Bike, judged: &Judged, quote: &Quote, prices: &Prices, shelf: &[Part]) -> Markup {
    let all = choices(judged);
    let taken = quote.option();
    html! {
        @match judged.check.verdict {
            Verdict::Refused => { p.say { (text("office.quote.refused")) } }
            Verdict::NotKnown => { p.say { (text("office.quote.not-known")) } p { a.plate href=(bike.at("measure")) { (text("page.stage.measure")) } } }
            _ if all.is_empty() => { p.say { (text("office.quote.nothing-fixes")) } }
            _ if !all.iter().any(Choice::holds) => { p.say { (text("office.quote.none-holds")) } }
            _ => { p.lead { (text("office.quote.lead")) } }
        }
        ul.options { @for c in &all {
            @let lines = choices::lines(&c.levers, locks(bike), prices, shelf);
            @let (sum, open) = total(&lines);
            li.option data-state=(c.verdict.token()) {
                h2 { (show::glyph(c.verdict)) " " (fill("office.quote.option", &[("letter", &c.letter.to_string())])) }
                ul { @for change in &c.changes { li { (change) } } }
                p { b { (result(c)) } }
                p { (prices.show(sum)) @if open { " " (text("office.quote.and-more")) } " · " (fill("office.quote.hours", &[("hours", &hours(&lines).to_string())])) }
                @if !c.holds() { p.quiet { (text("office.quote.not-enough")) } }
                form method="post" action=(bike.at("quote/choose")) {
                    (doc::head(&quote.doc))
                    input type="hidden" name="option" value=(c.key);
                    @let button = if taken.as_deref() == Some(c.key.as_str()) { "office.quote.take-again" } else if c.holds() { "office.quote.take" } else { "office.quote.take-against" };
                    button.plate { (fill(button, &[("letter", &c.letter.to_string())])) }
                }
            }
        } }
        @if judged.check.verdict == Verdict::Refused || judged.check.verdict == Verdict::Fails {
            p { a.plate href=(bike.at("refusal")) { (text("office.refusal.open")) } }
        }
    }
}

fn made(ctx: &Ctx, bike: &Bike, judged: &Judged, quote: &Quote, rider: &Doc) -> Markup {
    let d = &quote.doc;
    let (sum, open) = total(&quote.lines);
    let signer = rider.get("quote_signer");
    let name = signer.clone().or_else(|| rider.get("name")).unwrap_or_default();
    html! {
        h2 { (fill("office.quote.made", &[("number", &d.or_none("number")), ("letter", &d.or_none("letter"))])) }
        p { (d.or_none("result")) }
        @if d.get("against").is_some() { p.say { (text("office.quote.against")) } }
        @if let Some(now) = quote.differs(judged) { p.say role="alert" { (fill("office.quote.differs", &[("now", &now)])) } }
        (sign::shown(bike.number(), d, signer.as_deref(), &sign::digest(&quote.said())))
        form.stack method="post" action=(bike.at("quote")) {
            (doc::head(d))
            ul.rows.lines { @for l in &quote.lines { li {
                span { (l.what) }
                @let at = |key: &str| format!("lines.{}.{key}", l.id);
                (short(d, &at("count"), &text("office.key.line-count"), &l.what))
                (short(d, &at("each"), &text("office.key.line-each"), &l.what))
                b.amount { @if let Some(amount) = l.amount() { (quote.show(amount)) } @else { "—" } }
            } } }
            p.sum { (text("office.quote.sum")) " " b { (quote.show(sum)) } @if open { " " (text("office.quote.and-more")) } " · " (fill("office.quote.hours", &[("hours", &hours(&quote.lines).to_string())])) }
            details { summary { (text("office.quote.add")) }
                label { (text("office.key.line-what")) input name="new.what" maxlength="120" autocomplete="off"; }
                label { (text("office.key.line-count")) input name="new.count" maxlength="12" placeholder="1" autocomplete="off"; }
                label { (text("office.key.line-each")) input name="new.each" maxlength="12" autocomplete="off"; }
            }
            p.quiet { (text("office.quote.take-out")) }
            (doc::line(d, "deposit", &text("office.key.deposit"), ""))
            (doc::line(d, "valid_until", &text("office.key.valid_until"), "2031-05-17"))
            (doc::remark(d, "waiting", &text("office.key.waiting")))
            (doc::remark(d, "rechecks", &text("office.key.rechecks")))
            (doc::remark(d, "not_lockable", &text("office.key.not_lockable")))
            (doc::remark(d, "remark", &text("office.key.remark")))
            div.actions { button.plate.go { (text("page.measure.save")) } a.plate href=(bike.at("quote/sheet")) { (text("office.sheet.open")) } }
        }
        section.accept {
            h2 { (text("office.quote.accept")) }
            form.stack method="post" action=(bike.at("quote/accept")) {
                (doc::head(d))
                (sign::fields(&name))
                div.actions { button.plate.go { (text("office.quote.accepted")) } }
            }
            p.quiet { (text("office.quote.withdraw")) " " a href=(bike.at("history")) { (text("page.stage.history")) } }
        }
        @if let Some(next) = d.get("signed.at").map(|_| bike.at("consent")) { p { a.plate href=(next) { (text("page.stage.consent")) } } }
        @if ctx.person.who.is_empty() { p.quiet { (text("office.sign.who-are-you")) } }
    }
}

/// A short field in a line of the quote.
fn short(d: &Doc, key: &str, label: &str, what: &str) -> Markup {
    let now = d.or_none(key);
    html! {
        label.short { span { (label) } input name={ "a." (key) } value=(now) maxlength="12" inputmode=(if key.ends_with("each") { "decimal" } else { "text" }) autocomplete="off" aria-label=(format!("{label}: {what}")); }
        input type="hidden" name={ "o." (key) } value=(now);
    }
}

/// Takes a choice: its lines become the quote, with a number of its own.
pub async fn choose(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let judged = bike.judged()?;
        let (prices, shelf) = prices::load(&ctx.app)?;
        let wanted = value(&form, "option");
        let all = choices(judged);
        let choice = all.iter().find(|c| c.key == wanted).ok_or_else(|| Fail::bad(text("office.quote.gone")))?;
        let old = Doc::load(&ctx.app, &number, PART)?;
        let n = old.get("number").and_then(|n| n.rsplit_once('-')?.1.parse::<u32>().ok()).unwrap_or(0) + 1;
        let days = Duration::from_secs(u64::try_from(prices.valid_days).unwrap_or(0) * 86_400);
        let until = Timestamp::now().checked_add(days).unwrap_or_else(|_| Timestamp::now());
        let lines = choices::lines(&choice.levers, locks(&bike), &prices, &shelf);
        let deposit = prices.deposit.map(|m| m.to_string()).unwrap_or_default();
        let not_lockable = fill(
            "office.quote.not-lockable",
            &[("deposit", &prices.deposit.map_or_else(|| "—".to_owned(), |m| prices.show(m)))],
        );
        let mut edits = vec![
            Edit::put("number", format!("{number}-{n}")),
            Edit::put("option", choice.key.as_str()),
            Edit::put("letter", choice.letter.to_string()),
            Edit::put("changes", choice.changes.join("; ")),
            Edit::put("result", result(choice)),
            Edit::put("currency", prices.currency.as_str()),
            Edit::put("made_on", Timestamp::now().strftime("%Y-%m-%d").to_string()),
            Edit::put("valid_until", until.strftime("%Y-%m-%d").to_string()),
            Edit::put("deposit", deposit),
            Edit::put("waiting", prices.wait.as_str()),
            Edit::put("rechecks", prices.rechecks.as_str()),
            Edit::put("not_lockable", not_lockable),
        ];
        let undo = shelf.iter().find(|p| p.purpose == "undo");
        edits.push(Edit::put("undo_part", undo.map_or("", |p| p.name.as_str())));
        edits.push(Edit::put(
            "undo_price",
            undo.and_then(|p| Money::read(&p.price)).map_or_else(String::new, |m| m.to_string()),
        ));
        if !choice.holds() {
            edits.push(Edit::put("against", "yes"));
        }
        for l in &lines {
            let at = |key: &str| format!("lines.{}.{key}", l.id);
            edits.push(Edit::put(&at("what"), l.what.as_str()));
            edits.push(Edit::put(&at("count"), l.count.to_string()));
            edits.push(Edit::put(&at("each"), l.each.map_or_else(String::new, |m| m.to_string())));
        }
        let fresh = edit::apply("", &edits).map_err(|_| Fail::bad(text("page.our-fault")))?;
        let (from, change) = (doc::from(&form, "from", old.revision), value(&form, "change"));
        let revision = ctx.app.book.set_document(&format!("{number}/{PART}"), &fresh, from, &ctx.by(change))?;
        change::tell(&ctx, &number, revision, change);
        Ok(Redirect::to(&bike.at("quote")).into_response())
    })
    .await
}

/// Keeps what was changed in the lines and around them.
pub async fn save(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let quote = Quote::load(&ctx, &number)?;
        let mut wrong = Vec::new();
        let mut edits = doc::edits(&form, &TEXTS);
        let is_money = |text: &str| text.is_empty() || Money::read(text).is_some();
        if !is_money(value(&form, "a.deposit")) {
            wrong.push(faulty("a.deposit", "office.key.deposit", "office.quote.no-money"));
        }
        for l in &quote.lines {
            let at = |key: &str| format!("lines.{}.{key}", l.id);
            let (count, each) = (at("count"), at("each"));
            let written = value(&form, &format!("a.{count}"));
            if form.iter().any(|(k, _)| *k == format!("a.{count}")) && (written == "0" || written.is_empty()) {
                edits.push(Edit::remove(&format!("lines.{}", l.id)));
                continue;
            }
            if !written.is_empty() && Count::read(written).is_none() {
                wrong.push(faulty(&format!("a.{count}"), "office.key.line-count", "office.quote.no-count"));
            }
            if !is_money(value(&form, &format!("a.{each}"))) {
                wrong.push(faulty(&format!("a.{each}"), "office.key.line-each", "office.quote.no-money"));
            }
            edits.extend(doc::edits(&form, &[&count, &each]));
        }
        add(&form, &quote, &mut edits, &mut wrong)?;
        if !wrong.is_empty() {
            return Ok(ask_again(&ctx, &bike, &form, &wrong));
        }
        let from = doc::from(&form, "from", quote.doc.revision);
        let kept = keep(&ctx, &bike, PART, &edits, from, &form, value(&form, "change"))?;
        Ok(kept.unwrap_or_else(|| Redirect::to(&bike.at("quote")).into_response()))
    })
    .await
}

fn faulty(field: &str, label: &str, why: &str) -> Wrong {
    Wrong { field: field.to_owned(), label: text(label), why: text(why) }
}

/// A line that the form adds.
fn add(form: &Pairs, quote: &Quote, edits: &mut Vec<Edit>, wrong: &mut Vec<Wrong>) -> Result<(), Fail> {
    let what = doc::tidy(value(form, "new.what")).replace('\n', " ");
    if what.is_empty() {
        return Ok(());
    }
    if quote.lines.len() >= MOST_LINES {
        return Err(Fail::bad(fill("office.quote.too-many", &[("most", &MOST_LINES.to_string())])));
    }
    let count = Some(value(form, "new.count")).filter(|c| !c.is_empty()).unwrap_or("1");
    let each = value(form, "new.each");
    if Count::read(count).is_none() {
        wrong.push(faulty("new.count", "office.key.line-count", "office.quote.no-count"));
    }
    if !each.is_empty() && Money::read(each).is_none() {
        wrong.push(faulty("new.each", "office.key.line-each", "office.quote.no-money"));
    }
    // Its id comes from the change, so that two who add a line at once add two.
    let id: String = value(form, "change").chars().filter(char::is_ascii_alphanumeric).take(8).collect();
    let id = format!("x{}", if id.is_empty() { fresh_id()[..8].to_owned() } else { id });
    edits.push(Edit::put(&format!("lines.{id}.what"), what));
    edits.push(Edit::put(&format!("lines.{id}.count"), count));
    edits.push(Edit::put(&format!("lines.{id}.each"), each));
    Ok(())
}

/// Keeps who accepted it.
pub async fn accept(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || accepted(&ctx, &number, &form)).await
}

fn accepted(ctx: &Ctx, number: &str, form: &Pairs) -> Reply {
    let bike = Bike::load(&ctx.app, number)?;
    let quote = Quote::load(ctx, number)?;
    if quote.option().is_none() {
        return Err(Fail::bad(text("office.quote.none-yet")));
    }
    // What was read on the tablet is what is signed: a line that came in meanwhile is looked at first.
    let from = doc::from(form, "from", quote.doc.revision);
    if from != quote.doc.revision && quote.doc.or_none("signed.of") != sign::digest(&quote.said()) {
        return Err(Fail::bad(text("office.sign.moved")));
    }
    let signature = sign::read(form)?;
    let change = value(form, "change");
    let edits = sign::keep(ctx, number, PART, &signature, &sign::digest(&quote.said()), change)?;
    let kept = keep(ctx, &bike, PART, &edits, from, form, change)?;
    Ok(kept.unwrap_or_else(|| Redirect::to(&bike.at("quote")).into_response()))
}
