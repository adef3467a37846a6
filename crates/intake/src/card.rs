//! Come-back cards, and the hand-over that they count from: TOML with units in the values, as in a bench file.

use crate::LoadError;
use crate::bench::{CARD_KEYS, Reader};
use crate::diagnostic::Diagnostic;
use proof::follow::{Card, Day};
use std::path::Path;
use toml::de::DeTable;
use workbench::fact::Tool;

/// Loads a come-back card.
///
/// # Errors
/// [`LoadError`] with everything that is wrong with it.
pub fn load_card(path: &Path, rack: &[Tool]) -> Result<Card, LoadError> {
    let name = path.display().to_string();
    let text = crate::slurp(path)?;
    read_card(&text, &name, rack).map_err(|errors| LoadError::Content { path: name, text, errors })
}

/// Reads a come-back card. `name` stands in messages about it later.
///
/// # Errors
/// Everything that is wrong with it, in the order of the file.
pub fn read_card(source: &str, name: &str, rack: &[Tool]) -> Result<Card, Vec<Diagnostic>> {
    let table = DeTable::parse(source).map_err(|e| vec![crate::not_toml(&e)])?;
    let table = table.get_ref();
    let mut r = Reader::new(rack);
    r.only(table, &CARD_KEYS);
    r.decimal_comma(table);
    let job = r.text(table, "job", 0..0).unwrap_or_default();
    let day = r.text(table, "date", 0..0).and_then(|text| {
        let day = Day::parse(&text);
        if day.is_none() {
            let span = table.get("date").map_or(0..0, toml::Spanned::span);
            r.say(span, "card-date", &[("given", &text)]);
        }
        day
    });
    let card = r.card(table, name, job, day.unwrap_or(Day(0)));
    r.finish(card)
}
