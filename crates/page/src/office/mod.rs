//! The papers of a job, from the call to the signature: talk, papers, quote, consent, and the sheet that says no. Each is a
//! document of its own in the job book, with history and undo like every other; what is personal in them stands in the rider's
//! document and in files marked personal, and goes when those are erased.
//!
//! Adding up prices is done here (`money`, `choices`); quantities come from the workbench.

mod choices;
pub mod consent;
pub mod doc;
mod money;
pub mod papers;
pub mod prices;
pub mod quote;
pub mod refusal;
pub mod sheet;
mod sign;
pub mod talk;
