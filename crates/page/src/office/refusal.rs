//! The sheet that says no, in four sentences that can be read out on the phone.

use super::prices;
use super::sheet::paper;
use crate::answer::Judged;
use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::fail::{Fail, work};
use axum::extract::Path;
use axum::response::Response;
use maud::html;
use workbench::check::Verdict;
use workbench::say;
use workbench::words::{fill, text};

/// What was looked at; why not; whether anything would change it; what we advise.
fn sentences(bike: &Bike, judged: &Judged) -> [String; 4] {
    let check = &judged.check;
    let name = &bike.file.summary.title;
    let locked = judged.job.answer(workbench::fact::list::CLUTCH.id()) == Some("locked");
    let (why, way_out) = match (check.refused.first(), judged.advice().fixes.last()) {
        (Some(rule), _) => {
            let out = if rule.unless.is_empty() { "office.refusal.no-setting" } else { "office.refusal.unless" };
            (rule.sentence.clone(), text(out))
        }
        (None, Some(fix)) if matches!(fix.verdict, Verdict::Holds | Verdict::Marginal) => {
            let say = |c: &workbench::advice::Change| fill(&format!("lever.{}", c.key), &[("value", &c.value)]);
            let all: Vec<String> = fix.changes.iter().map(say).collect();
            (why_it_fails(judged), fill("office.refusal.would-hold", &[("changes", &all.join(" + "))]))
        }
        (None, _) => (why_it_fails(judged), text("office.refusal.no-setting")),
    };
    let advice = if locked { "office.refusal.advice-locked" } else { "office.refusal.advice" };
    [fill("office.refusal.looked", &[("name", name)]), why, way_out, text(advice)]
}

/// The fullest link that does not hold, in one sentence.
fn why_it_fails(judged: &Judged) -> String {
    let worst = judged.check.worst_first().into_iter().find(|l| l.verdict == Verdict::Fails);
    let full = worst.and_then(|l| l.load).map_or_else(String::new, |x| say::percent(x.full));
    fill("office.refusal.fails", &[("link", &worst.map_or_else(String::new, say::name)), ("full", &full)])
}

/// The sheet.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let judged = bike.judged()?;
        let check = &judged.check;
        if !matches!(check.verdict, Verdict::Refused | Verdict::Fails) {
            return Err(Fail::bad(text("office.refusal.none")));
        }
        let (prices, _) = prices::load(&ctx.app)?;
        let body = html! {
            ol.said { @for s in sentences(&bike, judged) { li { (s) } } }
            @if check.refused.len() > 1 {
                h2 { (text("office.refusal.more")) }
                ul { @for r in check.refused.iter().skip(1) { li { (r.sentence) } } }
            }
        };
        Ok(paper(&ctx, &bike, &prices, &text("office.refusal.title"), &body))
    })
    .await
}
