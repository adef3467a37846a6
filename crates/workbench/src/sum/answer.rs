//! The answer of a sum: numbers by key, in the unit that the key names, and notes.

use super::{Given, Output, SumError};
use crate::words;
use quantity::Quantity;

/// One number of an answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its key.
    pub key: &'static str,
    /// In the unit of the key; `None` where there is no such value, which a note then explains.
    pub value: Option<f64>,
}

/// The answer of a sum, in the order of its outputs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answer {
    /// The numbers.
    pub entries: Vec<Entry>,
    /// What a person should know beside them, ready to read.
    pub notes: Vec<String>,
}

impl Answer {
    /// Adds a number; what is not a number of its key's dimension is a fault of the sum, which its example shows.
    pub(super) fn put<Q: Quantity>(mut self, key: &'static str, value: Q) -> Self {
        let unit = Output::new(key).unit();
        debug_assert_eq!(unit.dimension, Q::DIMENSION, "{key}");
        self.entries.push(Entry { key, value: Some(unit.from_si(value.si())) });
        self
    }

    /// Adds a pure number.
    pub(super) fn put_number(self, key: &'static str, value: f64) -> Self {
        self.put(key, quantity::Ratio::new(value))
    }

    /// Says that there is no such value.
    pub(super) fn none(mut self, key: &'static str) -> Self {
        self.entries.push(Entry { key, value: None });
        self
    }

    /// Adds the note of that key, `sum.NAME.note.KEY`.
    pub(super) fn note(mut self, key: &str, values: &[(&str, &str)]) -> Self {
        self.notes.push(words::fill(key, values));
        self
    }

    /// The number of a key.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.entries.iter().find(|entry| entry.key == key)?.value
    }

    /// An object with the keys of the answer, in order, and `notes` where there are any.
    pub fn to_json(&self) -> serde_json::Value {
        let mut object = serde_json::Map::new();
        for entry in &self.entries {
            object.insert(entry.key.to_owned(), entry.value.map_or(serde_json::Value::Null, Into::into));
        }
        if !self.notes.is_empty() {
            object.insert("notes".to_owned(), self.notes.iter().cloned().collect());
        }
        serde_json::Value::Object(object)
    }

    /// Orders the numbers as the sum lists them and refuses those that are not finite.
    pub(super) fn finish(&mut self, given: &Given) -> Result<(), SumError> {
        let place = |key: &str| given.sum().outputs.iter().position(|output| output.key == key);
        self.entries.sort_by_key(|entry| place(entry.key));
        match self.entries.iter().find(|entry| entry.value.is_some_and(|value| !value.is_finite())) {
            Some(entry) => Err(SumError::NotFinite(entry.key)),
            None => Ok(()),
        }
    }
}
