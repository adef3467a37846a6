//! Photos in named slots, and logs: taken or chosen, shown small, opened whole, removed and put back.

use crate::bike::Bike;
use crate::change;
use crate::ctx::{Ctx, fresh_id, own_path};
use crate::fail::{Fail, work};
use crate::files::{self, Upload};
use crate::layout;
use crate::walk;
use axum::Form;
use axum::extract::{Multipart, Path};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use jobbook::{File, NewFile};
use maud::{Markup, html};
use workbench::words::{fill, text};

/// A kind of file that is taken: ending, media type, what its bytes begin with.
struct Kind {
    end: &'static str,
    media: &'static str,
    is: fn(&[u8]) -> bool,
}

const KINDS: [Kind; 4] = [
    Kind { end: "jpg", media: "image/jpeg", is: |b| b.starts_with(&[0xff, 0xd8, 0xff]) },
    Kind { end: "png", media: "image/png", is: |b| b.starts_with(b"\x89PNG\r\n\x1a\n") },
    Kind { end: "webp", media: "image/webp", is: |b| b.starts_with(b"RIFF") && b.get(8..12) == Some(b"WEBP") },
    Kind { end: "csv", media: "text/csv", is: |b| core::str::from_utf8(b).is_ok() },
];

/// The slots that every bike has, in the order of the work.
pub const SLOTS: [&str; 16] =
    ["p01", "p02", "p03", "p04", "p05", "p06", "p07", "p08", "p09", "p10", "p11", "p12", "p13", "p14", "p15", "p16"];

/// Slots that a question of the walk fills.
pub const fn of_group(n: u8) -> &'static [&'static str] {
    match n {
        5 => &["p03"],
        7 => &["p01", "p02", "p03", "p04", "p05", "p06", "p07"],
        9 => &["p04"],
        10 => &["p05"],
        11 => &["p06"],
        12 => &["p07"],
        14 => &["p12", "p13", "p14"],
        21 => &["p08"],
        31 => &["p09"],
        32 => &["p10"],
        43 => &["p11"],
        _ => &[],
    }
}

/// Its number and what it shows; nothing for a slot that there is not.
fn title(slot: &str) -> Option<String> {
    let n: u8 = slot.get(1..)?.parse().ok()?;
    match slot.get(..1)? {
        "p" if SLOTS.contains(&slot) => Some(format!("{n} {}", text(&format!("page.photo.p{n}")))),
        "q" if walk::group(n).is_some() => Some(text(&format!("page.group.g{n}"))),
        _ => None,
    }
}

fn is_photo(f: &File) -> bool {
    f.media_type.starts_with("image/")
}

fn asked(ctx: &Ctx, key: &str) -> String {
    let query = ctx.here.split_once('?').map_or("", |(_, q)| q);
    let found = query.split('&').find_map(|pair| pair.strip_prefix(key)?.strip_prefix('='));
    found.unwrap_or("").chars().filter(char::is_ascii_alphanumeric).take(20).collect()
}

/// All slots of a bike, or the one that the address names.
pub async fn list(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let all = ctx.app.book.attachments(&number)?;
        let slot = asked(&ctx, "slot");
        if !slot.is_empty() {
            let title = title(&slot).ok_or_else(Fail::nothing_here)?;
            return Ok(layout::page(&ctx, &title, Some(&bike), &one_slot(&ctx, &bike, &all, &slot, &title)?));
        }
        let of = |slot: &str| all.iter().filter(|f| f.slot == slot).collect::<Vec<_>>();
        let known = |f: &&File| title(&f.slot).is_some();
        let questions: Vec<String> =
            (1..=44).map(|n| format!("q{n:02}")).filter(|s| all.iter().any(|f| f.slot == *s)).collect();
        let rest: Vec<&File> = all.iter().filter(|f| !known(f)).collect();
        let body = html! {
            h1 { (text("page.files.title")) }
            (removed(&ctx, &bike, &bike.at("files"))?)
            p.lead { (text("page.files.lead")) }
            ul.slots {
                @for slot in SLOTS.iter().map(|s| (*s).to_owned()).chain(questions) {
                    li.slot { (slot_row(&bike, &slot, &of(&slot), true)) }
                }
            }
            @if !rest.is_empty() {
                h2 { (text("page.files.others")) }
                (row_of(&bike, &rest))
            }
            h2 { (text("page.files.log")) }
            form.stack method="post" action=(bike.at("files")) enctype="multipart/form-data" {
                input type="hidden" name="change" value=(fresh_id());
                label { (text("page.files.choose-log")) input type="file" name="file" accept=".csv,text/csv" required; }
                button.plate { (text("page.files.keep")) }
            }
        };
        Ok(layout::page(&ctx, &text("page.files.title"), Some(&bike), &body))
    })
    .await
}

