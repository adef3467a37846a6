//! The job file in and out; photos and logs.

use crate::bike::Bike;
use crate::change;
use crate::ctx::{Ctx, fresh_id};
use crate::fail::{Fail, work};
use crate::layout;
use axum::extract::multipart::MultipartError;
use axum::extract::{Multipart, Path};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::{Kind, NewFile, NewJob};
use maud::html;
use workbench::words::{fill, text};

/// Largest form without a file, in bytes.
pub const FORM: usize = 256 << 10;
/// Largest job file, in bytes.
pub const JOB_FILE: usize = 1 << 20;
/// Largest photo or log, in bytes.
pub const PHOTO: usize = 24 << 20;
/// Kinds of file that are taken, and the first bytes that prove them.
const KINDS: [(&str, &str, &[u8]); 4] = [
    ("jpg", "image/jpeg", &[0xff, 0xd8, 0xff]),
    ("png", "image/png", b"\x89PNG\r\n\x1a\n"),
    ("webp", "image/webp", b"RIFF"),
    ("csv", "text/csv", b""),
];

/// A form with a file, taken apart.
pub struct Upload {
    /// Name that its sender gave it.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Where it belongs.
    pub slot: String,
    /// Id of the change.
    pub change: String,
    /// Revision that was seen.
    pub from: String,
}

/// Takes the form apart.
pub async fn read(mut form: Multipart) -> Result<Upload, Fail> {
    let wrong = |e: MultipartError| Fail::new(e.status(), fill("page.upload.wrong", &[("why", &e.body_text())]));
    let mut up = Upload {
        name: String::new(),
        bytes: Vec::new(),
        slot: String::new(),
        change: String::new(),
        from: String::new(),
    };
    while let Some(field) = form.next_field().await.map_err(wrong)? {
        match field.name().unwrap_or("") {
            "file" => {
                up.name = field.file_name().unwrap_or("").to_owned();
                up.bytes = field.bytes().await.map_err(wrong)?.to_vec();
            }
            "slot" => up.slot = field.text().await.map_err(wrong)?,
            "change" => up.change = field.text().await.map_err(wrong)?,
            "from" => up.from = field.text().await.map_err(wrong)?,
            _ => {}
        }
    }
    if up.bytes.is_empty() { Err(Fail::bad(text("page.upload.empty"))) } else { Ok(up) }
}

fn as_text(bytes: Vec<u8>) -> Result<String, Fail> {
    if bytes.len() > JOB_FILE {
        return Err(Fail::new(StatusCode::PAYLOAD_TOO_LARGE, text("page.upload.large")));
    }
    String::from_utf8(bytes).map_err(|_| Fail::bad(text("page.upload.not-text")))
}

/// The job file as it stands, byte for byte.
pub async fn get(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let file = ctx.app.book.job(&number)?;
        let name = format!("attachment; filename=\"{number}.toml\"");
        Ok(([(CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()), (CONTENT_DISPOSITION, name)], file.text)
            .into_response())
    })
    .await
}

/// The page that takes a job file.
pub async fn form(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let body = html! {
            h1 { (text("page.file.put")) }
            p { (text("page.file.lead")) }
            form.stack method="post" action=(bike.at("file")) enctype="multipart/form-data" {
                (layout::form_head(&fresh_id(), bike.file.revision))
                input type="file" name="file" accept=".toml,text/plain" required aria-label=(text("page.file.put"));
                button.plate.go { (text("page.file.put")) }
            }
        };
        Ok(layout::page(&ctx, &text("page.file.put"), Some(&bike), &body))
    })
    .await
}

fn errors_page(ctx: &Ctx, name: &str, source: &str, errors: &[intake::Diagnostic]) -> Response {
    let body = html! {
        h1 { (text("page.upload.faulty")) }
        pre.say role="alert" { (intake::render(name, source, errors)) }
        p { (text("page.upload.nothing-changed")) }
    };
    let mut page = layout::page(ctx, &text("page.upload.faulty"), None, &body);
    *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    page
}

/// Puts a job file in place of the one that is there.
pub async fn put(ctx: Ctx, Path(number): Path<String>, form: Multipart) -> Response {
    let up = match read(form).await {
        Ok(up) => up,
        Err(fail) => return fail.into_response(),
    };
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let source = as_text(up.bytes)?;
        if let Err(errors) = intake::read_job(&source, &bike.shop.shop) {
            return Ok(errors_page(&ctx, &up.name, &source, &errors));
        }
        let from = up.from.parse().unwrap_or(bike.file.revision);
        let revision = ctx.app.book.replace_text(&number, &source, from, &ctx.by(&up.change))?;
        change::tell(&ctx, &number, revision, &up.change);
        Ok(Redirect::to(&bike.at("holds")).into_response())
    })
    .await
}

