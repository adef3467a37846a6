//! Bolt grades.

use crate::Source;
use crate::table::{Line, table};
use quantity::Stress;

/// The least strength of a bolt of a grade.
#[derive(Clone, Debug, PartialEq)]
pub struct BoltGrade {
    /// `8.8`, `A2-70`.
    pub bolt: String,
    /// Least yield: 0.2 % proof stress, or lower yield point where there is one.
    pub yield_strength: Stress,
    /// Least tensile strength.
    pub tensile_strength: Stress,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<BoltGrade, String> {
    Ok(BoltGrade {
        bolt: line.filled("bolt")?,
        yield_strength: Stress::megapascals(line.positive("yield_mpa")?),
        tensile_strength: Stress::megapascals(line.positive("strength_mpa")?),
        source: line.source()?,
    })
}

table!("bolt_grades.csv", BoltGrade, row, rows, problem);

/// The row of a grade.
pub fn find(bolt: &str) -> Option<&'static BoltGrade> {
    rows().iter().find(|row| row.bolt == bolt)
}
