//! Every recorded value that one of our formulas also gives, side by side with it.

mod bench;
mod fasteners;
mod machines;
mod rides;
mod roads;
mod solved;

use physics::OutOfRange;

use crate::table::{self, Recorded};

/// What our formula gives for a recorded value.
#[derive(Clone, Debug)]
pub(crate) struct Answer {
    /// In the unit of the row.
    ours: f64,
    /// The row's value, where the row holds more than a number.
    theirs: Option<f64>,
    /// Largest difference, as a share of the value, that is not an error; zero where only the last printed digit is.
    relative: f64,
    /// Why it is more than half the last printed digit; empty where it is not.
    why: &'static str,
}

impl Answer {
    pub(crate) fn exact(ours: f64) -> Self {
        Self { ours, theirs: None, relative: 0.0, why: "" }
    }

    pub(crate) fn within(ours: f64, relative: f64, why: &'static str) -> Self {
        Self { ours, theirs: None, relative, why }
    }

    pub(crate) fn against(self, theirs: f64) -> Self {
        Self { theirs: Some(theirs), ..self }
    }
}

/// What a module says to a row: nothing, where it has no formula for it.
pub(crate) type Compared = Option<Result<Answer, OutOfRange>>;

/// One line of the report.
#[derive(Clone, Debug)]
pub struct Row {
    /// What was computed.
    pub quantity: String,
    /// For which inputs.
    pub inputs: String,
    /// Our value, in `unit`.
    pub ours: f64,
    /// Their value, in `unit`.
    pub theirs: f64,
    /// Unit of both.
    pub unit: String,
    /// Largest difference that is not an error, in `unit`.
    pub tolerance: f64,
    /// Why it is more than half the last printed digit.
    pub why: &'static str,
    /// Where their value stands.
    pub source: String,
    /// How far it is known: read, memory, ran or computed.
    pub provenance: String,
}

impl Row {
    /// Whether the two agree.
    pub fn agrees(&self) -> bool {
        (self.ours - self.theirs).abs() <= self.tolerance
    }
}

/// Recorded values of one kind that none of our formulas gives.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotCovered {
    /// Which table.
    pub table: &'static str,
    /// What they are.
    pub quantity: String,
    /// How many.
    pub rows: usize,
}

/// One table, compared.
pub struct Report {
    /// File name below `tables/`.
    pub table: &'static str,
    /// Values that we compute too.
    pub rows: Vec<Row>,
    /// Those that we do not.
    pub not_covered: Vec<NotCovered>,
}

/// All tables, compared.
///
/// # Errors
/// If a formula refuses the inputs of a published value: they are all within its range.
pub fn reports() -> Result<Vec<Report>, String> {
    Ok(vec![
        report("fasteners.csv", &table::fasteners(), fasteners::compare)?,
        report("motor_battery.csv", &table::motor_battery(), machines::compare)?,
        report("pmsm_reference.csv", &table::pmsm(), machines::compare_pmsm)?,
        report("dynamics.csv", &table::dynamics(), roads::compare)?,
        report("solvers.csv", &table::solvers(), solved::compare)?,
        report("rides_solved.csv", &table::rides_solved(), rides::compare)?,
    ])
}

fn report(table: &'static str, recorded: &[Recorded], compare: fn(&Recorded) -> Compared) -> Result<Report, String> {
    let (mut rows, mut not_covered) = (Vec::new(), Vec::<NotCovered>::new());
    for row in recorded {
        let Some(answer) = compare(row) else {
            match not_covered.iter_mut().find(|kind| kind.quantity == row.quantity) {
                Some(kind) => kind.rows += 1,
                None => not_covered.push(NotCovered { table, quantity: row.quantity.clone(), rows: 1 }),
            }
            continue;
        };
        let answer = answer.map_err(|refused| format!("{table}: {} ({}): {refused}", row.quantity, row.inputs))?;
        let theirs = answer.theirs.unwrap_or_else(|| row.value());
        rows.push(Row {
            quantity: row.quantity.clone(),
            inputs: row.inputs.clone(),
            ours: answer.ours,
            theirs,
            unit: row.unit.clone(),
            tolerance: half_last_digit(&row.expected).max(answer.relative * theirs.abs()),
            why: answer.why,
            source: row.source.clone(),
            provenance: row.provenance.clone(),
        });
    }
    Ok(Report { table, rows, not_covered })
}

/// Half of the last digit that was printed, with a hair for the binary rounding of both numbers.
fn half_last_digit(printed: &str) -> f64 {
    let number = printed.trim_start_matches(['+', '-']);
    let number = &number[..number.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(number.len())];
    let decimals = number.split_once('.').map_or(0, |(_, after)| after.len());
    0.5 * 10f64.powi(-i32::try_from(decimals).unwrap_or(0)) * (1.0 + 1e-9)
}

#[cfg(test)]
mod tests {
    use super::half_last_digit;

    #[test]
    fn the_tolerance_follows_the_printed_digits() {
        let near = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-6;
        assert!(near(half_last_digit("14.2"), 0.05));
        assert!(near(half_last_digit("-253.78852"), 5e-6));
        assert!(near(half_last_digit("116"), 0.5));
        assert!(near(half_last_digit("0.304929 N m; 2.4201 W"), 5e-7));
    }
}
