//! Open-circuit voltage of a cell over its state of charge.

use crate::Source;
use crate::table::{Line, table};
use quantity::{StateOfCharge, Voltage};

/// One point of a chemistry's curve.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenCircuit {
    /// `nmc`, `nca` or `lfp`.
    pub chemistry: String,
    /// State of charge.
    pub state_of_charge: StateOfCharge,
    /// Voltage of one cell at rest, 25 °C.
    pub open_circuit: Voltage,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<OpenCircuit, String> {
    let share = line.filled("state_of_charge")?;
    let share: f64 = share.parse().map_err(|_| format!("`state_of_charge` is `{share}`"))?;
    Ok(OpenCircuit {
        chemistry: line.filled("chemistry")?,
        state_of_charge: StateOfCharge::new(share),
        open_circuit: Voltage::volts(line.positive("open_circuit_v")?),
        source: line.source()?,
    })
}

table!("open_circuit.csv", OpenCircuit, row, rows, problem);

/// The chemistries of the table.
pub const CHEMISTRIES: &[&str] = &["nmc", "nca", "lfp"];

/// The points of one chemistry, from empty to full; empty for a chemistry that is not in the table.
pub fn curve(chemistry: &str) -> Vec<(StateOfCharge, Voltage)> {
    let own = rows().iter().filter(|row| row.chemistry == chemistry);
    own.map(|row| (row.state_of_charge, row.open_circuit)).collect()
}
