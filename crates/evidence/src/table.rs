//! One way to read every table: by the names of its columns, with the first fault named.

use std::str::FromStr;

/// How good a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Grade {
    /// The page was seen, or true by definition.
    A,
    /// Measured.
    B,
    /// Second-hand: a reprint, a table that quotes.
    C,
    /// Memory or estimate.
    D,
}

impl Grade {
    /// Its letter.
    pub const fn letter(self) -> char {
        match self {
            Self::A => 'A',
            Self::B => 'B',
            Self::C => 'C',
            Self::D => 'D',
        }
    }
}

/// Where a row comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// The work, or how it was estimated.
    pub source: String,
    /// The place in it.
    pub place: String,
    /// How good it is.
    pub grade: Grade,
}

/// One line of a table.
pub(crate) struct Line<'a> {
    heads: &'a csv::StringRecord,
    cells: &'a csv::StringRecord,
}

impl Line<'_> {
    /// The text of a column.
    pub fn text(&self, column: &str) -> Result<String, String> {
        let at = self.heads.iter().position(|head| head == column).ok_or_else(|| format!("no column `{column}`"))?;
        Ok(self.cells.get(at).unwrap_or_default().trim().to_owned())
    }
    /// The text of a column that may not be empty.
    pub fn filled(&self, column: &str) -> Result<String, String> {
        let text = self.text(column)?;
        if text.is_empty() { Err(format!("`{column}` is empty")) } else { Ok(text) }
    }
    /// The text of a column, if it is not empty.
    pub fn optional(&self, column: &str) -> Result<Option<String>, String> {
        Ok(Some(self.text(column)?).filter(|text| !text.is_empty()))
    }
    /// A positive number, in the unit that the column's name says.
    pub fn positive(&self, column: &str) -> Result<f64, String> {
        let text = self.filled(column)?;
        match f64::from_str(&text) {
            Ok(number) if number > 0.0 && number.is_finite() => Ok(number),
            _ => Err(format!("`{column}` is `{text}`, not a positive number")),
        }
    }
    /// Source, place and grade.
    pub fn source(&self) -> Result<Source, String> {
        let grade = match self.filled("grade")?.as_str() {
            "A" => Grade::A,
            "B" => Grade::B,
            "C" => Grade::C,
            "D" => Grade::D,
            other => return Err(format!("`grade` is `{other}`, not A, B, C or D")),
        };
        Ok(Source { source: self.filled("source")?, place: self.filled("place")?, grade })
    }
}

/// Reads a table; the fault names table and line.
pub(crate) fn read<T>(name: &str, text: &str, row: impl Fn(&Line<'_>) -> Result<T, String>) -> Result<Vec<T>, String> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heads = reader.headers().map_err(|error| format!("{name}: {error}"))?.clone();
    let mut rows = Vec::new();
    for cells in reader.records() {
        let cells = cells.map_err(|error| format!("{name}: {error}"))?;
        let line = cells.position().map_or(0, csv::Position::line);
        let read = row(&Line { heads: &heads, cells: &cells });
        rows.push(read.map_err(|error| format!("{name}, line {line}: {error}"))?);
    }
    if rows.is_empty() { Err(format!("{name}: no rows")) } else { Ok(rows) }
}

/// The accessors of a table that is read once: `rows()` and `problem()`.
macro_rules! table {
    ($file:literal, $row:ty, $read:expr, $rows:ident, $problem:ident) => {
        fn table_of_rows() -> &'static Result<Vec<$row>, String> {
            static TABLE: std::sync::OnceLock<Result<Vec<$row>, String>> = std::sync::OnceLock::new();
            TABLE.get_or_init(|| $crate::table::read($file, include_str!(concat!("../tables/", $file)), $read))
        }
        /// All rows, in the order of the table.
        pub fn $rows() -> &'static [$row] {
            table_of_rows().as_deref().unwrap_or_default()
        }
        pub(crate) fn $problem() -> Option<String> {
            table_of_rows().as_ref().err().cloned()
        }
    };
}
pub(crate) use table;
