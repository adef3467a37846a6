//! What a request can fail with, as a page that names the way out.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jobbook::Error;
use workbench::words;

/// Why there is no page.
#[derive(Debug)]
pub struct Fail {
    status: StatusCode,
    sentence: String,
}

/// A page, or why there is none.
pub type Reply = Result<Response, Fail>;

impl Fail {
    /// With a sentence of its own.
    pub fn new(status: StatusCode, sentence: String) -> Self {
        Self { status, sentence }
    }
    /// There is nothing at that address.
    pub fn nothing_here() -> Self {
        Self::new(StatusCode::NOT_FOUND, words::text("page.nothing-here"))
    }
    /// What was sent cannot be used.
    pub fn bad(sentence: String) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, sentence)
    }
}

impl From<Error> for Fail {
    fn from(e: Error) -> Self {
        let status = match &e {
            Error::NoJob(_) | Error::NoDocument(_) | Error::NoChange(_) | Error::NoFile { .. } => StatusCode::NOT_FOUND,
            Error::Conflict(_) | Error::NumberTaken(_) | Error::NameTaken { .. } => StatusCode::CONFLICT,
            Error::TooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Error::Full { .. } => StatusCode::INSUFFICIENT_STORAGE,
            Error::Busy { .. } => StatusCode::SERVICE_UNAVAILABLE,
            Error::Damaged { .. } | Error::Outside { .. } => StatusCode::INTERNAL_SERVER_ERROR,
            _ => StatusCode::UNPROCESSABLE_ENTITY,
        };
        Self::new(status, e.to_string())
    }
}

impl IntoResponse for Fail {
    fn into_response(self) -> Response {
        let page = crate::layout::bare(
            &words::text("page.cannot"),
            &maud::html! {
                h1 { (words::text("page.cannot")) }
                p.say role="alert" { (self.sentence) }
                p { a.plate href="/" { (words::text("page.to-the-stand")) } }
            },
        );
        (self.status, page).into_response()
    }
}

/// Runs what reads the book or works something out, away from the threads that answer requests.
pub async fn work(task: impl FnOnce() -> Reply + Send + 'static) -> Response {
    match tokio::task::spawn_blocking(task).await {
        Ok(reply) => reply.into_response(),
        Err(_) => Fail::new(StatusCode::INTERNAL_SERVER_ERROR, words::text("page.our-fault")).into_response(),
    }
}
