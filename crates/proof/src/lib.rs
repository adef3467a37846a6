//! Does the bike do what was calculated: measured facts in place of assumed ones, before and after locking side by side,
//! and the test ride held against the plan.
//!
//! Invariant: this crate knows no file, clock, network or paper; readings and log samples come in as numbers, and what a
//! person reads comes from the workbench's table of words.

pub mod bench;
pub mod fit;
pub mod fitted;
pub mod follow;
pub mod ladder;
pub mod plot;
pub mod road;
