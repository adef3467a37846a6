//! Reads a log as a stream: `cargo run --release -p tracks --example read_log -- LOG [COLUMNS]`.

use std::error::Error;
use std::fs::{File, read_to_string};
use std::time::Instant;

use tracks::{Columns, LogReader};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().ok_or("which log?")?;
    let columns = arguments.next().map_or(Ok(Columns::default()), |path| {
        Columns::parse(&read_to_string(path)?).map_err(Box::<dyn Error>::from)
    })?;
    let begun = Instant::now();
    let mut reader = LogReader::new(File::open(path)?, &columns)?;
    let mut samples = 0_u64;
    let mut sums = Vec::new();
    while let Some(sample) = reader.read_sample()? {
        samples += 1;
        sums.resize(sample.values.len(), (0.0, 0_u64));
        for (sum, value) in sums.iter_mut().zip(sample.values).filter(|(_, value)| value.is_finite()) {
            *sum = (sum.0 + value, sum.1 + 1);
        }
    }
    let took_ms = begun.elapsed().as_secs_f64() * 1e3;
    for (column, (sum, count)) in reader.columns().iter().zip(sums) {
        let mean = sum / count as f64;
        println!(
            "{}: {}, {count} values, mean {mean:.3} {}",
            column.name,
            column.quantity.name(),
            column.quantity.unit()
        );
    }
    reader.notes().iter().for_each(|note| println!("{note}"));
    println!("{samples} samples in {took_ms:.1} ms");
    Ok(())
}
