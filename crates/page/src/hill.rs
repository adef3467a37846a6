//! The hill: the rider's own route or one descent, with and without braking by motor. One strip each, one sentence each.

use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id, own_path};
use crate::fail::{Fail, work};
use crate::files;
use crate::layout::{self, form_head};
use crate::show;
use axum::Form;
use axum::extract::{Multipart, Path, Query};
use axum::http::HeaderMap;
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::response::{Html, IntoResponse, Redirect, Response};
use drawing::chart::ride_strip;
use jobbook::NewFile;
use jobbook::edit::{self, Edit};
use maud::{Markup, html};
use workbench::job::Job;
use workbench::ride::answers::{ANSWERS, Pair};
use workbench::ride::course::Course;
use workbench::ride::descent::{self, slope_and_height};
use workbench::ride::options::Options;
use workbench::ride::run::{STEP_S, ride_with};
use workbench::ride::series::{Row, Series};
use workbench::ride::study::{LOADS, RideError, Study, study};
use workbench::say::{self, figure};
use workbench::words::{fill, text};

/// Seconds between the points of a strip.
const EVERY_S: f64 = 1.0;
/// Pictures of the ride bring their own style, and nothing else.
const PICTURE_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox";

/// Which hill a bike has: a route of its files, or slope and height.
struct Chosen {
    revision: i64,
    route: Option<String>,
    descent: Option<String>,
}

fn chosen(ctx: &Ctx, number: &str) -> Result<Chosen, Fail> {
    let doc = ctx.app.book.document(&format!("{number}/hill"))?;
    let (revision, source) = doc.map_or((0, String::new()), |d| (d.revision, d.text));
    let value = |key: &str| edit::parse(&source).ok().and_then(|d| edit::plain(&d, key)).filter(|s| !s.is_empty());
    Ok(Chosen { revision, route: value("route"), descent: value("descent") })
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let c = chosen(&ctx, &number)?;
        let any = c.route.is_some() || c.descent.is_some();
        let body = html! {
            h1 { (text("page.stage.hill")) }
            @if any {
                p { (c.route.as_ref().or(c.descent.as_ref()).map_or("", |s| s)) }
                section.later aria-busy="true" data-src=(bike.at("hill/sheet")) { a.plate.go href=(bike.at("hill/sheet")) { (text("page.hill.ride")) } }
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
            personal: false,
            bytes: &up.bytes,
        };
        ctx.app.book.attach(&number, &file, &ctx.by(""))?;
        keep(&ctx, &number, &[Edit::put("route", name.as_str()), Edit::remove("descent")], (&up.from, &up.change))?;
        Ok(Redirect::to(&bike.at("hill")).into_response())
    })
    .await
}

fn course(ctx: &Ctx, number: &str, job: &Job) -> Result<Course, Fail> {
    let options = Options::read(&[]).map_err(|_| Fail::nothing_here())?;
    let c = chosen(ctx, number)?;
    if let Some((grade, height)) = c.descent.as_deref().and_then(slope_and_height) {
        return descent::course(job, &options, grade, height).map_err(|e| Fail::bad(say::course_error(&e)));
    }
    let name = c.route.ok_or_else(|| Fail::bad(text("page.hill.lead")))?;
    let (_, bytes) = ctx.app.book.attachment(number, &name)?;
    Ok(intake::read_route(job, &options, &bytes).map_err(Fail::bad)?.0)
}

fn ride_error(e: &RideError) -> Fail {
    Fail::bad(say::ride_error(e))
}

fn ridden(ctx: &Ctx, bike: &Bike) -> Result<(Course, Study), Fail> {
    let job = &bike.judged()?.job;
    let course = course(ctx, bike.number(), job)?;
    let options = Options::read(&[]).map_err(|_| Fail::nothing_here())?;
    let study = study(job, &course, &options).map_err(|e| ride_error(&e))?;
    Ok((course, study))
}

