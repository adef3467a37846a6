//! Measure up: the walk, one card a group, and the quick path.

use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::drawn::Shown;
use crate::fail::{Fail, work};
use crate::field::{self, Size};
use crate::layout::{self, form_head};
use crate::show;
use crate::walk::{self, Group, QUICK, WALK};
use axum::Form;
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::edit::{self, Edit};
use maud::{Markup, html};
use workbench::fact::{self, FactId};
use workbench::words::{fill, text};

/// Remarks beside the numbers, one a group.
fn remarks(ctx: &Ctx, number: &str) -> Result<(i64, String), Fail> {
    let doc = ctx.app.book.document(&format!("{number}/walk"))?;
    Ok(doc.map_or((0, String::new()), |d| (d.revision, d.text)))
}

fn remark(text: &str, n: u8) -> String {
    edit::parse(text).ok().and_then(|d| edit::plain(&d, &format!("q{n:02}"))).unwrap_or_default()
}

/// How far a group is.
fn done(bike: &Bike, g: &Group, said: &str) -> (usize, usize) {
    let ids: Vec<FactId> = g.facts.iter().flat_map(|p| walk::expand(p, bike.arms())).collect();
    if ids.is_empty() {
        return (usize::from(!said.is_empty()), 1);
    }
    let Ok(doc) = edit::parse(&bike.file.text) else { return (0, ids.len()) };
    // What is only assumed, as on a sister bike, is not found out yet.
    let found = |text: String| !text.rsplit_once(',').is_some_and(|(_, tail)| tail.trim_start().starts_with("assumed"));
    let known = ids.iter().filter(|id| edit::plain(&doc, &fact::describe(**id).1).is_some_and(found)).count();
    (known, ids.len())
}

/// The walk.
pub async fn all(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let (_, said) = remarks(&ctx, &number)?;
        let body = html! {
            h1 { (text("page.stage.measure")) }
            p.lead { (text("page.measure.lead")) }
            (of_kind(&bike))
            p { a.plate.go href=(bike.at("measure/quick/1")) { (text("page.measure.quick")) } }
            @for stop in 'A'..='I' {
                section.stop {
                    h2 { (text(&format!("page.stop.{}", stop.to_ascii_lowercase()))) }
                    ul.groups { @for g in WALK.iter().filter(|g| g.stop == stop) {
                        @let (known, all) = done(&bike, g, &remark(&said, g.n));
                        li { a href=(bike.at(&format!("measure/{}", g.n))) {
                            (ring(known, all))
                            span { (g.n) " " (text(&format!("page.group.g{}", g.n))) @if g.quick { " " abbr.star title=(text("page.measure.star")) { "★" } } }
                            span.quiet { (known) "/" (all) }
                        } }
                    } }
                }
            }
        };
        Ok(layout::page(&ctx, &text("page.stage.measure"), Some(&bike), &body))
    })
    .await
}

/// Why the bike is here, where that changes what is asked.
fn of_kind(bike: &Bike) -> Markup {
    let kind = bike.file.summary.kind;
    let other = bike.file.summary.of.as_deref();
    html! {
        @if kind != jobbook::Kind::Convert { p.say { (text(&format!("page.kind.{}.lead", kind.token()))) } }
        @if let Some((n, from)) = crate::sister::taken_over(bike) {
            p { (fill("page.kind.taken-over", &[("n", &n.to_string()), ("bike", &from)])) }
        }
        @if let Some(of) = other { p { a href={ "/bikes/" (of) "/holds" } { (fill("page.kind.other", &[("bike", of)])) } } }
    }
}

/// What a question asks besides, for this kind of job.
fn kind_note(bike: &Bike, n: u8) -> Option<String> {
    let kind = bike.file.summary.kind.token();
    workbench::words::find(&format!("page.kind.{kind}.g{n}")).map(str::to_owned)
}

/// Empty, half or full ring; the words beside it say the same.
fn ring(known: usize, all: usize) -> Markup {
    html! {
        svg.ring viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.5" {
            circle cx="12" cy="12" r="9" {}
            @if known >= all { path d="M7,12 l4,4 l7,-8" {} }
            @else if known > 0 { path d="M12,3 a9,9 0 0 1 0,18 Z" fill="currentColor" stroke="none" {} }
        }
    }
}

