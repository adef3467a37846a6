//! Opening: many at once, and files that are damaged in any way.

use jobbook::{Book, By, Kind, NewFile, NewJob, inspect};
use proptest::prelude::*;
use std::sync::Barrier;
use std::{fs, thread};
use tempfile::TempDir;

/// A folder in memory where there is one: these tests are about what is written, not about the disk.
fn quick_folder() -> TempDir {
    TempDir::new_in("/dev/shm").or_else(|_| TempDir::new()).unwrap()
}

#[test]
fn many_make_and_open_the_same_new_book_at_once() {
    const MANY: usize = 8;
    for _ in 0..5 {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join("new/folder/book.sqlite");
        let together = Barrier::new(MANY);
        thread::scope(|scope| {
            for n in 0..MANY {
                let (path, together) = (&path, &together);
                scope.spawn(move || {
                    together.wait();
                    let book = Book::open(path).unwrap();
                    let text = format!("name = \"{n}\"\n");
                    book.new_job(&NewJob { kind: Kind::Convert, of: None, text: &text }, &By::new("Mirra", "bench 1"))
                        .unwrap();
                });
            }
        });
        let book = Book::open_existing(&path).unwrap();
        assert_eq!(book.jobs().unwrap().len(), MANY);
        assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
    }
}

#[cfg(unix)]
#[test]
fn only_its_owner_may_read_a_book() {
    use std::os::unix::fs::PermissionsExt;
    let folder = TempDir::new().unwrap();
    let book = Book::open(folder.path().join("book.sqlite")).unwrap();
    let by = By::new("Mirra", "bench 1");
    book.set_document("rack", "x = 1\n", 0, &by).unwrap();
    book.backup(&folder.path().join("backup.sqlite"), &by).unwrap();
    for entry in fs::read_dir(folder.path()).unwrap() {
        let entry = entry.unwrap();
        assert_eq!(entry.metadata().unwrap().permissions().mode() & 0o077, 0, "{:?}", entry.file_name());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    /// A damaged file gives an error or what can still be read, never a panic or an endless wait; and what is called
    /// sound has everything in it.
    #[test]
    fn a_damaged_book_is_never_called_sound(
        places in prop::collection::vec((any::<prop::sample::Index>(), 1u8..), 1..6),
        keep in prop::option::weighted(0.2, any::<prop::sample::Index>()),
    ) {
        let folder = quick_folder();
        let path = folder.path().join("book.sqlite");
        let by = By::new("Mirra", "bench 1");
        let book = Book::open(&path).unwrap();
        book.new_job(&NewJob { kind: Kind::Convert, of: None, text: "number = \"0117\"\nname = \"x\"\n" }, &by).unwrap();
        let photo = NewFile { name: "a.jpg", media_type: "image/jpeg", slot: "", personal: false, bytes: &[7; 9000] };
        book.attach("0117", &photo, &by).unwrap();
        book.set_fact("0117", "bike.usual", "174 kg", 1, &by).unwrap();
        let good = folder.path().join("good.sqlite");
        let whole = book.backup(&good, &by).unwrap();
        drop(book);
        let mut bytes = fs::read(&good).unwrap();
        for (at, change) in &places {
            let at = at.index(bytes.len());
            bytes[at] ^= change;
        }
        if let Some(keep) = keep {
            bytes.truncate(keep.index(bytes.len()));
        }
        let bad = folder.path().join("bad.sqlite");
        fs::write(&bad, &bytes).unwrap();
        if let Ok(found) = inspect(&bad) && found.faults.is_empty() {
            prop_assert_eq!(&found, &whole);
            let book = Book::open_existing(&bad).unwrap();
            prop_assert_eq!(book.text_at("0117/job", 2).unwrap(), "number = \"0117\"\nname = \"x\"\n\n[bike]\nusual = \"174 kg\"\n");
        }
        if let Ok(book) = Book::open(&bad) {
            let _ = (book.jobs(), book.job("0117"), book.history("0117"), book.attachment("0117", "a.jpg"), book.verify());
            let _ = book.set_fact("0117", "bike.usual", "175 kg", 2, &by);
            let _ = book.erase_rider("0117", &["174"], &by);
        }
        let _ = Book::restore(&bad, &good, &by);
        prop_assert_eq!(Book::restore(&path, &good, &by).unwrap().now, whole);
    }
}
