//! Talk: the call's ten questions, what the rider wants, and what it honestly brings.

use super::doc::{self, Doc, keep};
use super::papers::RIDER;
use crate::bike::Bike;
use crate::change::{Pairs, value};
use crate::ctx::Ctx;
use crate::fail::work;
use crate::hill;
use crate::layout;
use crate::rides::Outcome;
use crate::show;
use axum::Form;
use axum::extract::Path;
use axum::response::Response;
use maud::{Markup, html};
use quantity::Speed;
use workbench::fact::{self, Shape, list};
use workbench::gain::{TOLD_AT_KMH, drag};
use workbench::job::Job;
use workbench::say::fact_name;
use workbench::words::{fill, text};

const PART: &str = "talk";
/// Answer of who does not know.
pub const UNKNOWN: &str = "unknown";

/// What an answer on the phone leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Leads {
    /// On.
    On,
    /// The house rule of that name says no, if this shop has it.
    No(&'static str),
    /// Bring or do something first; words below `office.call.bring`.
    Bring(&'static str),
}

/// One question of the call: its name, and what each answer leads to.
struct Question(&'static str, &'static [(&'static str, Leads)]);

/// The ten, so that nobody rides far for a no. They ask for what the built-in house rules refuse or want first.
const CALL: [Question; 10] = [
    Question("wheel", &[("rear", Leads::On), ("front", Leads::No("front-hub")), ("both", Leads::No("front-brake"))]),
    Question(
        "frame",
        &[("steel", Leads::On), ("aluminium", Leads::Bring("arms")), ("carbon", Leads::No("carbon-dropout"))],
    ),
    Question("axle", &[("nuts", Leads::On), ("through", Leads::No("thru-axle"))]),
    Question(
        "port",
        &[("one-in-writing", Leads::On), ("one", Leads::Bring("paper")), ("two", Leads::No("battery-port"))],
    ),
    Question("pack", &[("as-made", Leads::On), ("opened", Leads::No("battery-condition"))]),
    Question(
        "control",
        &[
            ("brakes", Leads::On),
            ("cannot", Leads::No("controller-cannot-brake")),
            ("in-display", Leads::Bring("photos")),
        ],
    ),
    Question("brakes", &[("both-good", Leads::On), ("weak", Leads::Bring("repair"))]),
    Question("owner", &[("own", Leads::On), ("leased", Leads::Bring("owner")), ("warranty", Leads::Bring("owner"))]),
    Question("load", &[("alone", Leads::On), ("child", Leads::Bring("child")), ("trailer", Leads::Bring("move"))]),
    Question(
        "before",
        &[("free", Leads::On), ("locked", Leads::Bring("found-locked")), ("coaster", Leads::No("coaster-brake"))],
    ),
];
const WISHES: [&str; 4] = ["hill", "stops", "pads", "range"];
const YES_NO: [&str; 2] = ["yes", "no"];
/// What is told besides.
const TOLD: [&str; 4] = ["wish", "others", "child", "note"];

/// What the call comes to so far.
pub struct Said {
    /// Sentences of the house rules that say no.
    pub no: Vec<String>,
    /// What to bring or do first.
    pub bring: Vec<String>,
    /// Questions without an answer that helps.
    pub open: usize,
}

/// Reads the answers against the house rules of this shop.
fn comes_to(d: &Doc, job: Option<&Job>) -> Said {
    let mut out = Said { no: Vec::new(), bring: Vec::new(), open: 0 };
    for Question(name, answers) in CALL {
        let given = d.get(&format!("call.{name}"));
        let Some((_, leads)) = answers.iter().find(|(a, _)| Some(*a) == given.as_deref()) else {
            out.open += 1;
            continue;
        };
        match leads {
            Leads::On => {}
            Leads::No(rule) => {
                let own = job.and_then(|job| job.rules.iter().find(|r| r.id == *rule));
                match (job, own) {
                    (Some(_), None) => {}
                    (_, Some(rule)) => out.no.push(rule.sentence.clone()),
                    (None, None) => out.no.push(text(&format!("rule.{rule}"))),
                }
            }
            Leads::Bring(what) => out.bring.push(text(&format!("office.call.bring.{what}"))),
        }
    }
    out
}

/// The page.
pub async fn page(ctx: Ctx, Path(number): Path<String>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let d = Doc::load(&ctx.app, &number, PART)?;
        let rider = Doc::load(&ctx.app, &number, "rider")?;
        let title = text("page.stage.talk");
        let body = html! {
            h1 { (title) }
            (result(&bike, &d))
            form.stack method="post" action=(bike.at("talk")) {
                (doc::head(&d))
                input type="hidden" name="from_rider" value=(rider.revision);
                h2 { (text("office.talk.who")) }
                div.two { @for key in &RIDER[..4] { div { (doc::line(&rider, key, &text(&format!("office.key.{key}")), "")) } } }
                h2 { (text("office.call.title")) }
                p.quiet { (text("office.call.lead")) }
                @for Question(name, answers) in CALL {
                    @let tokens: Vec<&str> = answers.iter().map(|(a, _)| *a).chain([UNKNOWN]).collect();
                    (doc::tiles(&d, &format!("call.{name}"), &text(&format!("office.call.{name}.ask")), &format!("office.call.{name}."), &tokens))
                }
                h2 { (text("office.talk.wish")) }
                (doc::tiles(&d, "wish", &text("office.talk.wish-ask"), "office.wish.", &WISHES))
                (doc::tiles(&d, "child", &text("office.talk.child-ask"), "office.yes-no.", &YES_NO))
                (doc::line(&d, "others", &text("office.key.others"), ""))
                (doc::remark(&d, "note", &text("office.key.note")))
                div.actions { button.plate.go { (text("page.measure.save")) } }
            }
            (loads(&ctx, &bike))
            (gain(&ctx, &bike))
            p { a.plate href=(bike.at("papers")) { (text("page.stage.papers")) } }
        };
        Ok(layout::page(&ctx, &title, Some(&bike), &body))
    })
    .await
}

fn result(bike: &Bike, d: &Doc) -> Markup {
    let said = comes_to(d, bike.answer().ok().map(|j| &j.job));
    let any = said.open < CALL.len();
    html! {
        @if any { section.answer {
            p { b { (text(if !said.no.is_empty() { "office.call.no" } else if said.open > 0 { "office.call.so-far" } else if said.bring.is_empty() { "office.call.come" } else { "office.call.bring-these" })) } }
            @if !said.no.is_empty() { ul { @for s in &said.no { li { (s) } } } }
            @if !said.bring.is_empty() { ul { @for s in &said.bring { li { (s) } } } }
            @if said.open > 0 { p.quiet { (fill("office.call.open", &[("n", &said.open.to_string())])) } }
        } }
    }
}

/// Rider and load range, and the hill: facts of the job, asked for where they are measured.
fn loads(ctx: &Ctx, bike: &Bike) -> Markup {
    let Ok(judged) = bike.answer() else { return html! {} };
    let ids =
        [list::LIGHTEST.id(), list::USUAL.id(), list::HEAVIEST.id(), list::STEEPEST.id(), list::DOWNHILL_SPEED.id()];
    html! {
        h2 { (text("office.talk.loads")) }
        ul.rows { @for id in ids { li {
            a href=(crate::walk::address(bike, id)) { (fact_name(id)) }
            @match judged.job.fact(id) {
                Some(f) => { span { (show::known(id, f, &ctx.person)) } span.quiet { (show::origin(f)) } }
                None => { span { (text("app.not-known")) } }
            }
        } } }
    }
}

/// The honest gain: what pedalling with the power off costs, and whether the ride on the rider's own hill is worth it.
fn gain(ctx: &Ctx, bike: &Bike) -> Markup {
    let Ok(judged) = bike.answer() else { return html! {} };
    let costs = drag(&judged.job, Speed::kilometres_per_hour(TOLD_AT_KMH)).ok().map(|p| {
        fill(
            "office.talk.drag",
            &[
                ("watts", &show::quantity(p.as_watts(), "W", &ctx.person)),
                ("speed", &show::quantity(TOLD_AT_KMH, "km/h", &ctx.person)),
            ],
        )
    });
    let ride = hill::ridden(ctx, bike);
    let worth = match ride.as_ref().and_then(|r| r.outcome()) {
        Some(Outcome::Done(done)) => hill::worth(&done.study),
        _ => None,
    };
    html! {
        h2 { (text("office.talk.gain")) }
        @match costs { Some(costs) => { p.say { (costs) } }, None => { p { (text("office.talk.no-drag")) } } }
        @match worth {
            Some(worth) => { p.say { (worth) } }
            None => { p { (text("office.talk.no-ride")) " " a.plate href=(bike.at("hill")) { (text("page.stage.hill")) } } }
        }
        p.quiet { (text("office.talk.free-clutch")) }
    }
}

/// Keeps what was said.
pub async fn save(ctx: Ctx, Path(number): Path<String>, Form(form): Form<Pairs>) -> Response {
    work(move || {
        let bike = Bike::load(&ctx.app, &number)?;
        let mut keys: Vec<String> = CALL.iter().map(|q| format!("call.{}", q.0)).collect();
        keys.extend(TOLD.map(str::to_owned));
        let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
        super::papers::save_both(&ctx, &bike, PART, &keys, &form, "talk")
    })
    .await
}

/// Writes the answers of a paper and the rider's own data, each with its own history.
pub fn keep_both(
    ctx: &Ctx,
    bike: &Bike,
    part: &str,
    keys: &[&str],
    form: &Pairs,
) -> Result<Option<Response>, crate::fail::Fail> {
    let change = value(form, "change");
    let rider = Doc::load(&ctx.app, bike.number(), "rider")?;
    let personal = doc::edits(form, &RIDER);
    let from = doc::from(form, "from_rider", rider.revision);
    let by = if change.is_empty() { String::new() } else { format!("{change}-rider") };
    if let Some(page) = keep(ctx, bike, "rider", &personal, from, form, &by)? {
        return Ok(Some(page));
    }
    let d = Doc::load(&ctx.app, bike.number(), part)?;
    keep(ctx, bike, part, &doc::edits(form, keys), doc::from(form, "from", d.revision), form, change)
}

/// The answers that a fact allows.
pub fn tokens(id: fact::FactId) -> &'static [&'static str] {
    match fact::definition(id).shape {
        Shape::Choice(tokens) => tokens,
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::{CALL, Leads, Question};
    use workbench::rules::{Effect, built_in};
    use workbench::words::find;

    /// Every refusal on the phone is a house rule; every answer has its words.
    #[test]
    fn the_call_asks_for_what_the_house_rules_say() {
        for Question(name, answers) in CALL {
            assert!(find(&format!("office.call.{name}.ask")).is_some(), "{name}");
            for (answer, leads) in answers.iter().chain([("unknown", Leads::On)].iter()) {
                assert!(find(&format!("office.call.{name}.{answer}")).is_some(), "{name}.{answer}");
                match leads {
                    Leads::On => {}
                    Leads::No(rule) => {
                        assert!(built_in().iter().any(|r| r.id == *rule && r.effect == Effect::Refuse), "{rule}");
                    }
                    Leads::Bring(what) => assert!(find(&format!("office.call.bring.{what}")).is_some(), "{what}"),
                }
            }
        }
    }
}