/// One group.
pub async fn group(ctx: Ctx, Path((number, n)): Path<(String, String)>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let g = n.parse().ok().and_then(walk::group).ok_or_else(Fail::nothing_here)?;
        let (revision, said) = remarks(&ctx, &number)?;
        let expand = |patterns: &[&str]| -> Vec<FactId> { patterns.iter().flat_map(|p| walk::expand(p, bike.arms())).collect() };
        let (main, more) = (expand(g.facts), expand(g.more));
        let next = if g.n < 44 { bike.at(&format!("measure/{}", g.n + 1)) } else { bike.at("holds") };
        let both: Vec<FactId> = main.iter().chain(&more).copied().collect();
        let title = text(&format!("page.group.g{}", g.n));
        let mut shown = Shown::default();
        let mut fields = |ids: &[FactId]| -> Vec<Markup> {
            ids.iter().map(|id| shown.beside(*id, &field::one(&ctx, &bike, *id, Size::Full))).collect()
        };
        let (main_fields, more_fields) = (fields(&main), fields(&more));
        let of_cards = shown.of_cards(g.cards);
        let body = html! {
            nav.along aria-label=(text("page.walk")) {
                @if g.n > 1 { a.plate href=(bike.at(&format!("measure/{}", g.n - 1))) { "‹ " (g.n - 1) } }
                a.plate href=(bike.at("measure")) { (text("page.measure.all")) }
                a.plate href=(next) { (if g.n < 44 { g.n + 1 } else { 44 }) " ›" }
            }
            h1 { span.count { (g.n) "/44" } " " (title) }
            @if let Some(note) = kind_note(&bike, g.n) { p.say { (note) } }
            @if g.n == 28 { (arms(&bike)) }
            @if g.n == 31 { form method="post" action=(bike.at("as-left")) {
                (form_head(&fresh_id(), bike.file.revision)) input type="hidden" name="then" value=(ctx.here);
                button.plate { (text("page.measure.as-left")) }
            } }
            (of_cards)
            @if both.is_empty() { (crate::cards::helpers(&bike, g.cards)) }
            @if !both.is_empty() {
                form.question method="post" action=(bike.at("facts")) {
                    (form_head(&fresh_id(), bike.file.revision))
                    input type="hidden" name="then" value=(next);
                    (crate::cards::helpers(&bike, g.cards))
                    @for f in &main_fields { (f) }
                    @if main.iter().chain(&more).any(|id| !crate::link::is_choice(*id)) { (field::sources(&bike, &main)) }
                    @if !more.is_empty() { details.more { summary { (text("page.measure.more")) } @for f in &more_fields { (f) } } }
                    (actions())
                }
            }
            form.question method="post" action=(bike.at("remarks")) {
                (form_head(&fresh_id(), revision))
                input type="hidden" name="then" value=(ctx.here);
                input type="hidden" name="group" value=(g.n);
                label { (text("page.measure.remark")) textarea name="remark" rows="2" maxlength="2000" { (remark(&said, g.n)) } }
                button.plate { (text("page.measure.save-remark")) }
            }
            (crate::photos::of_question(&ctx, &bike, g.n)?)
        };
        Ok(layout::page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

/// The same three answers everywhere: number, don't know, skip.
fn actions() -> Markup {
    html! {
        div.actions {
            button.plate.go name="do" value="save" { (text("page.measure.save")) }
            button.plate name="do" value="unknown" { (text("page.measure.unknown")) }
            button.plate name="do" value="skip" formaction="" formmethod="get" data-skip { (text("page.measure.skip")) }
        }
    }
}

fn arms(bike: &Bike) -> Markup {
    html! {
        form.question method="post" action=(bike.at("facts")) {
            (form_head(&fresh_id(), bike.file.revision))
            input type="hidden" name="then" value=(bike.at("measure/28"));
            (arm_tiles(bike))
            button.plate { (text("page.measure.set-arms")) }
        }
    }
}

fn arm_tiles(bike: &Bike) -> Markup {
    html! { @for side in ["left", "right"] { (arm_side(bike, side)) } }
}

fn arm_side(bike: &Bike, side: &str) -> Markup {
    let here =
        (1..=bike.arms()).find(|i| field::written(bike, &format!("arm.{i}.side")).is_some_and(|s| s.starts_with(side)));
    let kind = here.and_then(|i| field::written(bike, &format!("arm.{i}.kind")));
    let now = kind.map_or_else(|| "none".to_owned(), |k| k.split(',').next().unwrap_or("").to_owned());
    html! {
        fieldset.fact {
            legend { (text(&format!("page.arms.{side}"))) }
            div.tiles role="group" { @for kind in ["none", "slotted", "pinching"] {
                label.tile { input type="radio" name={ "f.arms." (side) } value=(kind) checked[now == kind]; span { (text(&format!("page.arms.{kind}"))) } }
            } }
            input type="hidden" name={ "o.arms." (side) } value=(now);
        }
    }
}

/// One question of the quick path.
pub async fn quick(ctx: Ctx, Path((number, k)): Path<(String, String)>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let k: usize = k.parse().unwrap_or(0);
        let Some(q) = k.checked_sub(1).and_then(|i| QUICK.get(i)) else {
            return Ok(Redirect::to(&bike.at("holds")).into_response());
        };
        let next = if k < QUICK.len() { bike.at(&format!("measure/quick/{}", k + 1)) } else { bike.at("quick-result") };
        let find =
            |joined: &str| -> Vec<FactId> { joined.split('+').filter_map(|n| fact::find(n, bike.arms())).collect() };
        let ids: Vec<FactId> = q.facts.iter().filter_map(|j| find(j).first().copied()).collect();
        let title = text(&format!("page.quick.{}", q.key));
        let mut shown = Shown::default();
        let mut asked = |joined: &str| match (joined.strip_prefix("arms."), find(joined).as_slice()) {
            (Some(side), _) => arm_side(&bike, side),
            (None, all @ [first, ..]) => shown.beside(*first, &field::joined(&ctx, &bike, joined, all, Size::Quick)),
            (None, []) => html! {},
        };
        let body = html! {
            form.question.quick method="post" action=(bike.at("facts")) {
                (form_head(&fresh_id(), bike.file.revision))
                input type="hidden" name="then" value=(next);
                h1 { span.count { (k + 1) "/12" } " " (title) }
                @for joined in q.facts { (asked(joined)) }
                @if q.tool { (field::sources(&bike, &ids)) }
                (actions())
            }
        };
        Ok(layout::page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

/// What twelve questions came to, with its own honesty line.
pub async fn quick_result(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let judged = bike.judged()?;
        let advice = judged.advice();
        let (known, assumed) = Bike::counts(judged);
        let minutes: f64 = advice.measure.iter().filter_map(|m| m.minutes).sum();
        let n = |x: usize| x.to_string();
        let best = advice.fixes.last();
        let body = html! {
            section.verdict data-state=(judged.check.verdict.token()) {
                (show::axle_sign(judged.check.state))
                div {
                    p.word { (show::word(judged.check.verdict)) }
                    p { (layout::reason(&ctx, judged)) }
                    p { (fill("page.quick.honest", &[("known", &n(known)), ("assumed", &n(assumed))])) }
                }
            }
            @if let Some(fix) = best {
                p.lead { (text("page.quick.with")) " "
                    @for (i, c) in fix.changes.iter().enumerate() { @if i > 0 { ", " } (fill(&format!("lever.{}", c.key), &[("value", &c.value)])) }
                    ": " b { (show::word(fix.verdict)) } }
            }
            @if !advice.measure.is_empty() {
                p { (fill("page.quick.to-be-sure", &[("minutes", &show::number(minutes, &ctx.person))])) }
                ul.rows { @for m in advice.measure.iter().take(6) { li {
                    a href=(m.facts.first().map_or_else(|| bike.at("measure"), |f| walk::address(&bike, *f))) { (text(&format!("card.{}.title", m.card))) }
                    @if let Some(x) = m.minutes { span.quiet { (fill("app.minutes", &[("n", &show::number(x, &ctx.person))])) } }
                } } }
            }
            div.actions { a.plate.go href=(bike.at("holds")) { (text("page.stage.holds")) } a.plate href=(bike.at("measure")) { (text("page.stage.measure")) } }
        };
        Ok(layout::page(&ctx, &text("page.quick.title"), Some(&bike), &body))
    })
    .await
}

/// Keeps a remark.
pub async fn save_remark(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let n: u8 =
            value(&pairs, "group").parse().ok().filter(|n| walk::group(*n).is_some()).ok_or_else(Fail::nothing_here)?;
        let said: String = value(&pairs, "remark").chars().take(2000).collect();
        let from = value(&pairs, "from").parse().unwrap_or(0);
        let key = format!("q{n:02}");
        let edit = if said.is_empty() { Edit::remove(&key) } else { Edit::put(&key, said.as_str()) };
        let revision =
            ctx.app.book.set_values(&format!("{number}/walk"), &[edit], from, &ctx.by(value(&pairs, "change")))?;
        change::tell(&ctx, &number, revision, value(&pairs, "change"));
        let then = crate::ctx::own_path(value(&pairs, "then"), &bike.at("measure"));
        Ok(Redirect::to(&then).into_response())
    })
    .await
}
