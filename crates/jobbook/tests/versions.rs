//! Every released version's book opens, with all that was in it.

use jobbook::{Book, By, Kind, NewFile, NewJob, VERSION};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const TEXT: &str =
    "number = \"0117\"\nname = \"Bread longtail No. 2\" # blue\n\n[axle.left]\nnut_torque = \"80 N·m\"\n";

fn kept(version: i64) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/books/version-{version}.sqlite"))
}

/// What every kept book holds.
fn fill(book: &Book) {
    let by = By::new("Mirra Stobel", "bench 2").at("2026-03-03T08:10:00Z".parse().unwrap());
    book.new_job(&NewJob { kind: Kind::Convert, of: None, text: TEXT }, &by).unwrap();
    let sister = NewJob { kind: Kind::Sister, of: Some("0117"), text: "name = \"Bread longtail No. 3\"\n" };
    book.new_job(&sister, &by).unwrap();
    book.set_fact("0117", "axle.left.nut_torque", "72 N·m", 1, &By { who: "Jossel Varn".into(), ..by.clone() })
        .unwrap();
    let change = book.history("0117").unwrap().pop().unwrap().id;
    book.undo(change, &by).unwrap();
    book.set_rider("0117", "name", "Ansa Perrol", 0, &by).unwrap();
    book.set_stage("0117", "survey", 1, &by).unwrap();
    let photo =
        NewFile { name: "15.jpg", media_type: "image/jpeg", slot: "15", personal: false, bytes: b"\xff\xd8\xff" };
    book.attach("0117", &photo, &by).unwrap();
    book.set_document("rack", "[[tool]]\nid = \"W2\"\nclass = \"± 4 %\"\n", 0, &by).unwrap();
}

/// Run this once with each new version: `cargo test -p jobbook --test versions -- --ignored`
#[test]
#[ignore = "writes the kept book of this version"]
fn write_the_book_of_this_version() {
    let path = kept(VERSION);
    assert!(!path.exists(), "{} is kept already", path.display());
    fill(&Book::open(path).unwrap());
}

#[test]
fn every_earlier_book_opens_with_all_that_was_in_it() {
    for version in 1..=VERSION {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join("book.sqlite");
        std::fs::copy(kept(version), &path).unwrap();
        let raw = rusqlite::Connection::open(&path).unwrap();
        let stored: i64 = raw.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
        assert_eq!(stored, version, "the kept book is of its version");
        drop(raw);

        let book = Book::open(&path).unwrap();
        let job = book.job("0117").unwrap();
        assert_eq!((job.text.as_str(), job.revision, job.summary.stage.as_str()), (TEXT, 3, "survey"));
        assert_eq!(job.rider.1, "name = \"Ansa Perrol\"\n");
        assert_eq!(job.summary.started_at.to_string(), "2026-03-03T08:10:00Z");
        assert_eq!(book.job("0118").unwrap().summary.of.as_deref(), Some("0117"));
        assert!(book.text_at("0117/job", 2).unwrap().contains("72 N·m"));
        assert_eq!(book.history("0117").unwrap().len(), 7);
        assert_eq!(book.attachment("0117", "15.jpg").unwrap().1, b"\xff\xd8\xff");
        assert_eq!(book.document("rack").unwrap().unwrap().revision, 1);
        assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
        // And it can be written.
        let by = By::new("Jossel Varn", "bench 1");
        book.set_fact("0117", "axle.left.nut_torque", "70 N·m", 3, &by).unwrap();
        drop(book);
        let raw = rusqlite::Connection::open(&path).unwrap();
        let stored: i64 = raw.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
        assert_eq!(stored, VERSION);
    }
}
