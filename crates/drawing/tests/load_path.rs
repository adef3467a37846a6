//! The load-path picture shows every link of the check once, with the check's own word and number, and no words overlap.

mod reading;

use drawing::{Format, Options, Theme, load_path};
use proptest::prelude::*;
use reading::{demo, links, overlaps, size, texts};
use workbench::check::{Check, check, check_drawn};
use workbench::fact::{self, Distribution, list};
use workbench::job::Job;
use workbench::kinds;
use workbench::words;

const FORMATS: [Format; 3] = [Format::Wide, Format::Tall, Format::Narrow];

fn prove(job: &Job, check: &Check) {
    for format in FORMATS {
        for heading in [true, false] {
            let options = Options { format, heading, numbered: heading, theme: Theme::File, ..Options::default() };
            let svg = load_path(job, check, &options);
            assert_eq!(svg, load_path(job, check, &options), "not the same bytes twice");
            let drawn = links(&svg);
            assert_eq!(drawn.len(), check.links.len(), "{format:?}: not every link once");
            for l in &check.links {
                let id = l.link.id();
                let found: Vec<_> = drawn.iter().filter(|d| d.id == id).collect();
                assert_eq!(found.len(), 1, "{format:?}: {id} drawn {} times", found.len());
                let d = found[0];
                assert_eq!(d.href, format!("#link-{id}"));
                assert_eq!(d.state, l.verdict.token());
                let word = words::text(&format!("verdict.{}.word", l.verdict.token()));
                assert!(d.words.contains(&word), "{id}: `{word}` is not in {:?}", d.words);
                if let Some(load) = l.load {
                    let number =
                        if load.full > 10.0 { "> 1000 %".to_owned() } else { format!("{:.0} %", load.full * 100.0) };
                    assert!(d.words.contains(&number), "{id}: `{number}` is not in {:?}", d.words);
                    assert!(d.label.contains(&number), "{id}: `{number}` is not in `{}`", d.label);
                }
                assert!(d.label.contains(&word), "{id}: `{word}` is not in `{}`", d.label);
            }
            let (width, height) = size(&svg);
            for t in texts(&svg) {
                let inside = t.left >= 0.0 && t.right <= width && t.top >= 0.0 && t.bottom <= height;
                assert!(inside, "{} {format:?}: {t:?} leaves the picture", job.number);
            }
            let hits = overlaps(&texts(&svg));
            assert!(hits.is_empty(), "{} {format:?}: {}", job.number, hits.join("\n"));
        }
    }
}

#[test]
fn every_demo_job_is_drawn_whole() {
    for job in demo() {
        prove(&job, &check(&job));
    }
}

/// A job with other arms, some of its facts missing, wheel and rules changed.
fn changed(job: &Job, arms: &[(bool, bool, bool)], missing: &[usize], position: usize) -> Job {
    let mut out = Job { arms: 0, ..job.clone() };
    out.facts.truncate(fact::count(0));
    out.arms = arms.len();
    out.facts.resize(fact::count(arms.len()), None);
    for (i, (right, pinching, side_known)) in arms.iter().enumerate() {
        if *side_known {
            out.choose(list::ARM_SIDE.of(i), f64::from(u8::from(*right)), Distribution::Exact, "side");
        }
        out.choose(list::ARM_KIND.of(i), f64::from(u8::from(*pinching)), Distribution::Exact, "kind");
    }
    kinds::fill(&mut out, &[]);
    out.choose(list::POSITION.id(), position as f64, Distribution::Exact, "wheel");
    for m in missing {
        let at = m % out.facts.len();
        out.facts[at] = None;
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_job_is_drawn_whole(
        which in 0..5_usize,
        arms in prop::collection::vec(any::<(bool, bool, bool)>(), 0..=8),
        missing in prop::collection::vec(0..4000_usize, 0..30),
        position in 0..3_usize,
        name in "[ -~äöüß°<>&\"']{0,90}",
    ) {
        let mut job = changed(&demo()[which], &arms, &missing, position);
        job.name = name;
        let result = check_drawn(&job, 256, &|_| {});
        prove(&job, &result);
    }
}

/// In the world of a fault no plate that let go or carries instead shows a number that does not count there.
#[test]
fn a_fault_has_a_picture_of_its_own() {
    use workbench::link::aftermath::{Role, faults, role};
    let job = demo().into_iter().find(|j| j.number == "0117").expect("it is there");
    let check = check(&job);
    let links: Vec<_> = check.links.iter().map(|l| l.link).collect();
    let all = faults(&links);
    assert!(all.len() > 5);
    for fault in all {
        for format in [Format::Wide, Format::Tall, Format::Narrow] {
            let options = Options { format, theme: Theme::File, fault: Some(fault), ..Options::default() };
            let svg = load_path(&job, &check, &options);
            let hits = overlaps(&texts(&svg));
            assert!(hits.is_empty(), "{}: {}", fault.id(), hits.join("\n"));
            for l in &check.links {
                let part =
                    svg.split(&format!("data-link=\"{}\"", l.link.id())).nth(1).and_then(|p| p.split("</a>").next());
                let part = part.unwrap_or_default();
                let says = |word: &str| part.contains(&format!(">{word}<"));
                let role = role(fault, l.link);
                let hub = l.link.kind == workbench::link::Kind::AxleHold;
                assert_eq!(says("lets go"), role == Role::Gone, "{} in {}", l.link.id(), fault.id());
                assert_eq!(says("carries it"), role == Role::Carries && !hub, "{} in {}", l.link.id(), fault.id());
            }
        }
    }
}
