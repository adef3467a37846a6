//! Every formula stands once in the list that the references are made from, and says what stands behind it.

use std::collections::BTreeSet;
use std::fs;

use house::{code, files, names, root};

#[test]
fn every_formula_is_listed_once() {
    let listed: Vec<&str> = physics::formulas().map(|formula| formula.name).collect();
    let unique: BTreeSet<&str> = listed.iter().copied().collect();
    assert_eq!(unique.len(), listed.len(), "a formula's name occurs twice in physics::formulas()");

    let mut written = 0;
    for path in files(&root().join("crates/physics/src"), &[".rs"]).expect("physics has sources") {
        let code = code(&fs::read_to_string(&path).expect("a source can be read"));
        for item in code.split("pub const ").skip(1).filter(|item| {
            let head = item.split('=').next().unwrap_or_default();
            names(head, "Formula") && !head.contains('[') && !head.contains('(')
        }) {
            written += 1;
            let name = item.split("name: \"").nth(1).and_then(|rest| rest.split('"').next()).unwrap_or_default();
            assert!(unique.contains(name), "{}: formula `{name}` is not in physics::formulas()", path.display());
        }
    }
    assert_eq!(written, listed.len(), "constants of type Formula in the sources, and entries of physics::formulas()");
}

#[test]
fn every_formula_says_what_stands_behind_it() {
    for formula in physics::formulas() {
        let name = formula.name;
        assert!(
            !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
            "{name}"
        );
        for (part, text) in [
            ("equation", formula.equation),
            ("source", formula.source),
            ("valid", formula.valid),
            ("left_out", formula.left_out),
            ("checked_by", formula.checked_by),
        ] {
            assert!(!text.trim().is_empty(), "formula `{name}` has an empty `{part}`");
        }
    }
}
