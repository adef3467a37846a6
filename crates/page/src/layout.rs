//! The frame of every page: head, verdict strip, rail of stages, foot.

use crate::assets;
use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::fail::work;
use crate::show;
use axum::extract::Path;
use axum::response::{Html, IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};
use quantity::text::Decimal;
use quantity::units::System;
use workbench::say;
use workbench::words::{fill, text};

/// Stages that have a page, in the order of the work: address, which is its words key too.
/// A phone's bar has room for those that are marked; the others stand behind "More".
pub const RAIL: [(&str, bool); 10] = [
    ("talk", false),
    ("papers", false),
    ("measure", true),
    ("holds", true),
    ("quote", true),
    ("consent", false),
    ("key-in", false),
    ("hill", false),
    ("back", false),
    ("history", false),
];

fn head(title: &str, dark: bool, inside: &Markup) -> Markup {
    let asset = |name: &str| format!("/assets/{name}?{}", assets::version());
    html! {
        (DOCTYPE)
        html lang="en" data-theme=(if dark { "dark" } else { "light" }) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · " (text("page.product")) }
                link rel="icon" type="image/svg+xml" href=(asset("icon.svg"));
                link rel="stylesheet" href=(asset("pictures.css"));
                link rel="stylesheet" href=(asset("page.css"));
                link rel="stylesheet" media="print" href=(asset("print.css"));
                script defer src=(asset("page.js")) {}
            }
            (inside)
        }
    }
}

