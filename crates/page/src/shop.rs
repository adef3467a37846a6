//! The shop's own pages: who works here, tool rack, house rules, parts shelf.

use crate::app::App;
use crate::change::{Pairs, value};
use crate::ctx::{Ctx, fresh_id, own_path};
use crate::fail::{Fail, Reply, work};
use crate::layout::{self, form_head};
use crate::office::prices;
use crate::person::{packed, tidy};
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::http::header::SET_COOKIE;
use axum::response::{AppendHeaders, IntoResponse, Redirect, Response};
use intake::{Diagnostic, Shop, render};
use maud::{Markup, html};
use workbench::rules::Effect;
use workbench::words::{fill, text};

/// Texts that a shop brings to each of its jobs.
pub struct ShopTexts {
    /// Both texts, as they are kept.
    pub own: String,
    /// Rack and rules, read.
    pub shop: Shop,
}

impl ShopTexts {
    /// Loads them. A text that became unreadable (it was checked when it was kept) counts as not there.
    pub fn load(app: &App) -> Result<Self, Fail> {
        let text = |name: &str| Ok::<String, Fail>(app.book.document(name)?.map_or_else(String::new, |d| d.text));
        let (rack, rules) = (text("rack")?, text("rules")?);
        let shop = Shop {
            rack: intake::read_rack(&rack).unwrap_or_default(),
            rules: intake::read_rules(&rules).unwrap_or_default(),
        };
        Ok(Self { own: format!("{rack}\0{rules}"), shop })
    }
}

/// Which text of the shop a page is about.
struct Text {
    name: &'static str,
    check: fn(&str) -> Result<(), Vec<Diagnostic>>,
}

const RACK: Text = Text { name: "rack", check: |t| intake::read_rack(t).map(drop) };
const RULES: Text = Text { name: "rules", check: |t| intake::read_rules(t).map(drop) };
const PRICES: Text = Text { name: "prices", check: |t| prices::read(t).map(drop) };
const SHELF: Text = Text { name: "shelf", check: |_| Ok(()) };

/// The tool rack.
pub async fn rack(ctx: Ctx) -> Response {
    work(move || {
        let shop = ShopTexts::load(&ctx.app)?;
        let list = html! {
            ul.rows { @for t in &shop.shop.rack { li {
                b { (t.id) } span { (t.name) }
                span.quiet { (class(&ctx, t)) @if t.shares_error { " · " (text("page.rack.shares")) } }
            } } }
        };
        edit_page(&ctx, &RACK, &list)
    })
    .await
}

fn class(ctx: &Ctx, t: &workbench::fact::Tool) -> String {
    let mut parts = Vec::new();
    if t.share > 0.0 {
        parts.push(format!("± {} %", crate::show::number(t.share * 100.0, &ctx.person)));
    }
    if let Some((si, kind)) = &t.absolute {
        let unit = quantity::units::preferred_unit(kind, ctx.person.units);
        let shown = unit.map_or_else(String::new, |u| {
            format!("{} {}", crate::show::number(u.difference_from_si(*si), &ctx.person), u.symbol)
        });
        parts.push(format!("± {shown}"));
    }
    parts.join(" ")
}

/// The house rules.
pub async fn rules(ctx: Ctx) -> Response {
    work(move || {
        let shop = ShopTexts::load(&ctx.app)?;
        let of = |effect: Effect| shop.shop.rules.rules.iter().filter(move |r| r.effect == effect);
        let list = html! {
            @for (effect, key) in [(Effect::Refuse, "refuse"), (Effect::Caution, "caution")] {
                h2 { (text(&format!("page.rules.{key}"))) }
                ul.rows { @for r in of(effect) { li { span { (r.sentence) } span.quiet { (r.id) } } } }
            }
            @if !shop.shop.rules.without.is_empty() { p { (fill("page.rules.without", &[("ids", &shop.shop.rules.without.join(", "))])) } }
        };
        edit_page(&ctx, &RULES, &list)
    })
    .await
}

/// Prices, hours, and what stands on the shop's papers.
pub async fn prices(ctx: Ctx) -> Response {
    work(move || {
        let (p, _) = prices::load(&ctx.app)?;
        let rows = |all: &[prices::Entry]| {
            html! { ul.rows { @for e in all { li {
                b { (e.what) } span { (e.count) } span.quiet { @if let Some(each) = e.each { (p.show(each)) } @if !e.purpose.is_empty() { " · " (fill("office.prices.only-for", &[("for", &e.purpose)])) } }
            } } } }
        };
        let list = html! {
            p { b { (p.shop_name()) } @for part in p.shop.iter().skip(1).filter(|s| !s.is_empty()) { " · " (part) } }
            @if p.hour.is_none() { p.say { (text("office.prices.no-hour")) } }
            h2 { (text("office.prices.work")) } (rows(&p.work))
            h2 { (text("office.prices.items")) } (rows(&p.items))
        };
        edit_page(&ctx, &PRICES, &list)
    })
    .await
}

