//! Calls to make: whose re-check is due, who was not reached, and where to look for the same fault.

use crate::after::{self, Alike, Out};
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::work;
use crate::layout;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::Edit;
use maud::{Markup, html};
use proof::follow::Day;
use workbench::words::{fill, text};

/// Which re-check: by the distance after which it is made.
pub fn which(ctx: &Ctx, after_metres: f64) -> String {
    let far = show::quantity((after_metres / 1e3).round(), "km", &ctx.person);
    // The last one is due by distance or by time.
    let key = if after_metres > 400e3 { "page.due.check-last" } else { "page.due.check" };
    fill(key, &[("far", &far)])
}

/// How late, in words.
fn late(today: Day, day: Day) -> String {
    match today.0 - day.0 {
        0 => text("page.due.today"),
        n if n > 0 => fill("page.due.over", &[("n", &n.to_string())]),
        n => fill("page.due.in", &[("n", &(-n).to_string())]),
    }
}

fn row(ctx: &Ctx, o: &Out, today: Day, with_form: bool) -> Markup {
    let day = o.day();
    html! {
        a href={ "/bikes/" (o.number) "/back" } { b { (o.number) } " " (o.title) }
        @if let (Some(d), Some(day)) = (&o.due, day) {
            span { (which(ctx, d.after)) ", " b { (late(today, day)) } }
            span.quiet { (day.text()) " · " (fill("page.due.at", &[("at", &show::quantity((d.odometer / 1e3).round(), "km", &ctx.person))])) }
        }
        @if o.tries > 0 { span.quiet { (fill("page.due.tries", &[("n", &o.tries.to_string())])) } }
        @if with_form {
            @if !o.phone.is_empty() { a.plate href={ "tel:" (o.phone.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect::<String>()) } { (o.phone) } }
            form method="post" action={ "/due/" (o.number) } {
                input type="hidden" name="change" value=(fresh_id());
                button.plate { (text("page.due.not-reached")) }
            }
        }
    }
}

/// One bike to look at, and why.
pub fn alike_row(a: &Alike<'_>) -> Markup {
    let why: Vec<String> = [(a.same_day, "page.due.same-day"), (a.same_faces, "page.due.same-faces")]
        .into_iter()
        .filter(|(yes, _)| *yes)
        .map(|(_, key)| text(key))
        .collect();
    html! {
        a href={ "/bikes/" (a.bike.number) "/back" } { b { (a.bike.number) } " " (a.bike.title) }
        span { (why.join(", ")) }
        @if !a.bike.phone.is_empty() { span { (a.bike.phone) } }
    }
}

/// The list of calls.
pub async fn page(ctx: Ctx) -> Response {
    work(move || {
        let all = after::out(&ctx.app)?;
        let today = after::today();
        let (due, later): (Vec<&Out>, Vec<&Out>) =
            all.iter().filter(|o| o.is_away() && o.day().is_some()).partition(|o| o.day().is_some_and(|d| d <= today));
        let stopped: Vec<&Out> = all.iter().filter(|o| after::found(&o.cards, &o.watch)).collect();
        let body = html! {
            h1 { (text("page.due.title")) }
            p.lead { (text("page.due.lead")) }
            @for o in &stopped {
                @let alike = after::alike(o, &all);
                section.say-box {
                    h2 { (fill("page.due.found", &[("bike", &format!("{} {}", o.number, o.title))])) }
                    @if let Some(k) = o.cards.last() { p { (k.card.day.text()) @if !k.notes.is_empty() { ": " (k.notes) } } }
                    ul { @for r in &o.watch.reasons { li { (r.sentence()) } } }
                    @if alike.is_empty() { p.quiet { (text("page.due.none-alike")) } }
                    @else { h3 { (text("page.due.alike")) } ul.rows { @for a in &alike { li { (alike_row(a)) } } } }
                }
            }
            h2 { (text("page.due.now")) }
            @if due.is_empty() { p { (text("page.due.nobody")) } }
            ul.rows { @for o in &due { li { (row(&ctx, o, today, true)) } } }
            @if !later.is_empty() {
                h2 { (text("page.due.later")) }
                ul.rows { @for o in &later { li { (row(&ctx, o, today, false)) } } }
            }
            p { a.plate href="/due.ics" download { (text("page.due.calendar")) } }
        };
        Ok(layout::page(&ctx, &text("page.due.title"), None, &body))
    })
    .await
}

