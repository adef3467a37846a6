//! A shop's own house rules: added to the built-in ones, replacing those of the same name, or leaving some out.

use crate::diagnostic::Diagnostic;
use crate::job::nearest;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use workbench::rules::{self, Condition, Effect, HouseRule};

/// The house rules of a shop.
#[derive(Clone, Debug)]
pub struct Rules {
    /// All that hold.
    pub rules: Vec<Arc<HouseRule>>,
    /// Built-in ones that were left out.
    pub without: Vec<String>,
}

impl Default for Rules {
    fn default() -> Self {
        Self { rules: rules::built_in().to_vec(), without: Vec::new() }
    }
}

const FIELDS: [&str; 5] = ["id", "when", "unless", "effect", "says"];

/// Reads a file of house rules.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read_rules(source: &str) -> Result<Rules, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| vec![crate::not_toml(&e)])?;
    let mut errors = Vec::new();
    let mut own: Vec<HouseRule> = Vec::new();
    let mut without = Vec::new();
    for (key, value) in table.get_ref() {
        match (&**key.get_ref(), value.get_ref()) {
            ("without", DeValue::Array(list)) => {
                for item in list {
                    let id = item.get_ref().as_str().unwrap_or_default();
                    if rules::built_in().iter().any(|r| r.id == id) {
                        without.push(id.to_owned());
                    } else {
                        let hint = nearest(id, rules::built_in().iter().map(|r| r.id.clone()));
                        let error = Diagnostic::new(item.span(), "rule-without-name", &[("given", id)]);
                        errors.push(error.with_hint(hint));
                    }
                }
            }
            ("without", _) => errors.push(Diagnostic::new(value.span(), "rule-without", &[])),
            ("rule", DeValue::Array(list)) => {
                for item in list {
                    let Some(rule) = read_rule(item, &mut errors) else { continue };
                    if own.iter().any(|other| other.id == rule.id) {
                        errors.push(Diagnostic::new(item.span(), "rule-twice", &[("id", &rule.id)]));
                    }
                    own.push(rule);
                }
            }
            (name, _) => errors.push(Diagnostic::new(key.span(), "rule-key", &[("name", name)])),
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let replaced = |r: &HouseRule| without.contains(&r.id) || own.iter().any(|o| o.id == r.id);
    let mut all: Vec<Arc<HouseRule>> = rules::built_in().iter().filter(|r| !replaced(r)).cloned().collect();
    all.extend(own.into_iter().map(Arc::new));
    Ok(Rules { rules: all, without })
}

fn read_rule(item: &Spanned<DeValue<'_>>, errors: &mut Vec<Diagnostic>) -> Option<HouseRule> {
    let DeValue::Table(t) = item.get_ref() else {
        errors.push(Diagnostic::new(item.span(), "rule-table", &[]));
        return None;
    };
    for (name, _) in t.iter().filter(|(n, _)| !FIELDS.contains(&&**n.get_ref())) {
        errors.push(Diagnostic::new(name.span(), "rule-field", &[("name", name.get_ref())]));
    }
    let field =
        |k: &str| t.get(k).and_then(|v| Some((v.get_ref().as_str()?.trim(), v.span()))).filter(|(s, _)| !s.is_empty());
    let (Some((id, _)), Some(when), Some((effect, at)), Some((says, _))) =
        (field("id"), field("when"), field("effect"), field("says"))
    else {
        errors.push(Diagnostic::new(item.span(), "rule-needs", &[]));
        return None;
    };
    let effect = match effect {
        "refuse" => Effect::Refuse,
        "caution" => Effect::Caution,
        given => {
            errors.push(Diagnostic::new(at, "rule-effect", &[("given", given)]));
            return None;
        }
    };
    let when = conditions(when.0, when.1, errors)?;
    let unless = match field("unless") {
        Some((text, span)) => conditions(text, span, errors)?,
        None => Vec::new(),
    };
    Some(HouseRule { id: id.to_owned(), when, unless, effect, sentence: says.to_owned() })
}

fn conditions(text: &str, span: core::ops::Range<usize>, errors: &mut Vec<Diagnostic>) -> Option<Vec<Condition>> {
    let Ok(list) = rules::read_conditions(text) else {
        errors.push(Diagnostic::new(span, "rule-condition", &[("given", text)]));
        return None;
    };
    let before = errors.len();
    for (key, values) in list.iter().filter_map(rules::faulty) {
        let values: Vec<(&str, &str)> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
        errors.push(Diagnostic::new(span.clone(), key, &values));
    }
    (errors.len() == before).then_some(list)
}
