//! `backdrive book` and what it can do, with its words.

use clap::{Arg, ArgAction, Command, value_parser};
use workbench::words;

fn say(key: &str) -> String {
    words::text(&format!("book.cli.{key}"))
}

fn sub(name: &'static str) -> Command {
    Command::new(name).about(say(name))
}

fn needed(name: &'static str) -> Arg {
    Arg::new(name).required(true).help(say(&format!("arg.{name}")))
}

fn option(name: &'static str) -> Arg {
    Arg::new(name).long(name).help(say(&format!("arg.{name}")))
}

fn number(name: &'static str) -> Arg {
    option(name).value_parser(value_parser!(i64))
}

fn flag(name: &'static str) -> Arg {
    option(name).action(ArgAction::SetTrue)
}

fn format(values: &'static [&'static str]) -> Arg {
    Arg::new("format")
        .long("format")
        .value_parser(values.to_vec())
        .default_value(values[0])
        .help(words::text("cli.format"))
}

/// The command.
pub fn command() -> Command {
    let table = || format(&["text", "json", "csv"]);
    Command::new("book")
        .about(say("about"))
        .after_help(say("after"))
        .subcommand_required(true)
        .arg_required_else_help(true)
        .arg(option("book").global(true).value_name("FILE"))
        .arg(option("who").global(true).value_name("NAME"))
        .subcommand(sub("list").arg(option("stage").value_parser(jobbook::STAGES)).arg(table()))
        .subcommand(sub("find").arg(needed("words").num_args(1..)).arg(table()))
        .subcommand(sub("show").arg(needed("number")).arg(number("revision")).arg(format(&["text", "json", "toml"])))
        .subcommand(sub("history").arg(needed("number")).arg(table()))
        .subcommand(
            sub("add")
                .arg(needed("files").num_args(1..))
                .arg(option("kind").value_parser(jobbook::Kind::ALL.map(jobbook::Kind::token)).default_value("convert"))
                .arg(option("of")),
        )
        .subcommand(sub("set").arg(needed("number")).arg(needed("key")).arg(needed("value")).arg(number("from")))
        .subcommand(sub("undo").arg(needed("change").value_parser(value_parser!(i64))))
        .subcommand(sub("attach").arg(needed("number")).arg(needed("file")).arg(option("slot")).arg(flag("personal")))
        .subcommand(sub("fetch").arg(needed("number")).arg(needed("name")).arg(option("to").required(true)))
        .subcommand(
            sub("export")
                .arg(needed("numbers").num_args(1..))
                .arg(option("to").required(true))
                .arg(flag("without-rider")),
        )
        .subcommand(sub("import").arg(needed("file")).arg(option("as")))
        .subcommand(sub("backup").arg(option("to")))
        .subcommand(sub("restore").arg(needed("file")))
        .subcommand(sub("verify").arg(Arg::new("file").help(say("arg.verify-file"))).arg(format(&["text", "json"])))
        .subcommand(
            sub("erase-rider").arg(needed("number")).arg(option("also").action(ArgAction::Append)).arg(flag("yes")),
        )
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_command_and_argument_has_words() {
        fn look(command: &clap::Command) {
            let shown = |text: Option<&clap::builder::StyledStr>| text.map(ToString::to_string).unwrap_or_default();
            let about = shown(command.get_about());
            assert!(!about.is_empty() && !about.starts_with("book.cli."), "{}: {about}", command.get_name());
            for arg in command.get_arguments() {
                let help = shown(arg.get_help());
                assert!(!help.is_empty() && !help.contains("cli."), "{} {}: {help}", command.get_name(), arg.get_id());
            }
            command.get_subcommands().for_each(look);
        }
        look(&super::command());
    }
}
