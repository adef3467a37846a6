//! Backdrive on the command line.
//!
//! Invariant: no arithmetic on quantities here; this crate reads arguments, calls the workbench and prints.
//! Exit codes: 0 holds, 1 does not hold, 2 bad input, 3 our fault. Standard output is data, standard error is talk.

mod as_fitted;
mod bench;
mod book;
mod check_json;
mod check_text;
mod cli;
mod doubt;
mod explain;
mod generate;
mod new_job;
mod output;
mod picture;
mod progress;
mod prove;
mod ride;
mod ride_json;
mod ride_text;
mod serve;
mod settings;
mod sums;
mod watch;

use output::Exit;
use std::process::ExitCode;

fn main() -> ExitCode {
    std::panic::set_hook(Box::new(|info| {
        output::talk(&workbench::words::fill("app.our-fault", &[("what", &info.to_string())]));
    }));
    match std::panic::catch_unwind(run) {
        Ok(exit) => ExitCode::from(exit as u8),
        Err(_) => ExitCode::from(Exit::OurFault as u8),
    }
}

fn run() -> Exit {
    let matches = match cli::command().try_get_matches() {
        Ok(m) => m,
        Err(e) => {
            let text = e.render().to_string();
            if e.use_stderr() {
                output::talk(&text);
                return Exit::BadInput;
            }
            output::data(&text);
            return Exit::Holds;
        }
    };
    let word = |m: &clap::ArgMatches, name: &str| m.get_one::<String>(name).cloned().unwrap_or_default();
    match matches.subcommand() {
        Some(("check", m)) => check(m, &word(m, "job"), &word(m, "format")),
        Some(("doubt", m)) => doubt::run(m),
        Some(("explain", m)) => explain::run(&word(m, "job"), &word(m, "link"), &word(m, "format")),
        Some(("sum", m)) => {
            let inputs: Vec<String> = m.get_many::<String>("inputs").map(|v| v.cloned().collect()).unwrap_or_default();
            sums::run(m.get_one::<String>("name").map(String::as_str), &inputs, &word(m, "format"))
        }
        Some(("settings", m)) => settings::run(m),
        Some(("book", m)) => book::run(m),
        Some(("new", m)) => new_job::run(&word(m, "kind")),
        Some(("picture", m)) => match load(&word(m, "job")) {
            Ok(job) => {
                let csv = word(m, "format") == "csv";
                picture::run(&job, &word(m, "show"), &word(m, "room"), m.get_flag("print"), csv)
            }
            Err(exit) => exit,
        },
        Some(("ride", m)) => {
            let text = |name: &str| m.get_one::<String>(name).map(String::as_str);
            let said = workbench::ride::options::OPTIONS.iter();
            ride::run(&ride::Asked {
                job: text("job").unwrap_or_default(),
                route: text("route"),
                descent: text("descent"),
                options: said.filter_map(|o| Some((o.name, text(o.name)?.to_owned()))).collect(),
                variants: text("variants"),
                format: text("format").unwrap_or_default(),
            })
        }
        Some(("schema", _)) => {
            output::data(&generate::schema());
            Exit::Holds
        }
        Some(("serve", m)) => serve::run(&serve::Wanted {
            book: word(m, "book"),
            demo: m.get_flag("demo"),
            listen: word(m, "listen"),
            hosts: m.get_many::<String>("host").map(|v| v.cloned().collect()).unwrap_or_default(),
            passphrase_file: m.get_one::<String>("passphrase-file").cloned(),
        }),
        Some(("bench", m)) => {
            if m.get_flag("template") {
                return bench::template();
            }
            let files = m.get_many::<String>("files").map(|v| v.cloned().collect()).unwrap_or_default();
            let option = |name: &str| m.get_one::<String>(name).cloned();
            let asked = bench::Asked { files, format: word(m, "format"), plot: option("plot"), write: option("write") };
            bench::run(&word(m, "job"), &asked)
        }
        Some(("prove", m)) => {
            let option = |name: &str| m.get_one::<String>(name).cloned();
            let asked = prove::Asked {
                log: option("log"),
                columns: option("columns"),
                mass: option("mass"),
                flat: m.get_flag("flat"),
                plan: m.get_flag("plan"),
                format: word(m, "format"),
                write: option("write"),
            };
            prove::run(&word(m, "job"), &asked)
        }
        Some(("watch", m)) => {
            if m.get_flag("template") {
                return watch::template();
            }
            let files: Vec<String> = m.get_many::<String>("files").map(|v| v.cloned().collect()).unwrap_or_default();
            let columns = m.get_one::<String>("columns").map(String::as_str);
            watch::run(&word(m, "job"), &files, columns, &word(m, "format"))
        }
        Some(("generate", m)) => generate::run(m.get_flag("check")),
        _ => Exit::BadInput,
    }
}

/// Loads a job, or says what is wrong with it.
fn load(path: &str) -> Result<workbench::job::Job, Exit> {
    intake::load_job(std::path::Path::new(path)).map_err(say_load_error)
}

/// Says what is wrong with a file.
fn say_load_error(e: intake::LoadError) -> Exit {
    match e {
        intake::LoadError::File { path, why } => {
            output::talk(&workbench::words::fill("app.no-file", &[("path", &path), ("why", &why)]));
        }
        intake::LoadError::Content { path, text, errors } => output::talk(&intake::render(&path, &text, &errors)),
    }
    Exit::BadInput
}

fn check(m: &clap::ArgMatches, path: &str, format: &str) -> Exit {
    let mut job = match load(path) {
        Ok(job) => job,
        Err(exit) => return exit,
    };
    let text = |name: &str| m.get_one::<String>(name).map(String::as_str);
    if text("ride").is_some() || text("descent").is_some() {
        match ride::asked_of(&job, text("ride"), text("descent")) {
            Ok(ridden) => job = ridden,
            Err(why) => {
                output::talk(&why);
                return Exit::BadInput;
            }
        }
    }
    job.one_in = m.get_one::<f64>("one-in").copied().unwrap_or(job.one_in);
    let draws = m.get_one::<usize>("samples").copied().unwrap_or_else(|| workbench::check::draws_for(job.one_in));
    let bar = progress::Progress::new();
    let result = workbench::check::check_drawn(&job, draws, &|done| bar.at(done, draws));
    bar.done();
    let advice = workbench::advice::advise(&job, &result);
    match format {
        "json" => output::data(&check_json::json(&job, &result, &advice)),
        "csv" => output::data(&check_json::csv(&result)),
        _ => output::data(&check_text::text(&job, &result, &advice)),
    }
    if result.verdict <= workbench::check::Verdict::Marginal { Exit::Holds } else { Exit::DoesNotHold }
}
