//! The hill: the rider's own route or one descent, with and without braking by motor. One strip each, one sentence each.

use crate::app::App;
use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id, hex, own_path};
use crate::fail::{Fail, work};
use crate::files;
use crate::layout::{self, form_head};
use crate::rides::{Outcome, Ridden, Ride};
use crate::show;
use axum::Form;
use axum::extract::{Multipart, Path, Query};
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{Html, IntoResponse, Redirect, Response};
use drawing::chart::ride_strip;
use jobbook::NewFile;
use jobbook::edit::{self, Edit};
use maud::{Markup, html};
use sha2::{Digest, Sha256};
use std::sync::Arc;
use std::time::Duration;
use workbench::job::Job;
use workbench::ride::answers::{ANSWERS, Pair};
use workbench::ride::course::Course;
use workbench::ride::descent::{self, slope_and_height};
use workbench::ride::options::Options;
use workbench::ride::study::{LOADS, Study};
use workbench::say::{self, figure};
use workbench::words::{fill, text};

/// A page waits so long for a short ride before it shows how far it is.
const SHORT: Duration = Duration::from_millis(250);
/// A page that shows progress looks again after so many milliseconds; without script after so many seconds.
const LOOK_AGAIN_MS: u32 = 500;
const LOOK_AGAIN_S: u32 = 2;
/// Pictures of the ride bring their own style, and nothing else.
const PICTURE_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox";

/// Which hill a bike has: a route of its files, or slope and height.
struct Chosen {
    revision: i64,
    source: String,
    route: Option<String>,
    descent: Option<String>,
}

fn chosen(ctx: &Ctx, number: &str) -> Result<Chosen, Fail> {
    let doc = ctx.app.book.document(&format!("{number}/hill"))?;
    let (revision, source) = doc.map_or((0, String::new()), |d| (d.revision, d.text));
    let value = |key: &str| edit::parse(&source).ok().and_then(|d| edit::plain(&d, key)).filter(|s| !s.is_empty());
    let (route, descent) = (value("route"), value("descent"));
    Ok(Chosen { revision, source, route, descent })
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let c = chosen(&ctx, &number)?;
        let hill = c.route.as_ref().or(c.descent.as_ref());
        let body = html! {
            h1 { (text("page.stage.hill")) }
            @if let Some(hill) = hill {
                p { (hill) }
                (section(&ctx, &bike)?)
            } @else { p.lead { (text("page.hill.lead")) } }
            div.two {
                form.stack method="post" action=(bike.at("hill/route")) enctype="multipart/form-data" {
                    (form_head(&fresh_id(), c.revision))
                    label { (text("page.hill.route")) input type="file" name="file" accept=".gpx,.tcx,.fit,.csv" required; }
                    button.plate { (text("page.hill.take-route")) }
                }
                form.stack method="post" action=(bike.at("hill")) {
                    (form_head(&fresh_id(), c.revision))
                    label { (text("page.hill.descent")) input name="descent" value=(c.descent.as_deref().unwrap_or("")) placeholder="8 %, 300 m" maxlength="40" required; }
                    button.plate { (text("page.hill.take-descent")) }
                }
            }
        };
        Ok(layout::page(&ctx, &text("page.stage.hill"), Some(&bike), &body))
    })
    .await
}

fn keep(ctx: &Ctx, number: &str, edits: &[Edit], pairs: (&str, &str)) -> Result<(), Fail> {
    let (from, sent) = pairs;
    let from = from.parse().unwrap_or(0);
    let revision = ctx.app.book.set_values(&format!("{number}/hill"), edits, from, &ctx.by(sent))?;
    change::tell(ctx, number, revision, sent);
    Ok(())
}

/// Takes slope and height.
pub async fn set(ctx: Ctx, Path(number): Path<String>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let given = value(&pairs, "descent").replace(',', ", ");
        let given = given.split_whitespace().collect::<Vec<_>>().join(" ");
        slope_and_height(&given).ok_or_else(|| Fail::bad(fill("ride.error.descent", &[("given", &given)])))?;
        let edits = [Edit::put("descent", given.as_str()), Edit::remove("route")];
        keep(&ctx, &number, &edits, (value(&pairs, "from"), value(&pairs, "change")))?;
        Ok(Redirect::to(&own_path(&bike.at("hill"), "/")).into_response())
    })
    .await
}

