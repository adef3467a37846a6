//! One paper of a job as it stands in the book: single values with history, so that two people write it at once and lose
//! nothing.

use crate::app::App;
use crate::bike::Bike;
use crate::change::{self, Pairs, carried, value};
use crate::ctx::{Ctx, fresh_id};
use crate::fail::Fail;
use crate::layout::{self, form_head};
use axum::http::StatusCode;
use axum::response::Response;
use jobbook::edit::{self, Edit};
use jobbook::{Conflict, Error, Revision};
use maud::{Markup, html};
use workbench::words::{fill, find, text};

/// Longest line and longest remark, in characters.
const LINE: usize = 120;
const REMARK: usize = 1000;

/// A document of a job, read.
#[derive(Clone, Debug)]
pub struct Doc {
    /// Its newest revision; 0 where there is none yet.
    pub revision: Revision,
    /// As it is kept.
    pub text: String,
}

impl Doc {
    /// Loads it.
    pub fn load(app: &App, number: &str, part: &str) -> Result<Self, Fail> {
        let doc = app.book.document(&format!("{number}/{part}"))?;
        Ok(doc.map_or(Self { revision: 0, text: String::new() }, |d| Self { revision: d.revision, text: d.text }))
    }

    /// A value that somebody wrote.
    pub fn get(&self, key: &str) -> Option<String> {
        let doc = edit::parse(&self.text).ok()?;
        edit::plain(&doc, key).filter(|v| !v.is_empty())
    }

    /// A value, or nothing written.
    pub fn or_none(&self, key: &str) -> String {
        self.get(key).unwrap_or_default()
    }

    /// Every value below a key, as key and value.
    pub fn below(&self, start: &str) -> Vec<(String, String)> {
        let Ok(doc) = edit::parse(&self.text) else { return Vec::new() };
        let keys = edit::leaves(&doc).into_keys().filter(|k| k.starts_with(start));
        keys.filter_map(|k| Some((k.clone(), edit::plain(&doc, &k)?))).collect()
    }
}

/// What a form wants to change of these keys: what differs from what it was made with.
pub fn edits(pairs: &Pairs, keys: &[&str]) -> Vec<Edit> {
    keys.iter()
        .filter_map(|key| {
            let written = pairs.iter().find(|(k, _)| k.strip_prefix("a.") == Some(*key)).map(|(_, v)| tidy(v))?;
            let before = pairs.iter().find(|(k, _)| k.strip_prefix("o.") == Some(*key)).map(|(_, v)| tidy(v));
            if written == before.unwrap_or_default() {
                return None;
            }
            Some(if written.is_empty() { Edit::remove(key) } else { Edit::put(key, written) })
        })
        .collect()
}

/// Without control characters but line breaks, of bearable length.
pub fn tidy(written: &str) -> String {
    let kept: String =
        written.replace("\r\n", "\n").chars().filter(|c| !c.is_control() || *c == '\n').take(REMARK).collect();
    kept.trim().to_owned()
}

/// Writes values of a job's document; where others changed the same, gives the page that shows both.
pub fn keep(
    ctx: &Ctx,
    bike: &Bike,
    part: &str,
    edits: &[Edit],
    from: Revision,
    form: &Pairs,
    change: &str,
) -> Result<Option<Response>, Fail> {
    if edits.is_empty() {
        return Ok(None);
    }
    match ctx.app.book.set_values(&format!("{}/{part}", bike.number()), edits, from, &ctx.by(change)) {
        Ok(revision) => {
            // The page that sent it knows it by the form's own id, whichever document it went to.
            change::tell(ctx, bike.number(), revision, value(form, "change"));
            Ok(None)
        }
        Err(Error::Conflict(c)) => {
            let mut page = layout::page(ctx, &text("page.conflict.title"), Some(bike), &both(ctx, form, &c));
            *page.status_mut() = StatusCode::CONFLICT;
            Ok(Some(page))
        }
        Err(e) => Err(e.into()),
    }
}

