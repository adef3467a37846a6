//! The tool rack: each tool with its class, from which the doubt of what it took follows.

use crate::diagnostic::Diagnostic;
use quantity::text::{self, Decimal, Spread};
use toml::de::{DeTable, DeValue};
use workbench::fact::Tool;

/// Reads a tool rack.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read_rack(source: &str) -> Result<Vec<Tool>, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| {
        vec![Diagnostic {
            span: e.span().unwrap_or(0..0),
            message: format!("not TOML: {}", e.message()),
            hint: String::new(),
        }]
    })?;
    let mut errors = Vec::new();
    let mut tools: Vec<Tool> = Vec::new();
    for (key, value) in table.get_ref() {
        let (DeValue::Array(list), "tool") = (value.get_ref(), &**key.get_ref()) else {
            errors.push(Diagnostic {
                span: key.span(),
                message: format!("`{}` is not known here; a rack has only [[tool]] tables", key.get_ref()),
                hint: String::new(),
            });
            continue;
        };
        for item in list {
            let DeValue::Table(t) = item.get_ref() else { continue };
            let word = |k: &str| t.get(k).and_then(|v| v.get_ref().as_str());
            let (Some(id), Some(class)) = (word("id"), word("class")) else {
                errors.push(Diagnostic {
                    span: item.span(),
                    message: "a tool needs `id` and `class`".to_owned(),
                    hint: "for example id = \"W2\", class = \"± 4 %\"".to_owned(),
                });
                continue;
            };
            if tools.iter().any(|other| other.id == id) {
                errors.push(Diagnostic {
                    span: item.span(),
                    message: format!("there are two tools `{id}`"),
                    hint: "give each its own id".to_owned(),
                });
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
                errors.push(Diagnostic {
                    span,
                    message: format!("`{class}` is not a class: {why}"),
                    hint: "write \"± 4 %\", \"± 0.03 mm\" or \"± 2 % ± 0.05 A\"; \"none\" where it takes no numbers"
                        .to_owned(),
                });
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
        return Err("it starts with ±".to_owned());
    }
    for part in parts {
        let reading = text::parse(part, Decimal::Point).map_err(|e| e.to_string())?;
        if reading.spread != Spread::None || reading.value_si <= 0.0 {
            return Err("one positive number after each ±".to_owned());
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