fn slot_row(bike: &Bike, slot: &str, files: &[&File], on_list: bool) -> Markup {
    html! {
        a.slot-name href=(bike.at(&format!("files?slot={slot}"))) {
            b { @if slot.starts_with('q') && !on_list { (text("page.files.photo")) } @else { (title(slot).unwrap_or_default()) } }
            span.quiet { (if files.is_empty() { text("page.files.none") } else { fill("page.files.count", &[("n", &files.len().to_string())]) }) }
        }
        (row_of(bike, files))
    }
}

/// Small pictures in a row, each opening its photo; logs by name.
fn row_of(bike: &Bike, files: &[&File]) -> Markup {
    html! { @if !files.is_empty() { ul.thumbs { @for f in files { li {
        @let open = bike.at(&format!("files/{}/look", f.name));
        @if is_photo(f) {
            a.thumb href=(open) { img src=(bike.at(&format!("files/{}/small", f.name))) alt=(fill("page.files.open", &[("name", &f.name)])) loading="lazy" width="104" height="104"; }
        } @else { a.plate href=(open) { (f.name) } }
    } } } } }
}

fn one_slot(ctx: &Ctx, bike: &Bike, all: &[File], slot: &str, title: &str) -> Result<Markup, Fail> {
    let here: Vec<&File> = all.iter().filter(|f| f.slot == slot).collect();
    let group = slot.strip_prefix('q').and_then(|n| n.parse::<u8>().ok());
    let add = |key: &str, capture: bool| {
        html! {
            form.stack.add-photo method="post" action=(bike.at("files")) enctype="multipart/form-data" {
                input type="hidden" name="change" value=(fresh_id());
                input type="hidden" name="slot" value=(slot);
                label { b { (text(key)) }
                    @if capture { input type="file" name="file" accept="image/*" capture="environment" required; }
                    @else { input type="file" name="file" accept="image/jpeg,image/png,image/webp,.csv" multiple required; } }
                label.check { input type="checkbox" name="personal" value="yes"; span { (text("page.files.personal")) } }
                button.plate.go { (text("page.files.keep")) }
            }
        }
    };
    Ok(html! {
        nav.along aria-label=(text("page.files.title")) {
            a.plate href=(bike.at("files")) { "‹ " (text("page.files.title")) }
            @if let Some(n) = group { a.plate href=(bike.at(&format!("measure/{n}"))) { (text("page.group-back")) } }
        }
        h1 { (title) }
        (removed(ctx, bike, &bike.at(&format!("files?slot={slot}")))?)
        (row_of(bike, &here))
        div.two { (add("page.files.take", true)) (add("page.files.choose", false)) }
        p.quiet { (text("page.files.allowed")) }
    })
}

/// What was removed just now can be put back with one touch.
fn removed(ctx: &Ctx, bike: &Bike, then: &str) -> Result<Markup, Fail> {
    let Ok(id) = asked(ctx, "removed").parse::<i64>() else { return Ok(html! {}) };
    let list = ctx.app.book.document_history(&format!("{}/files", bike.number()))?;
    let Some(change) = list.iter().find(|c| c.id == id && c.undone_by.is_none()) else { return Ok(html! {}) };
    Ok(html! {
        form.tried method="post" action=(bike.at("undo")) {
            input type="hidden" name="change" value=(fresh_id());
            input type="hidden" name="id" value=(change.id);
            input type="hidden" name="then" value=(then);
            p role="status" { b { (text("page.files.removed")) } }
            button.plate { (text("page.files.put-back")) }
        }
    })
}

