//! A signature: drawn by finger on the tablet, or given on paper. Who signed is the rider's personal data and stands with it;
//! the picture is a file of the job, personal too, and its digest stands in what was signed.

use super::doc::{Doc, tidy};
use crate::change::{Pairs, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::Fail;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use jobbook::edit::Edit;
use jobbook::{NewFile, Timestamp};
use maud::{Markup, html};
use sha2::{Digest, Sha256};
use workbench::words::{fill, text};

/// Largest picture of a signature, in bytes.
const LARGEST: usize = 128 << 10;
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

/// A signature as it came in.
pub struct Signature {
    who: String,
    picture: Option<Vec<u8>>,
}

/// Takes it out of the form.
pub fn read(form: &Pairs) -> Result<Signature, Fail> {
    let who: String = tidy(value(form, "signer")).replace('\n', " ").chars().take(80).collect();
    if who.is_empty() {
        return Err(Fail::bad(text("office.sign.who")));
    }
    if value(form, "how") == "paper" {
        return Ok(Signature { who, picture: None });
    }
    let drawn = value(form, "signature").strip_prefix("data:image/png;base64,").unwrap_or("");
    let picture = STANDARD.decode(drawn).map_err(|_| Fail::bad(text("office.sign.unreadable")))?;
    if picture.is_empty() {
        return Err(Fail::bad(text("office.sign.empty")));
    }
    if picture.len() > LARGEST || !picture.starts_with(PNG) {
        return Err(Fail::bad(text("office.sign.unreadable")));
    }
    Ok(Signature { who, picture: Some(picture) })
}

/// Keeps picture and name; gives the values that stand in the paper itself, which has no name in it.
pub fn keep(ctx: &Ctx, number: &str, paper: &str, s: &Signature, of: &str, change: &str) -> Result<Vec<Edit>, Fail> {
    let mut edits = vec![
        Edit::put("signed.how", if s.picture.is_some() { "drawn" } else { "paper" }),
        Edit::put("signed.at", Timestamp::now().strftime("%Y-%m-%d %H:%M UTC").to_string()),
        Edit::put("signed.of", of),
        Edit::put("signed.with", ctx.by("").who),
    ];
    match &s.picture {
        Some(bytes) => {
            let id = if change.len() >= 8 { change.to_owned() } else { fresh_id() };
            let id: String = id.chars().filter(char::is_ascii_alphanumeric).take(12).collect();
            let name = format!("signature-{paper}-{id}.png");
            let file = NewFile { name: &name, media_type: "image/png", slot: "signature", personal: true, bytes };
            let kept = ctx.app.book.attach(number, &file, &ctx.by(""))?;
            edits.extend([Edit::put("signed.file", name), Edit::put("signed.sha256", kept.sha256)]);
        }
        None => edits.extend([Edit::remove("signed.file"), Edit::remove("signed.sha256")]),
    }
    let rider = Doc::load(&ctx.app, number, "rider")?;
    // The change of the paper itself has this id; the name is the same change on another document.
    let by = ctx.by(&if change.is_empty() { String::new() } else { format!("{change}-who") });
    let key = format!("{paper}_signer");
    ctx.app.book.set_values(&format!("{number}/rider"), &[Edit::put(&key, s.who.as_str())], rider.revision, &by)?;
    Ok(edits)
}

/// Digest of what is signed.
pub fn digest(what: &str) -> String {
    crate::ctx::hex(&Sha256::digest(what))
}

/// The form's part: name, a field to draw in, or paper. Drawing and pressing the button are two touches in two places.
pub fn fields(name: &str) -> Markup {
    html! {
        label { (text("office.sign.name")) input name="signer" value=(name) maxlength="80" autocomplete="off"; }
        fieldset.fact { legend { (text("office.sign.how")) }
            div.tiles role="group" aria-label=(text("office.sign.how")) {
                label.tile { input type="radio" name="how" value="drawn" checked; span { (text("office.sign.drawn")) } }
                label.tile { input type="radio" name="how" value="paper"; span { (text("office.sign.paper")) } }
            }
        }
        div.sign hidden data-wipe=(text("office.sign.wipe")) {
            p { (text("office.sign.here")) }
            canvas width="900" height="260" role="img" aria-label=(text("office.sign.here")) {}
            input type="hidden" name="signature" value="";
        }
        noscript { p.quiet { (text("office.sign.no-script")) } }
    }
}

/// How a paper was signed, with the picture; `now` is the digest of what it says today.
pub fn shown(number: &str, doc: &Doc, signer: Option<&str>, now: &str) -> Markup {
    let Some(at) = doc.get("signed.at") else { return html! {} };
    let who = signer.map_or_else(|| text("office.sign.erased"), str::to_owned);
    let how = doc.or_none("signed.how");
    html! {
        section.signed {
            p { b { (fill(&format!("office.sign.was-{how}"), &[("who", &who), ("at", &at), ("with", &doc.or_none("signed.with"))])) } }
            @if let (Some(file), true) = (doc.get("signed.file"), signer.is_some()) { img.signature src={ "/bikes/" (number) "/files/" (file) } alt=(fill("office.sign.picture", &[("who", &who)])); }
            @if let Some(sha256) = doc.get("signed.sha256") { p.quiet { (fill("office.sign.digest", &[("sha256", &sha256[..16.min(sha256.len())])])) } }
            @if signer.is_some() && doc.get("signed.of").is_some_and(|of| of != now) { p.say role="alert" { (text("office.sign.changed")) } }
        }
    }
}

/// The lines on which a printed paper is signed by hand, or how it was signed.
pub fn printed(number: &str, doc: &Doc, signer: Option<&str>, now: &str, shop: &str) -> Markup {
    html! {
        @if doc.get("signed.at").is_some() { (shown(number, doc, signer, now)) }
        @if doc.get("signed.how").as_deref() != Some("drawn") {
            div.by-hand {
                p { (text("office.sign.line-rider")) } p { (text("office.sign.line-date")) } p { (fill("office.sign.line-shop", &[("shop", shop)])) }
            }
        }
    }
}
