//! Letting devices in: a passphrase, or a word that opens once, shown as a square code on the shop's computer.

use crate::app::App;
use crate::ctx::{Ctx, fresh_id, hex, own_path};
use crate::fail::{Fail, Reply, work};
use crate::layout;
use crate::person::{LONGEST_NAME, packed, tidy};
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::http::header::SET_COOKIE;
use axum::response::{AppendHeaders, Html, IntoResponse, Redirect, Response};
use jobbook::edit::{self, Edit};
use jobbook::{Book, Error};
use maud::{PreEscaped, html};
use qrcode::QrCode;
use qrcode::render::svg;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::net::{IpAddr, UdpSocket};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use workbench::words::{fill, text};

/// Cookie of a device that was let in.
pub const SESSION: &str = "session";
/// The device's name, put beside the request by the guard.
#[derive(Clone)]
pub struct Paired(pub String);

const DOCUMENT: &str = "devices";
/// How long a word opens.
const WORD_LASTS: Duration = Duration::from_secs(600);
/// Letters that cannot be taken for another one.
const LETTERS: &[u8] = b"abcdefghjkmnpqrstuvwxyz23456789";
const WORD_LENGTH: usize = 8;

/// Devices that were let in, and words that are still good.
#[derive(Default)]
pub struct Sessions {
    devices: Mutex<HashMap<String, String>>,
    words: Mutex<HashMap<String, Instant>>,
    // One try of a passphrase or word at a time, each wrong one a second long.
    door: tokio::sync::Mutex<()>,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn digest(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
}

fn letters(many: usize) -> String {
    let mut bytes = [0_u8; 32];
    let mut word = String::new();
    while word.len() < many {
        getrandom::fill(&mut bytes).expect("the system gives random bytes");
        // A byte beyond the last whole alphabet would favour its first letters.
        let fair = bytes.iter().filter(|b| usize::from(**b) < 256 / LETTERS.len() * LETTERS.len());
        word.extend(fair.map(|b| LETTERS[usize::from(*b) % LETTERS.len()] as char));
    }
    word.truncate(many);
    word
}

/// A passphrase that nobody guesses: some 59 bits.
pub fn new_passphrase() -> String {
    [4, 4, 4].map(letters).join("-")
}

impl Sessions {
    /// The devices that the book knows: a tablet that was paired on Friday still comes in on Monday.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn from_book(book: &Book) -> Result<Self, Error> {
        let sessions = Self::default();
        let mut devices = lock(&sessions.devices);
        if let Some(doc) = book.document(DOCUMENT)?
            && let Ok(doc) = edit::parse(&doc.text)
        {
            for (key, value) in edit::leaves(&doc) {
                if let Some(token) = key.strip_prefix("device.").and_then(|k| k.strip_suffix(".name")) {
                    let name = free(&devices, value.trim_matches('"'));
                    devices.insert(token.to_owned(), name);
                }
            }
        }
        drop(devices);
        Ok(sessions)
    }

    /// Name of the device with that token.
    pub fn device(&self, token: &str) -> Option<String> {
        lock(&self.devices).get(&digest(token)).cloned()
    }

    /// All devices that were let in: digest of the token and name.
    pub fn all(&self) -> Vec<(String, String)> {
        let mut all: Vec<(String, String)> = lock(&self.devices).iter().map(|(k, v)| (k.clone(), v.clone())).collect();
        all.sort_by(|a, b| a.1.cmp(&b.1));
        all
    }

    fn new_word(&self) -> String {
        let word = letters(WORD_LENGTH);
        let mut words = lock(&self.words);
        words.retain(|_, since| since.elapsed() < WORD_LASTS);
        words.insert(word.clone(), Instant::now());
        word
    }

    fn good(&self, word: &str) -> bool {
        lock(&self.words).get(word).is_some_and(|since| since.elapsed() < WORD_LASTS)
    }

