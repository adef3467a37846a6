//! What the state of clamped faces means for their grip and for how much they settle.

use crate::Source;
use crate::table::{Line, table};

/// One state of clamped faces.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// `bare`, `painted`, `plated` or `oily`.
    pub state: String,
    /// Holding friction, low to high.
    pub friction: String,
    /// How much the faces of one stack settle, as a length.
    pub settling: String,
    /// Where it comes from.
    pub source: Source,
}

fn row(line: &Line<'_>) -> Result<Surface, String> {
    Ok(Surface {
        state: line.filled("state")?,
        friction: line.filled("friction")?,
        settling: line.filled("settling")?,
        source: line.source()?,
    })
}

table!("surfaces.csv", Surface, row, rows, problem);

/// The row of a state.
pub fn find(state: &str) -> Option<&'static Surface> {
    rows().iter().find(|row| row.state == state)
}