/// Photos of some slots, with the way to add one.
pub fn of_slots(ctx: &Ctx, bike: &Bike, slots: &[&str]) -> Result<Markup, Fail> {
    let all = ctx.app.book.attachments(bike.number())?;
    Ok(html! {
        section.photos-of aria-label=(text("page.files.photos")) {
            h2 { (text("page.files.photos")) }
            ul.slots { @for slot in slots {
                li.slot { (slot_row(bike, slot, &all.iter().filter(|f| f.slot == *slot).collect::<Vec<_>>(), false)) }
            } }
        }
    })
}

/// Photos of a question.
pub fn of_question(ctx: &Ctx, bike: &Bike, n: u8) -> Result<Markup, Fail> {
    let own = format!("q{n:02}");
    let slots: Vec<&str> = of_group(n).iter().copied().chain([own.as_str()]).collect();
    of_slots(ctx, bike, &slots)
}

/// Keeps photos or a log. Their names are ours; what they are, their bytes say, not their sender. All of them or none.
pub async fn attach(ctx: Ctx, Path(number): Path<String>, form: Multipart) -> Response {
    let up = match files::read(form).await {
        Ok(up) => up,
        Err(fail) => return fail.into_response(),
    };
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let Upload { name, bytes, more, slot, change, personal, .. } = up;
        let slot = if title(&slot).is_some() { slot } else { String::new() };
        let id = if change.len() >= 8 { change.clone() } else { fresh_id() };
        let id: String = id.chars().filter(char::is_ascii_alphanumeric).take(8).collect();
        let all: Vec<(String, Vec<u8>)> = core::iter::once((name, bytes)).chain(more).collect();
        let kinds = all.iter().map(|(name, bytes)| kind_of(&ctx, name, bytes)).collect::<Result<Vec<_>, _>>()?;
        for (i, ((_, bytes), kind)) in all.iter().zip(kinds).enumerate() {
            let count = if i == 0 { String::new() } else { format!("-{}", i + 1) };
            let name = format!("{}-{id}{count}.{}", if slot.is_empty() { "file" } else { &slot }, kind.end);
            let file = NewFile { name: &name, media_type: kind.media, slot: &slot, personal, bytes };
            let sent_as = if change.is_empty() { String::new() } else { format!("{change}{count}") };
            ctx.app.book.attach(&number, &file, &ctx.by(&sent_as))?;
        }
        change::tell(&ctx, &number, 0, &change);
        let then = if slot.is_empty() { "files".to_owned() } else { format!("files?slot={slot}") };
        Ok(Redirect::to(&bike.at(&then)).into_response())
    })
    .await
}

/// What a file is, or the words that say what is allowed.
fn kind_of(ctx: &Ctx, name: &str, bytes: &[u8]) -> Result<&'static Kind, Fail> {
    if bytes.len() > files::PHOTO {
        return Err(Fail::new(StatusCode::PAYLOAD_TOO_LARGE, text("page.upload.large")));
    }
    let ending = name.rsplit('.').next().unwrap_or("").to_ascii_lowercase();
    let found = KINDS.iter().find(|k| (k.is)(bytes) && (k.end != "csv" || ending == "csv"));
    let Some(kind) = found else {
        // The container in which some cameras keep photos: its kind stands behind four bytes of length.
        let heic = bytes.get(4..8) == Some(b"ftyp") && matches!(bytes.get(8..11), Some(b"hei" | b"mif" | b"avi"));
        return Err(Fail::bad(text(if heic { "page.upload.heic" } else { "page.upload.kind" })));
    };
    if kind.media.starts_with("image/") && ctx.app.small.of(&crate::ctx::digest(bytes), bytes).is_none() {
        return Err(Fail::bad(text("page.upload.damaged")));
    }
    Ok(kind)
}