/// Takes a route; it is kept with the bike's files.
pub async fn route(ctx: Ctx, Path(number): Path<String>, form: Multipart) -> Response {
    let up = match files::read(form).await {
        Ok(up) => up,
        Err(fail) => return fail.into_response(),
    };
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let track = tracks::read(&up.bytes, &tracks::Columns::default()).map_err(|e| Fail::bad(e.to_string()))?;
        tracks::Route::of(&track, tracks::Smoothing::default()).map_err(|e| Fail::bad(e.to_string()))?;
        let end = up.name.rsplit('.').next().unwrap_or("").to_ascii_lowercase();
        let end = ["gpx", "tcx", "fit", "csv"].into_iter().find(|e| **e == *end).unwrap_or("track");
        let name = format!("route-{}.{end}", &fresh_id()[..8]);
        let file = NewFile {
            name: &name,
            media_type: "application/octet-stream",
            slot: "route",
            // Where somebody rides tells where they live.
            personal: true,
            bytes: &up.bytes,
        };
        ctx.app.book.attach(&number, &file, &ctx.by(""))?;
        keep(&ctx, &number, &[Edit::put("route", name.as_str()), Edit::remove("descent")], (&up.from, &up.change))?;
        Ok(Redirect::to(&bike.at("hill")).into_response())
    })
    .await
}

/// The way of a bike, from its own file or its slope and height.
fn course(app: &App, number: &str, c: &Chosen, job: &Job) -> Result<Course, String> {
    let options = Options::read(&[]).expect("what holds if nothing is said can be read");
    if let Some((grade, height)) = c.descent.as_deref().and_then(slope_and_height) {
        return descent::course(job, &options, grade, height).map_err(|e| say::course_error(&e));
    }
    let name = c.route.as_deref().ok_or_else(|| text("page.hill.lead"))?;
    let (_, bytes) = app.book.attachment(number, name).map_err(|e| e.to_string())?;
    Ok(intake::read_route(job, &options, &bytes)?.0)
}

/// The ride of a bike as it stands now; begun if it was not yet.
fn ride(ctx: &Ctx, bike: &Bike) -> Result<Arc<Ride>, Fail> {
    let job = bike.judged()?.job.clone();
    let number = bike.number().to_owned();
    let c = chosen(ctx, &number)?;
    if c.route.is_none() && c.descent.is_none() {
        return Err(Fail::bad(text("page.hill.lead")));
    }
    let mut hash = Sha256::new();
    for part in [&bike.file.text, &bike.shop.own, &c.source] {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
    let of = hex(&hash.finalize());
    // A ride that waits for its turn must not keep the workbench alive.
    let app = Arc::downgrade(&ctx.app);
    let make = move || {
        let app = app.upgrade().ok_or_else(|| text("page.our-fault"))?;
        let course = course(&app, &number, &c, &job)?;
        Ok((job, course))
    };
    Ok(ctx.app.rides.of(bike.number(), &of, Box::new(make)))
}

/// The ride if it is finished, for who only wants to mention it.
pub fn ridden(ctx: &Ctx, bike: &Bike) -> Option<Arc<Ride>> {
    ride(ctx, bike).ok().filter(|r| r.outcome_within(SHORT).is_some())
}

/// Where the ride stands. A page with script looks again by itself, one without is loaded again.
fn section(ctx: &Ctx, bike: &Bike) -> Result<Markup, Fail> {
    let ride = ride(ctx, bike)?;
    let over = ride.outcome_within(SHORT).is_some();
    let src = (!over).then(|| bike.at("hill/sheet"));
    Ok(html! {
        section.later aria-busy=[(!over).then_some("true")] data-src=[src] {
            @if !over { noscript { meta http-equiv="refresh" content=(LOOK_AGAIN_S); } }
            (state(ctx, bike, &ride))
        }
    })
}

fn state(ctx: &Ctx, bike: &Bike, ride: &Ride) -> Markup {
    let again = |key: &str| {
        html! { form method="post" action=(bike.at("hill/again")) { button.plate.go { (text(key)) } } }
    };
    match ride.outcome() {
        Some(Outcome::Done(done)) => told(ctx, bike, done),
        Some(Outcome::Failed(why)) => html! { p.say role="alert" { (why) } (again("page.hill.again")) },
        Some(Outcome::Stopped) => {
            let who = ride.stopped_by().filter(|who| !who.is_empty());
            html! {
                p.say { (who.map_or_else(|| text("page.hill.stopped"), |who| fill("page.hill.stopped-by", &[("who", who)]))) }
                (again("page.hill.ride"))
            }
        }
        None => {
            let percent = format!("{:.0}", ride.share() * 100.0);
            html! {
                div.going data-again=(LOOK_AGAIN_MS) {
                    progress value=(percent) max="100" aria-label=(text("page.hill.going-name")) {}
                    p.far { (fill(if ride.share() > 0.0 { "page.hill.going" } else { "page.hill.waits" }, &[("percent", &percent)])) }
                    form method="post" action=(bike.at("hill/stop")) { button.plate { (text("page.hill.stop")) } }
                }
            }
        }
    }
}

/// Where the ride stands, as a part of the page or as a page.
pub async fn sheet(ctx: Ctx, Path(number): Path<String>, headers: HeaderMap) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        if headers.contains_key("x-part") {
            let ride = ride(&ctx, &bike)?;
            return Ok(Html(state(&ctx, &bike, &ride).into_string()).into_response());
        }
        let body = html! { h1 { (text("page.stage.hill")) } (section(&ctx, &bike)?) };
        Ok(layout::page(&ctx, &text("page.stage.hill"), Some(&bike), &body))
    })
    .await
}

