//! Backup, restore, carrying jobs to another book, erasing a rider's data, finding.

use jobbook::{Book, By, Error, Kind, NewFile, NewJob, sound};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use tempfile::TempDir;

const TEXT: &str = "number = \"0117\"\nname = \"Bread longtail No. 2, Ansa Perrol\" # Ansa's second\n\
    notes = [\"Perrol wants hold-back; Ansage is another word.\"]\n\n[bike]\nframe_material = \"steel\"\n";

fn by() -> By {
    By::new("Mirra Stobel", "bench 2")
}

fn book(folder: &Path) -> Book {
    let book = Book::open(folder.join("book.sqlite")).unwrap();
    book.new_job(&NewJob { kind: Kind::Convert, of: None, text: TEXT }, &by()).unwrap();
    book.set_rider("0117", "name", "Ansa Perrol", 0, &by()).unwrap();
    book.set_rider("0117", "phone", "0100 20304", 1, &by()).unwrap();
    book.set_fact("0117", "bike.usual", "174 kg", 1, &by()).unwrap();
    for (name, personal, bytes) in [("15.jpg", false, b"left stack"), ("signature.png", true, b"Ansa wrote")] {
        let file = NewFile { name, media_type: "image/jpeg", slot: "", personal, bytes };
        book.attach("0117", &file, &by()).unwrap();
    }
    book
}