/// A page without anything of the workbench around it: the door, and failures.
pub fn bare(title: &str, body: &Markup) -> Html<String> {
    let inside = html! { body.bare { main #main tabindex="-1" { (body) } } };
    Html(head(title, false, &inside).into_string())
}

/// A page of the workbench.
pub fn page(ctx: &Ctx, title: &str, bike: Option<&Bike>, body: &Markup) -> Response {
    let stage = ctx.here.split('/').nth(3).unwrap_or("").split('?').next().unwrap_or("");
    let inside = html! {
        body data-job=[bike.map(Bike::number)] data-revision=[bike.map(|b| b.file.revision)]
            data-lost=(text("page.lost")) data-unsent=(text("page.unsent")) data-sent=(text("page.sent"))
            data-was=(text("page.was")) data-others=(text("page.others")) data-refused=(text("page.refused-later")) {
            a.skip href="#main" { (text("page.skip")) }
            @if ctx.app.options.demo { p.demo { (text("page.demo-banner")) } }
            header.top {
                a.home href="/" aria-label=(text("page.stand.title")) { (mark()) span { (text("page.stand.title")) } }
                @if let Some(bike) = bike {
                    a.bike href=(bike.at("holds")) { b { (bike.number()) } " " span { (bike.file.summary.title) } }
                }
                a.who href={ "/you?then=" (ctx.here) } { (if ctx.person.who.is_empty() { text("page.you.nobody") } else { ctx.person.who.clone() }) }
            }
            div #link-lost role="status" {}
            @if let Some(bike) = bike { (strip(ctx, bike)) }
            div #said role="status" aria-live="polite" {}
            div class=(if bike.is_some() { "frame" } else { "frame alone" }) {
                @if let Some(bike) = bike { (rail(bike, stage)) }
                main #main tabindex="-1" { (body) }
            }
            footer.foot {
                nav aria-label=(text("page.more")) {
                    a href="/" { (text("page.stand.title")) }
                    a href="/due" { (text("page.due.title")) }
                    a href="/sums" { (text("page.sums.title")) }
                    a href="/shelf" { (text("page.shelf.title")) }
                    a href="/prices" { (text("page.prices.title")) }
                    a href="/rack" { (text("page.rack.title")) }
                    a href="/rules" { (text("page.rules.title")) }
                    a href="/help" { (text("page.cards.title")) }
                    a href="/pair" { (text("page.pair.title")) }
                }
                p { (text("page.advice")) }
            }
        }
    };
    Html(head(title, ctx.person.dark, &inside).into_string()).into_response()
}

/// Two plates of a chain and a nut: our mark.
fn mark() -> Markup {
    html! {
        svg.mark viewBox="0 0 44 28" width="44" height="28" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="3" {
            rect x="2" y="6" width="26" height="16" rx="8" {}
            rect x="16" y="6" width="26" height="16" rx="8" {}
            circle cx="22" cy="14" r="2.5" fill="currentColor" stroke="none" {}
        }
    }
}

fn rail(bike: &Bike, here: &str) -> Markup {
    html! {
        nav.rail aria-label=(text("page.rail")) {
            @for (path, bar) in RAIL {
                a.fold[!bar] href=(bike.at(path)) aria-current=[(path == here).then_some("page")] {
                    svg.dot viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" { circle cx="8" cy="8" r="6" {} }
                    span { (text(&format!("page.stage.{path}"))) }
                }
            }
            @let folded = RAIL.iter().any(|(path, bar)| *path == here && !bar);
            a.more href=(bike.at("stages")) data-folded[folded] aria-current=[(here == "stages").then_some("page")] {
                svg.dot viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" { circle cx="8" cy="8" r="6" {} }
                span { (text("page.more")) }
            }
        }
    }
}

/// All stages as a list: what a phone's bar has no room for.
pub async fn stages(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let title = text("page.all-stages");
        let body = html! {
            h1 { (title) }
            ul.rows { @for (path, _) in RAIL { li { a href=(bike.at(path)) { (text(&format!("page.stage.{path}"))) } } } }
        };
        Ok(page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

/// The verdict on top of every page of a bike.
pub fn strip(ctx: &Ctx, bike: &Bike) -> Markup {
    match bike.answer() {
        Ok(judged) => {
            let check = &judged.check;
            let (known, assumed) = Bike::counts(judged);
            html! {
                a.strip #strip href=(bike.at("holds")) data-state=(check.verdict.token()) {
                    (show::glyph(check.verdict))
                    b { (show::word(check.verdict)) }
                    span #sentence data-speak { (reason(ctx, judged)) }
                    span.quiet { (fill("page.known", &[("known", &known.to_string()), ("assumed", &assumed.to_string())])) }
                }
            }
        }
        Err(errors) => html! {
            div.strip #strip data-state="not-known" role="alert" {
                (show::glyph(workbench::check::Verdict::NotKnown))
                b { (text("page.does-not-fit")) }
                ul #sentence data-speak { @for e in errors.iter().take(3) { li { (e.message) @if !e.hint.is_empty() { ": " (e.hint) } } } }
            }
        },
    }
}

/// The result in one sentence, with what the axle does.
pub fn reason(ctx: &Ctx, judged: &crate::answer::Judged) -> String {
    let check = &judged.check;
    let mut out = match check.refused.first() {
        Some(rule) => rule.sentence.clone(),
        None => {
            let whole = say::headline(check);
            // The word stands beside it already.
            let word = format!("{}. ", show::word(check.verdict));
            whole.strip_prefix(&word).map_or(whole.clone(), str::to_owned)
        }
    };
    if let (Some(state), true) = (check.state, check.refused.is_empty())
        && state > workbench::check::State::Still
    {
        let degrees = check.rocks_degrees.map(|d| format!(" ({}°)", show::number(d, &ctx.person))).unwrap_or_default();
        out = format!("{} {}{degrees}. {out}", text("page.the-axle"), text(&format!("state.{}", state.token())));
    }
    out
}

/// What a form carries so that sending it twice does it once, and others' changes are not lost.
pub fn form_head(change: &str, revision: i64) -> Markup {
    html! {
        input type="hidden" name="change" value=(change);
        input type="hidden" name="from" value=(revision);
    }
}

/// The habits as words for a form.
pub fn habits(units: System, decimal: Decimal) -> (&'static str, &'static str) {
    (
        if units == System::Imperial { "imperial" } else { "metric" },
        if decimal == Decimal::Comma { "comma" } else { "point" },
    )
}
