//! Values inside a TOML text, by the dotted path that the job file uses (`axle.left.nut_torque`, `arm.1.length`,
//! counted from 1). Everything else in the text, comments too, stays as it was.

use std::collections::BTreeMap;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Key, Table, TableLike, Value};

/// What shall stand at a key.
#[derive(Clone, Debug)]
pub struct Edit {
    /// Dotted path, as in the job file.
    pub key: String,
    /// The new value; `None` takes the key out.
    pub value: Option<Value>,
}

impl Edit {
    /// Puts a value there: a text, a whole number, true or false, a list.
    pub fn put(key: &str, value: impl Into<Value>) -> Self {
        Self { key: key.to_owned(), value: Some(value.into()) }
    }
    /// Takes the key out.
    pub fn remove(key: &str) -> Self {
        Self { key: key.to_owned(), value: None }
    }
}

/// Why a value cannot be put there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wrong {
    /// The text is not TOML.
    NotToml(String),
    /// There is no such place in the text.
    NoPlace(String),
}

/// Reads a text as TOML.
pub fn parse(text: &str) -> Result<DocumentMut, Wrong> {
    text.parse::<DocumentMut>().map_err(|e| Wrong::NotToml(e.to_string()))
}

fn path(key: &str) -> Result<Vec<String>, Wrong> {
    let keys = Key::parse(key).map_err(|_| Wrong::NoPlace(key.to_owned()))?;
    Ok(keys.iter().map(|k| k.get().to_owned()).collect())
}

fn place(part: &str) -> Option<usize> {
    part.parse::<usize>().ok()?.checked_sub(1)
}

fn child<'a>(item: &'a Item, part: &str) -> Option<&'a Item> {
    match item {
        Item::ArrayOfTables(_) => None,
        _ => item.as_table_like()?.get(part),
    }
}

fn find<'a>(root: &'a Table, parts: &[String]) -> Option<Found<'a>> {
    let (first, rest) = parts.split_first()?;
    let mut item = root.get(first)?;
    let mut rest = rest.iter();
    while let Some(part) = rest.next() {
        match item {
            Item::ArrayOfTables(list) => {
                let table = list.get(place(part)?)?;
                let left: Vec<String> = rest.cloned().collect();
                return if left.is_empty() { Some(Found::Table(table)) } else { find(table, &left) };
            }
            _ => item = child(item, part)?,
        }
    }
    Some(Found::Item(item))
}

enum Found<'a> {
    Item(&'a Item),
    Table(&'a Table),
}

/// The value at a key as it is written, without the comments around it; `None` where there is none.
pub fn literal(doc: &DocumentMut, key: &str) -> Option<String> {
    match find(doc, &path(key).ok()?)? {
        Found::Item(Item::Value(v)) => Some(bare(v)),
        Found::Item(item) => Some(item.to_string().trim().to_owned()),
        Found::Table(table) => Some(table.to_string().trim().to_owned()),
    }
}

/// The value at a key as a person reads it: a text without its quotes.
pub fn plain(doc: &DocumentMut, key: &str) -> Option<String> {
    match find(doc, &path(key).ok()?)? {
        Found::Item(Item::Value(Value::String(s))) => Some(s.value().clone()),
        _ => literal(doc, key),
    }
}

/// How a value is shown to a person.
pub fn shown(value: &Value) -> String {
    value.as_str().map_or_else(|| bare(value), str::to_owned)
}

/// A value as it is written.
pub fn bare(value: &Value) -> String {
    let mut v = value.clone();
    v.decor_mut().clear();
    v.to_string()
}

/// Entries of every list that the key goes through: a list that has grown or shrunk means other things by its numbers.
pub fn lists(doc: &DocumentMut, key: &str) -> Vec<usize> {
    let Ok(parts) = path(key) else { return Vec::new() };
    let list = |n: usize| match find(doc, &parts[..n]) {
        Some(Found::Item(Item::ArrayOfTables(list))) => Some(list.len()),
        _ => None,
    };
    (1..parts.len()).filter_map(list).collect()
}

/// Carries out edits on a text.
///
/// # Errors
/// [`Wrong`]; then nothing is changed.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, Wrong> {
    let mut doc = parse(text)?;
    for edit in edits {
        let parts = path(&edit.key)?;
        put(doc.as_table_mut(), &parts, edit.value.as_ref()).ok_or_else(|| Wrong::NoPlace(edit.key.clone()))?;
    }
    Ok(doc.to_string())
}

fn put(table: &mut dyn TableLike, parts: &[String], value: Option<&Value>) -> Option<()> {
    let (part, rest) = parts.split_first()?;
    if rest.is_empty() {
        return leaf(table, part, value);
    }
    if table.get(part).is_none() {
        let Some(_) = value else { return Some(()) };
        let list = rest.len() > 1 && place(&rest[0]) == Some(0);
        let mut new = Table::new();
        new.set_implicit(rest.len() > 1);
        table.insert(part, if list { Item::ArrayOfTables(ArrayOfTables::new()) } else { Item::Table(new) });
    }
    match table.get_mut(part)? {
        Item::ArrayOfTables(list) => {
            let at = place(&rest[0])?;
            if rest.len() == 1 {
                return match value {
                    None if at < list.len() => {
                        list.remove(at);
                        Some(())
                    }
                    None => Some(()),
                    Some(_) => None,
                };
            }
            if at == list.len() && value.is_some() {
                list.push(Table::new());
            }
            match list.get_mut(at) {
                Some(t) => put(t, &rest[1..], value),
                None => value.is_none().then_some(()),
            }
        }
        item => {
            if let Some(t) = item.as_table_mut()
                && rest.len() == 1
            {
                t.set_implicit(false);
            }
            put(item.as_table_like_mut()?, rest, value)
        }
    }
}

fn leaf(table: &mut dyn TableLike, part: &str, value: Option<&Value>) -> Option<()> {
    match (table.get_mut(part), value) {
        (Some(_), None) => {
            table.remove(part);
        }
        (None, None) => {}
        (Some(Item::Value(old)), Some(new)) => {
            let decor = old.decor().clone();
            *old = new.clone();
            *old.decor_mut() = decor;
        }
        // A table does not become a value by mistake.
        (Some(item), Some(_)) if !item.is_none() => return None,
        (_, Some(new)) => {
            let mut new = new.clone();
            new.decor_mut().clear();
            table.insert(part, Item::Value(new));
        }
    }
    Some(())
}

/// Every value of a text by its dotted path, as it is written.
pub fn leaves(doc: &DocumentMut) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    collect("", doc.as_table(), &mut all);
    all
}

fn collect(prefix: &str, table: &dyn TableLike, all: &mut BTreeMap<String, String>) {
    for (name, item) in table.iter() {
        let name = Key::new(name).to_string();
        let key = if prefix.is_empty() { name } else { format!("{prefix}.{name}") };
        match item {
            Item::Value(v) => {
                all.insert(key, bare(v));
            }
            Item::Table(t) => collect(&key, t, all),
            Item::ArrayOfTables(list) => {
                for (i, t) in list.iter().enumerate() {
                    // An empty entry counts too.
                    all.insert(format!("{key}.{}", i + 1), String::new());
                    collect(&format!("{key}.{}", i + 1), t, all);
                }
            }
            Item::None => {}
        }
    }
}
