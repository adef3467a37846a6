//! Every measuring drawing is whole, its words stay apart, and the facts of the quick path have one.

mod reading;

use drawing::{Theme, measuring};
use reading::{overlaps, size, texts};
use workbench::fact::{Side, list};

#[test]
fn every_drawing_can_be_read() {
    for id in measuring::all() {
        let svg = measuring::svg(id, Theme::File).expect("it is on the list");
        assert_eq!(Some(&svg), measuring::svg(id, Theme::File).as_ref(), "{id}: not the same bytes twice");
        let (width, height) = size(&svg);
        let all = texts(&svg);
        for t in &all {
            let inside = t.left >= 0.0 && t.right <= width && t.top >= 0.0 && t.bottom <= height;
            assert!(inside, "{id}: {t:?} leaves the drawing");
            assert!(!t.text.starts_with("drawing."), "{id}: `{}` has no words", t.text);
        }
        let hits = overlaps(&all);
        assert!(hits.is_empty(), "{id}: {}", hits.join("\n"));
    }
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
    assert_eq!(measuring::for_fact(list::LOCK_RADIUS.id()), None, "its card's drawing shows another size");
    assert_eq!(measuring::for_card("m12"), Some("hold-test"));
    assert_eq!(measuring::for_card("ask"), None);
}
