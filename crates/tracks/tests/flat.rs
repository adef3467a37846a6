//! Memory of a long log, alone in its process.

use std::io::{Read, Result};

use tracks::{Columns, LogReader};

/// Rows without end, up to a length.
struct Rows {
    block: Vec<u8>,
    at: usize,
    left: usize,
}

impl Read for Rows {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        let length = into.len().min(self.block.len() - self.at).min(self.left);
        into[..length].copy_from_slice(&self.block[self.at..self.at + length]);
        self.at = (self.at + length) % self.block.len();
        self.left -= length;
        Ok(length)
    }
}

/// The most memory that this process ever had, in kibibytes; `None` where the system does not tell.
fn most_memory_kib() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse().ok())
}

#[test]
fn a_long_log_needs_no_more_memory_than_a_short_one() {
    const LENGTH: usize = 200_000_000;
    let row = "2026-09-01T10:00:00.1Z,25.1,-3.25,51.2,40.5\n";
    let head = "time,speed_kmh,battery_current_a,bus_voltage_v,motor_temp_c\n";
    let block = row.repeat(1_000).into_bytes();
    let count = LENGTH / row.len();
    let rows = Rows { left: count * row.len(), at: 0, block };
    let mut reader = LogReader::new(head.as_bytes().chain(rows), &Columns::default()).expect("a log");
    assert!(reader.read_sample().expect("whole").is_some());
    let before = most_memory_kib();
    let mut read = 1;
    while reader.read_sample().expect("whole").is_some() {
        read += 1;
    }
    assert_eq!(read, count);
    // The same time in each row is noted once, however often it occurs.
    assert!(reader.notes().len() == 1 && reader.notes()[0].count == count as u64 - 1);
    match (before, most_memory_kib()) {
        (Some(before), Some(after)) => assert!(after - before < 1024, "{before} KiB, then {after} KiB"),
        _ => eprintln!("skipped: this system does not tell how much memory a process uses"),
    }
}