    /// Lets a device in; gives its token, and the name under which it writes.
    fn let_in(&self, ctx: &Ctx, name: &str) -> Result<(String, String), Error> {
        let token = format!("{}{}", fresh_id(), fresh_id());
        let key = digest(&token);
        // The name is taken before it is written, so that two who come in at once do not take the same.
        let name = {
            let mut devices = lock(&self.devices);
            let name = free(&devices, name);
            devices.insert(key.clone(), name.clone());
            name
        };
        let written = ctx.app.book.document(DOCUMENT).and_then(|d| {
            let edit = Edit::put(&format!("device.{key}.name"), name.as_str());
            ctx.app.book.set_values(DOCUMENT, &[edit], d.map_or(0, |d| d.revision), &ctx.by(""))
        });
        if let Err(e) = written {
            lock(&self.devices).remove(&key);
            return Err(e);
        }
        Ok((token, name))
    }

    fn forget(&self, ctx: &Ctx, key: &str) -> Result<(), Error> {
        if lock(&self.devices).remove(key).is_some() {
            let from = ctx.app.book.document(DOCUMENT)?.map_or(0, |d| d.revision);
            ctx.app.book.set_values(DOCUMENT, &[Edit::remove(&format!("device.{key}"))], from, &ctx.by(""))?;
        }
        Ok(())
    }
}

/// The name, with a number if another device has it. The book tells by its name which device wrote what: of two alike, the
/// one would write over the other unseen.
fn free(devices: &HashMap<String, String>, name: &str) -> String {
    let own = [text("book.say.device"), text("page.this-device")];
    let taken = |name: &str| own.iter().chain(devices.values()).any(|n| n == name);
    let numbered = (2..).map(|n| {
        let n = format!(" {n}");
        name.chars().take(LONGEST_NAME - n.len()).collect::<String>() + &n
    });
    std::iter::once(name.to_owned()).chain(numbered).find(|n| !taken(n)).unwrap_or_default()
}

fn keep(token: &str, device: &str) -> Response {
    let age = "Path=/; Max-Age=31536000; SameSite=Lax";
    let session = format!("{SESSION}={token}; HttpOnly; {age}");
    let device = format!("device={}; {age}", packed(device));
    (AppendHeaders([(SET_COOKIE, session), (SET_COOKIE, device)]), Redirect::to("/")).into_response()
}

fn let_in(ctx: &Ctx, device: &str) -> Reply {
    let (token, name) = ctx.app.sessions.let_in(ctx, device)?;
    Ok(keep(&token, &name))
}

/// What a device says at the door.
#[derive(Deserialize)]
pub struct Knock {
    #[serde(default)]
    passphrase: String,
    #[serde(default)]
    device: String,
}

fn named(device: &str) -> String {
    let name = tidy(device);
    if name.is_empty() { text("page.pair.unnamed") } else { name }
}

/// The door.
pub async fn login_form(ctx: Ctx) -> Response {
    door(&ctx, "").into_response()
}

fn door(ctx: &Ctx, wrong: &str) -> Html<String> {
    layout::bare(
        &text("page.pair.door"),
        &html! {
            h1 { (text("page.pair.door")) }
            @if !wrong.is_empty() { p.say role="alert" { (wrong) } }
            @if ctx.app.options.passphrase.is_some() {
                form.stack method="post" action="/login" {
                    label { (text("page.pair.passphrase")) input type="password" name="passphrase" autocomplete="current-password" required; }
                    label { (text("page.pair.device")) input name="device" maxlength="40" value=(ctx.person.device) placeholder=(text("page.pair.device-like")); }
                    button.plate.go { (text("page.pair.come-in")) }
                }
            }
            p { (text("page.pair.or-word")) }
        },
    )
}

/// Tries the passphrase.
pub async fn login(ctx: Ctx, Form(knock): Form<Knock>) -> Response {
    let one_at_a_time = ctx.app.sessions.door.lock().await;
    let right = ctx.app.options.passphrase.as_ref().is_some_and(|p| digest(p) == digest(knock.passphrase.trim()));
    if !right {
        tokio::time::sleep(Duration::from_secs(1)).await;
        return (StatusCode::FORBIDDEN, door(&ctx, &text("page.pair.wrong-passphrase"))).into_response();
    }
    drop(one_at_a_time);
    let device = named(&knock.device);
    work(move || let_in(&ctx, &device)).await
}