fn listing(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_backup_made_while_others_write_is_one_moment_of_the_book() {
    let folder = TempDir::new().unwrap();
    let book = book(folder.path());
    let stop = AtomicBool::new(false);
    thread::scope(|scope| {
        for writer in ["left", "right"] {
            let (book, stop) = (&book, &stop);
            scope.spawn(move || {
                let mut n = 0;
                while !stop.load(Ordering::Relaxed) {
                    n += 1;
                    let from = book.job("0117").unwrap().revision;
                    let key = format!("axle.{writer}.nut_torque");
                    book.set_fact("0117", &key, &format!("{n} N·m"), from, &by()).unwrap();
                }
            });
        }
        let mut last = 0;
        for n in 0..10 {
            let to = folder.path().join(format!("backup-{n}.sqlite"));
            let made = book.backup(&to, &by()).unwrap();
            assert_eq!(made, sound(&to).unwrap());
            assert!(made.changes > last, "writers go on meanwhile");
            last = made.changes;
        }
        stop.store(true, Ordering::Relaxed);
    });
    let noted = book.document("backup").unwrap().unwrap().text;
    assert!(noted.contains("last_at") && noted.contains("backup-9.sqlite"), "{noted}");
    assert!(matches!(book.backup(&folder.path().join("backup-0.sqlite"), &by()), Err(Error::Taken(_))));
    let parts = |name: &String| name.contains(".part") || name.ends_with("-journal");
    assert!(!listing(folder.path()).iter().any(parts), "{:?}", listing(folder.path()));
    let nowhere = book.backup(&folder.path().join("no/such/folder.sqlite"), &by()).unwrap_err();
    assert!(matches!(nowhere, Error::Outside { .. }), "{nowhere}");
}

#[test]
fn restore_brings_the_backup_back_and_keeps_what_was_there() {
    let folder = TempDir::new().unwrap();
    let (book, to) = (book(folder.path()), folder.path().join("backup.sqlite"));
    book.backup(&to, &by()).unwrap();
    book.set_fact("0117", "bike.usual", "180 kg", 2, &by()).unwrap();
    let restored = Book::restore(book.path(), &to, &by()).unwrap();
    // The book that was open all the time shows it.
    assert!(book.job("0117").unwrap().text.contains("174 kg"));
    assert_eq!(restored.now.faults, Vec::<String>::new());
    book.set_fact("0117", "bike.usual", "175 kg", 2, &by()).unwrap();
    let before = Book::open_existing(restored.before.unwrap()).unwrap();
    assert!(before.job("0117").unwrap().text.contains("180 kg"));

    // Into a place where there is none yet.
    let new = folder.path().join("other/book.sqlite");
    assert_eq!(Book::restore(&new, &to, &by()).unwrap().before, None);
    assert!(Book::open_existing(&new).unwrap().job("0117").is_ok());

    // What is no sound backup changes nothing.
    let bad = folder.path().join("bad.sqlite");
    let mut bytes = fs::read(&to).unwrap();
    let at = bytes.windows(10).position(|w| w == b"left stack").unwrap();
    bytes[at] = b'L';
    fs::write(&bad, &bytes).unwrap();
    let e = Book::restore(book.path(), &bad, &by()).unwrap_err();
    assert!(matches!(e, Error::Damaged { .. }), "{e}");
    fs::write(&bad, &bytes[..bytes.len() / 2]).unwrap();
    assert!(Book::restore(book.path(), &bad, &by()).is_err());
    fs::write(&bad, "a letter").unwrap();
    assert!(matches!(Book::restore(book.path(), &bad, &by()), Err(Error::NotABook(_))));
    assert!(book.job("0117").unwrap().text.contains("175 kg"));
}

#[test]
fn restore_replaces_a_book_that_cannot_be_read() {
    let folder = TempDir::new().unwrap();
    let (book, to) = (book(folder.path()), folder.path().join("backup.sqlite"));
    book.backup(&to, &by()).unwrap();
    let path = book.path().to_owned();
    drop(book);
    for harm in [0..100, 4096..12_000] {
        let mut bytes = fs::read(&path).unwrap();
        bytes[harm].fill(0xA5);
        fs::write(&path, &bytes).unwrap();
        let restored = Book::restore(&path, &to, &by()).unwrap();
        assert_eq!(fs::read(restored.before.unwrap()).unwrap(), bytes, "the damaged book is kept");
        assert!(Book::open_existing(&path).unwrap().job("0117").is_ok());
    }
}

/// Every byte of a folder's books, and of what lies beside them.
fn bytes_of(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    listing(folder)
        .into_iter()
        .map(|name| folder.join(name))
        .map(|path| (path.clone(), fs::read(path).unwrap()))
        .collect()
}

fn has(bytes: &[u8], what: &str) -> bool {
    bytes.windows(what.len()).any(|w| w == what.as_bytes())
}

#[test]
fn an_erased_rider_is_gone_from_every_byte_and_the_record_stays() {
    let folder = TempDir::new().unwrap();
    let book = book(folder.path());
    let from = book.job("0117").unwrap().revision;
    book.replace_text("0117", &book.job("0117").unwrap().text.replace("Ansa's second", "call 0100 20304"), from, &by())
        .unwrap();
    assert!(book.history("0117").unwrap().len() > 7);
    let before = book.history("0117").unwrap();

    let erased = book.erase_rider("0117", &["hold-back"], &By::new("Jossel Varn", "bench 1")).unwrap();
    assert_eq!(erased.documents, ["0117/files", "0117/job", "0117/rider"]);
    assert_eq!(erased.files, ["signature.png"]);
    assert!(erased.log_emptied);
    for (path, bytes) in bytes_of(folder.path()) {
        for word in ["Ansa ", "Ansa'", "Perrol", "20304", "signature.png", "hold-back"] {
            assert!(!has(&bytes, word), "{word} in {}", path.display());
        }
    }
    let job = book.job("0117").unwrap();
    assert_eq!(job.rider.1, "");
    let doc: toml_edit::DocumentMut = job.text.parse().unwrap();
    assert_eq!(doc["name"].as_str(), Some("Bread longtail No. 2, (erased)"));
    assert_eq!(doc["notes"][0].as_str(), Some("(erased) wants (erased); Ansage is another word."));
    assert_eq!(doc["bike"]["usual"].as_str(), Some("174 kg"));
    assert_eq!(job.summary.title, "Bread longtail No. 2, (erased)");
    assert_eq!(book.attachment("0117", "15.jpg").unwrap().1, b"left stack");
    assert!(matches!(book.attachment("0117", "signature.png"), Err(Error::NoFile { .. })));

    // Who did what when stays; the last entry says who erased.
    let after = book.history("0117").unwrap();
    assert_eq!(after.len(), before.len() + 1);
    for (b, a) in before.iter().zip(&after) {
        assert_eq!((b.id, &b.who, b.at, &b.document), (a.id, &a.who, a.at, &a.document));
    }
    assert_eq!(
        (after.last().unwrap().who.as_str(), after.last().unwrap().document.as_str()),
        ("Jossel Varn", "0117/card")
    );
    assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
    assert!(matches!(book.erase_rider("0999", &[], &by()), Err(Error::NoJob(_))));
}

#[test]
fn erasing_never_touches_a_measured_value() {
    let folder = TempDir::new().unwrap();
    let book = book(folder.path());
    let e = book.erase_rider("0117", &["steel"], &by()).unwrap_err();
    assert!(matches!(&e, Error::WouldHarm { key, .. } if key == "bike.frame_material"), "{e}");
    assert_eq!(book.job("0117").unwrap().text.matches("Ansa Perrol").count(), 1, "nothing half done");
    assert_eq!(book.job("0117").unwrap().rider.0, 2);
}

#[test]
fn what_was_erased_stays_erased_after_a_restore() {
    let folder = TempDir::new().unwrap();
    let (book, to) = (book(folder.path()), folder.path().join("backup.sqlite"));
    book.backup(&to, &by()).unwrap();
    book.erase_rider("0117", &["hold-back"], &by()).unwrap();
    book.new_job(&NewJob { kind: Kind::Convert, of: None, text: "name = \"later\"\n" }, &by()).unwrap();
    book.erase_rider("0118", &[], &by()).unwrap();
    let erased = book.job("0117").unwrap();
    let restored = Book::restore(book.path(), &to, &by()).unwrap();
    assert_eq!(restored.erased_again, ["0117"]);
    assert_eq!((book.job("0117").unwrap().text, book.job("0117").unwrap().rider), (erased.text, erased.rider));
    for revision in 1..=2 {
        assert!(!book.text_at("0117/job", revision).unwrap().contains("hold-back"));
    }
    let bytes = [fs::read(book.path()).unwrap(), fs::read(folder.path().join("book.sqlite-wal")).unwrap()].concat();
    assert!(!has(&bytes, "Perrol") && !has(&bytes, "hold-back"));
    assert_eq!(restored.now.faults, Vec::<String>::new());
    // Once more: the backup is still the old one.
    assert_eq!(Book::restore(book.path(), &to, &by()).unwrap().erased_again, ["0117"]);
}

#[test]
fn a_job_goes_to_another_book_and_back() {
    let (here, there) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let one = book(here.path());
    one.new_job(&NewJob { kind: Kind::Sister, of: Some("0117"), text: "name = \"Sister\"\n" }, &by()).unwrap();
    let change =
        one.history("0117").unwrap().into_iter().find(|c| c.document == "0117/job" && c.revision == 2).unwrap();
    one.undo(change.id, &by()).unwrap();
    let file = here.path().join("carry.sqlite");
    one.export(&["0117", "0118"], true, &file, &by()).unwrap();
    assert!(!listing(here.path()).iter().any(|name| name.starts_with("carry.sqlite") && name != "carry.sqlite"));

    let two = Book::open(there.path().join("book.sqlite")).unwrap();
    two.set_document("rack", "x = 1\n", 0, &by()).unwrap();
    let done = two.import(&file, None, &by()).unwrap();
    assert_eq!(
        done.iter().map(|i| (i.number.as_str(), i.was_there)).collect::<Vec<_>>(),
        [("0117", false), ("0118", false)]
    );
    assert_eq!(two.job("0117").unwrap(), one.job("0117").unwrap());
    assert_eq!(two.attachment("0117", "15.jpg").unwrap(), one.attachment("0117", "15.jpg").unwrap());
    let steps = |book: &Book| {
        let all = book.history("0117").unwrap().into_iter();
        all.map(|c| (c.document, c.revision, c.who, c.at, c.values, c.undoes.is_some())).collect::<Vec<_>>()
    };
    assert_eq!(steps(&two), steps(&one));
    assert_eq!(two.verify().unwrap().faults, Vec::<String>::new());

    // Again: nothing to do. With other changes: refused, unless under a new number.
    assert!(two.import(&file, None, &by()).unwrap().iter().all(|i| i.was_there));
    let third = Book::open(there.path().join("third.sqlite")).unwrap();
    third.new_job(&NewJob { kind: Kind::Convert, of: None, text: "number = \"0118\"\n" }, &by()).unwrap();
    assert!(matches!(third.import(&file, None, &by()), Err(Error::NumberTaken(n)) if n == "0118"));
    assert_eq!(third.jobs().unwrap().len(), 1, "all or none");
    assert!(matches!(third.import(&file, Some("0200"), &by()), Err(Error::NotOneJob(2))));
    let single = here.path().join("single.sqlite");
    one.export(&["0118"], true, &single, &by()).unwrap();
    assert_eq!(third.import(&single, Some("0200"), &by()).unwrap()[0].number, "0200");
    let renamed = third.job("0200").unwrap();
    assert!(renamed.text.contains("number = \"0200\""), "{}", renamed.text);
    assert_eq!(renamed.summary.of.as_deref(), Some("0117"), "the other job need not be here");
    assert_eq!(third.verify().unwrap().faults, Vec::<String>::new());
    assert!(matches!(one.export(&["0999"], true, &here.path().join("none.sqlite"), &by()), Err(Error::NoJob(_))));
    assert!(!here.path().join("none.sqlite").exists());

    // Without the rider.
    let bare = here.path().join("bare.sqlite");
    one.export(&["0117"], false, &bare, &by()).unwrap();
    let bytes = fs::read(&bare).unwrap();
    assert!(!has(&bytes, "Perrol") && !has(&bytes, "20304") && has(&bytes, "left stack"));
    assert!(one.job("0117").unwrap().text.contains("Perrol"));
}

#[test]
fn an_older_export_can_be_imported_and_stays_as_it_is() {
    let folder = TempDir::new().unwrap();
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/books/version-1.sqlite");
    let before = fs::read(&old).unwrap();
    let book = Book::open(folder.path().join("book.sqlite")).unwrap();
    assert_eq!(book.import(&old, None, &by()).unwrap().len(), 2);
    assert_eq!(fs::read(&old).unwrap(), before);
    assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
    assert_eq!(listing(folder.path()), ["book.sqlite", "book.sqlite-shm", "book.sqlite-wal"]);
    Book::restore(book.path(), &old, &by()).unwrap();
    assert_eq!(book.job("0117").unwrap().revision, 3);
}

#[test]
fn find_looks_into_values_keys_and_comments() {
    let folder = TempDir::new().unwrap();
    let book = book(folder.path());
    let text =
        "number = \"0118\"\nname = \"Bike #3\"\n[motor]\nlock = \"tacks\" # welder W7\n[[arm]]\nkind = \"pinching\"\n";
    book.new_job(&NewJob { kind: Kind::Convert, of: None, text }, &by()).unwrap();
    let found = |words: &[&str]| {
        book.find(words)
            .unwrap()
            .into_iter()
            .map(|h| format!("{} {}={}", h.document, h.key, h.text))
            .collect::<Vec<_>>()
    };
    assert_eq!(found(&["w7"]), ["0118/job =welder W7"]);
    assert_eq!(found(&["PINCHING"]), ["0118/job arm.1.kind=pinching"]);
    assert_eq!(found(&["20304"]), ["0117/rider phone=0100 20304"]);
    assert_eq!(found(&["#3"]), ["0118/job name=Bike #3"]);
    assert_eq!(found(&["w7", "pinching"]).len(), 2);
    assert_eq!(found(&["w7", "steel"]), Vec::<String>::new());
    assert_eq!(found(&[""]), Vec::<String>::new());
}
