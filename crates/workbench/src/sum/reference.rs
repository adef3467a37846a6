//! The reference of all sums as Markdown, from the registry and the words.

use super::input::Need;
use super::{SUMS, Sum};
use crate::words;
use core::fmt::Write;

fn word(key: &str) -> String {
    words::text(&format!("sum-reference.{key}"))
}

/// All sums as one Markdown text, for `docs/sums.md`.
pub fn reference() -> String {
    let mut text = format!("# {}\n\n{}\n", word("title"), word("intro"));
    for sum in SUMS {
        text.push('\n');
        text.push_str(&sum_reference(sum));
    }
    text
}

/// One sum: what it answers, inputs, keys of the answer, formulas with sources, an example.
pub fn sum_reference(sum: &Sum) -> String {
    let mut text = String::new();
    let name = sum.name;
    let mut line = |parts: core::fmt::Arguments<'_>| {
        // Writing to a `String` does not fail.
        let _ = text.write_fmt(parts);
        text.push('\n');
    };
    line(format_args!("## {name}\n\n{}\n", words::text(&format!("sum.{name}.help"))));
    line(format_args!("| {} | {} | {} | {} |", word("input"), word("what"), word("allowed"), word("units")));
    line(format_args!("| --- | --- | --- | --- |"));
    for input in sum.inputs {
        let mut what = words::text(&format!("sum.{name}.in.{}", input.name));
        match input.need {
            Need::Required => {}
            Need::Optional => what.push_str(&format!(" ({})", word("optional"))),
            Need::Default(value) => {
                what.push_str(&format!(" ({})", words::fill("sum-reference.default", &[("value", value)])));
            }
        }
        let allowed = input.shape.allowed();
        let units = input.shape.units().join(", ");
        line(format_args!("| `{}` | {} | {} | {} |", input.name, cell(&what), cell(&allowed), cell(&units)));
    }
    line(format_args!("\n| {} | {} | {} |", word("key"), word("unit"), word("meaning")));
    line(format_args!("| --- | --- | --- |"));
    for output in sum.outputs {
        let mut meaning = words::text(&format!("sum.{name}.out.{}", output.key));
        if output.optional {
            meaning.push_str(&format!(" ({})", word("optional")));
        }
        line(format_args!("| `{}` | {} | {} |", output.key, cell(output.unit().symbol), cell(&meaning)));
    }
    line(format_args!(""));
    for formula in sum.formulas {
        line(format_args!("- {} `{}`: {}", word("formula"), formula.name, formula.equation));
        line(format_args!("  - {}: {}", word("source"), formula.source));
        line(format_args!("  - {}: {}", word("valid"), formula.valid));
        line(format_args!("  - {}: {}", word("left-out"), formula.left_out));
    }
    if let Some(card) = sum.recipe {
        line(format_args!("\n{}: {card}", word("card")));
    }
    line(format_args!("\n{}:\n\n```text\nbackdrive sum {}\n```", word("example"), example(sum)));
    text
}

/// The example as it is typed.
fn example(sum: &Sum) -> String {
    let inputs = sum.example.iter().map(|(name, value)| {
        if value.contains(|c: char| !c.is_ascii_alphanumeric() && !matches!(c, '.' | '-')) {
            format!(" {name}=\"{value}\"")
        } else {
            format!(" {name}={value}")
        }
    });
    format!("{}{}", sum.name, inputs.collect::<String>())
}

/// Safe inside a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}
