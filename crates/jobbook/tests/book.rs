//! Facts, history, undo, files: what a page does with the book, and what two people do to each other.

use jobbook::{Book, By, Edit, Error, Kind, NewFile, NewJob, splice};
use std::path::Path;
use tempfile::TempDir;

const TEXT: &str = r#"# Bakery longtail.
number = "0117"
name = "Bread longtail No. 2"
kind = "hill"
one_in = 1000

[bike]
lightest = "109 kg ± 1 kg, measured with B1" # rider 68, bike 41
frame_material = "steel, measured" # magnet

[axle.left]
nut_torque = "80 N·m, chosen with W2" # the usual
slot_width = "10.15 mm, measured with C1"

[[arm]]
side = "left"
"#;

fn open(folder: &TempDir) -> Book {
    Book::open(folder.path().join("book.sqlite")).unwrap()
}

fn mirra() -> By {
    By::new("Mirra Stobel", "bench 2")
}

fn jossel() -> By {
    By::new("Jossel Varn", "bench 1")
}

fn start() -> (TempDir, Book) {
    let folder = TempDir::new().unwrap();
    let book = open(&folder);
    let number = book.new_job(&NewJob { kind: Kind::Convert, of: None, text: TEXT }, &mirra()).unwrap();
    assert_eq!(number, "0117");
    (folder, book)
}

#[test]
fn the_book_can_be_shared_between_threads() {
    fn shared<T: Send + Sync>() {}
    shared::<Book>();
}

#[test]
fn a_job_is_kept_as_it_was_written() {
    let (folder, book) = start();
    drop(book);
    let book = open(&folder);
    let job = book.job("0117").unwrap();
    assert_eq!(job.text, TEXT);
    assert_eq!((job.revision, job.summary.title.as_str()), (1, "Bread longtail No. 2"));
    assert_eq!((job.summary.kind, job.summary.stage.as_str()), (Kind::Convert, "talk"));
    assert_eq!(book.jobs().unwrap(), [job.summary]);
}

#[test]
fn a_job_without_number_gets_the_next_one() {
    let (_folder, book) = start();
    let new = |text| book.new_job(&NewJob { kind: Kind::Sister, of: Some("0117"), text }, &mirra());
    assert_eq!(new("number = \"0000\" # to come\nname = \"a\"\n").unwrap(), "0118");
    assert_eq!(book.job("0118").unwrap().text, "number = \"0118\" # to come\nname = \"a\"\n");
    assert_eq!(new("name = \"b\"\n").unwrap(), "0119");
    assert!(matches!(new(TEXT), Err(Error::NumberTaken(n)) if n == "0117"));
    assert_eq!(book.job("0119").unwrap().summary.of.as_deref(), Some("0117"));
    assert!(matches!(new("name = "), Err(Error::NotToml { .. })));
    assert_eq!(book.jobs().unwrap().len(), 3);
}

#[test]
fn a_fact_changes_and_comments_stay() {
    let (_folder, book) = start();
    let r = book.set_fact("0117", "axle.left.nut_torque", "72 N·m, chosen with W2", 1, &jossel()).unwrap();
    assert_eq!(r, 2);
    let want = TEXT.replace("80 N·m", "72 N·m");
    assert_eq!(book.job("0117").unwrap().text, want);
    book.set_fact("0117", "battery.cells_series", "14, plate", 2, &jossel()).unwrap();
    book.set_fact("0117", "axle.right.nut_torque", "68 N·m", 3, &jossel()).unwrap();
    book.set_fact("0117", "axle.diameter", "12 mm, measured", 4, &jossel()).unwrap();
    book.set_fact("0117", "arm.2.side", "right", 5, &jossel()).unwrap();
    book.clear_fact("0117", "bike.frame_material", 6, &jossel()).unwrap();
    book.set_values("0117/job", &[Edit::put("one_in", 10_000), Edit::put("name", "Longtail")], 7, &jossel()).unwrap();
    let text = book.job("0117").unwrap().text;
    let doc: toml_edit::DocumentMut = text.parse().unwrap();
    assert_eq!(doc["battery"]["cells_series"].as_str(), Some("14, plate"));
    assert_eq!(doc["axle"]["right"]["nut_torque"].as_str(), Some("68 N·m"));
    assert_eq!(doc["axle"]["diameter"].as_str(), Some("12 mm, measured"));
    assert_eq!(doc["arm"][1]["side"].as_str(), Some("right"));
    assert!(doc["bike"].get("frame_material").is_none());
    assert_eq!(doc["one_in"].as_integer(), Some(10_000));
    assert!(text.starts_with("# Bakery longtail.\n") && text.contains("# the usual"), "{text}");
    assert_eq!(book.jobs().unwrap()[0].title, "Longtail");

    for key in ["arm.4.side", "bike", "axle.left", "one_in.x"] {
        let e = book.set_fact("0117", key, "x", 8, &jossel()).unwrap_err();
        assert!(matches!(e, Error::NoPlace { .. }), "{key}: {e}");
    }
    assert_eq!(book.job("0117").unwrap().revision, 8);
}

