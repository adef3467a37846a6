//! All links over 65,536 draws, and the settings. Run: `cargo bench -p workbench --bench doubt`.

use std::time::Instant;
use workbench::doubt::{Draws, spread};
use workbench::link::{self, Off, World};
use workbench::settings::{Wish, solve};

mod job;

const DRAWS: usize = 65_536;

fn main() {
    let job = job::job();
    let values = job.middle();
    let links: Vec<link::Link> = link::plan(&job)
        .into_iter()
        .filter(|l| link::load(&World::new(&values, job.arms, &Off), *l).is_ok())
        .collect();
    let draws = Draws::new(&job);
    let least = |what: &str, runs: usize, f: &mut dyn FnMut()| {
        let times = (0..runs).map(|_| {
            let begin = Instant::now();
            f();
            begin.elapsed().as_secs_f64()
        });
        println!("{what}: {:.3} s", times.fold(f64::INFINITY, f64::min));
    };
    println!("links {}, uncertain facts {}", links.len(), draws.dimensions());
    for threads in [1, 2] {
        let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads).build() else { continue };
        pool.install(|| {
            least(&format!("all links, {DRAWS} draws, {threads} threads"), 5, &mut || {
                let _ = spread::run(&job, &draws, &links, DRAWS, &|_| ());
            });
        });
    }
    for (what, buy) in [("settings", false), ("settings and what each change would buy", true)] {
        least(what, 3, &mut || {
            let _ = solve(&job, &Wish { buy, ..Wish::default() }, &|_, _| ());
        });
    }
}
