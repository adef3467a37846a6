//! What became of a bike after hand-over: its cards in the book, when it is due, which others may have the same fault.
//!
//! Each card is a document of its own, `0117/back-…`, in the form that `backdrive watch` reads; the hand-over is the
//! first of them. `0117/calls` counts the calls that nobody answered.

use crate::app::App;
use crate::bike::Bike;
use crate::fail::Fail;
use jobbook::edit;
use proof::follow::{self, Card, Day, Decision, Due, Watch};
use workbench::fact::{Side, Tool, list};

/// One card with what a person added to it.
pub struct Kept {
    /// What was read and measured.
    pub card: Card,
    /// What was found, in words.
    pub notes: String,
    /// How the faces looked.
    pub faces: String,
    /// What the workshop did: one of [`DECISIONS`], or nothing.
    pub decision: String,
    /// Who wrote it.
    pub who: String,
}

/// What the workshop can do with a bike that came back.
pub const DECISIONS: [&str; 4] = [
    follow::Done::GoOn.token(),
    follow::Done::Retightened.token(),
    follow::Done::Opened.token(),
    follow::Done::Stop.token(),
];

/// All cards of a bike, oldest first; a card that was taken back is an empty text.
pub fn cards(app: &App, number: &str, rack: &[Tool]) -> Result<Vec<Kept>, Fail> {
    let mut all = Vec::new();
    for name in app.book.document_names(&format!("{number}/back-"))? {
        let Some(doc) = app.book.document(&name)? else { continue };
        let Ok(card) = intake::read_card(&doc.text, &name, rack) else { continue };
        let table = edit::parse(&doc.text).ok();
        let word = |key: &str| table.as_ref().and_then(|t| edit::plain(t, key)).unwrap_or_default();
        all.push(Kept { card, notes: word("notes"), faces: word("faces"), decision: word("decision"), who: doc.who });
    }
    all.sort_by_key(|k| (k.card.day, !k.card.hand_over));
    Ok(all)
}

/// What the cards come to.
pub fn watch(bike: &Bike, cards: &[Kept]) -> Watch {
    let asked = match bike.answer() {
        Ok(j) => Side::BOTH.map(|s| j.job.side(list::NUT_TORQUE, s).map(quantity::Torque::as_newton_metres)),
        Err(_) => [None, None],
    };
    let cards: Vec<Card> = cards.iter().map(|k| k.card.clone()).collect();
    follow::watch(&cards, &[], asked)
}

/// Whether the last card found something that other bikes may have too.
pub fn found(cards: &[Kept], watch: &Watch) -> bool {
    cards.last().is_some_and(|k| !k.card.hand_over && watch.decision == Decision::Stop)
}

/// Today, by the clock of the shop's computer (its day begins at midnight UTC).
pub fn today() -> Day {
    Day::of_seconds(jobbook::Timestamp::now().as_second() as f64)
}

/// One bike after hand-over.
pub struct Out {
    /// Its number.
    pub number: String,
    /// Its name.
    pub title: String,
    /// Its cards.
    pub cards: Vec<Kept>,
    /// What they come to.
    pub watch: Watch,
    /// The next re-check; none after the last.
    pub due: Option<Due>,
    /// Calls that nobody answered since the last card.
    pub tries: i64,
    /// Where the rider can be called; empty where nobody wrote it down or it was erased.
    pub phone: String,
}

impl Out {
    /// The day on which to call: the last day, or earlier where the bike gets there earlier at its pace.
    pub fn day(&self) -> Option<Day> {
        self.due.map(|d| d.at_pace.map_or(d.day, |p| p.min(d.day)))
    }
    /// Whether the rider has it: handed over, and not kept here since.
    pub fn is_away(&self) -> bool {
        !found(&self.cards, &self.watch)
    }
    /// The card of the hand-over.
    pub fn hand_over(&self) -> Option<&Kept> {
        self.cards.iter().rev().find(|k| k.card.hand_over)
    }
}

/// All bikes that were handed over, those that are due first on top.
pub fn out(app: &App) -> Result<Vec<Out>, Fail> {
    let shop = crate::shop::ShopTexts::load(app)?;
    let mut all = Vec::new();
    for s in app.book.jobs()?.into_iter().filter(|s| s.stage != "closed") {
        let cards = cards(app, &s.number, &shop.shop.rack)?;
        if !cards.iter().any(|k| k.card.hand_over) {
            continue;
        }
        let file = app.book.job(&s.number)?;
        let rider = edit::parse(&file.rider.1).ok();
        let phone = rider.and_then(|r| edit::plain(&r, "phone")).unwrap_or_default();
        let bike = Bike::judge(app, file, crate::shop::ShopTexts::load(app)?);
        let watch = watch(&bike, &cards);
        let tries = tries(app, &s.number, cards.len())?;
        all.push(Out { number: s.number, title: s.title, due: watch.due, watch, cards, tries, phone });
    }
    all.sort_by_key(|o| (o.day().is_none(), o.day().map(|d| d.0), o.number.clone()));
    Ok(all)
}

/// Calls that nobody answered; a new card begins a new count.
pub fn tries(app: &App, number: &str, cards: usize) -> Result<i64, Fail> {
    let Some(doc) = app.book.document(&format!("{number}/calls"))? else { return Ok(0) };
    let table = edit::parse(&doc.text).ok();
    let count = table.and_then(|t| edit::plain(&t, &format!("after-{cards}"))).and_then(|n| n.parse().ok());
    Ok(count.unwrap_or(0))
}

/// A bike to look at because another one came back with a fault.
pub struct Alike<'a> {
    /// The bike.
    pub bike: &'a Out,
    /// Handed over on the same day.
    pub same_day: bool,
    /// With the same words about its faces.
    pub same_faces: bool,
}

/// Bikes handed over on the same day as that one, or with the same words about their faces (WORKSHOP 6.8).
pub fn alike<'a>(of: &Out, all: &'a [Out]) -> Vec<Alike<'a>> {
    let Some(own) = of.hand_over() else { return Vec::new() };
    let same_words = |a: &str, b: &str| !a.trim().is_empty() && a.trim().to_lowercase() == b.trim().to_lowercase();
    all.iter()
        .filter(|b| b.number != of.number)
        .filter_map(|bike| {
            let there = bike.hand_over()?;
            let same_day = there.card.day == own.card.day;
            let same_faces = same_words(&there.faces, &own.faces);
            (same_day || same_faces).then_some(Alike { bike, same_day, same_faces })
        })
        .collect()
}