/// Stops it, for everybody who looks at it.
pub async fn stop(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        ctx.app.rides.stop(&number, &ctx.by("").who);
        if let Some(ride) = ctx.app.rides.there(&number) {
            ride.outcome_within(SHORT);
        }
        Ok(Redirect::to(&bike.at("hill")).into_response())
    })
    .await
}

/// Begins it anew.
pub async fn again(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        ctx.app.rides.forget(&number);
        Ok(Redirect::to(&bike.at("hill")).into_response())
    })
    .await
}

/// Whether it is worth it, in one sentence for all loads.
pub fn worth(s: &Study) -> Option<String> {
    let (load, pair) = s.speaks()?;
    let load = text(&format!("ride.text.load-{load}"));
    Some(fill("page.hill.worth", &[("load", &load), ("sentence", &sentence(pair))]))
}

fn sentence(p: &Pair) -> String {
    let number = |key: &str| ANSWERS.iter().find(|a| a.key == key).and_then(|a| (a.of)(p)).unwrap_or(f64::NAN);
    let signed = |x: f64| format!("{}{}", if x >= 0.0 { "+" } else { "−" }, figure(x.abs()));
    fill(
        &format!("ride.worth.{}", p.worth().token()),
        &[
            ("net", &signed(p.net_wh())),
            ("recovered", &figure(p.recovered_wh())),
            ("pads", &figure(number("pads_saved_percent"))),
            ("even", &figure(number("break_even_m_km"))),
            ("has", &figure(number("hilliness_m_km"))),
        ],
    )
}

fn told(ctx: &Ctx, bike: &Bike, done: &Ridden) -> Markup {
    let s = &done.study;
    let [length, climb, drop] = done.way;
    let q = |x: f64, unit: &str| show::quantity(x, unit, &ctx.person);
    let strip = |clutch: &str| bike.at(&format!("hill/strip.svg?clutch={clutch}"));
    html! {
        p { (fill("page.hill.head", &[
            ("length", &q(length.as_metres() / 1000.0, "km")), ("up", &q(climb.as_metres(), "m")),
            ("down", &q(drop.as_metres(), "m")), ("stops", &done.stops.to_string()),
        ])) }
        @if let Some(worth) = worth(s) { p.say { (worth) } }
        h2 { (text("page.hill.locked")) }
        img.strip-picture src=(strip("locked")) alt=(text("page.hill.locked-alt"));
        h2 { (text("page.hill.free")) }
        img.strip-picture src=(strip("free")) alt=(text("page.hill.free-alt"));
        h2 { (text("page.hill.answers")) }
        div.scroll tabindex="0" role="region" aria-label=(text("page.hill.answers")) { table {
            thead { tr { th scope="col" { (text("page.hill.answer")) } @for (_, key) in LOADS { th scope="col" { (text(&format!("ride.text.load-{key}"))) } } } }
            tbody { @for a in ANSWERS { tr {
                th scope="row" { (workbench::words::find(&format!("ride.answer.{}", a.key)).unwrap_or(a.key)) }
                @for p in &s.pairs { td.n { ((a.of)(p).map_or_else(|| a.absent(), |x| q(x, a.unit))) } }
            } } }
        } }
        p { a href=(format!("{}&save=1", strip("locked"))) download { (text("page.hill.svg")) } }
    }
}

/// Which strip.
#[derive(serde::Deserialize)]
pub struct Which {
    #[serde(default)]
    clutch: String,
}

/// The strip of one clutch as a picture.
pub async fn picture(ctx: Ctx, Path(number): Path<String>, Query(which): Query<Which>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let locked = which.clutch != "free";
        let ride = ride(&ctx, &bike)?;
        let Some(Outcome::Done(done)) = ride.outcome_within(SHORT) else {
            return Err(Fail::new(StatusCode::CONFLICT, text("page.hill.not-yet")));
        };
        let title = format!("{} {}", bike.number(), bike.file.summary.title);
        let svg = ride_strip(&done.strips[usize::from(!locked)], &title, locked);
        Ok(([(CONTENT_TYPE, "image/svg+xml"), (CONTENT_SECURITY_POLICY, PICTURE_POLICY)], svg).into_response())
    })
    .await
}
