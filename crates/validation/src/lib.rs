//! What is computed here, held against the outside world.
//!
//! The solvers are of another kind than the formulas that they check and share no code with them. `tables/` holds
//! published values and what other libraries gave, each with its source; `python/` the scripts behind the latter.

pub mod bridge;
mod compare;
pub mod dump;
mod reasons;
pub mod rides;
pub mod stick_slip;
pub mod table;
pub mod torsion;

pub use compare::{NotCovered, Report, Row, reports};
pub use reasons::reason;