/// One photo or log by itself, with what is known of it.
pub async fn look(ctx: Ctx, Path((number, name)): Path<(String, String)>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let all = ctx.app.book.attachments(&number)?;
        let f = all.iter().find(|f| f.name == name).ok_or_else(Fail::nothing_here)?;
        let back = title(&f.slot).map(|t| (t, bike.at(&format!("files?slot={}", f.slot))));
        let (to, from) = back.unwrap_or_else(|| (text("page.files.title"), bike.at("files")));
        let same: Vec<&File> = all.iter().filter(|x| x.slot == f.slot && is_photo(x)).collect();
        let at = same.iter().position(|x| x.name == f.name);
        let near = |step: isize| at.and_then(|i| i.checked_add_signed(step)).and_then(|i| same.get(i));
        let raw = bike.at(&format!("files/{}", f.name));
        let body = html! {
            nav.along aria-label=(text("page.files.title")) {
                a.plate href=(from) { "‹ " (to) }
                @if let Some(b) = near(-1) { a.plate href=(bike.at(&format!("files/{}/look", b.name))) { "‹ " (text("page.files.before")) } }
                @if let Some(a) = near(1) { a.plate href=(bike.at(&format!("files/{}/look", a.name))) { (text("page.files.after")) " ›" } }
            }
            h1 { (to) }
            @if is_photo(f) { a href=(raw) target="_blank" { img.photo src=(raw) alt=(fill("page.files.photo-of", &[("what", &to)])); } }
            @else { p { a.plate href=(raw) download { (text("page.files.get")) } } }
            p.quiet { (f.name) " · " (f.size_bytes.div_ceil(1024)) " KiB · " (text("page.files.digest")) " " (f.sha256[..12])
                @if f.personal { " · " (text("page.files.is-personal")) } }
            form method="post" action=(bike.at(&format!("files/{}/remove", f.name))) {
                input type="hidden" name="change" value=(fresh_id());
                button.plate { (text("page.files.remove")) }
            }
        };
        Ok(layout::page(&ctx, &to, Some(&bike), &body))
    })
    .await
}

/// Takes it out of the bike's list; the book keeps its bytes, so that it can be put back.
pub async fn remove(
    ctx: Ctx,
    Path((number, name)): Path<(String, String)>,
    Form(pairs): Form<change::Pairs>,
) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let slot = ctx.app.book.attachments(&number)?.into_iter().find(|f| f.name == name).map(|f| f.slot);
        let sent = change::value(&pairs, "change");
        let revision = ctx.app.book.detach(&number, &name, &ctx.by(sent))?;
        change::tell(&ctx, &number, revision, sent);
        let list = ctx.app.book.document_history(&format!("{number}/files"))?;
        let id = list.iter().find(|c| c.revision == revision).map_or(0, |c| c.id);
        let slot = slot.filter(|s| title(s).is_some()).map_or_else(String::new, |s| format!("slot={s}&"));
        Ok(Redirect::to(&own_path(&bike.at(&format!("files?{slot}removed={id}")), "/")).into_response())
    })
    .await
}

/// The bytes of a photo or log, as what they are, in a place where nothing in them can run.
pub async fn one(ctx: Ctx, Path((number, name)): Path<(String, String)>) -> Response {
    work(move || {
        let (file, bytes) = ctx.app.book.attachment(&number, &name)?;
        let media = KINDS.iter().find(|k| k.media == file.media_type).map_or("application/octet-stream", |k| k.media);
        let how = if is_photo(&file) { "inline" } else { "attachment" };
        let heads = [
            (CONTENT_TYPE, media),
            (CONTENT_DISPOSITION, how),
            (CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"),
        ];
        Ok((heads, bytes).into_response())
    })
    .await
}

/// The small picture of a photo.
pub async fn small(ctx: Ctx, Path((number, name)): Path<(String, String)>) -> Response {
    work(move || {
        let (file, bytes) = ctx.app.book.attachment(&number, &name)?;
        let small =
            ctx.app.small.of(&file.sha256, &bytes).filter(|_| is_photo(&file)).ok_or_else(Fail::nothing_here)?;
        // A name stands for the same bytes for ever; only this person's browser may keep them.
        let heads = [(CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, "private, max-age=86400")];
        Ok((heads, small.as_ref().clone()).into_response())
    })
    .await
}
