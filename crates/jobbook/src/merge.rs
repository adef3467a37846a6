//! Two people changed one text: what comes out, or where they clash.

use crate::edit::{self, Edit};
use std::collections::BTreeSet;
use toml_edit::Value;

/// Keys at which both sides differ from the text that both started from, and from each other.
pub fn clashes(base: &str, mine: &str, theirs: &str) -> Vec<String> {
    let (Ok(base), Ok(mine), Ok(theirs)) = (edit::parse(base), edit::parse(mine), edit::parse(theirs)) else {
        return Vec::new();
    };
    let (base, mine, theirs) = (edit::leaves(&base), edit::leaves(&mine), edit::leaves(&theirs));
    let keys: BTreeSet<&String> = base.keys().chain(mine.keys()).chain(theirs.keys()).collect();
    keys.into_iter()
        .filter(|key| {
            let (b, m, t) = (base.get(*key), mine.get(*key), theirs.get(*key));
            m != b && t != b && m != t
        })
        .cloned()
        .collect()
}

/// Both sides' changes in one text; `None` if that cannot be done without losing one.
pub fn three_way(base: &str, mine: &str, theirs: &str) -> Option<String> {
    if mine == base || mine == theirs {
        return Some(theirs.to_owned());
    }
    if theirs == base {
        return Some(mine.to_owned());
    }
    let lines = diffy::merge(base, mine, theirs).ok().filter(|merged| keeps_both(base, mine, theirs, merged));
    lines.or_else(|| by_key(base, mine, theirs))
}

/// For TOML, a merge by lines must also be one by values. Other texts have only lines.
fn keeps_both(base: &str, mine: &str, theirs: &str, merged: &str) -> bool {
    let (Ok(base), Ok(mine), Ok(theirs)) = (edit::parse(base), edit::parse(mine), edit::parse(theirs)) else {
        return true;
    };
    let Ok(merged) = edit::parse(merged) else { return false };
    let (base, mine, theirs) = (edit::leaves(&base), edit::leaves(&mine), edit::leaves(&theirs));
    let merged = edit::leaves(&merged);
    let keys: BTreeSet<&String> = base.keys().chain(mine.keys()).chain(theirs.keys()).chain(merged.keys()).collect();
    keys.into_iter().all(|key| {
        let (b, m, t) = (base.get(key), mine.get(key), theirs.get(key));
        (m == b || t == b || m == t) && merged.get(key) == if m == b { t } else { m }
    })
}

/// Facts on neighbouring lines do not merge by lines. Where my side changed values and nothing else, it can be repeated
/// on their text.
fn by_key(base: &str, mine: &str, theirs: &str) -> Option<String> {
    let (base_doc, mine_doc) = (edit::parse(base).ok()?, edit::parse(mine).ok()?);
    let (before, after) = (edit::leaves(&base_doc), edit::leaves(&mine_doc));
    let keys: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let changed = keys.into_iter().filter(|key| before.get(*key) != after.get(*key));
    let edits: Vec<Edit> = changed
        .map(|key| {
            let value = after.get(key).map(|literal| literal.parse::<Value>()).transpose().ok()?;
            Some(Edit { key: key.clone(), value })
        })
        .collect::<Option<_>>()?;
    if edit::apply(base, &edits).ok()? != mine {
        return None;
    }
    edit::apply(theirs, &edits).ok().filter(|merged| keeps_both(base, mine, theirs, merged))
}
