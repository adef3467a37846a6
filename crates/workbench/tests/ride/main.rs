//! The ride: laws, closed forms, and the example machine of the design's own derivations.

mod laws;
mod machine;
mod outside;
