//! What changes, as it changes: one stream for each open page.

use crate::ctx::Ctx;
use axum::extract::Query;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::convert::Infallible;
use std::time::Duration;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::BroadcastStream;

/// Which job a page shows.
#[derive(Deserialize)]
pub struct Which {
    #[serde(default)]
    job: String,
}

/// The stream.
pub async fn news(ctx: Ctx, Query(which): Query<Which>) -> Response {
    let stream = BroadcastStream::new(ctx.app.news.subscribe()).filter_map(move |news| {
        // A page that was too slow for what it missed looks again.
        let data = match news {
            Ok(n) if n.job.is_empty() || n.job == which.job || which.job.is_empty() => serde_json::json!({
                "job": n.job, "revision": n.revision, "who": n.who, "device": n.device, "change": n.change,
            }),
            Ok(_) => return None,
            Err(_) => serde_json::json!({ "job": which.job, "revision": 0, "who": "", "device": "", "change": "" }),
        };
        Some(Ok::<Event, Infallible>(Event::default().data(data.to_string())))
    });
    Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))).into_response()
}
