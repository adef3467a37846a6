//! All words that a person reads, by key. They stand in `words/en/*.toml`; a second language is a second folder.

use std::collections::BTreeMap;
use std::sync::OnceLock;

const FILES: &[&str] = &[
    include_str!("../words/en/app.toml"),
    include_str!("../words/en/book.toml"),
    include_str!("../words/en/cards.toml"),
    include_str!("../words/en/drawing.toml"),
    include_str!("../words/en/facts.toml"),
    include_str!("../words/en/input.toml"),
    include_str!("../words/en/links.toml"),
    include_str!("../words/en/office.toml"),
    include_str!("../words/en/page.toml"),
    include_str!("../words/en/proof.toml"),
    include_str!("../words/en/ride.toml"),
    include_str!("../words/en/rules.toml"),
    include_str!("../words/en/settings.toml"),
    include_str!("../words/en/sums.toml"),
    include_str!("../words/en/tracks.toml"),
];

fn table() -> &'static BTreeMap<String, String> {
    static TABLE: OnceLock<BTreeMap<String, String>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut all = BTreeMap::new();
        for file in FILES {
            if let Ok(toml::Value::Table(t)) = file.parse::<toml::Table>().map(toml::Value::Table) {
                flatten("", &t, &mut all);
            }
        }
        all
    })
}

fn flatten(prefix: &str, t: &toml::Table, all: &mut BTreeMap<String, String>) {
    for (k, v) in t {
        let key = if prefix.is_empty() { k.clone() } else { format!("{prefix}.{k}") };
        match v {
            toml::Value::Table(inner) => flatten(&key, inner, all),
            toml::Value::String(s) => {
                all.insert(key, s.clone());
            }
            _ => {}
        }
    }
}

/// The words of that key, if there are any.
pub fn find(key: &str) -> Option<&'static str> {
    table().get(key).map(String::as_str)
}

/// The words of that key; the key itself where nobody has written them yet (a test proves that this does not happen).
pub fn text(key: &str) -> String {
    find(key).map_or_else(|| key.to_owned(), str::to_owned)
}

/// The words of that key with `{name}` replaced.
pub fn fill(key: &str, values: &[(&str, &str)]) -> String {
    values.iter().fold(text(key), |s, (name, value)| s.replace(&format!("{{{name}}}"), value))
}

/// All keys.
pub fn keys() -> impl Iterator<Item = &'static str> {
    table().keys().map(String::as_str)
}