#[test]
fn different_facts_merge_and_the_same_fact_is_a_conflict() {
    let (folder, one) = start();
    let two = open(&folder);
    one.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &jossel()).unwrap();
    let r = two.set_fact("0117", "axle.left.slot_width", "10.2 mm", 1, &mirra()).unwrap();
    assert_eq!(r, 3);
    let both = two.job("0117").unwrap().text;
    assert!(both.contains("\"72 N·m\"") && both.contains("\"10.2 mm\""));

    let Err(Error::Conflict(c)) = two.set_fact("0117", "axle.left.nut_torque", "80 N·m", 1, &mirra()) else {
        panic!()
    };
    assert_eq!((c.document.as_str(), c.revision, c.clashes.len()), ("0117/job", 3, 1));
    let clash = &c.clashes[0];
    assert_eq!(clash.before.as_deref(), Some("80 N·m, chosen with W2"));
    assert_eq!(clash.theirs.as_deref(), Some("72 N·m"));
    assert_eq!(clash.mine.as_deref(), Some("80 N·m"));
    assert_eq!((clash.who.as_str(), clash.device.as_str()), ("Jossel Varn", "bench 1"));
    let words = Error::Conflict(c).to_string();
    assert!(words.contains("Jossel Varn (bench 1) wrote `72 N·m`"), "{words}");
    assert_eq!(two.job("0117").unwrap().text, both, "nothing half done");

    // Both wrote the same: no conflict. Keep mine: write on the newest revision.
    assert_eq!(two.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &mirra()).unwrap(), 3);
    assert_eq!(two.set_fact("0117", "axle.left.nut_torque", "80 N·m", 3, &mirra()).unwrap(), 4);
    assert!(matches!(two.set_fact("0117", "x", "1", 9, &mirra()), Err(Error::NoRevision { newest: 4, .. })));
}

#[test]
fn whole_texts_merge_or_clash() {
    let (_folder, book) = start();
    book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &jossel()).unwrap();
    let mine = TEXT.replace("109 kg", "110 kg").replace("# Bakery", "# The bakery's");
    book.replace_text("0117", &mine, 1, &mirra()).unwrap();
    let text = book.job("0117").unwrap().text;
    assert!(text.contains("72 N·m") && text.contains("110 kg") && text.contains("# The bakery's"));
    // Neighbouring lines of different facts.
    let next = text.replace("10.15 mm", "10.20 mm");
    book.set_fact("0117", "axle.left.nut_torque", "70 N·m", 3, &jossel()).unwrap();
    book.replace_text("0117", &next, 3, &mirra()).unwrap();
    let text = book.job("0117").unwrap().text;
    assert!(text.contains("70 N·m") && text.contains("10.20 mm"));
    // The same fact, and the same comment.
    let Err(Error::Conflict(c)) = book.replace_text("0117", &next, 1, &mirra()) else { panic!() };
    assert!(c.clashes.iter().any(|c| c.key == "axle.left.nut_torque" || c.key == "bike.lightest"), "{c:?}");
    let r = book.job("0117").unwrap().revision;
    book.replace_text("0117", &text.replace("# the usual", "# too much"), r, &mirra()).unwrap();
    let Err(Error::Conflict(c)) = book.replace_text("0117", &text.replace("# the usual", "# too little"), r, &mirra())
    else {
        panic!()
    };
    assert_eq!(c.clashes, []);
    assert!(matches!(book.replace_text("0117", "[", r + 1, &mirra()), Err(Error::NotToml { .. })));
}

#[test]
fn lists_that_moved_are_not_mixed_up() {
    let (_folder, book) = start();
    book.set_fact("0117", "arm.2.side", "left", 1, &jossel()).unwrap();
    book.clear_fact("0117", "arm.1", 2, &jossel()).unwrap();
    // Arm 2 has become arm 1, with the same side: writing to "arm 1" as seen before would hit the wrong one.
    let e = book.set_fact("0117", "arm.1.side", "right", 2, &mirra()).unwrap_err();
    assert!(e.to_string().contains("Jossel Varn"), "{e}");
    assert!(matches!(e, Error::Conflict(_)), "{e}");
}

