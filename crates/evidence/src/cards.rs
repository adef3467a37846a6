//! Measuring cards: how long each takes and how good it is. The words stand with all other words.

use crate::Source;
use crate::table::{Line, table};
use quantity::Time;

/// One measuring card.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// `m1` to `m44`, `look`, `ask`, `label`, `assume`.
    pub id: String,
    /// How long it takes; nothing where no bench tool tells.
    pub time: Option<Time>,
    /// How good one careful go is, about 95 %.
    pub good_to: String,
    /// Where it comes from.
    pub source: Source,
}

impl Card {
    /// Minutes, a plain number for lists and sums of work.
    pub fn minutes(&self) -> Option<f64> {
        self.time.map(|time| time.as_seconds() / 60.0)
    }
}

fn row(line: &Line<'_>) -> Result<Card, String> {
    let time = match line.optional("minutes")? {
        Some(_) => Some(Time::seconds(60.0 * line.positive("minutes")?)),
        None => None,
    };
    Ok(Card { id: line.filled("id")?, time, good_to: line.filled("good_to")?, source: line.source()? })
}

table!("cards.csv", Card, row, rows, problem);

/// A card by its name.
pub fn find(id: &str) -> Option<&'static Card> {
    rows().iter().find(|row| row.id == id)
}
