//! The workbench: the facts of a job, the links that must hold, the verdict, and single sums.
//!
//! Invariant: this crate knows no file, no SQL, no HTTP and no paper. What a person reads comes from the table of words.

pub mod advice;
pub mod check;
pub mod conflict;
pub mod doubt;
pub mod fact;
pub mod gain;
pub mod job;
pub mod kinds;
pub mod link;
pub mod reading_words;
pub mod ride;
pub mod rules;
pub mod say;
pub mod settings;
pub mod sister;
pub mod sum;
pub mod words;
