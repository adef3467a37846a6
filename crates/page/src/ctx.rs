//! What a handler needs to know of its request.

use crate::app::App;
use crate::person::Person;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use jobbook::By;
use std::convert::Infallible;
use std::sync::Arc;
use workbench::words;

/// The workbench, the person, and the address asked for.
#[derive(Clone)]
pub struct Ctx {
    /// The workbench.
    pub app: Arc<App>,
    /// Who asks.
    pub person: Person,
    /// Path and query.
    pub here: String,
}

impl Ctx {
    /// Who writes, for the book; a change always has somebody.
    pub fn by(&self, change: &str) -> By {
        let or = |name: &str, key: &str| if name.is_empty() { words::text(key) } else { name.to_owned() };
        let by = By::new(&or(&self.person.who, "page.somebody"), &or(&self.person.device, "page.this-device"));
        if change.is_empty() { by } else { by.sent_as(change) }
    }
}

impl FromRequestParts<Arc<App>> for Ctx {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Infallible> {
        let mut person = Person::from_headers(&parts.headers);
        if let Some(device) = parts.extensions.get::<crate::pair::Paired>() {
            person.device.clone_from(&device.0);
        }
        let here = parts.uri.path_and_query().map_or_else(|| "/".to_owned(), |p| p.as_str().to_owned());
        Ok(Self { app: app.clone(), person, here })
    }
}

/// A new id, for a change or a form.
pub fn fresh_id() -> String {
    let mut bytes = [0_u8; 12];
    // Without randomness nothing of this server is safe; the request ends as our fault.
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    hex(&bytes)
}

/// SHA-256 of bytes, in hexadecimal.
pub fn digest(bytes: &[u8]) -> String {
    use sha2::Digest;
    hex(&sha2::Sha256::digest(bytes))
}

/// Bytes in hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// An address on this server to go to next; anything else becomes `or`.
pub fn own_path(wanted: &str, or: &str) -> String {
    let fine = wanted.starts_with('/')
        && !wanted.starts_with("//")
        && wanted.bytes().all(|b| (0x21..0x7f).contains(&b) && b != b'\\');
    if fine { wanted.to_owned() } else { or.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::own_path;

    #[test]
    fn only_own_addresses_are_gone_to() {
        assert_eq!(own_path("/bikes/0117/holds?x=1#y", "/"), "/bikes/0117/holds?x=1#y");
        for foreign in ["//evil.example/", "https://evil.example/", "/\\evil", "/a\r\nSet-Cookie: x", "", "x"] {
            assert_eq!(own_path(foreign, "/safe"), "/safe");
        }
    }
}
