//! Single sums on the command line.

use crate::output::{self, Exit, figure};
use quantity::text::Decimal;
use workbench::sum::{self, Given};
use workbench::words;

/// Lists the sums, shows one, or answers one.
pub fn run(name: Option<&str>, inputs: &[String], format: &str) -> Exit {
    let Some(name) = name else {
        let mut out = String::new();
        for s in sum::SUMS {
            out.push_str(&format!("{:20} {}\n", s.name, words::text(&format!("sum.{}.help", s.name))));
        }
        output::data(&out);
        return Exit::Holds;
    };
    let found = match sum::find(name) {
        Ok(s) => s,
        Err(e) => {
            output::talk(&e.to_string());
            return Exit::BadInput;
        }
    };
    if inputs.is_empty() {
        output::data(&sum::sum_reference(found));
        return Exit::Holds;
    }
    let mut pairs = Vec::new();
    for i in inputs {
        match i.split_once('=') {
            Some((k, v)) => pairs.push((k.trim(), v.trim())),
            None => {
                output::talk(&words::fill("app.sum-pair", &[("given", i)]));
                return Exit::BadInput;
            }
        }
    }
    let given = match Given::parse(found, &pairs, Decimal::Point) {
        Ok(g) => g,
        Err(errors) => {
            for e in errors {
                output::talk(&format!("error: {e}"));
            }
            return Exit::BadInput;
        }
    };
    match (found.run)(&given) {
        Ok(answer) if format == "json" => {
            output::data(&serde_json::to_string_pretty(&answer.to_json()).unwrap_or_default())
        }
        Ok(answer) => {
            let mut out = String::new();
            for e in &answer.entries {
                let value = e.value.map_or_else(|| words::text("app.not-known"), figure);
                out.push_str(&format!("{:28} {value}\n", e.key));
            }
            for n in &answer.notes {
                out.push_str(&format!("{n}\n"));
            }
            output::data(&out);
        }
        Err(e) => {
            output::talk(&format!("error: {e}"));
            return Exit::BadInput;
        }
    }
    Exit::Holds
}
