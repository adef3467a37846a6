//! A bar for long work, on a terminal only; Ctrl-C takes it away and ends.

use crate::output;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::time::Duration;
use workbench::words;

/// Exit code of a program that was interrupted (128 + SIGINT, as shells have it).
const INTERRUPTED: i32 = 130;

/// The bar.
pub struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// A bar on standard error; none where nobody looks.
    pub fn new() -> Self {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        if std::io::stderr().is_terminal() {
            bar.set_draw_target(ProgressDrawTarget::stderr());
            bar.set_style(
                ProgressStyle::with_template("{bar:30} {percent:>3} %  {elapsed}")
                    .unwrap_or_else(|_| ProgressStyle::default_bar()),
            );
            bar.enable_steady_tick(Duration::from_millis(200));
        }
        let shown = bar.clone();
        // Nothing is written before the end, so that the work may stop anywhere. A second handler changes nothing.
        let _ = ctrlc::set_handler(move || {
            shown.finish_and_clear();
            output::talk(&words::text("settings.stopped"));
            std::process::exit(INTERRUPTED);
        });
        Self { bar }
    }

    /// So much is done.
    pub fn at(&self, done: usize, all: usize) {
        self.bar.set_length(all as u64);
        self.bar.set_position(done as u64);
    }

    /// All is done.
    pub fn done(&self) {
        self.bar.finish_and_clear();
    }
}
