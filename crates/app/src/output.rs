//! Standard output is data, standard error is talk. A closed pipe ends quietly.

use std::io::{self, Write};
pub use workbench::say::figure;

/// What the program says to the shell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Holds, or done.
    Holds = 0,
    /// Does not hold, or not known.
    DoesNotHold = 1,
    /// What was given cannot be used.
    BadInput = 2,
    /// The program is at fault.
    OurFault = 3,
}

/// Prints data. Nothing can be done about a pipe that nobody reads; a full disk ends the program, so that a verdict that
/// was not written is never taken for one that holds.
pub fn data(text: &str) {
    let mut out = io::stdout().lock();
    let end: &[u8] = if text.ends_with('\n') { b"" } else { b"\n" };
    let written = out.write_all(text.as_bytes()).and_then(|()| out.write_all(end)).and_then(|()| out.flush());
    if let Err(e) = written
        && e.kind() != io::ErrorKind::BrokenPipe
    {
        talk(&workbench::words::fill("app.no-output", &[("why", &e.to_string())]));
        std::process::exit(Exit::OurFault as i32);
    }
}

/// Says something to the person.
pub fn talk(text: &str) {
    let mut err = io::stderr().lock();
    let _ = err.write_all(text.trim_end().as_bytes());
    let _ = err.write_all(b"\n");
}
