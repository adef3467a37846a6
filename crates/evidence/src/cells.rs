//! Resistance of a cell over state of charge and duration.

use crate::Source;
use crate::table::{Line, table};
use quantity::{Charge, Resistance, StateOfCharge, Time};

/// One point of a chemistry.
#[derive(Clone, Debug, PartialEq)]
pub struct CellResistance {
    /// `nmc` or `lfp`.
    pub chemistry: String,
    /// State of charge.
    pub state_of_charge: StateOfCharge,
    /// Capacity of the cell that was looked at.
    pub capacity: Charge,
    /// Shows at once, whatever the current.
    pub ohmic: Resistance,
    /// Shows at once at a small current, and falls as the current rises (charge transfer).
    pub transfer: Resistance,
    /// Shows after the quick time constant.
    pub quick: Resistance,
    /// Shows after the slow time constant.
    pub slow: Resistance,
    /// Quick time constant.
    pub quick_constant: Time,
    /// Slow time constant.
    pub slow_constant: Time,
    /// Rate at which the charge transfer bends, capacities an hour: at it the resistance is less by an eighth.
    pub knee_per_h: f64,
    /// How the resistances grow in the cold: activation energy, kJ/mol.
    pub activation_kj_mol: f64,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<CellResistance, String> {
    Ok(CellResistance {
        chemistry: line.filled("chemistry")?,
        state_of_charge: StateOfCharge::new(line.positive("state_of_charge")?),
        capacity: Charge::ampere_hours(line.positive("cell_ah")?),
        ohmic: Resistance::milliohms(line.positive("ohmic_mohm")?),
        transfer: Resistance::milliohms(line.positive("transfer_mohm")?),
        quick: Resistance::milliohms(line.positive("quick_mohm")?),
        slow: Resistance::milliohms(line.positive("slow_mohm")?),
        quick_constant: Time::seconds(line.positive("quick_s")?),
        slow_constant: Time::seconds(line.positive("slow_s")?),
        knee_per_h: line.positive("knee_per_h")?,
        activation_kj_mol: line.positive("activation_kj_mol")?,
        source: line.source()?,
    })
}

table!("cell_resistance.csv", CellResistance, row, rows, problem);

/// The points of one chemistry, from empty to full; empty for a chemistry that is not in the table.
pub fn resistances(chemistry: &str) -> impl Iterator<Item = &'static CellResistance> {
    rows().iter().filter(move |row| row.chemistry == chemistry)
}