/// What stands on the first page: those who are due, and what was found.
pub fn on_the_stand(ctx: &Ctx, all: &[Out]) -> Markup {
    let today = after::today();
    let due: Vec<&Out> = all.iter().filter(|o| o.is_away() && o.day().is_some_and(|d| d <= today)).collect();
    let stopped: Vec<&Out> = all.iter().filter(|o| after::found(&o.cards, &o.watch)).collect();
    html! {
        @if !due.is_empty() || !stopped.is_empty() {
            h2 { a href="/due" { (text("page.due.today-title")) } }
            ul.rows {
                @for o in &stopped { @let alike = after::alike(o, all); @if !alike.is_empty() { li {
                    a href="/due" { b { (o.number) } " " (o.title) }
                    span { (text("page.due.alike")) " " (alike.iter().map(|a| a.bike.number.clone()).collect::<Vec<_>>().join(", ")) }
                } } }
                @for o in &due { li { (row(ctx, o, today, false)) } }
            }
        }
    }
}

/// Nobody answered.
pub async fn not_reached(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = crate::bike::Bike::load(&ctx.app, &number)?;
        let cards = after::cards(&ctx.app, &number, &bike.shop.shop.rack)?.len();
        let tries = after::tries(&ctx.app, &number, cards)? + 1;
        let name = format!("{number}/calls");
        let from = ctx.app.book.document(&name)?.map_or(0, |d| d.revision);
        let sent = value(&pairs, "change");
        let edit = [Edit::put(&format!("after-{cards}"), tries)];
        let revision = ctx.app.book.set_values(&name, &edit, from, &ctx.by(sent))?;
        change::tell(&ctx, &number, revision, sent);
        Ok(Redirect::to("/due").into_response())
    })
    .await
}

/// The same as a calendar file (RFC 5545): a day each, by number alone, since a bike's name may be its rider's.
pub async fn calendar(ctx: Ctx) -> Response {
    work(move || {
        let all = after::out(&ctx.app)?;
        let stamp = jobbook::Timestamp::now().strftime("%Y%m%dT%H%M%SZ").to_string();
        let mut out = String::from("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Backdrive//calls//EN\r\n");
        for o in &all {
            let (Some(d), Some(day), true) = (&o.due, o.day(), o.is_away()) else { continue };
            let next = Day(day.0 + 1);
            let date = |d: Day| d.text().replace('-', "");
            for line in [
                "BEGIN:VEVENT".to_owned(),
                format!("UID:{}-{}-{}@backdrive", o.number, o.cards.len(), date(day)),
                format!("DTSTAMP:{stamp}"),
                format!("DTSTART;VALUE=DATE:{}", date(day)),
                format!("DTEND;VALUE=DATE:{}", date(next)),
                format!("SUMMARY:{}", escaped(&format!("{}: {}", o.number, which(&ctx, d.after)))),
                "END:VEVENT".to_owned(),
            ] {
                out.push_str(&folded(&line));
            }
        }
        out.push_str("END:VCALENDAR\r\n");
        let heads = [
            (CONTENT_TYPE, "text/calendar; charset=utf-8"),
            (CONTENT_DISPOSITION, "attachment; filename=\"calls.ics\""),
        ];
        Ok((heads, out).into_response())
    })
    .await
}

/// Text of a calendar value.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace(['\n', '\r'], " ")
}

/// A line of at most 75 bytes, the rest on lines that begin with a space.
fn folded(line: &str) -> String {
    let (mut out, mut used) = (String::new(), 0);
    for c in line.chars() {
        if used + c.len_utf8() > 75 {
            out.push_str("\r\n ");
            used = 1;
        }
        out.push(c);
        used += c.len_utf8();
    }
    out + "\r\n"
}

#[cfg(test)]
mod tests {
    use super::{escaped, folded};

    #[test]
    fn calendar_lines_are_folded_and_their_text_cannot_break_out() {
        assert_eq!(escaped("a;b,c\\d\r\nEND:VEVENT"), "a\\;b\\,c\\\\d  END:VEVENT");
        let long = folded(&"é".repeat(100));
        assert!(long.split("\r\n").all(|l| l.len() <= 75), "{long}");
        assert_eq!(long.replace("\r\n ", "").trim_end(), "é".repeat(100));
    }
}
