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
    let why = "steps of 0.1 s: see the table of step sizes; volts of a pair pass through nothing, there 0.1 mV";
    Some(Ok(Answer::within(ours, share(name, row.value()), why)))
}

/// What steps of a tenth of a second may differ by, as a share.
fn share(name: &str, recorded: f64) -> f64 {
    match name {
        "openings of the pack" => 0.0,
        // What little they brake to stop adds up from single steps.
        "work of the hands" => 2e-3,
        "slow volts at the end" => 5e-4_f64.max(1e-4 / recorded.abs()),
        _ => 5e-4,
    }
}
