//! What a person reads about a file: words by key, out of the one table of words.

use std::collections::BTreeMap;
use std::sync::OnceLock;

/// The file stands with all other words; it is read here because arrows point down.
const FILE: &str = include_str!("../../workbench/words/en/tracks.toml");

fn table() -> &'static BTreeMap<String, String> {
    static TABLE: OnceLock<BTreeMap<String, String>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let file: BTreeMap<String, BTreeMap<String, String>> = toml::from_str(FILE).unwrap_or_default();
        file.into_values().flatten().collect()
    })
}

/// The words of that key with `{name}` replaced; the key itself where there are none (a test proves that this does not
/// happen).
pub(crate) fn fill(key: &str, values: &[(&str, &str)]) -> String {
    let text = table().get(key).map_or(key, String::as_str);
    values.iter().fold(text.to_owned(), |text, (name, value)| text.replace(&format!("{{{name}}}"), value))
}

/// The next step after an error.
pub(crate) fn next(key: &str, values: &[(&str, &str)]) -> String {
    fill(&format!("{key}-next"), values)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CODE: [&str; 11] = [
        include_str!("columns.rs"),
        include_str!("error.rs"),
        include_str!("fit.rs"),
        include_str!("header.rs"),
        include_str!("log.rs"),
        include_str!("route.rs"),
        include_str!("table.rs"),
        include_str!("xml.rs"),
        include_str!("line.rs"),
        include_str!("layout.rs"),
        include_str!("rows.rs"),
    ];

    /// The first literal that looks like a key.
    fn key_in(call: &str) -> Option<&str> {
        let is_key = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase() || b == b'-');
        call.split(';').next()?.split('"').skip(1).find(is_key)
    }

    #[test]
    fn every_key_has_words_and_all_words_are_said() {
        assert!(table().len() > 20, "the file of words cannot be read");
        for key in table().keys() {
            let base = key.strip_suffix("-next").unwrap_or(key);
            let said = |key: &str| CODE.iter().any(|code| code.contains(&format!("\"{key}\"")));
            assert!(said(base) || said(key), "nobody says `{key}`");
        }
        let mut calls = 0;
        for (opening, needs_next) in [("Error::new(", true), ("notes.add(", false)] {
            for key in CODE.iter().flat_map(|code| code.split(opening).skip(1)).filter_map(key_in) {
                calls += 1;
                assert!(table().contains_key(key), "no words for `{key}`");
                assert!(!needs_next || table().contains_key(&format!("{key}-next")), "no next step for `{key}`");
            }
        }
        assert!(calls > 50, "the search no longer finds the keys");
    }
}
