//! Files that are generated and committed: the job file's schema, and references of sums, facts and formulas.

use crate::check_text::fact_name;
use crate::output::{self, Exit};
use serde_json::{Map, Value, json};
use std::fs;
use std::path::Path;
use workbench::fact::{self, Shape};
use workbench::{kinds, sum, words};

/// Writes the files, or says which differ.
pub fn run(only_check: bool) -> Exit {
    let files = [
        ("docs/job.schema.json", schema()),
        ("docs/facts.md", facts()),
        ("docs/sums.md", sum::reference()),
        ("docs/formulas.md", formulas()),
    ];
    let mut exit = Exit::Holds;
    for (path, text) in files {
        let text = text.trim_end().to_owned() + "\n";
        if only_check {
            if fs::read_to_string(path).ok().as_deref() != Some(&text) {
                output::talk(&words::fill("app.differs", &[("path", path)]));
                exit = Exit::DoesNotHold;
            }
        } else if let Err(e) =
            Path::new(path).parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(path, text))
        {
            output::talk(&words::fill("app.no-file", &[("path", path), ("why", &e.to_string())]));
            exit = Exit::BadInput;
        }
    }
    exit
}

fn allowed(shape: Shape) -> String {
    match shape {
        Shape::Choice(tokens) => tokens.join(", "),
        Shape::Count { low, high } => format!("{low} to {high}"),
        Shape::Quantity { unit, low, high } => format!("{low} to {high} {unit}").trim_end().to_owned(),
    }
}

/// JSON Schema of the job file.
pub fn schema() -> String {
    let mut tables: Map<String, Value> = Map::new();
    for i in 0..fact::count(1) as u16 {
        let Some(id) = fact::nth(i) else { continue };
        let (def, full) = fact::describe(id);
        let text = format!("{}. {}", fact_name(id), allowed(def.shape));
        let value = match def.shape {
            Shape::Count { .. } => json!({ "type": ["string", "integer"], "description": text }),
            _ => json!({ "type": "string", "description": text }),
        };
        let parts: Vec<&str> = full.split('.').collect();
        let path: Vec<&str> = match parts.as_slice() {
            ["axle", side, key] => vec!["axle", side, key],
            ["arm", _, key] => vec!["arm", key],
            _ => parts.clone(),
        };
        put(&mut tables, &path, value);
    }
    if let Some(arm) = tables.remove("arm") {
        tables.insert("arm".to_owned(), json!({ "type": "array", "items": arm, "maxItems": 8 }));
    }
    let mut properties = Map::new();
    properties.insert("number".to_owned(), json!({ "type": "string" }));
    properties.insert("name".to_owned(), json!({ "type": "string" }));
    properties.insert("kind".to_owned(), json!({ "enum": kinds::KINDS }));
    properties.insert("rack".to_owned(), json!({ "type": "string" }));
    properties.insert("rules".to_owned(), json!({ "type": "string" }));
    properties.insert("one_in".to_owned(), json!({ "type": "integer", "minimum": 10, "maximum": 100_000 }));
    properties.insert("same_surface".to_owned(), json!({ "type": "boolean" }));
    properties.insert("decimal_comma".to_owned(), json!({ "type": "boolean" }));
    properties.insert("notes".to_owned(), json!({ "type": "array", "items": { "type": "string" } }));
    properties.extend(tables);
    let value = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": words::text("app.schema-title"),
        "type": "object",
        "required": ["number", "name"],
        "additionalProperties": false,
        "properties": properties,
    });
    serde_json::to_string_pretty(&value).unwrap_or_default()
}

fn put(tables: &mut Map<String, Value>, path: &[&str], value: Value) {
    match path {
        [key] => {
            tables.insert((*key).to_owned(), value);
        }
        [first, rest @ ..] => {
            let table = tables
                .entry((*first).to_owned())
                .or_insert_with(|| json!({ "type": "object", "additionalProperties": false, "properties": {} }));
            if let Some(Value::Object(inner)) = table.get_mut("properties") {
                put(inner, rest, value);
            }
        }
        [] => {}
    }
}

fn facts() -> String {
    let mut out = words::text("docs.facts-head");
    out.push_str(&format!("\n\n| {} | {} |\n", words::text("docs.facts-columns"), kinds::KINDS.join(" | ")));
    out.push_str(&"|---".repeat(4 + kinds::KINDS.len()));
    out.push_str("|\n");
    for i in 0..fact::count(1) as u16 {
        let Some(id) = fact::nth(i) else { continue };
        let (def, full) = fact::describe(id);
        let by_kind: Vec<String> = kinds::KINDS
            .iter()
            .map(|k| kinds::assumed(id, Some(k)).map_or_else(|| "–".to_owned(), |f| f.text))
            .collect();
        out.push_str(&format!(
            "| `{full}` | {} | {} | {} | {} |\n",
            fact_name(id),
            allowed(def.shape),
            def.card,
            by_kind.join(" | ")
        ));
    }
    out
}

fn formulas() -> String {
    let mut out = words::text("docs.formulas-head");
    out.push('\n');
    for f in physics::formulas() {
        out.push_str(&format!("\n## {}\n\n`{}`\n\n", f.name, f.equation));
        for (key, said) in
            [("source", f.source), ("valid", f.valid), ("left-out", f.left_out), ("checked-by", f.checked_by)]
        {
            out.push_str(&format!("- {}: {said}\n", words::text(&format!("docs.{key}"))));
        }
    }
    out
}
