//! Writes everything that can be drawn of a job into a folder, to be looked at: `look JOB FOLDER`.

use drawing::chart::{self, Look};
use drawing::{Format, Options, Theme, load_path, measuring};
use std::path::Path;
use workbench::{advice, check};

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let (Some(job), Some(folder)) = (args.next(), args.next()) else {
        eprintln!("look JOB FOLDER");
        return Ok(());
    };
    let Ok(job) = intake::load_job(Path::new(&job)) else {
        eprintln!("{job} cannot be read; `backdrive check` says why");
        return Ok(());
    };
    let write = |name: &str, svg: String| std::fs::write(Path::new(&folder).join(format!("{name}.svg")), svg);
    let result = check::check(&job);
    let advised = advice::advise(&job, &result);
    for (name, format, theme) in [
        ("wide", Format::Wide, Theme::File),
        ("tall", Format::Tall, Theme::File),
        ("narrow", Format::Narrow, Theme::File),
        ("print", Format::Wide, Theme::Print),
    ] {
        let numbered = theme == Theme::Print;
        write(
            name,
            load_path(&job, &result, &Options { format, theme, heading: true, numbered, ..Options::default() }),
        )?;
    }
    let charts = [
        chart::ceiling(&advised.ceiling),
        chart::charge_current(&job),
        chart::chances(&result),
        chart::measure_next(&result, &advised.measure),
        chart::descent_heat(&job),
    ];
    for chart in charts.into_iter().flatten() {
        write(&chart.id, chart.svg(&Look { theme: Theme::File, ..Look::default() }))?;
    }
    for id in measuring::all() {
        write(id, measuring::svg(id, Theme::File).unwrap_or_default())?;
    }
    Ok(())
}