#[test]
fn a_tablet_sends_its_line_of_entries_one_after_the_other() {
    let (_folder, book) = start();
    // Typed without a link to the book, all on revision 1.
    for (n, (key, value)) in [
        ("axle.left.nut_torque", "72 N·m"),
        ("arm.2.side", "right"),
        ("axle.left.nut_torque", "76 N·m"),
        ("arm.2.kind", "pinching"),
    ]
    .into_iter()
    .enumerate()
    {
        book.set_fact("0117", key, value, 1, &jossel().sent_as(&format!("tablet/{n}"))).unwrap();
    }
    let text = book.job("0117").unwrap().text;
    assert!(text.contains("76 N·m") && text.contains("pinching"), "{text}");
    // The same person at another device has not seen that.
    let elsewhere = By::new("Jossel Varn", "bench 3");
    assert!(matches!(book.set_fact("0117", "axle.left.nut_torque", "70 N·m", 1, &elsewhere), Err(Error::Conflict(_))));
    // Nor may the tablet write over what somebody else has put in between.
    book.set_fact("0117", "axle.left.nut_torque", "78 N·m", 5, &mirra()).unwrap();
    assert!(matches!(book.set_fact("0117", "axle.left.nut_torque", "74 N·m", 1, &jossel()), Err(Error::Conflict(_))));
}

#[test]
fn sending_twice_does_nothing_twice() {
    let (_folder, book) = start();
    let by = jossel().sent_as("tablet-7/000123");
    assert_eq!(book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &by).unwrap(), 2);
    book.set_fact("0117", "axle.left.nut_torque", "76 N·m", 2, &mirra()).unwrap();
    assert_eq!(book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &by).unwrap(), 2);
    assert!(book.job("0117").unwrap().text.contains("76 N·m"));
    assert!(matches!(book.set_stage("0117", "survey", 1, &by), Err(Error::SentBefore(_))));

    let by = mirra().sent_as("tablet-7/000124");
    let new = NewJob { kind: Kind::Convert, of: None, text: "name = \"x\"\n" };
    let number = book.new_job(&new, &by).unwrap();
    assert_eq!(book.new_job(&new, &by).unwrap(), number);
    assert_eq!(book.jobs().unwrap().len(), 2);
}

#[test]
fn history_says_who_what_and_when_and_undo_is_a_change() {
    let (_folder, book) = start();
    let at = "2026-03-03T08:50:00Z".parse().unwrap();
    book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &jossel().at(at)).unwrap();
    book.set_fact("0117", "axle.left.slot_width", "10.2 mm", 2, &mirra()).unwrap();
    book.set_stage("0117", "survey", 1, &mirra()).unwrap();
    let history = book.history("0117").unwrap();
    assert_eq!(
        history.iter().map(|c| c.document.as_str()).collect::<Vec<_>>(),
        ["0117/card", "0117/job", "0117/job", "0117/job", "0117/card"]
    );
    let torque = &history[2];
    assert_eq!((torque.who.as_str(), torque.device.as_str(), torque.at), ("Jossel Varn", "bench 1", at));
    assert_eq!(torque.values.len(), 1);
    assert_eq!(torque.values[0].key, "axle.left.nut_torque");
    assert_eq!(torque.values[0].before.as_deref(), Some("80 N·m, chosen with W2"));
    assert_eq!(torque.values[0].after.as_deref(), Some("72 N·m"));

    // Undo under a later change of a neighbour; undo of the undo.
    let r = book.undo(torque.id, &mirra()).unwrap();
    assert_eq!(book.job("0117").unwrap().text, TEXT.replace("10.15 mm, measured with C1", "10.2 mm"));
    let undo = book.history("0117").unwrap().pop().unwrap();
    assert_eq!((undo.revision, undo.undoes), (r, Some(torque.id)));
    assert_eq!(book.history("0117").unwrap()[2].undone_by, Some(undo.id));
    book.undo(undo.id, &mirra()).unwrap();
    assert!(book.job("0117").unwrap().text.contains("72 N·m"));

    // What was changed again since cannot be undone silently.
    let now = book.job("0117").unwrap().revision;
    book.set_fact("0117", "axle.left.nut_torque", "60 N·m", now, &jossel()).unwrap();
    let Err(Error::Conflict(c)) = book.undo(torque.id, &mirra()) else { panic!() };
    assert_eq!(c.clashes[0].theirs.as_deref(), Some("60 N·m"));
    assert!(matches!(book.undo(history[1].id, &mirra()), Err(Error::Start(_))));
    assert!(matches!(book.undo(999, &mirra()), Err(Error::NoChange(999))));
    assert_eq!(book.text_at("0117/job", 1).unwrap(), TEXT);
    assert!(book.text_at("0117/job", 2).unwrap().contains("72 N·m"));
}

