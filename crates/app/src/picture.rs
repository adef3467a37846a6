//! A job's load path or one of its charts, as SVG or as the numbers of the chart.

use crate::output::{self, Exit};
use drawing::chart::{self, Chart, Look};
use drawing::{Format, Options, Theme, load_path};
use workbench::job::Job;
use workbench::{advice, check, words};

/// What can be shown; the first is the picture, the others are charts.
pub const SHOWN: [&str; 6] = ["load-path", "ceiling", "charge", "chances", "measure", "heat"];
/// Room for it.
pub const ROOM: [&str; 3] = ["wide", "tall", "narrow"];

/// Draws it.
pub fn run(job: &Job, shown: &str, room: &str, print: bool, csv: bool) -> Exit {
    let theme = if print { Theme::Print } else { Theme::File };
    let (format, width) = match room {
        "tall" => (Format::Tall, 720.0),
        "narrow" => (Format::Narrow, 360.0),
        _ => (Format::Wide, 1080.0),
    };
    let result = check::check(job);
    if shown == SHOWN[0] {
        if csv {
            output::talk(&words::text("cli.picture-no-csv"));
            return Exit::BadInput;
        }
        let options = Options { format, theme, heading: true, numbered: print, ..Options::default() };
        output::data(&load_path(job, &result, &options));
        return Exit::Holds;
    }
    let advised = || advice::advise(job, &result);
    let found: Option<Chart> = match shown {
        "ceiling" => chart::ceiling(&advised().ceiling),
        "charge" => chart::charge_current(job),
        "chances" => chart::chances(&result),
        "measure" => chart::measure_next(&result, &advised().measure),
        _ => chart::descent_heat(job),
    };
    let Some(found) = found else {
        output::talk(&words::fill("cli.picture-nothing", &[("what", shown)]));
        return Exit::DoesNotHold;
    };
    let look = Look { width, theme, ..Look::default() };
    output::data(&if csv { found.csv() } else { found.svg(&look) });
    Exit::Holds
}
