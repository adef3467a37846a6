//! Measured facts put into a job file in place of what stood there; comments and order stay.

use crate::LoadError;
use std::path::Path;
use toml_edit::{DocumentMut, Item, Table, Value};

/// The text of a job file, as it stands.
///
/// # Errors
/// [`LoadError::File`].
pub fn job_text(path: &Path) -> Result<String, LoadError> {
    crate::slurp(path)
}

/// One fact to put in.
#[derive(Clone, Debug, PartialEq)]
pub struct Replacement {
    /// Full identifier: `motor.flux_linkage`, `axle.left.nut_torque`, `arm.1.thickness`.
    pub id: String,
    /// The new text.
    pub text: String,
}

/// Puts facts into the text of a job file. What stood there before stays as a comment behind the new value, after `why`.
///
/// # Errors
/// If the text is not TOML, or a table of the fact is something else.
pub fn replace(source: &str, facts: &[Replacement], why: &str) -> Result<String, String> {
    let mut document: DocumentMut = source.parse().map_err(|e: toml_edit::TomlError| e.message().to_owned())?;
    for f in facts {
        let (place, key) = f.id.rsplit_once('.').ok_or_else(|| format!("`{}` is no fact", f.id))?;
        let table = table_of(document.as_table_mut(), place).ok_or_else(|| format!("there is no table `{place}`"))?;
        let before = table.get(key).and_then(Item::as_value).map(|v| {
            let comment = v.decor().suffix().and_then(|s| s.as_str()).unwrap_or_default().trim().to_owned();
            (v.as_str().map_or_else(|| v.to_string().trim().to_owned(), str::to_owned), comment)
        });
        let mut value = Value::from(f.text.as_str());
        let was = before.as_ref().map_or(String::new(), |(text, _)| format!("; was \"{text}\""));
        let kept = before.map_or(String::new(), |(_, comment)| {
            let comment = comment.trim_start_matches('#').trim();
            if comment.is_empty() { String::new() } else { format!("; {comment}") }
        });
        value.decor_mut().set_suffix(format!(" # {why}{was}{kept}").replace(['\n', '\r'], " "));
        value.decor_mut().set_prefix(" ");
        match table.get_mut(key) {
            Some(item) => *item = Item::Value(value),
            None => {
                table.insert(key, Item::Value(value));
            }
        }
    }
    Ok(document.to_string())
}

fn table_of<'a>(root: &'a mut Table, place: &str) -> Option<&'a mut Table> {
    let mut parts = place.split('.');
    let first = parts.next()?;
    if first == "arm" {
        let n: usize = parts.next()?.parse().ok()?;
        return root.get_mut("arm")?.as_array_of_tables_mut()?.get_mut(n.checked_sub(1)?);
    }
    let mut at = root.entry(first).or_insert_with(toml_edit::table).as_table_mut()?;
    for part in parts {
        at = at.entry(part).or_insert_with(toml_edit::table).as_table_mut()?;
    }
    Some(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_stay_and_the_old_value_is_kept_as_one() {
        let source =
            "# top\nnumber = \"1\"\n\n[motor]\n# about it\nflux_linkage = \"21.5 mWb\" # by hand\npole_pairs = \"8\"\n";
        let facts = [
            Replacement { id: "motor.flux_linkage".into(), text: "21.7 mWb ± 0.2 mWb, measured".into() },
            Replacement { id: "axle.hold_test".into(), text: "70 N·m, measured".into() },
        ];
        let new = replace(source, &facts, "bench, 2026-03-05").unwrap();
        assert!(new.starts_with("# top\nnumber = \"1\"\n\n[motor]\n# about it\n"), "{new}");
        assert!(
            new.contains(
                "flux_linkage = \"21.7 mWb ± 0.2 mWb, measured\" # bench, 2026-03-05; was \"21.5 mWb\"; by hand\npole_pairs"
            ),
            "{new}"
        );
        assert!(new.contains("[axle]\nhold_test = \"70 N·m, measured\" # bench, 2026-03-05\n"), "{new}");
    }

    #[test]
    fn an_arm_that_is_not_there_is_said() {
        let facts = [Replacement { id: "arm.2.thickness".into(), text: "8 mm".into() }];
        assert_eq!(replace("[[arm]]\nside = \"left\"\n", &facts, "x").unwrap_err(), "there is no table `arm.2`");
    }
}
