//! Memory: four times the draws of a check, and no more of it.

mod hub;

use peak_alloc::PeakAlloc;
use workbench::doubt::{Draws, spread};
use workbench::link;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// Above the number of draws up to which it is kept which of them fail, the most that is in use at once stays the same.
#[test]
fn law_memory_does_not_grow_with_the_draws() {
    let job = hub::hill();
    let links = link::plan(&job);
    let draws = Draws::new(&job);
    let most = |count: usize| {
        MEMORY.reset_peak_usage();
        let before = MEMORY.current_usage();
        let spread = spread::Run::of(&job, &draws, &links).over(count, &|_| ());
        assert_eq!(spread.links[0].sketch.total(), count);
        MEMORY.peak_usage() - before
    };
    // What is made once in a process.
    let _ = most(1024);
    let (some, many) = (most(70_000), most(280_000));
    // Threads share the work as it comes.
    assert!(many < some + some / 10, "{some} bytes, {many} bytes");
}
