//! The bench: what the readings of one session say of the hub, whether locking changed it, and whether the axle held.

mod compare;
mod hold;
mod layout;
mod setup;
mod sheet;

pub use compare::{Comparison, DragChange, Item, Outcome, Pair, Says, compare};
pub use hold::{HoldFinding, HoldResult, TIMES, hold};
pub use layout::{Hub, Known, Quantity, Row};
pub(crate) use setup::deviation;
pub use setup::{Missing, facts, hub, known};
pub use sheet::*;

use crate::fit::{self, Fit, Guard, Noise, Prior, Reading, Task, Unfit};
use layout::Layout;

/// How far a value rests on this session.
#[derive(Clone, Debug, PartialEq)]
pub enum Basis {
    /// The readings tell it.
    Measured,
    /// The readings tell it only together with what the job says of these.
    Leaning(Vec<Quantity>),
    /// The readings cannot tell it: they only trade it against these. What is shown is what was known before.
    NotTold(Vec<Quantity>),
    /// No reading has to do with it.
    NothingMeasured,
}

/// One quantity with its doubt.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Which.
    pub quantity: Quantity,
    /// Value in SI; none without readings.
    pub value: Option<f64>,
    /// Half of its 95 % interval in SI.
    pub half: f64,
    /// What it rests on.
    pub basis: Basis,
}

/// One reading beside what the fit says.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// Which.
    pub row: Row,
    /// As read, SI.
    pub read: f64,
    /// By the fit, SI.
    pub fitted: f64,
    /// Difference in its own standard deviations.
    pub studentised: f64,
    /// Whether it was set aside as bad.
    pub bad: bool,
}

/// Result of one session.
#[derive(Clone, Debug)]
pub struct BenchFit {
    /// All quantities, in order.
    pub found: Vec<Found>,
    /// All readings that the fit used or set aside.
    pub residuals: Vec<Residual>,
    /// Noise over what tools and recipes promise.
    pub noise: f64,
    /// Readings to spare.
    pub freedom: f64,
}

impl BenchFit {
    /// The finding of one quantity.
    pub fn of(&self, q: Quantity) -> Option<&Found> {
        self.found.iter().find(|f| f.quantity == q)
    }
}

/// Fits one session.
///
/// # Errors
/// [`Unfit`] if nothing was read that a fit could use, or it does not end.
pub fn fit_sheet(hub: Hub, sheet: &Sheet, known: &[Known]) -> Result<BenchFit, Unfit> {
    let layout = Layout::new(hub, sheet, known);
    if layout.rows.is_empty() {
        return Err(Unfit::TooFew { rows: 0, unknowns: 0 });
    }
    let start: Vec<f64> = layout.unknowns.iter().map(|u| u.start).collect();
    // What the readings leave open at the outset is closed by what the job knows, so that the rest can be found.
    let open = fit::open_at(&task(&layout, &layout.readings, &layout.instruments), &start);
    let quantities = layout.sought.len();
    let mut priors = layout.instruments.clone();
    let mut helped: Vec<usize> =
        open.iter().flat_map(|o| &o.unknowns).map(|(i, _)| *i).filter(|i| *i < quantities).collect();
    helped.sort_unstable();
    helped.dedup();
    priors.extend(helped.iter().filter_map(|i| layout.prior(*i, known)));
    let result = fit::fit(&task(&layout, &layout.readings, &priors))?;
    Ok(describe(&layout, &priors, &result))
}

fn task<'a, 'b>(layout: &'a Layout<'b>, readings: &'a [Reading], priors: &'a [Prior]) -> Task<'a, Layout<'b>> {
    // Readings that agree by luck, or share an error, do not make the tools better than they promise.
    let noise = Noise::AtLeastStated;
    Task { model: layout, readings, unknowns: &layout.unknowns, priors, noise, guard: Guard::Promise }
}

/// A prior that the readings narrowed less than this taught nothing.
const TAUGHT_NOTHING: f64 = 0.9;

fn describe(layout: &Layout<'_>, priors: &[Prior], fit: &Fit) -> BenchFit {
    let quantities = layout.sought.len();
    let found = Quantity::ALL
        .into_iter()
        .map(|quantity| {
            let Some(i) = layout.sought.iter().position(|q| *q == quantity) else {
                return Found { quantity, value: None, half: 0.0, basis: Basis::NothingMeasured };
            };
            let mut partners: Vec<Quantity> = Vec::new();
            for o in fit.open.iter().filter(|o| o.unknowns.iter().any(|(k, _)| *k == i)) {
                for (k, _) in o.unknowns.iter().filter(|(k, _)| *k != i && *k < quantities) {
                    if !partners.contains(&layout.sought[*k]) {
                        partners.push(layout.sought[*k]);
                    }
                }
            }
            let is_open = fit.open.iter().any(|o| o.unknowns.iter().any(|(k, _)| *k == i));
            let prior = priors.iter().find(|p| p.unknown == i && !p.instrument);
            let basis = match (is_open, prior) {
                (false, _) => Basis::Measured,
                (true, Some(p)) if fit.deviation(i) > TAUGHT_NOTHING * p.sigma => Basis::NotTold(partners),
                (true, Some(_) | None) => Basis::Leaning(partners),
            };
            let half = fit.half_interval(i);
            Found { quantity, value: Some(fit.values[i]), half, basis }
        })
        .collect();
    let residuals = layout
        .rows
        .iter()
        .enumerate()
        .map(|(i, row)| Residual {
            row: row.clone(),
            read: layout.readings[i].value,
            fitted: fit.predicted[i],
            studentised: fit.studentised[i],
            bad: fit.set_aside.contains(&i),
        })
        .collect();
    BenchFit { found, residuals, noise: fit.noise, freedom: fit.freedom }
}
