//! Each question that wants a calliper shows where it goes.

mod common;

use common::Client;
use drawing::measuring;

/// Titles of the drawings on a page.
fn drawings(page: &str) -> Vec<String> {
    let labels = page.split("class=\"drawing measuring\"").skip(1);
    labels.filter_map(|r| Some(r.split("<title>").nth(1)?.split("</title>").next()?.replace("&#39;", "'"))).collect()
}

#[tokio::test]
async fn question_cards_show_where_the_calliper_goes() {
    let client = Client::demo();
    for (path, wanted) in [
        ("measure/14", vec!["teeth", "lock"]),
        ("measure/18", vec!["runout"]),
        ("measure/23", vec!["across-flats"]),
        ("measure/24", vec!["dropout-thickness", "faces"]),
        ("measure/25", vec!["slot-width"]),
        ("measure/28", vec!["dropout-thickness", "arm-length", "pinch-bolts", "bolt-grade", "anchor", "anchor-tube"]),
        ("measure/32", vec!["bore"]),
        ("measure/36", vec!["magnet"]),
        ("measure/37", vec!["anchor-tube"]),
        ("measure/44", vec!["wires", "volts-per-speed", "drag", "clamp"]),
        ("measure/quick/2", vec!["axle-diameter", "across-flats"]),
        ("measure/quick/3", vec!["dropout-thickness", "slot-width"]),
        ("measure/quick/4", vec!["faces"]),
        ("measure/quick/7", vec!["free-thread"]),
        ("measure/quick/9", vec!["charger-label", "capacitors", "two-plugs"]),
    ] {
        let page = client.get(&format!("/bikes/0117/{path}")).await.text;
        let shown = drawings(&page);
        for id in wanted {
            let title = measuring::title(id);
            assert_eq!(shown.iter().filter(|t| **t == title).count(), 1, "{path} {id}: {shown:?}");
        }
        let mut once = shown.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), shown.len(), "{path} shows a drawing twice: {shown:?}");
    }
}

#[tokio::test]
async fn a_measuring_card_shows_its_drawing() {
    let client = Client::demo();
    for card in evidence::cards::rows() {
        let shown = drawings(&client.get(&format!("/help/{}", card.id)).await.text);
        let wanted: Vec<String> = measuring::for_card(&card.id).map(measuring::title).into_iter().collect();
        assert_eq!(shown, wanted, "{}", card.id);
    }
}

/// No measured length of the axle's ends is asked for without a drawing.
#[test]
fn no_calliper_without_its_drawing() {
    let calliper = ["m6", "m7", "m10", "m11", "m16"];
    // Rare sizes, asked for among those "for who knows more".
    let bare = ["prong_", "nut_face_diameter", "pinch_bolt_spacing", "pinch_bolt_lever", "pinch_flat", "pinch_offset"];
    let ids = (0..workbench::fact::count(1) as u16).filter_map(workbench::fact::nth);
    for (def, name, id) in ids.map(|id| (workbench::fact::describe(id).0, workbench::fact::describe(id).1, id)) {
        let length = matches!(def.shape, workbench::fact::Shape::Quantity { unit: "mm", .. });
        let end = name.starts_with("axle.") || name.starts_with("arm.");
        if end && length && calliper.contains(&def.card) && !bare.iter().any(|b| name.contains(b)) {
            assert!(measuring::for_fact(id).is_some(), "{name} ({})", def.card);
        }
    }
}
