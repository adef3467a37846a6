//! One evaluation of all links, and a whole verdict with its sampling. Run: `cargo bench -p workbench`.

use quantity::Quantity;
use workbench::check;
use workbench::fact::{Distribution, list};
use workbench::job::Job;
use workbench::link::{self, Off, World};

fn main() {
    divan::main();
}

fn job() -> Job {
    let mut job = Job::new("1", "bench", 1);
    job.kind = Some("hill".to_owned());
    for (id, value) in [
        (list::VOLTAGE_RATING.id(), 90.0),
        (list::CELLS_SERIES.id(), 14.0),
        (list::CLUTCH_MEMBER.id(), 1.0),
        (list::CHARGING_PLUG.id(), 0.0),
        (list::LOCK_KIND.id(), 0.0),
        (list::LOCK_RADIUS.id(), quantity::Length::millimetres(19.0).si()),
        (list::LOCK_LEG.id(), quantity::Length::millimetres(3.0).si()),
        (list::LOCK_TACK_LENGTH.id(), quantity::Length::millimetres(8.0).si()),
        (list::LOCK_COUNT.id(), 6.0),
        (list::ARM_SIDE.of(0), 0.0),
    ] {
        job.choose(id, value, Distribution::Exact, "bench");
    }
    for side in workbench::fact::Side::BOTH {
        job.choose(list::FREE_THREAD.of(side), 0.011, Distribution::Exact, "bench");
    }
    workbench::kinds::fill(&mut job, &[]);
    job
}

#[divan::bench]
fn all_links_once(bencher: divan::Bencher<'_, '_>) {
    let job = job();
    let values = job.middle();
    let links = link::plan(&job);
    bencher.bench(|| {
        let world = World::new(&values, job.arms, &Off);
        links.iter().filter_map(|l| link::load(&world, *l).ok()).map(|l| l.full).sum::<f64>()
    });
}

#[divan::bench(sample_count = 10)]
fn whole_check(bencher: divan::Bencher<'_, '_>) {
    let job = job();
    bencher.bench(|| check::check(&job));
}
