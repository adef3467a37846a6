//! Torque arms by the tiles of the quick path: what is chosen is what the job has.

mod common;

use common::{Client, now};
use jobbook::edit;
use std::collections::BTreeMap;

const KINDS: [&str; 3] = ["none", "slotted", "pinching"];

/// The arms of a job as its file has them: side, kind and length of each, by side.
fn arms(client: &Client, bike: &str) -> Vec<(String, String, String)> {
    let doc = edit::parse(&now(client, &format!("{bike}/job")).1).expect("a job file");
    let count = doc.get("arm").and_then(|a| a.as_array_of_tables()).map_or(0, |a| a.len());
    let value = |i: usize, key: &str| edit::plain(&doc, &format!("arm.{i}.{key}")).unwrap_or_default();
    let mut all: Vec<_> = (1..=count).map(|i| (value(i, "side"), value(i, "kind"), value(i, "length"))).collect();
    all.sort();
    all
}

/// Every change from two sides to two sides, tried one by one, with pages old and new.
#[tokio::test]
async fn law_the_job_has_the_arms_that_were_chosen_and_no_others() {
    let client = Client::demo();
    let new = client.form("/new", &[("kind", "hill"), ("name", "Test")]).await;
    let bike = new.header("location").split('/').nth(2).expect("a number").to_owned();
    let path = format!("/bikes/{bike}/facts");
    let mut was: [&str; 2] = ["none"; 2];
    let pairs = || KINDS.iter().flat_map(|l| KINDS.iter().map(move |r| [*l, *r]));
    let steps = pairs().flat_map(|a| pairs().flat_map(move |b| [(a, true), (b, true), (a, false), (b, false)]));
    for (to, tells_old) in steps {
        let before = arms(&client, &bike);
        let mut form = vec![("f.arms.left", to[0]), ("f.arms.right", to[1])];
        if tells_old {
            form.extend([("o.arms.left", was[0]), ("o.arms.right", was[1])]);
        }
        assert_eq!(client.form(&path, &form).await.status, 303);
        let kept: BTreeMap<&str, &str> =
            ["left", "right"].into_iter().zip(to).filter(|(_, kind)| *kind != "none").collect();
        let expected: Vec<_> =
            kept.iter().map(|(side, kind)| ((*side).to_owned(), (*kind).to_owned(), String::new())).collect();
        assert_eq!(arms(&client, &bike), expected, "{was:?} to {to:?} ({tells_old}), from {before:?}");
        was = to;
    }
}