/// A new bike from a job file.
pub async fn new(ctx: Ctx, form: Multipart) -> Response {
    let up = match read(form).await {
        Ok(up) => up,
        Err(fail) => return fail.into_response(),
    };
    work(move || {
        let source = as_text(up.bytes)?;
        let shop = crate::shop::ShopTexts::load(&ctx.app)?;
        if let Err(errors) = intake::read_job(&source, &shop.shop) {
            return Ok(errors_page(&ctx, &up.name, &source, &errors));
        }
        let number =
            ctx.app.book.new_job(&NewJob { kind: Kind::Convert, of: None, text: &source }, &ctx.by(&up.change))?;
        change::tell(&ctx, "", 0, &up.change);
        Ok(Redirect::to(&format!("/bikes/{number}/holds")).into_response())
    })
    .await
}

/// Photos and logs of a bike.
pub async fn list(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let all = ctx.app.book.attachments(&number)?;
        let slot = ctx.here.split_once("slot=").map_or("", |(_, s)| s);
        let slot: String = slot.chars().filter(char::is_ascii_alphanumeric).take(20).collect();
        let body = html! {
            h1 { (text("page.files.title")) }
            form.stack method="post" action=(bike.at("files")) enctype="multipart/form-data" {
                input type="hidden" name="change" value=(fresh_id());
                label { (text("page.files.slot")) select name="slot" {
                    option value="" { "—" }
                    @for n in 1..=16 { option value=(format!("p{n:02}")) { (n) " " (text(&format!("page.photo.p{n}"))) } }
                    @if slot.starts_with('q') { option value=(slot) selected { (text(&format!("page.group.g{}", slot[1..].trim_start_matches('0')))) } }
                } }
                label { (text("page.files.choose")) input type="file" name="file" accept="image/jpeg,image/png,image/webp,.csv" capture="environment" required; }
                button.plate.go { (text("page.files.keep")) }
            }
            ul.photos { @for f in &all { li {
                @if f.media_type.starts_with("image/") { img src=(bike.at(&format!("files/{}", f.name))) alt=(f.name) loading="lazy"; }
                a href=(bike.at(&format!("files/{}", f.name))) { (f.name) }
                span.quiet { (f.size_bytes / 1024) " KiB · " (f.sha256[..12]) }
            } } }
        };
        Ok(layout::page(&ctx, &text("page.files.title"), Some(&bike), &body))
    })
    .await
}

/// Keeps a photo or log. Its name is ours; what it is, its first bytes say, not its sender.
pub async fn attach(ctx: Ctx, Path(number): Path<String>, form: Multipart) -> Response {
    let up = match read(form).await {
        Ok(up) => up,
        Err(fail) => return fail.into_response(),
    };
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let ending = up.name.rsplit('.').next().unwrap_or("").to_ascii_lowercase();
        let kind = KINDS.iter().find(|(end, _, first)| {
            if first.is_empty() {
                ending == *end && core::str::from_utf8(&up.bytes).is_ok()
            } else {
                up.bytes.starts_with(first)
            }
        });
        let Some((end, media_type, _)) = kind else { return Err(Fail::bad(text("page.upload.kind"))) };
        let slot: String = up.slot.chars().filter(char::is_ascii_alphanumeric).take(20).collect();
        let id = if up.change.len() >= 8 { up.change.clone() } else { fresh_id() };
        let id: String = id.chars().filter(char::is_ascii_alphanumeric).take(8).collect();
        let name = format!("{}-{id}.{end}", if slot.is_empty() { "photo" } else { &slot });
        let file = NewFile { name: &name, media_type, slot: &slot, personal: false, bytes: &up.bytes };
        ctx.app.book.attach(&number, &file, &ctx.by(&up.change))?;
        change::tell(&ctx, &number, 0, &up.change);
        Ok(Redirect::to(&bike.at("files")).into_response())
    })
    .await
}

/// One photo or log. Shown as what it is, in a place where nothing in it can run.
pub async fn one(ctx: Ctx, Path((number, name)): Path<(String, String)>) -> Response {
    work(move || {
        let (file, bytes) = ctx.app.book.attachment(&number, &name)?;
        let kind =
            KINDS.iter().find(|(_, media, _)| *media == file.media_type).map_or("application/octet-stream", |k| k.1);
        Ok(([(CONTENT_TYPE, kind)], bytes).into_response())
    })
    .await
}
