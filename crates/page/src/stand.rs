//! The stand: what is on the bench, what to do next, a new bike.

use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, Reply, work};
use crate::layout;
use crate::person::tidy;
use crate::shop::ShopTexts;
use crate::show;
use axum::Form;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::{Kind, NewJob};
use maud::{Markup, html};
use workbench::check::Verdict;
use workbench::kinds;
use workbench::words::{fill, text};

/// The first page.
pub async fn stand(ctx: Ctx) -> Response {
    work(move || {
        let jobs = ctx.app.book.jobs()?;
        let mut bikes = Vec::new();
        for s in &jobs {
            let file = ctx.app.book.job(&s.number)?;
            let shop = ShopTexts::load(&ctx.app)?;
            bikes.push(Bike::judge(&ctx.app, file, shop));
        }
        let waiting = |b: &&Bike| b.answer().is_ok_and(|j| j.check.verdict == Verdict::NotKnown);
        let out = crate::after::out(&ctx.app)?;
        let calls = crate::due::on_the_stand(&ctx, &out);
        // A bike that its rider has is not on the bench.
        let away = |b: &Bike| out.iter().any(|o| o.number == b.number() && o.is_away());
        let (away, bikes): (Vec<Bike>, Vec<Bike>) = bikes.into_iter().partition(away);
        let body = html! {
            div.headline { h1 { (text("page.stand.title")) } a.plate.go href="/new" { "+ " (text("page.new.title")) } }
            @if bikes.is_empty() && away.is_empty() {
                section.doors {
                    a.door href="/new" { b { (text("page.new.title")) } span { (text("page.stand.first")) } }
                    @if !ctx.app.options.demo { p.quiet { (text("page.stand.demo")) } }
                }
            } @else {
                h2 { (text("page.stand.bench")) }
                ul.cards { @for b in &bikes { li { (card(&ctx, b)) } } }
            }
            @if !away.is_empty() {
                details { summary { (fill("page.stand.away", &[("n", &away.len().to_string())])) }
                    ul.rows { @for b in &away { li { a href=(b.at("back")) { b { (b.number()) } " " (b.file.summary.title) } } } }
                }
            }
            (calls)
            @if bikes.iter().any(|b| waiting(&b)) {
                h2 { (text("page.stand.waiting")) }
                ul.rows { @for b in bikes.iter().filter(waiting) { li {
                    a href=(b.at("measure")) { b { (b.number()) } " " (b.file.summary.title) }
                    @if let Ok(j) = b.answer() { span.quiet { (fill("page.stand.missing", &[("n", &j.check.missing().len().to_string())])) } }
                } } }
            }
        };
        Ok(layout::page(&ctx, &text("page.stand.title"), None, &body))
    })
    .await
}

/// A bike on the bench; its whole face leads to the next thing to do.
fn card(ctx: &Ctx, bike: &Bike) -> Markup {
    let (state, glyph, word, sentence, next, to) = match bike.answer() {
        Ok(j) => {
            let v = j.check.verdict;
            let (next, to) = next(bike, v, j.check.missing().first().copied());
            (v.token(), show::glyph(v), show::word(v), layout::reason(ctx, j), next, to)
        }
        Err(_) => (
            "not-known",
            show::glyph(Verdict::NotKnown),
            text("page.does-not-fit"),
            String::new(),
            text("page.next.mend"),
            bike.at("holds"),
        ),
    };
    html! {
        a.card href=(to) data-state=(state) {
            p.name { b { (bike.number()) } " " (bike.file.summary.title) }
            p.word { (glyph) (word) }
            p { (sentence) }
            p.next { b { (text("page.next.title")) } " " (next) }
        }
    }
}

fn next(bike: &Bike, v: Verdict, missing: Option<workbench::fact::FactId>) -> (String, String) {
    match (v, missing) {
        (Verdict::NotKnown, Some(id)) => {
            (fill("page.next.measure", &[("fact", &workbench::say::fact_name(id))]), crate::walk::address(bike, id))
        }
        (Verdict::Fails | Verdict::NotKnown, _) => (text("page.next.fix"), bike.at("holds")),
        (Verdict::Refused, _) => (text("page.next.call"), bike.at("holds")),
        (Verdict::Holds | Verdict::Marginal, _) => (text("page.next.holds"), bike.at("holds")),
    }
}

/// A new bike: one picture, one touch.
pub async fn new(ctx: Ctx) -> Response {
    work(move || new_page(&ctx)).await
}

