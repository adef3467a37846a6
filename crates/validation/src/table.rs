//! The recorded tables, as rows of text with a number.

/// One value from outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// What it is.
    pub quantity: String,
    /// For which inputs, in words.
    pub inputs: String,
    /// The value as printed there.
    pub expected: String,
    /// Its unit.
    pub unit: String,
    /// Where it comes from.
    pub source: String,
    /// How far that is known: read, memory, ran or computed (see `tables/SOURCES.md`).
    pub provenance: String,
}

impl Recorded {
    /// The value as a number; not-a-number where the table holds words or a range.
    pub fn value(&self) -> f64 {
        self.expected.trim().parse().unwrap_or(f64::NAN)
    }
}

/// The number that follows a key in a row's inputs: `number("bore 6 mm; 40 N m", "bore ")` is 6; not-a-number where
/// there is none.
pub fn number(inputs: &str, key: &str) -> f64 {
    let Some((_, rest)) = inputs.split_once(key) else { return f64::NAN };
    let end = rest.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e'))).unwrap_or(rest.len());
    rest[..end].parse().unwrap_or(f64::NAN)
}

fn rows(text: &str, source: impl Fn(&csv::StringRecord) -> (String, String)) -> Vec<Recorded> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let records = reader.records().map(|row| row.expect("a table of this crate is well-formed CSV"));
    let read = |row: csv::StringRecord| {
        let (source, provenance) = source(&row);
        let cell = |column: usize| row.get(column).unwrap_or_default().to_owned();
        Recorded { quantity: cell(0), inputs: cell(1), expected: cell(2), unit: cell(3), source, provenance }
    };
    records.map(read).collect()
}

/// What the scripts in `python/` gave.
pub fn solvers() -> Vec<Recorded> {
    rows(include_str!("../tables/solvers.csv"), |row| {
        let version = |column: usize| row.get(column).unwrap_or_default();
        (format!("python/{}, NumPy {}, SciPy {}", version(4), version(5), version(6)), "ran".to_owned())
    })
}
