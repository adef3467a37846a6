//! One evaluation of all links, and a whole verdict with its sampling. Run: `cargo bench -p workbench`.

use workbench::check;
use workbench::link::{self, Off, World};

mod job;
use job::job;

fn main() {
    divan::main();
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
