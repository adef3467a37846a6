//! A job: one bike, its facts, and how sure the shop wants to be.

use crate::fact::{self, ArmKey, Distribution, Fact, FactId, Key, Side, SideKey, Tool};
use crate::rules::{self, HouseRule};
use quantity::Quantity;
use std::sync::Arc;

/// One bike on the stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// The shop's number: `0117`.
    pub number: String,
    /// What the bike is called.
    pub name: String,
    /// Kind from which left-out facts are filled.
    pub kind: Option<String>,
    /// One place for each fact; see [`crate::fact::describe`].
    pub facts: Vec<Option<Fact>>,
    /// Number of torque arms.
    pub arms: usize,
    /// One bike in how many may be wrong: 100, 1,000 or 10,000, or any number from 10 to 100,000.
    pub one_in: f64,
    /// Faces and threads of both ends come from one surface condition and share their friction.
    pub same_surface: bool,
    /// The shop's tools.
    pub rack: Vec<Tool>,
    /// The house rules that hold for it.
    pub rules: Vec<Arc<HouseRule>>,
    /// Built-in house rules that this shop does not use; printed with every answer.
    pub rules_without: Vec<String>,
    /// What stands in the file as remarks; printed, not used.
    pub notes: Vec<String>,
}

impl Job {
    /// An empty job with so many arms.
    pub fn new(number: &str, name: &str, arms: usize) -> Self {
        Self {
            number: number.to_owned(),
            name: name.to_owned(),
            kind: None,
            facts: vec![None; fact::count(arms)],
            arms,
            one_in: 1000.0,
            same_surface: false,
            rack: Vec::new(),
            rules: rules::built_in().to_vec(),
            rules_without: Vec::new(),
            notes: Vec::new(),
        }
    }
    /// The fact at that place, if known.
    pub fn fact(&self, id: FactId) -> Option<&Fact> {
        self.facts.get(id.index()).and_then(Option::as_ref)
    }
    /// A common fact's value.
    pub fn get<Q: Quantity>(&self, key: Key<Q>) -> Option<Q> {
        self.fact(key.id()).map(Fact::quantity)
    }
    /// A side fact's value.
    pub fn side<Q: Quantity>(&self, key: SideKey<Q>, side: Side) -> Option<Q> {
        self.fact(key.of(side)).map(Fact::quantity)
    }
    /// An arm fact's value.
    pub fn arm<Q: Quantity>(&self, key: ArmKey<Q>, arm: usize) -> Option<Q> {
        self.fact(key.of(arm)).map(Fact::quantity)
    }
    /// The answer token of a choice.
    pub fn answer(&self, id: FactId) -> Option<&'static str> {
        let fact::Shape::Choice(tokens) = fact::definition(id).shape else { return None };
        self.fact(id).and_then(|f| tokens.get(f.value as usize)).copied()
    }
    /// Middle values in SI, not-a-number where nothing is known.
    pub fn middle(&self) -> Vec<f64> {
        self.facts.iter().map(|f| f.as_ref().map_or(f64::NAN, |f| f.value)).collect()
    }
    /// Puts a chosen value in place of what was there.
    pub fn choose(&mut self, id: FactId, value_si: f64, spread: Distribution, text: &str) {
        self.facts[id.index()] =
            Some(Fact { value: value_si, spread, origin: fact::Origin::Chosen, tool: None, text: text.to_owned() });
    }
}
