//! The tool rack: each tool with its class, from which the doubt of what it took follows.

use crate::diagnostic::Diagnostic;
use quantity::text::{self, Decimal, Spread};
use toml::de::{DeTable, DeValue};
use workbench::fact::Tool;
use workbench::{reading_words, words};

/// Reads a tool rack.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read_rack(source: &str) -> Result<Vec<Tool>, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| vec![crate::not_toml(&e)])?;
    let mut errors = Vec::new();
    let mut tools: Vec<Tool> = Vec::new();
    for (key, value) in table.get_ref() {
        let (DeValue::Array(list), "tool") = (value.get_ref(), &**key.get_ref()) else {
            errors.push(Diagnostic::new(key.span(), "rack-key", &[("name", key.get_ref())]));
            continue;
        };
        for item in list {
            let DeValue::Table(t) = item.get_ref() else {
                errors.push(Diagnostic::new(item.span(), "rack-tool-table", &[]));
                continue;
            };
            for (name, _) in
                t.iter().filter(|(n, _)| !["id", "name", "class", "shares_error"].contains(&&**n.get_ref()))
            {
                errors.push(Diagnostic::new(name.span(), "rack-tool-key", &[("name", name.get_ref())]));
            }
            let word = |k: &str| t.get(k).and_then(|v| v.get_ref().as_str());
            let (Some(id), Some(class)) = (word("id"), word("class")) else {
                errors.push(Diagnostic::new(item.span(), "rack-tool", &[]));
                continue;
            };
            if tools.iter().any(|other| other.id == id) {
                errors.push(Diagnostic::new(item.span(), "rack-twice", &[("id", id)]));
            }
            let mut tool = Tool {
                id: id.to_owned(),
                name: word("name").unwrap_or(id).to_owned(),
                share: 0.0,
                absolute: None,
                shares_error: t.get("shares_error").and_then(|v| v.get_ref().as_bool()).unwrap_or(false),
            };
            if let Err(why) = read_class(class, &mut tool) {
                let span = t.get("class").map_or(item.span(), toml::Spanned::span);
                errors.push(Diagnostic::new(span, "rack-class", &[("class", class), ("why", &why)]));
            }
            tools.push(tool);
        }
    }
    if errors.is_empty() { Ok(tools) } else { Err(errors) }
}

fn read_class(class: &str, tool: &mut Tool) -> Result<(), String> {
    if class.trim() == "none" {
        return Ok(());
    }
    let parts: Vec<&str> = class.split('±').map(str::trim).filter(|p| !p.is_empty()).collect();
    if parts.is_empty() || !class.trim_start().starts_with('±') {
        return Err(words::text("job-file.rack-class-start"));
    }
    for part in parts {
        let reading = text::parse(part, Decimal::Point).map_err(|e| reading_words::say(&e))?;
        if reading.spread != Spread::None || reading.value_si <= 0.0 {
            return Err(words::text("job-file.rack-class-number"));
        }
        if part.ends_with('%') {
            tool.share = reading.value_si;
        } else {
            // A class is a difference: ± 3 °C is 3 K.
            let value =
                if reading.unit.kinds.contains(&"temperature") { reading.value_si - 273.15 } else { reading.value_si };
            tool.absolute = Some((value, reading.unit.kinds[0].to_owned()));
        }
    }
    Ok(())
}
