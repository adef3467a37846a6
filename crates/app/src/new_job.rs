//! A commented job file to start from.

use crate::check_text::fact_name;
use crate::output::{self, Exit};
use workbench::fact::{self, Shape};
use workbench::{kinds, words};

/// Prints a job file for a kind of hub: what is assumed stands commented out, what must be found out says so.
pub fn run(kind: &str) -> Exit {
    let mut out = words::fill("new.head", &[("kind", kind)]);
    let mut table = String::new();
    for i in 0..fact::count(1) as u16 {
        let Some(id) = fact::nth(i) else { continue };
        let (def, full) = fact::describe(id);
        let (place, key) = full.rsplit_once('.').unwrap_or(("", &full));
        if place != table {
            table = place.to_owned();
            let arm = table.starts_with("arm.");
            out.push_str(&if arm { "\n[[arm]]\n".to_owned() } else { format!("\n[{table}]\n") });
        }
        let allowed = match def.shape {
            Shape::Choice(tokens) => tokens.join(" | "),
            Shape::Count { low, high } => format!("{low} – {high}"),
            Shape::Quantity { unit, low, high } => format!("{low} – {high} {unit}").trim_end().to_owned(),
        };
        out.push_str(&format!("# {} ({allowed}; {})\n", fact_name(id), def.card));
        let side_or_kind = ["side", "kind"].contains(&key) && table.starts_with("arm.");
        match kinds::assumed(id, Some(kind)) {
            _ if side_or_kind => {
                out.push_str(&format!("{key} = \"{}\"\n", if key == "side" { "left" } else { "slotted" }))
            }
            Some(f) => out.push_str(&format!("# {key} = \"{}\"\n", f.text)),
            None => out.push_str(&format!("# {key} = \"\"\n")),
        }
    }
    output::data(&out);
    Exit::Holds
}