/// The page with the square code, on a device that is in already.
pub async fn pair(ctx: Ctx) -> Response {
    work(move || {
        let app = &ctx.app;
        let body = if app.options.wide() {
            let word = app.sessions.new_word();
            let address = format!("http://{}/join/{word}", reachable(app));
            let code = QrCode::new(&address).map_err(|e| Fail::bad(e.to_string()))?;
            let drawn = code.render::<svg::Color<'_>>().min_dimensions(280, 280).dark_color(svg::Color("#000")).build();
            let drawn = drawn.find("<svg").map_or(String::new(), |at| drawn[at..].to_owned());
            html! {
                p { (text("page.pair.scan")) }
                div.code role="img" aria-label=(address) { (PreEscaped(drawn)) }
                p.big { (address) }
                p.quiet { (fill("page.pair.once", &[("minutes", "10")])) }
                @if !app.sessions.all().is_empty() {
                    h2 { (text("page.pair.devices")) }
                    ul.rows { @for (key, name) in app.sessions.all() {
                        li { span { (name) }
                            form method="post" action="/pair/forget" {
                                input type="hidden" name="key" value=(key);
                                button.plate { (text("page.pair.forget")) }
                            }
                        }
                    } }
                }
            }
        } else {
            html! { p { (text("page.pair.only-here")) } pre { "backdrive serve --listen 0.0.0.0:8077" } p { (text("page.pair.only-here-why")) } }
        };
        Ok(layout::page(&ctx, &text("page.pair.title"), None, &html! { h1 { (text("page.pair.title")) } (body) }))
    })
    .await
}

/// Which device to forget.
#[derive(Deserialize)]
pub struct Forget {
    key: String,
}

/// Shuts a device out.
pub async fn forget(ctx: Ctx, Form(which): Form<Forget>) -> Response {
    work(move || {
        ctx.app.sessions.forget(&ctx, &which.key)?;
        Ok(Redirect::to(&own_path("/pair", "/")).into_response())
    })
    .await
}

/// Where a tablet finds this computer: the first name it may be called, or the address that leads to the network.
fn reachable(app: &App) -> String {
    let port = app.options.listen.port();
    if let Some(host) = app.options.hosts.first() {
        return if host.contains(':') { host.clone() } else { format!("{host}:{port}") };
    }
    let ip = app.options.listen.ip();
    if !ip.is_unspecified() {
        return app.options.listen.to_string();
    }
    // Asks the system which of its addresses it would use; a datagram socket that is only connected sends nothing.
    let own = UdpSocket::bind("0.0.0.0:0").and_then(|s| s.connect("192.0.2.1:9").and_then(|()| s.local_addr()));
    match own.map(|a| a.ip()) {
        Ok(IpAddr::V6(v6)) => format!("[{v6}]:{port}"),
        Ok(IpAddr::V4(v4)) => format!("{v4}:{port}"),
        Err(_) => format!("localhost:{port}"),
    }
}

/// The page behind the square code. Only pressing its button uses the word up, so that a preview of the address does not.
pub async fn join_form(ctx: Ctx, Path(word): Path<String>) -> Response {
    if !ctx.app.sessions.good(&word) {
        return (StatusCode::FORBIDDEN, door(&ctx, &text("page.pair.word-used"))).into_response();
    }
    layout::bare(
        &text("page.pair.door"),
        &html! {
            h1 { (text("page.pair.join")) }
            form.stack method="post" action=(format!("/join/{word}")) {
                label { (text("page.pair.device")) input name="device" maxlength="40" value=(ctx.person.device) placeholder=(text("page.pair.device-like")); }
                button.plate.go { (text("page.pair.come-in")) }
            }
        },
    )
    .into_response()
}

/// Lets the device in.
pub async fn join(ctx: Ctx, Path(word): Path<String>, Form(knock): Form<Knock>) -> Response {
    let one_at_a_time = ctx.app.sessions.door.lock().await;
    if !ctx.app.sessions.good(&word) {
        tokio::time::sleep(Duration::from_secs(1)).await;
        return (StatusCode::FORBIDDEN, door(&ctx, &text("page.pair.word-used"))).into_response();
    }
    lock(&ctx.app.sessions.words).remove(&word);
    drop(one_at_a_time);
    let device = named(&knock.device);
    work(move || let_in(&ctx, &device)).await
}
