//! Measuring drawings on the cards: where the calliper goes, beside the value that it takes.

use drawing::{Theme, measuring};
use maud::{Markup, PreEscaped, html};
use workbench::fact::FactId;

/// The drawings of one page; each is shown once, at the first value that it shows how to take.
#[derive(Default)]
pub struct Shown(Vec<&'static str>);

impl Shown {
    fn first(&mut self, id: &'static str) -> Option<Markup> {
        if self.0.contains(&id) {
            return None;
        }
        self.0.push(id);
        figure(id)
    }

    /// A field with its drawing, or the field alone.
    pub fn beside(&mut self, fact: FactId, field: &Markup) -> Markup {
        let drawing = measuring::for_fact(fact).and_then(|id| self.first(id));
        html! { @match drawing {
            Some(drawing) => { div.with-drawing { (field) (drawing) } }
            None => { (field) }
        } }
    }

    /// What the cards of a question show and no value of it has claimed.
    pub fn of_cards(&mut self, cards: &[&str]) -> Markup {
        let left: Vec<Markup> = cards
            .iter()
            .filter(|c| !measuring::MANY_SIZES.contains(c))
            .filter_map(|c| measuring::for_card(c).and_then(|id| self.first(id)))
            .collect();
        html! { @if !left.is_empty() { div.drawings { @for one in &left { (one) } } } }
    }
}

/// One drawing with its words below it.
fn figure(id: &str) -> Option<Markup> {
    let svg = measuring::svg(id, Theme::Page)?;
    Some(html! { figure.where { (PreEscaped(svg)) figcaption aria-hidden="true" { (measuring::title(id)) } } })
}

/// The drawing of a measuring card, if it has one.
pub fn of_card(card: &str) -> Option<Markup> {
    measuring::for_card(card).and_then(figure)
}
