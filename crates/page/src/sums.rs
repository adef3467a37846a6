//! Single sums, from the same registry as the command line.

use crate::change::{Pairs, value};
use crate::ctx::Ctx;
use crate::fail::{Fail, work};
use crate::layout;
use crate::show;
use axum::extract::{Path, Query};
use axum::response::Response;
use maud::{Markup, html};
use quantity::text::Decimal;
use workbench::sum::{self, Input, Need, Shape, Sum};
use workbench::words::{find, text};

/// All sums.
pub async fn all(ctx: Ctx) -> Response {
    let body = html! {
        h1 { (text("page.sums.title")) }
        p.lead { (text("page.sums.lead")) }
        ul.rows { @for s in sum::SUMS { li { a href={ "/sums/" (s.name) } { b { (title(s)) } } span { (text(&format!("sum.{}.help", s.name))) } } } }
    };
    layout::page(&ctx, &text("page.sums.title"), None, &body)
}

fn title(s: &Sum) -> String {
    find(&format!("sum.{}.title", s.name)).map_or_else(|| s.name.replace('-', " "), str::to_owned)
}

/// One sum; its inputs stand in the address, so that an answer can be kept and sent on.
pub async fn one(ctx: Ctx, Path(name): Path<String>, Query(pairs): Query<Pairs>) -> Response {
    work(move || {
        let s = sum::find(&name).ok().filter(|s| s.name == name).ok_or_else(Fail::nothing_here)?;
        let given: Vec<(&str, String)> = s
            .inputs
            .iter()
            .map(|i| (i.name, value(&pairs, i.name).to_owned()))
            .filter(|(_, v)| !v.is_empty())
            .collect();
        let texts: Vec<(&str, &str)> = given.iter().map(|(k, v)| (*k, v.as_str())).collect();
        let answer = (!pairs.is_empty()).then(|| s.answer(&texts, ctx.person.decimal));
        let body = html! {
            p { a href="/sums" { "‹ " (text("page.sums.title")) } }
            h1 { (title(s)) }
            p.lead { (text(&format!("sum.{}.help", s.name))) }
            div.two {
                form.question method="get" action={ "/sums/" (s.name) } {
                    @for i in s.inputs { (input(&ctx, s, i, &pairs)) }
                    div.actions { button.plate.go { (text("page.sums.work-out")) } a.plate href=(example(s)) { (text("page.sums.example")) } }
                }
                @match answer {
                    None => {}
                    Some(Ok(answer)) => { section.answer aria-live="polite" {
                        dl { @for e in &answer.entries {
                            dt { (find(&format!("sum.{}.out.{}", s.name, e.key)).unwrap_or(e.key)) }
                            dd { @match e.value { Some(v) => { @let unit = s.outputs.iter().find(|o| o.key == e.key).map_or("", |o| o.unit().symbol); (show::quantity(v, unit, &ctx.person)) } None => { (text("app.not-known")) } } }
                        } }
                        @for n in &answer.notes { p { (n) } }
                        details { summary { (text("page.working")) } @for f in s.formulas { p.equation { (f.equation) } p.quiet { (text("app.source")) ": " (f.source) } } }
                    } }
                    Some(Err(e)) => { section.answer { p.say role="alert" { @for line in e.to_string().lines() { (line) br; } } } }
                }
            }
        };
        Ok(layout::page(&ctx, &title(s), None, &body))
    })
    .await
}

fn example(s: &Sum) -> String {
    let pairs: Vec<String> = s.example.iter().map(|(k, v)| format!("{k}={}", crate::person::packed(v))).collect();
    format!("/sums/{}?{}", s.name, pairs.join("&"))
}

fn input(ctx: &Ctx, s: &Sum, i: &Input, pairs: &Pairs) -> Markup {
    let now = value(pairs, i.name);
    let help = text(&format!("sum.{}.in.{}", s.name, i.name));
    let optional = i.need != Need::Required;
    let like = match i.need {
        Need::Default(d) => d.to_owned(),
        _ => s.example.iter().find(|(n, _)| *n == i.name).map_or_else(|| i.shape.allowed(), |(_, v)| (*v).to_owned()),
    };
    let like = if ctx.person.decimal == Decimal::Comma { like.replace('.', ",") } else { like };
    html! {
        label.sum-input {
            b { (i.name.replace('-', " ")) @if optional { " " small { (text("page.sums.optional")) } } }
            span.quiet { (help) }
            @match i.shape {
                Shape::Choice(words) => { select name=(i.name) { @if optional { option value="" { "—" } } @for w in words { option value=(w) selected[now == *w] { (w) } } } }
                _ => { input name=(i.name) value=(now) placeholder=(like) maxlength="60" autocomplete="off"; }
            }
            @let units = i.shape.units();
            @if !units.is_empty() { span.quiet { (text("page.sums.units")) " " (units.iter().take(6).copied().collect::<Vec<_>>().join(", ")) } }
        }
    }
}