/// The parts shelf.
pub async fn shelf(ctx: Ctx) -> Response {
    work(move || {
        let doc = ctx.app.book.document("shelf")?.map_or_else(String::new, |d| d.text);
        let parts = crate::shelf::parts(&doc);
        edit_page(&ctx, &SHELF, &crate::shelf::list(&ctx, &parts)?)
    })
    .await
}

fn edit_page(ctx: &Ctx, which: &Text, list: &Markup) -> Reply {
    let doc = ctx.app.book.document(which.name)?;
    let (revision, kept) = doc.map_or((0, String::new()), |d| (d.revision, d.text));
    let title = text(&format!("page.{}.title", which.name));
    let body = html! {
        h1 { (title) }
        p.lead { (text(&format!("page.{}.lead", which.name))) }
        (list)
        (editor(which.name, &kept, revision, ""))
    };
    Ok(layout::page(ctx, &title, None, &body))
}

fn editor(name: &str, kept: &str, revision: i64, wrong: &str) -> Markup {
    html! {
        details.editor open[!wrong.is_empty()] {
            summary { (text("page.edit-text")) }
            @if !wrong.is_empty() { pre.say role="alert" { (wrong) } }
            form.stack method="post" action={ "/shop/" (name) } {
                (form_head(&fresh_id(), revision))
                textarea.text name="text" rows="16" spellcheck="false" aria-label=(text("page.edit-text")) { (kept) }
                button.plate.go { (text("page.measure.save")) }
            }
            p.quiet { (text(&format!("page.{name}.how"))) }
        }
    }
}

/// Keeps a text of the shop, if it can be read.
pub async fn save(ctx: Ctx, Path(name): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let which = [RACK, RULES, SHELF, PRICES].into_iter().find(|t| t.name == name).ok_or_else(Fail::nothing_here)?;
        let written = pairs.iter().find(|(k, _)| k == "text").map_or("", |(_, v)| v.as_str()).replace("\r\n", "\n");
        let from = value(&pairs, "from").parse().unwrap_or(0);
        if let Err(errors) = (which.check)(&written) {
            let title = text(&format!("page.{}.title", which.name));
            let body =
                html! { h1 { (title) } (editor(which.name, &written, from, &render(which.name, &written, &errors))) };
            let mut page = layout::page(&ctx, &title, None, &body);
            *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            return Ok(page);
        }
        let revision = ctx.app.book.set_document(which.name, &written, from, &ctx.by(value(&pairs, "change")))?;
        crate::change::tell(&ctx, "", revision, value(&pairs, "change"));
        Ok(Redirect::to(&format!("/{}", which.name)).into_response())
    })
    .await
}

/// Who holds this device, and how they like numbers.
pub async fn you(ctx: Ctx) -> Response {
    let then = ctx.here.split_once("then=").map_or("/", |(_, t)| t).to_owned();
    let (units, decimal) = layout::habits(ctx.person.units, ctx.person.decimal);
    let choice = |name: &'static str, value: &'static str, now: &str| {
        html! { label.tile { input type="radio" name=(name) value=(value) checked[now == value]; span { (text(&format!("page.you.{value}"))) } } }
    };
    let body = html! {
        h1 { (text("page.you.title")) }
        form.stack method="post" action="/you" {
            input type="hidden" name="then" value=(then);
            label { (text("page.you.name")) input name="who" maxlength="40" value=(ctx.person.who) autocomplete="off" placeholder=(text("page.you.name-like")); }
            label { (text("page.pair.device")) input name="device" maxlength="40" value=(ctx.person.device) autocomplete="off" placeholder=(text("page.pair.device-like")); }
            fieldset { legend { (text("page.you.units")) } div.tiles { (choice("units", "metric", units)) (choice("units", "imperial", units)) } }
            fieldset { legend { (text("page.you.decimal")) } div.tiles { (choice("decimal", "point", decimal)) (choice("decimal", "comma", decimal)) } }
            fieldset { legend { (text("page.you.theme")) } div.tiles {
                (choice("theme", "light", if ctx.person.dark { "dark" } else { "light" })) (choice("theme", "dark", if ctx.person.dark { "dark" } else { "light" }))
            } }
            button.plate.go { (text("page.measure.save")) }
        }
    };
    layout::page(&ctx, &text("page.you.title"), None, &body)
}

/// Keeps it in this device's cookies.
pub async fn save_you(Form(pairs): Form<Pairs>) -> Response {
    let set =
        |name: &str, value: String| (SET_COOKIE, format!("{name}={value}; Path=/; Max-Age=31536000; SameSite=Lax"));
    let one_of = |name: &str, allowed: [&str; 2]| {
        allowed.iter().find(|a| **a == value(&pairs, name)).map_or(allowed[0], |a| *a).to_owned()
    };
    let cookies = AppendHeaders([
        set("who", packed(&tidy(value(&pairs, "who")))),
        set("device", packed(&tidy(value(&pairs, "device")))),
        set("units", one_of("units", ["metric", "imperial"])),
        set("decimal", one_of("decimal", ["point", "comma"])),
        set("theme", one_of("theme", ["light", "dark"])),
    ]);
    (cookies, Redirect::to(&own_path(value(&pairs, "then"), "/"))).into_response()
}
