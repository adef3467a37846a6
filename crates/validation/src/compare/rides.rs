//! Rides in steps of 0.1 s beside the same rides solved as continuous equations.

use std::sync::OnceLock;

use workbench::ride::run::{Ride, STEP_S};

use super::{Answer, Compared};
use crate::rides::{cases, quantity};
use crate::table::Recorded;

fn ridden() -> &'static [(String, Ride)] {
    static RIDES: OnceLock<Vec<(String, Ride)>> = OnceLock::new();
    RIDES.get_or_init(|| cases().into_iter().map(|case| (case.name.clone(), case.ride(STEP_S))).collect())
}

pub(super) fn compare(row: &Recorded) -> Compared {
    let (_, ride) = ridden().iter().find(|(name, _)| *name == row.inputs)?;
    let name = row.quantity.strip_prefix("ride: ")?;
    let ours = quantity(ride, name)?;
    Some(Ok(Answer::within(ours, share(name), "steps of 0.1 s: see the table of step sizes")))
}

/// What steps of a tenth of a second may differ by, as a share.
fn share(name: &str) -> f64 {
    match name {
        "openings of the pack" => 0.0,
        // What little they brake to stop adds up from single steps.
        "work of the hands" => 2e-3,
        _ => 5e-4,
    }
}