#[test]
fn stage_kind_and_rider() {
    let (_folder, book) = start();
    book.set_stage("0117", "survey", 1, &mirra()).unwrap();
    assert!(matches!(book.set_stage("0117", "lunch", 2, &mirra()), Err(Error::BadStage(_))));
    book.set_kind("0117", Kind::FoundLocked, 2, &mirra()).unwrap();
    book.set_rider("0117", "name", "Ansa Perrol", 0, &mirra()).unwrap();
    let job = book.job("0117").unwrap();
    assert_eq!((job.summary.kind, job.summary.stage.as_str(), job.card_revision), (Kind::FoundLocked, "survey", 3));
    assert_eq!(job.rider, (1, "name = \"Ansa Perrol\"\n".to_owned()));
    assert!(!job.text.contains("Ansa"));
    assert!(matches!(book.set_rider("0999", "name", "x", 0, &mirra()), Err(Error::NoJob(_))));
    assert!(matches!(book.job("0999"), Err(Error::NoJob(_))));
}

#[test]
fn files_keep_their_bytes_and_digest() {
    let (_folder, book) = start();
    let photo = NewFile { name: "15-left.jpg", media_type: "image/jpeg", slot: "15", personal: false, bytes: b"abc" };
    let kept = book.attach("0117", &photo, &mirra()).unwrap();
    // FIPS 180-2, appendix B.1.
    assert_eq!(kept.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_eq!(book.attach("0117", &photo, &mirra()).unwrap(), kept);
    assert_eq!(book.attachments("0117").unwrap(), std::slice::from_ref(&kept));
    assert_eq!(book.attachment("0117", "15-left.jpg").unwrap(), (kept, b"abc".to_vec()));
    let other = NewFile { bytes: b"abd", ..photo };
    assert!(matches!(book.attach("0117", &other, &mirra()), Err(Error::NameTaken { .. })));
    for name in ["", "../x", ".x", "a\"b", "a\nb"] {
        assert!(matches!(book.attach("0117", &NewFile { name, ..photo }, &mirra()), Err(Error::BadName(_))), "{name}");
    }
    let big = vec![0; jobbook::LARGEST_FILE + 1];
    let big = NewFile { name: "big", bytes: &big, ..photo };
    assert!(matches!(book.attach("0117", &big, &mirra()), Err(Error::TooLarge { .. })));

    let by = mirra().sent_as("tablet-7/9");
    let gone = book.detach("0117", "15-left.jpg", &by).unwrap();
    assert_eq!(book.detach("0117", "15-left.jpg", &by).unwrap(), gone);
    let new = NewJob { kind: Kind::Convert, of: None, text: "name = \"x\"\n" };
    assert!(matches!(book.new_job(&new, &by), Err(Error::SentBefore(id)) if id == "tablet-7/9"));
    assert!(matches!(book.attachment("0117", "15-left.jpg"), Err(Error::NoFile { .. })));
    book.undo(book.history("0117").unwrap().pop().unwrap().id, &mirra()).unwrap();
    assert_eq!(book.attachment("0117", "15-left.jpg").unwrap().1, b"abc");
}

#[test]
fn the_shops_own_documents() {
    let (_folder, book) = start();
    assert_eq!(book.document("rack").unwrap(), None);
    assert_eq!(book.set_document("rack", "[[tool]]\nid = \"W2\"\n", 0, &mirra()).unwrap(), 1);
    book.set_values("rack", &[Edit::put("tool.1.class", "± 4 %")], 1, &jossel()).unwrap();
    let rack = book.document("rack").unwrap().unwrap();
    assert_eq!((rack.revision, rack.who.as_str()), (2, "Jossel Varn"));
    assert_eq!(rack.text, "[[tool]]\nid = \"W2\"\nclass = \"± 4 %\"\n");
    assert_eq!(book.document_history("rack").unwrap().len(), 2);
    assert_eq!(book.document_names("ra").unwrap(), ["rack"]);
    for name in ["", "a/b/c", "a b", "../x", "0117/"] {
        assert!(matches!(book.set_document(name, "", 0, &mirra()), Err(Error::BadName(_))), "{name}");
    }
    let nobody = By::new(" ", "bench 1");
    assert!(matches!(book.set_document("rack", "", 2, &nobody), Err(Error::BadPerson(_))));
    // Two devices make the same new document.
    let other = "[[tool]]\nid = \"W1\"\n";
    assert!(matches!(book.set_document("rack", other, 0, &mirra()), Err(Error::Conflict(_))));
}

#[test]
fn other_files_are_refused_and_left_alone() {
    let folder = TempDir::new().unwrap();
    let text = folder.path().join("letter.txt");
    std::fs::write(&text, "Dear Sir or Madam, this is no job book at all. ".repeat(20)).unwrap();
    let before = std::fs::read(&text).unwrap();
    assert!(matches!(Book::open(&text), Err(Error::NotABook(_))));
    assert_eq!(std::fs::read(&text).unwrap(), before);

    let foreign = folder.path().join("foreign.sqlite");
    rusqlite::Connection::open(&foreign).unwrap().execute_batch("CREATE TABLE song (name)").unwrap();
    assert!(matches!(Book::open(&foreign), Err(Error::NotABook(_))));

    let newer = folder.path().join("newer.sqlite");
    drop(Book::open(&newer).unwrap());
    let conn = rusqlite::Connection::open(&newer).unwrap();
    conn.pragma_update(None, "user_version", 9999).unwrap();
    drop(conn);
    let e = Book::open(&newer).err().unwrap();
    assert!(matches!(e, Error::Newer { version: 9999, .. }), "{e}");
    assert!(matches!(Book::open_existing(Path::new("/nowhere/book")), Err(Error::Missing(_))));
}

#[test]
fn a_splice_keeps_whole_characters() {
    for (a, b) in [("80 N·m", "80 N×m"), ("é", "è"), ("aaa", "aa"), ("", "x"), ("± 4 %", "± 4 %")] {
        let s = splice::between(a, b);
        assert_eq!(s.apply(a).as_deref(), Some(b));
        assert_eq!(s.revert(b).as_deref(), Some(a));
    }
}

#[test]
fn verify_finds_what_was_tampered_with() {
    let (folder, book) = start();
    let photo = NewFile { name: "15-left.jpg", media_type: "image/jpeg", slot: "15", personal: false, bytes: b"abc" };
    book.attach("0117", &photo, &mirra()).unwrap();
    book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &jossel()).unwrap();
    let sound = book.verify().unwrap();
    assert_eq!((sound.jobs, sound.changes, sound.files, sound.file_bytes, sound.faults.len()), (1, 4, 1, 3, 0));
    let conn = rusqlite::Connection::open(folder.path().join("book.sqlite")).unwrap();
    for (harm, repair) in [
        ("UPDATE file SET content = x'616264'", "UPDATE file SET content = x'616263'"),
        ("UPDATE job SET title = 'other'", "UPDATE job SET title = 'Bread longtail No. 2'"),
        (
            "UPDATE document SET text = text || ' ' WHERE name = '0117/job'",
            "UPDATE document SET text = trim(text, ' ') WHERE name = '0117/job'",
        ),
        (
            "UPDATE change SET inserted = 'x' || inserted WHERE revision = 2",
            "UPDATE change SET inserted = substr(inserted, 2) WHERE revision = 2",
        ),
        (
            "PRAGMA foreign_keys = OFF; UPDATE document SET job = '9' WHERE name = '0117/card'",
            "UPDATE document SET job = '0117' WHERE name = '0117/card'",
        ),
        ("CREATE TRIGGER t AFTER INSERT ON job BEGIN SELECT 1; END", "DROP TRIGGER t"),
    ] {
        conn.execute_batch(harm).unwrap();
        if harm.contains("file") {
            assert!(matches!(book.attachment("0117", "15-left.jpg"), Err(Error::Damaged { .. })));
        }
        assert_eq!(book.verify().unwrap().faults.len(), 1, "{harm}: {:?}", book.verify().unwrap().faults);
        conn.execute_batch(repair).unwrap();
        assert_eq!(book.verify().unwrap(), sound, "{repair}");
    }
    // What is not even text any more.
    conn.execute_batch("UPDATE change SET who = CAST(x'ff' AS TEXT) WHERE id = 1").unwrap();
    assert!(matches!(book.verify(), Err(Error::Damaged { .. })));
}
