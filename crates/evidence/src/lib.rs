//! Values that come from outside: standards, tables, bench experience. Each row names its source, the place in it and
//! how good it is; the rows stand in `tables/*.csv` and are read once.

pub mod bolts;
pub mod cards;
pub mod cells;
pub mod follows;
pub mod kinds;
pub mod ocv;
pub mod rules;
pub mod surfaces;
mod table;
pub mod threads;

pub use table::{Grade, Source};

/// What is wrong with the built-in tables; empty, as a test proves. A table with a fault reads as empty.
pub fn problems() -> Vec<String> {
    [
        bolts::problem(),
        cards::problem(),
        cells::problem(),
        follows::problem(),
        kinds::problem(),
        ocv::problem(),
        rules::problem(),
        surfaces::problem(),
        threads::problem(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
