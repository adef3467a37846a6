//! The style, the script and the icon, built in: no file is ever read for a request.

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::sync::OnceLock;

const CSS: &str = include_str!("../assets/page.css");
const PICTURES: &str = drawing::STYLE;
const PRINT: &str = include_str!("../assets/print.css");
const SCRIPT: &str = concat!(include_str!("../assets/sign.js"), include_str!("../assets/page.js"));
const ICON: &str = include_str!("../assets/icon.svg");

/// Changes with the assets, so that they may be kept for ever.
pub fn version() -> &'static str {
    static VERSION: OnceLock<String> = OnceLock::new();
    VERSION.get_or_init(|| {
        let mut hash = Sha256::new();
        for text in [CSS, PICTURES, PRINT, SCRIPT, ICON] {
            hash.update(text);
        }
        hash.finalize()[..6].iter().map(|b| format!("{b:02x}")).collect()
    })
}

/// One of them, if there is one of that name.
pub fn find(name: &str) -> Option<Response> {
    let (kind, text) = match name {
        "pictures.css" => ("text/css; charset=utf-8", PICTURES),
        "page.css" => ("text/css; charset=utf-8", CSS),
        "print.css" => ("text/css; charset=utf-8", PRINT),
        "page.js" => ("text/javascript; charset=utf-8", SCRIPT),
        "icon.svg" => ("image/svg+xml", ICON),
        _ => return None,
    };
    Some(([(CONTENT_TYPE, kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")], text).into_response())
}
