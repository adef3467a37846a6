//! The parts shelf: parts that the shop has measured once. One touch writes a part's values into a job.

use crate::bike::Bike;
use crate::change::{self, Pairs, value};
use crate::ctx::{Ctx, fresh_id, own_path};
use crate::fail::{Fail, work};
use axum::Form;
use axum::extract::Path;
use axum::response::Response;
use jobbook::edit::{self, Edit};
use maud::{Markup, html};
use workbench::words::text;

/// One part.
pub struct Part {
    /// Its name on the shelf.
    pub name: String,
    /// Batch, where it stands, what it costs: free words.
    pub note: String,
    /// What one costs, as the shop wrote it.
    pub price: String,
    /// What would be fixed with it: the lever's name, or `undo` for what is needed to go back to a free clutch.
    pub purpose: String,
    /// Facts of the job file that it brings: `arm.thickness` is meant for the arm that it becomes.
    pub values: Vec<(String, String)>,
}

/// Reads the shelf: a table `[[part]]` each with `name`, `note`, `price`, `for` and the facts in quotes.
pub fn parts(source: &str) -> Vec<Part> {
    let Ok(doc) = edit::parse(source) else { return Vec::new() };
    let Some(list) = doc.get("part").and_then(|i| i.as_array_of_tables()) else { return Vec::new() };
    list.iter()
        .map(|t| {
            let word = |k: &str| t.get(k).and_then(|v| v.as_str()).unwrap_or_default().to_owned();
            let values = t
                .iter()
                .filter(|(k, _)| !["name", "note", "price", "for"].contains(k))
                .filter_map(|(k, v)| Some((k.to_owned(), v.as_str()?.to_owned())))
                .collect();
            Part { name: word("name"), note: word("note"), price: word("price"), purpose: word("for"), values }
        })
        .collect()
}

/// The parts as rows, each with a form that puts it into a job.
pub fn list(ctx: &Ctx, parts: &[Part]) -> Result<Markup, Fail> {
    let jobs = ctx.app.book.jobs()?;
    Ok(html! {
        @if parts.is_empty() { p { (text("page.shelf.empty")) } }
        ul.rows { @for (i, p) in parts.iter().enumerate() { li {
            b { (p.name) } span { (p.note) } @if !p.price.is_empty() { b { (p.price) } }
            span.quiet { @for (k, v) in &p.values { (k) " = " (v) "; " } }
            @if !p.values.is_empty() { form method="post" action={ "/shelf/" (i) } {
                input type="hidden" name="change" value=(fresh_id());
                select name="job" aria-label=(text("page.shelf.to")) { @for j in &jobs { option value=(j.number) { (j.number) " " (j.title) } } }
                button.plate { (text("page.shelf.use")) }
            } }
        } } }
    })
}

/// Writes a part's values into a job.
pub async fn put(ctx: Ctx, Path(i): Path<usize>, Form(pairs): Form<Pairs>) -> Response {
    work(move || {
        let doc = ctx.app.book.document("shelf")?.map_or_else(String::new, |d| d.text);
        let all = parts(&doc);
        let part = all.get(i).ok_or_else(Fail::nothing_here)?;
        let bike = Bike::load(&ctx.app, value(&pairs, "job"))?;
        let arm = bike.arms() + 1;
        let place = |key: &str| match key.strip_prefix("arm.") {
            Some(rest) => format!("arm.{arm}.{rest}"),
            None => key.to_owned(),
        };
        let edits: Vec<Edit> = part.values.iter().map(|(k, v)| Edit::put(&place(k), v.as_str())).collect();
        let then = own_path(&bike.at("holds"), "/");
        change::write(&ctx, &bike, &pairs, &edits, bike.file.revision, &then)
    })
    .await
}