/// What the ride says; asked for after the page is there, since a long route takes its time.
pub async fn sheet(ctx: Ctx, Path(number): Path<String>, headers: HeaderMap) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let part = headers.contains_key("x-part");
        let inside = match ridden(&ctx, &bike) {
            Ok((course, s)) => told(&ctx, &bike, &course, &s),
            Err(fail) if part => html! { p.say role="alert" { (fail.sentence()) } },
            Err(fail) => return Err(fail),
        };
        if part {
            return Ok(Html(inside.into_string()).into_response());
        }
        Ok(layout::page(
            &ctx,
            &text("page.stage.hill"),
            Some(&bike),
            &html! { h1 { (text("page.stage.hill")) } (inside) },
        ))
    })
    .await
}

fn worth(p: &Pair) -> String {
    let number = |key: &str| ANSWERS.iter().find(|a| a.key == key).map_or(f64::NAN, |a| (a.of)(p));
    let signed = |x: f64| format!("{}{}", if x >= 0.0 { "+" } else { "−" }, figure(x.abs()));
    fill(
        &format!("ride.worth.{}", p.worth().token()),
        &[
            ("net", &signed(p.net_wh())),
            ("recovered", &figure(p.recovered_wh())),
            ("pads", &signed(number("pads_saved_percent"))),
            ("even", &figure(number("break_even_m_km"))),
            ("has", &figure(number("hilliness_m_km"))),
        ],
    )
}

fn told(ctx: &Ctx, bike: &Bike, course: &Course, s: &Study) -> Markup {
    let q = |x: f64, unit: &str| show::quantity(x, unit, &ctx.person);
    let strip = |clutch: &str| bike.at(&format!("hill/strip.svg?clutch={clutch}"));
    let usual = s.pairs.get(1).or(s.pairs.first());
    html! {
        p { (fill("page.hill.head", &[
            ("length", &q(course.length().as_metres() / 1000.0, "km")), ("up", &q(course.climb().as_metres(), "m")),
            ("down", &q(course.drop().as_metres(), "m")), ("stops", &course.stops().to_string()),
        ])) }
        @if let Some(p) = usual { p.say { (worth(p)) } }
        h2 { (text("page.hill.locked")) }
        img.strip-picture src=(strip("locked")) alt=(text("page.hill.locked-alt"));
        h2 { (text("page.hill.free")) }
        img.strip-picture src=(strip("free")) alt=(text("page.hill.free-alt"));
        h2 { (text("page.hill.answers")) }
        div.scroll tabindex="0" role="region" aria-label=(text("page.hill.answers")) { table {
            thead { tr { th scope="col" { (text("page.hill.answer")) } @for (_, key) in LOADS { th scope="col" { (text(&format!("ride.text.load-{key}"))) } } } }
            tbody { @for a in ANSWERS { tr {
                th scope="row" { (workbench::words::find(&format!("ride.answer.{}", a.key)).unwrap_or(a.key)) }
                @for p in &s.pairs { td.n { (q((a.of)(p), a.unit)) } }
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
        let (course, s) = ridden(&ctx, &bike)?;
        let rows = series(&course, &s, locked)?;
        let title = format!("{} {}", bike.number(), bike.file.summary.title);
        let svg = ride_strip(&rows, &title, locked);
        Ok(([(CONTENT_TYPE, "image/svg+xml"), (CONTENT_SECURITY_POLICY, PICTURE_POLICY)], svg).into_response())
    })
    .await
}

fn series(course: &Course, s: &Study, locked: bool) -> Result<Vec<Row>, Fail> {
    let bike = s.usual.with_clutch(locked);
    let mut series = Series::new(course, EVERY_S);
    let start = course.start_speed().as_metres_per_second();
    ride_with(&bike, &s.rider, &s.weather, course, start, STEP_S, &mut series)
        .map_err(|e| ride_error(&RideError::Stuck(e)))?;
    Ok(series.rows)
}