/// Both values of each clash; mine can be sent again, on what the other has written.
fn both(ctx: &Ctx, form: &Pairs, c: &Conflict) -> Markup {
    let none = text("app.not-known");
    let here = ctx.here.split('?').next().unwrap_or("/");
    let from = if c.document.ends_with("/rider") { "from_rider" } else { "from" };
    html! {
        (crate::change::both_values(c, name))
        div.actions {
            form method="post" action=(here) {
                input type="hidden" name="change" value=(fresh_id());
                input type="hidden" name=(from) value=(c.revision);
                (carried(form, &["change", from]))
                button.plate { (fill("page.conflict.mine", &[("value", c.clashes.first().and_then(|x| x.mine.as_deref()).unwrap_or(&none))])) }
            }
            a.plate href=(here) { (fill("page.conflict.theirs", &[("value", c.clashes.first().and_then(|x| x.theirs.as_deref()).unwrap_or(&none))])) }
        }
        p.quiet { (fill("page.conflict.nothing-lost", &[("who", &ctx.by("").who)])) }
    }
}

/// What a key of a paper is called.
pub fn name(key: &str) -> String {
    let line = key.strip_prefix("lines.").and_then(|rest| rest.split_once('.'));
    match line {
        Some((id, part)) => format!("{} {id}: {}", text("office.key.line"), text(&format!("office.key.line-{part}"))),
        None => find(&format!("office.key.{}", key.replace('.', "-"))).unwrap_or(key).to_owned(),
    }
}

/// Head of a form on a document.
pub fn head(doc: &Doc) -> Markup {
    form_head(&fresh_id(), doc.revision)
}

/// One line to type.
pub fn line(doc: &Doc, key: &str, label: &str, like: &str) -> Markup {
    let now = doc.or_none(key);
    html! {
        label { (label)
            input name={ "a." (key) } value=(now) maxlength=(LINE) autocomplete="off" placeholder=[(!like.is_empty()).then_some(like)];
        }
        input type="hidden" name={ "o." (key) } value=(now);
    }
}

/// Some lines to type.
pub fn remark(doc: &Doc, key: &str, label: &str) -> Markup {
    let now = doc.or_none(key);
    html! {
        label { (label) textarea name={ "a." (key) } rows="3" maxlength=(REMARK) { (now) } }
        input type="hidden" name={ "o." (key) } value=(now);
    }
}

/// One of some answers; their words stand below `words`.
pub fn tiles(doc: &Doc, key: &str, legend: &str, words: &str, answers: &[&str]) -> Markup {
    let now = doc.or_none(key);
    html! {
        fieldset.fact data-known[!now.is_empty()] {
            legend { (legend) }
            div.tiles role="group" aria-label=(legend) {
                @for answer in answers {
                    label.tile {
                        input type="radio" name={ "a." (key) } value=(answer) checked[now == *answer];
                        span { (text(&format!("{words}{answer}"))) }
                    }
                }
            }
            input type="hidden" name={ "o." (key) } value=(now);
        }
    }
}

/// The revision on which a form was made.
pub fn from(form: &Pairs, name: &str, otherwise: Revision) -> Revision {
    value(form, name).parse().unwrap_or(otherwise)
}

/// Something typed that cannot be taken: field, label, why.
pub struct Wrong {
    /// Name of the field.
    pub field: String,
    /// What it is called.
    pub label: String,
    /// Why not, and what would be taken.
    pub why: String,
}

/// Asks back what cannot be taken; everything else of the form is carried along.
pub fn ask_again(ctx: &Ctx, bike: &Bike, form: &Pairs, wrong: &[Wrong]) -> Response {
    let here = ctx.here.split('?').next().unwrap_or("/");
    let mut but: Vec<&str> = wrong.iter().map(|w| w.field.as_str()).collect();
    but.push("change");
    let title = text("page.ask-back.title");
    let body = html! {
        h1 { (title) }
        form.stack method="post" action=(here) {
            input type="hidden" name="change" value=(fresh_id());
            (carried(form, &but))
            @for w in wrong {
                p.say role="alert" { (w.why) }
                label { (w.label) input name=(w.field) value=(value(form, &w.field)) maxlength=(LINE) autocomplete="off"; }
            }
            div.actions { button.plate.go { (text("page.measure.save")) } }
        }
    };
    let mut page = layout::page(ctx, &title, Some(bike), &body);
    *page.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    page
}
