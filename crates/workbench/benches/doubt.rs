//! All links over 65,536 draws, and the settings. Run: `cargo bench -p workbench --bench doubt`.

use std::time::Instant;
use workbench::doubt::memory::Memory;
use workbench::doubt::{Draws, spread};
use workbench::link::{self, Off, World};
use workbench::settings::{Wish, solve};
use workbench::{advice, check, fact};

mod job;

const DRAWS: usize = 65_536;

fn main() {
    let job = job::job();
    let values = job.middle();
    let links: Vec<link::Link> =
        link::plan(&job).into_iter().filter(|l| link::load(&World::new(&values, job.arms, &Off), *l).is_ok()).collect();
    let draws = Draws::new(&job);
    // For `benches/doubt.py`: the facts, and a run of some links with their medians, as JSON.
    if let Some(wanted) = std::env::args().skip_while(|a| a != "--links").nth(1) {
        return beside(&job, &draws, &links, &wanted);
    }
    let least = |what: &str, runs: usize, f: &mut dyn FnMut()| {
        let times = (0..runs).map(|_| {
            let begin = Instant::now();
            f();
            begin.elapsed().as_secs_f64()
        });
        println!("{what}: {:.4} s", times.fold(f64::INFINITY, f64::min));
    };
    println!("links {}, uncertain facts {}", links.len(), draws.dimensions());
    least("planning the draws", 5, &mut || {
        let _ = Draws::new(&job);
    });
    let checked = check::check(&job);
    least("a check", 5, &mut || {
        let _ = check::check(&job);
    });
    least("what follows from it", 5, &mut || {
        let _ = advice::advise(&job, &checked);
    });
    least("a check in 1,024 draws, to see whether a lever helps", 5, &mut || {
        let _ = check::check_quickly(&job, &Memory::default(), 1024);
    });
    let memory = Memory::default();
    let mut torque = 60.0;
    least("a check after one nut torque was changed", 20, &mut || {
        torque += 0.1;
        let mut job = job.clone();
        job.choose(fact::list::NUT_TORQUE.of(fact::Side::Left), torque, fact::Distribution::Exact, "");
        let _ = check::check_again(&job, &memory);
    });
    for threads in [1, 2] {
        let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads).build() else { continue };
        pool.install(|| {
            least(&format!("all links, {DRAWS} draws, {threads} threads"), 5, &mut || {
                let _ = spread::Run::of(&job, &draws, &links).over(DRAWS, &|_| ());
            });
        });
    }
    if std::env::args().any(|a| a == "--draws-only") {
        return;
    }
    for (what, buy) in [("settings", false), ("settings and what each change would buy", true)] {
        least(what, 3, &mut || {
            let _ = solve(&job, &Wish { buy, ..Wish::default() }, &|_, _| ());
        });
    }
}

fn beside(job: &workbench::job::Job, draws: &Draws, links: &[link::Link], wanted: &str) {
    use workbench::fact::Distribution;
    let some: Vec<link::Link> =
        wanted.split(',').filter_map(|id| links.iter().find(|l| l.id() == id)).copied().collect();
    let run = spread::Run { axle: false, ..spread::Run::of(job, draws, &some) };
    let seconds = |threads: usize, run: spread::Run| {
        let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads).build() else { return f64::NAN };
        pool.install(|| {
            (0..9).fold(f64::INFINITY, |best, _| {
                let begin = Instant::now();
                let _ = run.over(DRAWS, &|_| ());
                best.min(begin.elapsed().as_secs_f64())
            })
        })
    };
    let (one, two) = (seconds(1, run), seconds(2, run));
    let with_axle = seconds(2, spread::Run { axle: true, ..run });
    let found = run.over(DRAWS, &|_| ());
    let mut read = fact::FactSet::default();
    found.links.iter().for_each(|link| read.extend(&link.reads));
    let facts: serde_json::Map<String, serde_json::Value> = (0..job.facts.len() as u16)
        .filter_map(fact::nth)
        .filter_map(|id| {
            let f = job.fact(id)?;
            let spread = match f.spread {
                Distribution::Exact => serde_json::json!(["exact"]),
                Distribution::Normal { sigma } => serde_json::json!(["normal", sigma]),
                Distribution::LogNormal { sigma_ln } => serde_json::json!(["lognormal", sigma_ln]),
                Distribution::Uniform { low, high } => serde_json::json!(["uniform", low, high]),
            };
            Some((
                fact::describe(id).1,
                serde_json::json!({ "value_si": f.value, "spread": spread, "read": read.contains(id) }),
            ))
        })
        .collect();
    let medians: Vec<f64> = found.links.iter().map(|s| s.sketch.quantile(0.5).map_or(f64::NAN, |k| k.full)).collect();
    let out = serde_json::json!({
        "draws": DRAWS, "facts": facts,
        "links": some.iter().map(|l| l.id()).collect::<Vec<_>>(), "medians": medians,
        "one_thread_s": one, "two_threads_s": two, "two_threads_with_axle_s": with_axle,
    });
    println!("{out}");
}
