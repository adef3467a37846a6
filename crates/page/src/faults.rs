//! Single faults as worlds to switch to: what lets go, what carries instead, whether that is enough.

use crate::answer::Judged;
use crate::bike::Bike;
use crate::ctx::Ctx;
use crate::holds;
use crate::link;
use crate::show;
use maud::{Markup, html};
use workbench::check::LinkResult;
use workbench::link::Link;
use workbench::link::aftermath::{Role, faults, role};
use workbench::say;
use workbench::words::{fill, text};

/// A plain link for each fault, and one back; works without the script.
pub fn switch(bike: &Bike, judged: &Judged, now: Option<Link>) -> Markup {
    let links: Vec<Link> = judged.check.links.iter().map(|l| l.link).collect();
    let here = |on: bool| on.then_some("true");
    html! {
        nav.faults aria-label=(text("page.fault.title")) {
            span.faults-title { (text("page.fault.title")) }
            a.plate href=(bike.at("holds")) aria-current=[here(now.is_none())] { (text("page.fault.none")) }
            @for f in faults(&links) {
                @let result = judged.check.links.iter().find(|l| l.link == f);
                a.plate href=(bike.at(&format!("holds?if={}", f.id()))) aria-current=[here(now == Some(f))] {
                    @if let Some(l) = result { (show::glyph(l.verdict)) }
                    (short(f))
                }
            }
        }
    }
}

/// The fault in two or three words, with its side or arm.
fn short(f: Link) -> String {
    use workbench::link::Place;
    let name = text(&format!("page.fault.{}", f.kind.id()));
    match f.place {
        Place::Whole => name,
        Place::At(side) => {
            fill("page.fault.at", &[("fault", &name), ("place", &text(&format!("side.{}", side.token())))])
        }
        Place::Arm(i) => fill("page.fault.at", &[("fault", &name), ("place", &(i + 1).to_string())]),
    }
}

/// The page in that world.
pub fn body(ctx: &Ctx, bike: &Bike, judged: &Judged, fault: Link) -> Markup {
    let of = |wanted: Role| -> Vec<&LinkResult> {
        judged.check.links.iter().filter(|l| role(fault, l.link) == wanted).collect()
    };
    let title = fill("page.fault.if", &[("fault", &short(fault))]);
    let rows = |title: &str, all: &[&LinkResult]| {
        html! { @if !all.is_empty() { div { h2 { (text(title)) } ul.rows { @for l in all { li {
            a href=(bike.at(&format!("holds/{}", l.link.id()))) { (say::name(l)) }
        } } } } } }
    };
    html! {
        div.whole {
            (switch(bike, judged, Some(fault)))
            @if let Some(l) = of(Role::Fault).first() {
                section.verdict.world data-state=(l.verdict.token()) {
                    (show::glyph(l.verdict))
                    div {
                        h1 { (title) }
                        p.word { (show::word(l.verdict)) " " (show::full(l)) }
                        p { (link::sentence(ctx, l)) }
                        p.quiet { (text(&format!("link.{}.why", l.link.kind.id()))) }
                    }
                }
            }
            div.world-picture { (holds::picture(bike, judged, Some(fault))) }
            div.two { (rows("page.fault.gone", &of(Role::Gone))) (rows("page.fault.carries", &of(Role::Carries))) }
            p.quiet { (text("page.fault.limit")) }
            p { a.plate href=(bike.at(&format!("holds/{}", fault.id()))) { (text("page.fault.open")) } }
        }
    }
}
