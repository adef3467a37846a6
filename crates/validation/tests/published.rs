//! Our formulas against every recorded value that they give too.

use validation::{reason, reports};

#[test]
fn validates_every_covered_value() {
    let mut wrong = Vec::new();
    for report in reports().unwrap() {
        for row in report.rows.iter().filter(|row| !row.agrees()) {
            wrong.push(format!(
                "{}: {} ({}): ours {}, theirs {} {} ± {}; {}",
                report.table, row.quantity, row.inputs, row.ours, row.theirs, row.unit, row.tolerance, row.source
            ));
        }
    }
    assert!(wrong.is_empty(), "{} of the values differ\n{}", wrong.len(), wrong.join("\n"));
}

/// A table that is not read, or a comparison that never matches, must not look like a success.
#[test]
fn every_table_is_compared() {
    for report in reports().unwrap() {
        assert!(report.rows.len() >= 15, "{}: only {} values compared", report.table, report.rows.len());
    }
}

#[test]
fn what_is_not_covered_has_a_reason() {
    let reports = reports().unwrap();
    let silent: Vec<&str> = reports
        .iter()
        .flat_map(|report| &report.not_covered)
        .map(|kind| kind.quantity.as_str())
        .filter(|quantity| reason(quantity).is_none())
        .collect();
    assert!(silent.is_empty(), "no reason given: {silent:#?}");
}
