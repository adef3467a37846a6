//! All addresses.

use crate::app::App;
use crate::fail::Fail;
use crate::{
    assets, back, cards, change, due, files, guard, hill, history, holds, key_in, layout, measure, news, office, pair,
    photos, shelf, shop, stand, sums,
};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path};
use axum::http::StatusCode;
use axum::middleware;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use std::sync::Arc;
use std::time::Duration;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::timeout::TimeoutLayer;

/// Longest time that a request may take, its upload included.
const PATIENCE: Duration = Duration::from_secs(60);

/// The whole workbench as a service.
pub fn router(app: Arc<App>) -> Router {
    let uploads = Router::new()
        .route("/new/file", post(files::new))
        .route("/bikes/{number}/file", get(files::form).post(files::put))
        .route("/bikes/{number}/hill/route", post(hill::route))
        .layer(DefaultBodyLimit::max(files::PHOTO));
    let photos = Router::new()
        .route("/bikes/{number}/files", get(photos::list).post(photos::attach))
        .layer(DefaultBodyLimit::max(files::PHOTOS));
    Router::new()
        .route("/", get(stand::stand))
        .route("/new", get(stand::new).post(stand::create))
        .route("/bikes/{number}", get(holds::start))
        .route("/bikes/{number}/holds", get(holds::holds))
        .route("/bikes/{number}/holds/{link}", get(holds::with_link))
        .route("/bikes/{number}/advice", get(holds::advice))
        .route("/bikes/{number}/measure", get(measure::all))
        .route("/bikes/{number}/measure/{group}", get(measure::group))
        .route("/bikes/{number}/measure/quick/{k}", get(measure::quick))
        .route("/bikes/{number}/quick-result", get(measure::quick_result))
        .route("/bikes/{number}/facts", post(change::facts))
        .route("/bikes/{number}/as-left", post(change::as_left))
        .route("/bikes/{number}/remarks", post(measure::save_remark))
        .route("/bikes/{number}/history", get(history::history))
        .route("/bikes/{number}/undo", post(history::undo))
        .route("/bikes/{number}/job.toml", get(files::get))
        .route("/bikes/{number}/files/{name}", get(photos::one))
        .route("/bikes/{number}/files/{name}/look", get(photos::look))
        .route("/bikes/{number}/files/{name}/small", get(photos::small))
        .route("/bikes/{number}/files/{name}/remove", post(photos::remove))
        .route("/bikes/{number}/key-in", get(key_in::page))
        .route("/bikes/{number}/key-in/sheet", get(key_in::sheet))
        .route("/bikes/{number}/key-in/read-back", post(key_in::keep_read_back))
        .route("/bikes/{number}/hill", get(hill::page).post(hill::set))
        .route("/bikes/{number}/hill/sheet", get(hill::sheet))
        .route("/bikes/{number}/hill/stop", post(hill::stop))
        .route("/bikes/{number}/hill/again", post(hill::again))
        .route("/bikes/{number}/hill/strip.svg", get(hill::picture))
        .route("/bikes/{number}/name-card", post(key_in::keep_card))
        .route("/bikes/{number}/back", get(back::page).post(back::save))
        .route("/due", get(due::page))
        .route("/due.ics", get(due::calendar))
        .route("/due/{number}", post(due::not_reached))
        .route("/sums", get(sums::all))
        .route("/sums/{name}", get(sums::one))
        .route("/bikes/{number}/talk", get(office::talk::page).post(office::talk::save))
        .route("/bikes/{number}/papers", get(office::papers::page).post(office::papers::save))
        .route("/bikes/{number}/papers/notice", get(office::papers::notice))
        .route("/bikes/{number}/quote", get(office::quote::page).post(office::quote::save))
        .route("/bikes/{number}/quote/choose", post(office::quote::choose))
        .route("/bikes/{number}/quote/accept", post(office::quote::accept))
        .route("/bikes/{number}/quote/sheet", get(office::sheet::quote))
        .route("/bikes/{number}/refusal", get(office::refusal::page))
        .route("/bikes/{number}/consent", get(office::consent::page).post(office::consent::save))
        .route("/bikes/{number}/consent/say", post(office::consent::say))
        .route("/bikes/{number}/consent/sign", post(office::consent::sign))
        .route("/bikes/{number}/consent/sheet", get(office::consent::sheet))
        .route("/bikes/{number}/stages", get(layout::stages))
        .route("/prices", get(shop::prices))
        .route("/help", get(cards::all))
        .route("/help/{card}", get(cards::one))
        .route("/rack", get(shop::rack))
        .route("/rules", get(shop::rules))
        .route("/shelf", get(shop::shelf))
        .route("/shelf/{part}", post(shelf::put))
        .route("/shop/{name}", post(shop::save))
        .route("/you", get(shop::you).post(shop::save_you))
        .route("/pair", get(pair::pair))
        .route("/pair/forget", post(pair::forget))
        .route("/login", get(pair::login_form).post(pair::login))
        .route("/join/{word}", get(pair::join_form).post(pair::join))
        .route("/news", get(news::news))
        .route("/assets/{name}", get(asset))
        .layer(DefaultBodyLimit::max(files::FORM))
        .merge(uploads)
        .merge(photos)
        .fallback(|| async { Fail::nothing_here() })
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, PATIENCE))
        .layer(CsrfLayer::new())
        .layer(CatchPanicLayer::new())
        .layer(middleware::from_fn_with_state(app.clone(), guard::guard))
        .with_state(app)
}

async fn asset(Path(name): Path<String>) -> Response {
    assets::find(&name).unwrap_or_else(|| Fail::nothing_here().into_response())
}
