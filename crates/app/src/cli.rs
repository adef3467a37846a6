//! The commands, with their words from the table of words.

use clap::{Arg, ArgAction, Command};
use workbench::words;

fn say(key: &str) -> String {
    words::text(&format!("cli.{key}"))
}

fn format(values: &'static [&'static str]) -> Arg {
    Arg::new("format").long("format").value_parser(values.to_vec()).default_value("text").help(say("format"))
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
            Command::new("check")
                .about(say("check"))
                .arg(Arg::new("job").required(true).help(say("job")))
                .arg(format(&["text", "json", "csv"])),
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
