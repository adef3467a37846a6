//! The ride: laws, closed forms, and the example machine of the design's own derivations.

mod company;
mod formulas;
mod laws;
mod machine;
mod outside;
mod survives;
mod two_hubs;
mod variants;
mod words;
