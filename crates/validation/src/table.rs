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
    let mut before = 'e';
    let end = rest.find(|c: char| {
        let sign = matches!(c, '+' | '-') && before == 'e';
        before = c;
        !(c.is_ascii_digit() || matches!(c, '.' | 'e') || sign)
    });
    let end = end.unwrap_or(rest.len());
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
    rows(include_str!("../tables/solvers.csv"), solver)
}

fn solver(row: &csv::StringRecord) -> (String, String) {
    let version = |column: usize| row.get(column).unwrap_or_default();
    (format!("python/{}, NumPy {}, SciPy {}", version(4), version(5), version(6)), "ran".to_owned())
}

/// Rides as SciPy solved them.
pub fn rides_solved() -> Vec<Recorded> {
    rows(include_str!("../tables/rides_solved.csv"), solver)
}

fn published(text: &str) -> Vec<Recorded> {
    rows(text, |row| {
        let cell = |column: usize| row.get(column).unwrap_or_default().to_owned();
        (cell(5), cell(6))
    })
}

/// Threads, bolts, faces, shafts and welds.
pub fn fasteners() -> Vec<Recorded> {
    published(include_str!("../tables/fasteners.csv"))
}

/// Motor, controller and battery.
pub fn motor_battery() -> Vec<Recorded> {
    published(include_str!("../tables/motor_battery.csv"))
}

/// Road, air, grip and rides.
pub fn dynamics() -> Vec<Recorded> {
    published(include_str!("../tables/dynamics.csv"))
}

/// A permanent-magnet machine at rest in its own frame; one entry for each quantity of each simulated point.
pub fn pmsm() -> Vec<Recorded> {
    let quantities = [
        (7, "voltage along the magnet", "V"),
        (8, "voltage across the magnet", "V"),
        (11, "air-gap torque", "N m"),
        (13, "terminal power", "W"),
        (14, "copper loss", "W"),
        (16, "peak between two wires", "V"),
    ];
    let mut reader = csv::Reader::from_reader(include_str!("../tables/pmsm_reference.csv").as_bytes());
    let records = reader.records().map(|row| row.expect("a table of this crate is well-formed CSV"));
    let points = records.map(|row| {
        let cell = |column: usize| row.get(column).unwrap_or_default().to_owned();
        let inputs = format!(
            "{}: p={}; R={} ohm; Ld={} H; Lq={} H; psi={} Wb; omega={} rad/s; id={} A; iq={} A",
            cell(0),
            cell(1),
            cell(2),
            cell(3),
            cell(4),
            cell(5),
            cell(6),
            cell(9),
            cell(10)
        );
        quantities.map(|(column, quantity, unit)| Recorded {
            quantity: quantity.to_owned(),
            inputs: inputs.clone(),
            expected: cell(column),
            unit: unit.to_owned(),
            source: "motulator 0.5.0 and gym-electric-motor 3.0.3, which agree to 1e-12".to_owned(),
            provenance: "ran".to_owned(),
        })
    });
    points.flatten().collect()
}

/// A published motor with two heat nodes: seconds, winding and core in °C, a line a minute.
pub fn thermal_motor() -> Vec<[f64; 3]> {
    let mut reader = csv::Reader::from_reader(include_str!("../tables/thermal_msl_motor.csv").as_bytes());
    let records = reader.records().map(|row| row.expect("a table of this crate is well-formed CSV"));
    records
        .map(|row| [0, 1, 2].map(|column| row.get(column).and_then(|cell| cell.parse().ok()).unwrap_or(f64::NAN)))
        .collect()
}
