//! Every measuring drawing is whole, its words stay apart, and the facts of the quick path have one.

mod reading;

use drawing::{Theme, measuring};
use reading::{overlaps, size, texts};
use workbench::fact::{Side, list};

#[test]
fn every_drawing_can_be_read() {
    let mut wrong = Vec::new();
    for id in measuring::all() {
        let svg = measuring::svg(id, Theme::File).expect("it is on the list");
        assert_eq!(Some(&svg), measuring::svg(id, Theme::File).as_ref(), "{id}: not the same bytes twice");
        let (width, height) = size(&svg);
        let all = texts(&svg);
        for t in &all {
            let inside = t.left >= 0.0 && t.right <= width && t.top >= 0.0 && t.bottom <= height;
            if !inside {
                wrong.push(format!("{id}: {t:?} leaves the drawing"));
            }
            assert!(!t.text.starts_with("drawing."), "{id}: `{}` has no words", t.text);
        }
        wrong.extend(overlaps(&all).into_iter().map(|hit| format!("{id}: {hit}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(measuring::svg("no such drawing", Theme::File), None);
}

#[test]
fn calliper_facts_have_their_own_drawing() {
    for (fact, wanted) in [
        (list::ACROSS_FLATS.id(), "across-flats"),
        (list::AXLE_DIAMETER.id(), "axle-diameter"),
        (list::AXLE_PITCH.id(), "pitch"),
        (list::SLOT_WIDTH.of(Side::Left), "slot-width"),
        (list::SLOT_WIDTH.of(Side::Right), "slot-width"),
        (list::DROPOUT_THICKNESS.of(Side::Left), "dropout-thickness"),
        (list::FACE_OUTER.of(Side::Right), "washer"),
        (list::FREE_THREAD.of(Side::Left), "free-thread"),
        (list::NUT_HEIGHT.of(Side::Left), "nut-height"),
        (list::ARM_LENGTH.of(2), "arm-length"),
        (list::CLEARANCE.of(0), "clearance"),
        (list::WHEEL_RADIUS.id(), "roll-out"),
        (list::RESISTANCE.id(), "wires"),
    ] {
        assert_eq!(measuring::for_fact(fact), Some(wanted), "{:?}", workbench::fact::describe(fact).1);
    }
    assert_eq!(measuring::for_fact(list::FLANGE_RADIUS.id()), None, "its card's drawing shows another size");
    for (card, wanted) in [("m16", "anchor-tube"), ("m24", "drag"), ("m31", "charger-label"), ("m41", "runout")] {
        assert_eq!(measuring::for_card(card), Some(wanted), "{card}");
    }
    assert_eq!(measuring::for_card("m12"), Some("hold-test"));
    assert_eq!(measuring::for_card("ask"), None);
}

#[test]
fn who_reads_with_ears_hears_every_word_of_a_drawing() {
    for id in measuring::all() {
        let svg = measuring::svg(id, Theme::Page).expect("it is on the list");
        let label = svg.split("aria-label=\"").nth(1).and_then(|r| r.split('"').next()).expect("a label");
        let label = label.replace("&#39;", "'");
        assert!(label.starts_with(&measuring::title(id)), "{id}: {label}");
        // Figures on a display and units are no words.
        for t in texts(&svg).into_iter().filter(|t| t.text.chars().filter(|c| c.is_lowercase()).count() > 3) {
            assert!(label.contains(&t.text), "{id}: `{}` is not in `{label}`", t.text);
        }
    }
}
