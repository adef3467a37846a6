//! The commands, with their words from the table of words.

use clap::{Arg, ArgAction, Command};
use workbench::words;

fn say(key: &str) -> String {
    words::text(&format!("cli.{key}"))
}

fn format(values: &'static [&'static str]) -> Arg {
    Arg::new("format").long("format").value_parser(values.to_vec()).default_value("text").help(say("format"))
}

/// How sure: the confidence and the number of draws.
fn sure(command: Command) -> Command {
    command
        .arg(
            Arg::new("one-in")
                .long("one-in")
                .value_name("N")
                .value_parser(number_in(10.0, 100_000.0))
                .help(say("one-in")),
        )
        .arg(
            Arg::new("samples")
                .long("samples")
                .value_name("N")
                .value_parser(count_in(1024, 1 << 24))
                .help(say("samples")),
        )
}

fn number_in(low: f64, high: f64) -> impl Fn(&str) -> Result<f64, String> + Clone + Send + Sync + 'static {
    move |text| {
        text.parse::<f64>()
            .ok()
            .filter(|n| (low..=high).contains(n))
            .ok_or_else(|| format!("a number, {low} to {high}"))
    }
}

fn count_in(low: usize, high: usize) -> impl Fn(&str) -> Result<usize, String> + Clone + Send + Sync + 'static {
    move |text| {
        text.parse::<usize>()
            .ok()
            .filter(|n| (low..=high).contains(n))
            .ok_or_else(|| format!("a whole number, {low} to {high}"))
    }
}

/// The hill, with every option of a ride.
fn ride() -> Command {
    let command = Command::new("ride")
        .about(say("ride"))
        .arg(Arg::new("job").required(true).help(say("job")))
        .arg(Arg::new("route").help(say("ride-route")))
        .arg(Arg::new("descent").long("descent").conflicts_with("route").help(say("ride-descent")))
        .arg(Arg::new("variants").long("variants").help(say("ride-variants")))
        .arg(format(&["text", "json", "csv", "svg", "svg-free"]));
    workbench::ride::options::OPTIONS.iter().fold(command, |command, o| {
        let help = words::text(&format!("ride.option.{}", o.name));
        let help = if o.default.is_empty() { help } else { format!("{help} [{}]", o.default) };
        command.arg(Arg::new(o.name).long(o.name).allow_hyphen_values(true).help(help))
    })
}

/// All commands.
pub fn command() -> Command {
    Command::new("backdrive")
        .version(env!("CARGO_PKG_VERSION"))
        .about(say("about"))
        .after_help(say("after"))
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommand(
            sure(Command::new("check"))
                .about(say("check"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(Arg::new("ride").long("ride").value_name("ROUTE").help(say("check-ride")))
                .arg(Arg::new("descent").long("descent").conflicts_with("ride").help(say("check-descent")))
                .arg(format(&["text", "json", "csv"])),
        )
        .subcommand(
            sure(Command::new("doubt"))
                .about(say("doubt"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(Arg::new("link").help(say("doubt-link")))
                .arg(format(&["text", "json"])),
        )
        .subcommand(
            sure(Command::new("settings"))
                .about(say("settings"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(Arg::new("card").long("card").value_name("FILE").help(say("card")))
                .arg(Arg::new("at").long("at").value_name("SPEED").action(ArgAction::Append).help(say("at")))
                .arg(Arg::new("no-buy").long("no-buy").action(ArgAction::SetTrue).help(say("no-buy")))
                .arg(format(&["text", "json"])),
        )
        .subcommand(
            Command::new("explain")
                .about(say("explain"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(Arg::new("link").required(true).help(say("link")))
                .arg(format(&["text", "json"])),
        )
        .subcommand(
            Command::new("sum")
                .about(say("sum"))
                .arg(Arg::new("name").help(say("sum-name")))
                .arg(Arg::new("inputs").num_args(0..).help(say("sum-inputs")))
                .arg(format(&["text", "json"])),
        )
        .subcommand(
            Command::new("new").about(say("new")).arg(
                Arg::new("kind")
                    .long("kind")
                    .required(true)
                    .value_parser(workbench::kinds::KINDS.to_vec())
                    .help(say("kind")),
            ),
        )
        .subcommand(
            Command::new("bench")
                .about(say("bench"))
                .arg(Arg::new("job").required_unless_present("template").help(say("job")))
                .arg(Arg::new("files").num_args(0..).help(say("bench-files")))
                .arg(format(&["text", "json"]))
                .arg(Arg::new("plot").long("plot").value_name("FILE").help(say("bench-plot")))
                .arg(Arg::new("write").long("write").value_name("NEW").help(say("as-fitted")))
                .arg(Arg::new("template").long("template").action(ArgAction::SetTrue).help(say("bench-template"))),
        )
        .subcommand(crate::book::command())
        .subcommand(
            Command::new("prove")
                .about(say("prove"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(Arg::new("log").required_unless_present("plan").help(say("log")))
                .arg(Arg::new("plan").long("plan").action(ArgAction::SetTrue).help(say("prove-plan")))
                .arg(Arg::new("columns").long("columns").value_name("FILE").help(say("log-columns")))
                .arg(Arg::new("mass").long("mass").value_name("MASS").help(say("prove-mass")))
                .arg(Arg::new("flat").long("flat").action(ArgAction::SetTrue).help(say("prove-flat")))
                .arg(format(&["text", "json"]))
                .arg(Arg::new("write").long("write").value_name("NEW").help(say("as-fitted"))),
        )
        .subcommand(
            Command::new("picture")
                .about(say("picture"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(
                    Arg::new("show")
                        .long("show")
                        .value_parser(crate::picture::SHOWN)
                        .default_value("load-path")
                        .help(say("picture-show")),
                )
                .arg(
                    Arg::new("room")
                        .long("room")
                        .value_parser(crate::picture::ROOM)
                        .default_value("wide")
                        .help(say("picture-room")),
                )
                .arg(Arg::new("print").long("print").action(ArgAction::SetTrue).help(say("picture-print")))
                .arg(
                    Arg::new("format")
                        .long("format")
                        .value_parser(["svg", "csv"])
                        .default_value("svg")
                        .help(say("format")),
                ),
        )
        .subcommand(ride())
        .subcommand(
            Command::new("watch")
                .about(say("watch"))
                .arg(Arg::new("job").required_unless_present("template").help(say("job")))
                .arg(Arg::new("files").num_args(0..).help(say("watch-files")))
                .arg(Arg::new("columns").long("columns").value_name("FILE").help(say("log-columns")))
                .arg(format(&["text", "json"]))
                .arg(Arg::new("template").long("template").action(ArgAction::SetTrue).help(say("watch-template"))),
        )
        .subcommand(Command::new("schema").about(say("schema")))
        .subcommand(
            Command::new("serve")
                .about(say("serve"))
                .arg(Arg::new("book").long("book").default_value("backdrive.book").help(say("serve-book")))
                .arg(Arg::new("demo").long("demo").action(ArgAction::SetTrue).help(say("serve-demo")))
                .arg(Arg::new("listen").long("listen").default_value("127.0.0.1:8077").help(say("serve-listen")))
                .arg(Arg::new("host").long("host").action(ArgAction::Append).help(say("serve-host")))
                .arg(Arg::new("passphrase-file").long("passphrase-file").help(say("serve-passphrase-file"))),
        )
        .subcommand(
            Command::new("generate")
                .about(say("generate"))
                .arg(Arg::new("check").long("check").action(ArgAction::SetTrue).help(say("generate-check"))),
        )
}