fn new_page(ctx: &Ctx) -> Reply {
    let change = fresh_id();
    let others = ctx.app.book.jobs()?;
    let body = html! {
        form.question.quick method="post" action="/new" {
            input type="hidden" name="change" value=(change);
            h1 { span.count { "1/12" } " " (text("page.new.which")) }
            label { (text("page.new.name")) input name="name" maxlength="80" autocomplete="off" placeholder=(text("page.new.name-like")); }
            fieldset.fact { legend { (text("page.new.why")) } div.tiles {
                @for (i, k) in Kind::ALL.iter().enumerate() { @if *k != Kind::Sister {
                    label.tile { input type="radio" name="why" value=(k.token()) checked[i == 0]; span { (text(&format!("page.why.{}", k.token()))) } }
                } }
            } }
            fieldset.fact { legend { (text("page.new.hub")) }
                div.hubs { @for kind in kinds::KINDS { button.hub name="kind" value=(kind) { (hub(kind)) span { (text(&format!("page.hub.{kind}"))) } } } }
            }
        }
        @if !others.is_empty() {
            details { summary { (text("page.why.sister")) }
                form.stack method="post" action="/new" {
                    input type="hidden" name="change" value=(fresh_id());
                    input type="hidden" name="why" value=(Kind::Sister.token());
                    p { (text("page.new.sister-how")) }
                    label { (text("page.new.sister-of")) select name="of" { @for j in &others { option value=(j.number) { (j.number) " " (j.title) } } } }
                    label { (text("page.new.name")) input name="name" maxlength="80" autocomplete="off"; }
                    button.plate.go { (text("page.new.put")) }
                }
            }
        }
        details { summary { (text("page.new.file")) }
            form.stack method="post" action="/new/file" enctype="multipart/form-data" {
                input type="file" name="file" accept=".toml,text/plain" required;
                button.plate { (text("page.new.put")) }
            }
        }
    };
    Ok(layout::page(ctx, &text("page.new.title"), None, &body))
}

/// The five kinds of hub, drawn by size, place and gears.
fn hub(kind: &str) -> Markup {
    let (wheel, hub, gears) = match kind {
        "town" => (34, 8, true),
        "hill" => (34, 13, true),
        "hauler" => (24, 13, true),
        "front" => (34, 8, true),
        _ => (34, 19, false),
    };
    html! {
        svg viewBox="0 0 120 80" width="120" height="80" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.5" {
            @let x = if kind == "front" { 82 } else { 38 };
            circle cx=(x) cy="42" r=(wheel) {}
            circle cx=(x) cy="42" r=(hub) stroke-width="4" {}
            @if gears { circle cx=(x) cy="42" r="3" fill="currentColor" {} @for (dx, dy) in [(-5, 3), (5, 3), (0, -6)] { circle cx=(x + dx) cy=(42 + dy) r="2.5" stroke-width="1.5" {} } }
            @else { @for i in 0..8 { path d=(format!("M{x},42 m0,-8 v-8")) transform=(format!("rotate({} {x} 42)", i * 45)) stroke-width="2" {} } }
            @if kind == "front" { path d="M82,42 L66,4 H58 M66,4 L40,30" {} } @else { path d="M38,42 L66,18 L90,18 M66,18 L70,50 L38,42" {} }
            @if kind == "hauler" { path d="M8,14 H58 M14,14 v-8 h30 v8" {} }
        }
    }
}

/// Puts it on the stand.
pub async fn create(ctx: Ctx, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let kind = value(&pairs, "kind");
        let why = Kind::read(value(&pairs, "why")).unwrap_or(Kind::Convert);
        if why == Kind::Sister {
            return sister(&ctx, &pairs);
        }
        if !kinds::KINDS.contains(&kind) {
            return Err(Fail::bad(text("page.new.which")));
        }
        let name = tidy(value(&pairs, "name"));
        let name = if name.is_empty() { text("page.new.unnamed") } else { name };
        let mut start = format!("number = \"0000\"\nname = \"\"\nkind = \"{kind}\"\none_in = 1000\n");
        if kind == "front" {
            start.push_str("\n[motor]\nposition = \"front, measured\"\n");
        }
        // Both came with a locked hub; it is judged as it is.
        if matches!(why, Kind::FoundLocked | Kind::Undo) {
            start.push_str(if kind == "front" {
                "clutch = \"locked, measured\"\n"
            } else {
                "\n[motor]\nclutch = \"locked, measured\"\n"
            });
        }
        let edit = [jobbook::Edit::put("name", name.as_str())];
        let start = jobbook::edit::apply(&start, &edit).map_err(|_| Fail::nothing_here())?;
        let change = value(&pairs, "change");
        let number = ctx.app.book.new_job(&NewJob { kind: why, of: None, text: &start }, &ctx.by(change))?;
        change::tell(&ctx, "", 0, change);
        Ok(Redirect::to(&format!("/bikes/{number}/measure/quick/1")).into_response())
    })
    .await
}

/// A bike like another one: its build, as on that bike until it is measured here.
fn sister(ctx: &Ctx, pairs: &Pairs) -> Reply {
    let of = Bike::load(&ctx.app, value(pairs, "of"))?;
    let name = tidy(value(pairs, "name"));
    let name = if name.is_empty() { fill("page.new.sister-name", &[("bike", of.number())]) } else { name };
    let start = crate::sister::text(&of, &name).ok_or_else(Fail::nothing_here)?;
    let change = value(pairs, "change");
    let new = NewJob { kind: Kind::Sister, of: Some(of.number()), text: &start };
    let number = ctx.app.book.new_job(&new, &ctx.by(change))?;
    change::tell(ctx, "", 0, change);
    Ok(Redirect::to(&format!("/bikes/{number}/measure")).into_response())
}
