//! A workbench on the demo shop, asked without a network.

#![allow(dead_code, reason = "each test file uses its own part")]

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, StatusCode};
use http_body_util::BodyExt;
use jobbook::{Book, By, Kind, NewJob};
use page::{App, Options, router};
use std::sync::Arc;
use tower::ServiceExt;

pub const FORM: &str = "application/x-www-form-urlencoded";
const JOBS: [&str; 5] = [
    include_str!("../../../../demo/0117-bread-longtail.toml"),
    include_str!("../../../../demo/0109-bread-longtail-as-found.toml"),
    include_str!("../../../../demo/0121-folding-commuter.toml"),
    include_str!("../../../../demo/0124-compact-hauler.toml"),
    include_str!("../../../../demo/0126-second-hauler.toml"),
];

pub struct Client {
    pub app: Arc<App>,
    router: Router,
    _folder: tempfile::TempDir,
}

pub struct Answer {
    pub status: StatusCode,
    headers: HeaderMap,
    pub text: String,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> String {
        self.headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or_default().to_owned()
    }
}

impl Client {
    pub fn demo() -> Self {
        Self::new(Options {
            listen: "127.0.0.1:8077".parse().expect("an address"),
            hosts: Vec::new(),
            passphrase: None,
            demo: true,
        })
    }
    pub fn wide(passphrase: &str) -> Self {
        let listen = "0.0.0.0:8077".parse().expect("an address");
        Self::new(Options { listen, hosts: Vec::new(), passphrase: Some(passphrase.to_owned()), demo: true })
    }
    fn new(options: Options) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let book = Book::open(folder.path().join("test.book")).expect("a book");
        let by = By::new("Mirra Stobel", "bench 1");
        book.set_document("rack", include_str!("../../../../demo/rack.toml"), 0, &by).expect("a rack");
        for text in JOBS {
            book.new_job(&NewJob { kind: Kind::Convert, of: None, text }, &by).expect("a job");
        }
        let app = App::new(book, options).expect("a workbench");
        Self { router: router(app.clone()), app, _folder: folder }
    }
    /// The shop's computer goes out and on again: the same book, everything else forgotten.
    pub fn restart(self) -> Self {
        let Self { app, router: old, _folder } = self;
        let options = app.options.clone();
        drop((app, old));
        let book = Book::open(_folder.path().join("test.book")).expect("the book opens again");
        let app = App::new(book, options).expect("a workbench");
        Self { router: router(app.clone()), app, _folder }
    }
    pub async fn ask(&self, method: Method, path: &str, headers: &[(&str, &str)], body: Vec<u8>) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        if !headers.iter().any(|(k, _)| *k == "host") {
            request = request.header("host", "127.0.0.1:8077");
        }
        for (k, v) in headers {
            request = request.header(*k, *v);
        }
        let request = request.body(Body::from(body)).expect("a request");
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Answer {
            status: parts.status,
            headers: parts.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            bytes: bytes.to_vec(),
        }
    }
    pub async fn get(&self, path: &str) -> Answer {
        self.ask(Method::GET, path, &[], Vec::new()).await
    }
    pub async fn form(&self, path: &str, pairs: &[(&str, &str)]) -> Answer {
        let body: Vec<String> = pairs.iter().map(|(k, v)| format!("{}={}", packed(k), packed(v))).collect();
        self.ask(Method::POST, path, &[("content-type", FORM)], body.join("&").into_bytes()).await
    }
    /// A form with fields and several files.
    pub async fn send(&self, path: &str, fields: &[(&str, &str)], files: &[(&str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend_from_slice(
                format!("--XyZ\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").as_bytes(),
            );
        }
        for (name, bytes) in files {
            let head = format!("--XyZ\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n");
            body.extend([head.as_bytes(), bytes, b"\r\n"].concat());
        }
        body.extend_from_slice(b"--XyZ--\r\n");
        self.ask(Method::POST, path, &[("content-type", "multipart/form-data; boundary=XyZ")], body).await
    }
    pub async fn upload(&self, path: &str, name: &str, bytes: &[u8]) -> Answer {
        let name = name.replace('"', "%22");
        let head = format!(
            "--XyZ\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\nContent-Type: application/octet-stream\r\n\r\n"
        );
        let body = [head.as_bytes(), bytes, b"\r\n--XyZ--\r\n"].concat();
        self.ask(Method::POST, path, &[("content-type", "multipart/form-data; boundary=XyZ")], body).await
    }
}

fn packed(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { (b as char).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// A drawing of one black point: a picture of 67 bytes, put together by hand as the standard for it says.
pub const POINT: &str = "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==";

pub fn shop() -> Client {
    let client = Client::demo();
    let by = By::new("Mirra Stobel", "bench 1");
    for (name, text) in [
        ("shelf", include_str!("../../../../demo/shelf.toml")),
        ("prices", include_str!("../../../../demo/prices.toml")),
    ] {
        client.app.book.set_document(name, text, 0, &by).expect("written");
    }
    client
}

pub fn now(client: &Client, name: &str) -> (String, String) {
    client
        .app
        .book
        .document(name)
        .expect("read")
        .map_or(("0".to_owned(), String::new()), |d| (d.revision.to_string(), d.text))
}

pub async fn send(client: &Client, path: &str, document: &str, pairs: &[(&str, &str)]) -> Answer {
    let from = now(client, document).0;
    let mut all = vec![("from", from.as_str())];
    all.extend(pairs);
    client.form(path, &all).await
}

/// What a page carries hidden in the field `name`, after the place `after`.
pub fn hidden(page: &str, after: &str, name: &str) -> String {
    let field = format!("name=\"{name}\" value=\"");
    let rest = page.split_once(after).map_or("", |(_, rest)| rest);
    rest.split_once(&field).and_then(|(_, rest)| rest.split('"').next()).unwrap_or_default().to_owned()
}

/// Answers a sentence of the consent as the page shows it now.
pub async fn consent_say(client: &Client, n: &str, answer: &str) -> Answer {
    let page = client.get("/bikes/0117/consent").await.text;
    let read = hidden(&page, &format!("name=\"n\" value=\"{n}\""), "read");
    send(client, "/bikes/0117/consent/say", "0117/consent", &[("n", n), ("read", &read), ("answer", answer)]).await
}

/// Signs the consent as the page shows it now.
pub async fn consent_sign(client: &Client, how: &[(&str, &str)]) -> Answer {
    let page = client.get("/bikes/0117/consent").await.text;
    let read = hidden(&page, "/consent/sign\"", "read");
    let all = [&[("read", read.as_str()), ("signer", "Ansa Perrol")], how].concat();
    send(client, "/bikes/0117/consent/sign", "0117/consent", &all).await
}

pub async fn choose(client: &Client, number: &str) -> String {
    let page = client.get(&format!("/bikes/{number}/quote")).await.text;
    let key =
        page.split("name=\"option\" value=\"").nth(1).and_then(|r| r.split('"').next()).expect("a choice").to_owned();
    let sent =
        send(client, &format!("/bikes/{number}/quote/choose"), &format!("{number}/quote"), &[("option", &key)]).await;
    assert_eq!(sent.status, 303, "{}", sent.text);
    key
}
