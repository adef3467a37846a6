//! The job file in and out, and forms with files.

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
use jobbook::{Kind, NewJob};
use maud::html;
use workbench::words::{fill, text};

/// Largest form without a file, in bytes.
pub const FORM: usize = 256 << 10;
/// Largest job file, in bytes.
pub const JOB_FILE: usize = 1 << 20;
/// Largest photo or log, in bytes.
pub const PHOTO: usize = 24 << 20;
/// Largest form with photos, in bytes.
pub const PHOTOS: usize = 48 << 20;

/// A form with a file, taken apart.
pub struct Upload {
    /// Name that its sender gave it.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Further files that were chosen with it.
    pub more: Vec<(String, Vec<u8>)>,
    /// Where it belongs.
    pub slot: String,
    /// Whether somebody can be seen in it.
    pub personal: bool,
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
        more: Vec::new(),
        slot: String::new(),
        personal: false,
        change: String::new(),
        from: String::new(),
    };
    while let Some(field) = form.next_field().await.map_err(wrong)? {
        match field.name().unwrap_or("") {
            "file" => {
                let name = field.file_name().unwrap_or("").to_owned();
                let bytes = field.bytes().await.map_err(wrong)?.to_vec();
                if up.bytes.is_empty() {
                    (up.name, up.bytes) = (name, bytes);
                } else if !bytes.is_empty() {
                    up.more.push((name, bytes));
                }
            }
            "personal" => up.personal = !field.text().await.map_err(wrong)?.is_empty(),
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
