//! Sizes of standard threads.

use crate::Source;
use crate::table::{Line, table};
use quantity::Length;

/// A standard thread.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadSize {
    /// `M12x1.25`.
    pub name: String,
    /// Outside diameter.
    pub diameter: Length,
    /// Pitch.
    pub pitch: Length,
    /// `coarse`, `fine` or `inch`.
    pub series: String,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<ThreadSize, String> {
    Ok(ThreadSize {
        name: line.filled("name")?,
        diameter: Length::millimetres(line.positive("diameter_mm")?),
        pitch: Length::millimetres(line.positive("pitch_mm")?),
        series: line.filled("series")?,
        source: line.source()?,
    })
}

table!("threads.csv", ThreadSize, row, rows, problem);

/// A thread by its name: `M12x1.25`, `M12×1.25`, or `M12` for the coarse one.
pub fn find(name: &str) -> Option<&'static ThreadSize> {
    let name = name.trim().replace('×', "x");
    // M10x1.0 and M10x1 are the same thread.
    let shorter = if name.contains('.') { name.trim_end_matches('0').trim_end_matches('.') } else { name.as_str() };
    let coarse = |row: &ThreadSize| row.series == "coarse" && row.name.split('x').next() == Some(name.as_str());
    rows().iter().find(|row| row.name == shorter || coarse(row))
}
