//! The commands of the proof: `bench`, `prove`, `watch`, with their arguments.

use crate::output::Exit;
use crate::{bench, prove, watch};
use clap::{Arg, ArgAction, ArgMatches, Command};
use workbench::words;

fn say(key: &str) -> String {
    words::text(&format!("cli.{key}"))
}

fn format() -> Arg {
    Arg::new("format").long("format").value_parser(["text", "json"]).default_value("text").help(say("format"))
}

fn file(name: &'static str, value: &'static str, help: &str) -> Arg {
    Arg::new(name).long(name).value_name(value).help(say(help))
}

fn flag(name: &'static str, help: &str) -> Arg {
    Arg::new(name).long(name).action(ArgAction::SetTrue).help(say(help))
}

/// Their definitions.
pub fn commands() -> [Command; 3] {
    let job = || Arg::new("job").help(say("job"));
    [
        Command::new("bench")
            .about(say("bench"))
            .arg(job().required_unless_present("template"))
            .arg(Arg::new("files").num_args(0..).help(say("bench-files")))
            .arg(format())
            .arg(file("plot", "FILE", "bench-plot"))
            .arg(file("write", "NEW", "as-fitted"))
            .arg(flag("template", "bench-template")),
        Command::new("prove")
            .about(say("prove"))
            .arg(job().required(true))
            .arg(Arg::new("log").required_unless_present("plan").help(say("log")))
            .arg(flag("plan", "prove-plan"))
            .arg(file("columns", "FILE", "log-columns"))
            .arg(file("mass", "MASS", "prove-mass"))
            .arg(flag("flat", "prove-flat"))
            .arg(format())
            .arg(file("write", "NEW", "as-fitted")),
        Command::new("watch")
            .about(say("watch"))
            .arg(job().required_unless_present("template"))
            .arg(Arg::new("files").num_args(0..).help(say("watch-files")))
            .arg(file("columns", "FILE", "log-columns"))
            .arg(format())
            .arg(flag("template", "watch-template")),
    ]
}

/// Runs one of them.
pub fn run(name: &str, m: &ArgMatches) -> Exit {
    let option = |name: &str| m.get_one::<String>(name).cloned();
    let word = |name: &str| option(name).unwrap_or_default();
    let files = || m.get_many::<String>("files").map(|v| v.cloned().collect::<Vec<_>>()).unwrap_or_default();
    match name {
        "bench" if m.get_flag("template") => bench::template(),
        "watch" if m.get_flag("template") => watch::template(),
        "bench" => {
            let asked =
                bench::Asked { files: files(), format: word("format"), plot: option("plot"), write: option("write") };
            bench::run(&word("job"), &asked)
        }
        "watch" => watch::run(&word("job"), &files(), option("columns").as_deref(), &word("format")),
        _ => {
            let asked = prove::Asked {
                log: option("log"),
                columns: option("columns"),
                mass: option("mass"),
                flat: m.get_flag("flat"),
                plan: m.get_flag("plan"),
                format: word("format"),
                write: option("write"),
            };
            prove::run(&word("job"), &asked)
        }
    }
}
