//! What stands before every page: the names by which the server may be called, who may come in, and what the answer
//! forbids the browser to do.

use crate::app::App;
use crate::fail::Fail;
use crate::pair::{Paired, SESSION};
use crate::person::cookie;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::net::IpAddr;
use std::sync::Arc;
use workbench::words;

/// Nothing inline, nothing from elsewhere, no frame around the page.
pub const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("permissions-policy"), "camera=(), microphone=(), geolocation=()"),
];

/// A name that a page of another site can point at this server is not one of these, so that such a page reads nothing.
fn known_host(app: &App, host: &str) -> bool {
    let options = &app.options;
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !port.contains(']') => (name, port.parse::<u16>().ok()),
        _ => (host, Some(80)),
    };
    if options.hosts.iter().any(|h| h.eq_ignore_ascii_case(host) || h.eq_ignore_ascii_case(name)) {
        return true;
    }
    if port != Some(options.listen.port()) {
        return false;
    }
    if name.eq_ignore_ascii_case("localhost") {
        return true;
    }
    // An address in figures cannot be pointed elsewhere by anybody's name server.
    match name.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>() {
        Ok(ip) => ip.is_loopback() || options.wide(),
        Err(_) => false,
    }
}

/// Pages that open without being let in.
fn open(path: &str) -> bool {
    path == "/login" || path.starts_with("/join/") || path.starts_with("/assets/")
}

/// The middleware.
pub async fn guard(State(app): State<Arc<App>>, mut request: Request, next: Next) -> Response {
    let host = request.headers().get(header::HOST).and_then(|h| h.to_str().ok()).map(str::to_owned);
    let host = request.uri().authority().map(|a| a.as_str().to_owned()).or(host);
    let path = request.uri().path().to_owned();
    let nameless = request.method() == Method::GET && cookie(request.headers(), "device").is_none();
    let mut response = if !host.is_some_and(|h| known_host(&app, &h)) {
        Fail::new(StatusCode::MISDIRECTED_REQUEST, words::text("page.foreign-host")).into_response()
    } else if let Some(device) = cookie(request.headers(), SESSION).and_then(|token| app.sessions.device(token)) {
        request.extensions_mut().insert(Paired(device));
        next.run(request).await
    } else if !app.options.wide() || open(&path) {
        next.run(request).await
    } else if request.method() == Method::GET {
        Redirect::to("/login").into_response()
    } else {
        Fail::new(StatusCode::FORBIDDEN, words::text("page.not-let-in")).into_response()
    };
    let headers = response.headers_mut();
    let page = headers.get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(b"text/html"));
    if nameless && page && !headers.contains_key(header::SET_COOKIE) {
        // Until somebody names it, a device has a name of chance, so that two of them are never taken for one.
        let name = format!("device {}", &crate::ctx::fresh_id()[..4]);
        let set = format!("device={}; Path=/; Max-Age=31536000; SameSite=Lax", crate::person::packed(&name));
        if let Ok(value) = HeaderValue::from_str(&set) {
            headers.append(header::SET_COOKIE, value);
        }
    }
    for (name, value) in HEADERS {
        // Only a picture with a style of its own has a policy of its own, which lets nothing run.
        if !headers.contains_key(&name) {
            headers.insert(name, HeaderValue::from_static(value));
        }
    }
    if !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}
