//! The open-circuit curves: complete, rising, and ending where such cells are full.

use evidence::ocv::{CHEMISTRIES, curve};

#[test]
fn every_curve_rises_from_empty_to_full() {
    for chemistry in CHEMISTRIES {
        let points = curve(chemistry);
        assert!(points.len() > 20, "{chemistry}");
        assert_eq!((points[0].0.get(), points[points.len() - 1].0.get()), (0.0, 1.0), "{chemistry}");
        for pair in points.windows(2) {
            assert!(pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1, "{chemistry}: {pair:?}");
        }
    }
    assert!(curve("lead").is_empty());
}

#[test]
fn validates_full_voltages() {
    // Source: usual end-of-charge voltages of cell data sheets: 4.20 V with nickel, 3.60 to 3.65 V with iron phosphate.
    let full = |chemistry| curve(chemistry).last().map(|point| point.1.as_volts());
    assert_eq!(full("nmc"), Some(4.20));
    assert_eq!(full("nca"), Some(4.20));
    assert!(full("lfp").is_some_and(|volts| (3.60..=3.65).contains(&volts)));
}
