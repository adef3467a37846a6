//! Laws of history, undo and merging, on any order of writes.

use jobbook::{Book, By, Edit, Error, Kind, NewJob, edit, splice};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::thread;
use tempfile::TempDir;

const TEXT: &str = "number = \"0117\" # the shop's\nname = \"Bread longtail\"\n\n[bike]\na = \"1 kg\" # first\nb = \"2 kg\"\n\n\
    [axle.left]\na = \"3 mm\"\n\n[[arm]]\na = \"left\"\n";
const KEYS: [&str; 6] = ["bike.a", "bike.b", "axle.left.a", "axle.right.a", "arm.1.a", "battery.a"];

fn by(n: usize) -> By {
    By::new(["Mirra Stobel", "Jossel Varn"][n % 2], "bench 1")
}

fn start() -> (TempDir, Book) {
    // In memory where that exists: these laws are about what is written, not about the disk.
    let folder = TempDir::new_in("/dev/shm").or_else(|_| TempDir::new()).unwrap();
    let book = Book::open(folder.path().join("book.sqlite")).unwrap();
    book.new_job(&NewJob { kind: Kind::Convert, of: None, text: TEXT }, &by(0)).unwrap();
    (folder, book)
}

fn leaves(text: &str) -> BTreeMap<String, String> {
    edit::leaves(&text.parse().unwrap())
}

/// Pieces of a text, right and wrong, and of a key.
const PIECES: &[&str] = &[
    "a = 1\n",
    "a.b = \"x\"\n",
    "[a]\n",
    "[a.b]\n",
    "[[a]]\n",
    "[[a.b]]\n",
    "b = { c = 1 }\n",
    "b = [1, 2]\n",
    "b = [{ c = 1 }]\n",
    "\"q r\" = 1 # c\n",
    "[\"q r\".1]\n",
    "# c\n",
    "\n",
    "c = '''\nx\n'''\n",
    "\u{feff}",
    "\r\n",
    "=",
];
const PARTS: &[&str] = &["a", "b", "c", "1", "2", "\"q r\"", "", "é", "0"];

/// One write as a page would send it.
#[derive(Clone, Debug)]
enum Op {
    Put { key: usize, value: u8, late: u8 },
    Clear { key: usize, late: u8 },
    Text { value: u8, key: usize, late: u8 },
    Undo { back: u8 },
}

fn op() -> impl Strategy<Value = Op> {
    let (key, late) = (0..KEYS.len(), 0u8..4);
    prop_oneof![
        4 => (key.clone(), 0u8..5, late.clone()).prop_map(|(key, value, late)| Op::Put { key, value, late }),
        1 => (key.clone(), late.clone()).prop_map(|(key, late)| Op::Clear { key, late }),
        1 => (0u8..5, key, late).prop_map(|(value, key, late)| Op::Text { value, key, late }),
        2 => (0u8..6).prop_map(|back| Op::Undo { back }),
    ]
}

/// Sends it, as somebody would who saw the job `late` changes ago.
fn send(book: &Book, op: &Op, n: usize) -> Result<i64, Error> {
    let now = book.job("0117").unwrap().revision;
    let from = |late: &u8| (now - i64::from(*late)).max(1);
    match op {
        Op::Put { key, value, late } => book.set_fact("0117", KEYS[*key], &format!("{value} µ"), from(late), &by(n)),
        Op::Clear { key, late } => book.clear_fact("0117", KEYS[*key], from(late), &by(n)),
        Op::Text { value, key, late } => {
            let seen = book.text_at("0117/job", from(late)).unwrap();
            let edits = [Edit::put(KEYS[*key], format!("{value} λ"))];
            let text = edit::apply(&seen, &edits).unwrap() + &format!("# {value}\n");
            book.replace_text("0117", &text, from(late), &by(n))
        }
        Op::Undo { back } => {
            let history = book.history("0117").unwrap();
            let at = history.len().saturating_sub(1 + usize::from(*back));
            book.undo(history[at].id, &by(n))
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    /// Whatever was written, refused, merged or undone: history leads to the text, in both directions, and a refused
    /// write changes nothing.
    #[test]
    fn history_replayed_gives_every_text(ops in prop::collection::vec(op(), 1..25)) {
        let (_folder, book) = start();
        let mut texts = vec![String::new(), TEXT.to_owned()];
        for (n, op) in ops.iter().enumerate() {
            let before = book.job("0117").unwrap();
            let sent = send(&book, op, n);
            let after = book.job("0117").unwrap();
            match sent {
                Ok(revision) => {
                    prop_assert!(revision >= before.revision && revision <= before.revision + 1);
                    prop_assert_eq!(revision, after.revision);
                    if revision > before.revision {
                        texts.push(after.text.clone());
                    }
                }
                Err(Error::Conflict(_) | Error::Start(_) | Error::NoPlace { .. }) => prop_assert_eq!(&after, &before),
                Err(e) => prop_assert!(false, "{}", e),
            }
        }
        for (revision, text) in texts.iter().enumerate() {
            prop_assert_eq!(&book.text_at("0117/job", revision as i64).unwrap(), text);
        }
        prop_assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
    }

    /// Undo gives the text of before to the byte; undo of the undo the text of after.
    #[test]
    fn undo_of_undo_is_the_change(ops in prop::collection::vec(op(), 1..8)) {
        let (_folder, book) = start();
        for (n, op) in ops.iter().enumerate() {
            let before = book.job("0117").unwrap();
            let Ok(revision) = send(&book, op, n) else { continue };
            if revision == before.revision {
                continue;
            }
            let after = book.job("0117").unwrap();
            let last = || book.document_history("0117/job").unwrap().pop().unwrap();
            let change = last();
            book.undo(change.id, &by(n)).unwrap();
            prop_assert_eq!(&book.job("0117").unwrap().text, &before.text);
            let undo = last();
            prop_assert_eq!(undo.undoes, Some(change.id));
            book.undo(undo.id, &by(n)).unwrap();
            prop_assert_eq!(&book.job("0117").unwrap().text, &after.text);
        }
    }

    /// Two people who both saw the same: what comes out has both changes, whoever was first; or the later one is told
    /// of every fact that both changed, and of no other.
    #[test]
    fn two_people_lose_nothing(
        mine in prop::collection::btree_map(0..KEYS.len(), prop::option::of(0u8..3), 1..4),
        theirs in prop::collection::btree_map(0..KEYS.len(), prop::option::of(0u8..3), 1..4),
        whole in any::<bool>(),
    ) {
        let edits = |side: &BTreeMap<usize, Option<u8>>| -> Vec<Edit> {
            side.iter().map(|(key, value)| match value {
                Some(v) => Edit::put(KEYS[*key], format!("{v} µ")),
                None => Edit::remove(KEYS[*key]),
            }).collect()
        };
        let (_folder, book) = start();
        let base = leaves(TEXT);
        let (my_text, their_text) = (edit::apply(TEXT, &edits(&mine)).unwrap(), edit::apply(TEXT, &edits(&theirs)).unwrap());
        let (my_leaves, their_leaves) = (leaves(&my_text), leaves(&their_text));
        book.set_values("0117/job", &edits(&theirs), 1, &by(0)).unwrap();
        let sent = if whole {
            book.replace_text("0117", &my_text, 1, &by(1))
        } else {
            book.set_values("0117/job", &edits(&mine), 1, &by(1))
        };
        let now = leaves(&book.job("0117").unwrap().text);
        let differs = |a: &BTreeMap<String, String>, b: &BTreeMap<String, String>, k: &str| a.get(k) != b.get(k);
        match sent {
            Ok(_) => for key in KEYS {
                let (by_me, by_them) = (differs(&my_leaves, &base, key), differs(&their_leaves, &base, key));
                let want = if by_me { &my_leaves } else { &their_leaves };
                prop_assert!(!(by_me && by_them && differs(&my_leaves, &their_leaves, key)), "{} lost", key);
                prop_assert_eq!(now.get(key), want.get(key), "{}", key);
            },
            Err(Error::Conflict(c)) => {
                prop_assert_eq!(&now, &their_leaves, "a refused write changes nothing");
                for clash in &c.clashes {
                    // A value that I wrote again as it was is a wish too, if it was sent by itself.
                    let wished = !whole && mine.keys().any(|k| KEYS[*k] == clash.key);
                    prop_assert!(differs(&their_leaves, &base, &clash.key));
                    prop_assert!(wished || differs(&my_leaves, &base, &clash.key), "{:?}", clash);
                    prop_assert_eq!(clash.who.as_str(), "Mirra Stobel");
                }
                prop_assert!(whole || !c.clashes.is_empty());
            }
            Err(e) => prop_assert!(false, "{}", e),
        }
    }

}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, ..ProptestConfig::default() })]

    #[test]
    fn a_splice_goes_both_ways(before in "[aé€·\n]{0,12}", after in "[aé€·\n]{0,12}") {
        let step = splice::between(&before, &after);
        prop_assert_eq!(step.apply(&before), Some(after.clone()));
        prop_assert_eq!(step.revert(&after), Some(before));
    }

    /// Any text and any key give an error or a text in which the value stands, and it can be taken out again.
    #[test]
    fn any_key_in_any_text_is_written_or_refused(
        pieces in prop::collection::vec(prop::sample::select(PIECES), 0..8),
        key in prop::collection::vec(prop::sample::select(PARTS), 1..4),
    ) {
        let (text, key) = (pieces.concat(), key.join("."));
        let Ok(after) = edit::apply(&text, &[Edit::put(&key, "new")]) else { return Ok(()) };
        let doc = after.parse().unwrap();
        prop_assert_eq!(edit::plain(&doc, &key), Some("new".to_owned()), "{:?} in {:?} gave {:?}", key, text, after);
        let without = edit::apply(&after, &[Edit::remove(&key)]).unwrap();
        prop_assert_eq!(edit::plain(&without.parse().unwrap(), &key), None);
    }

    /// A written value is read back, and no other value and no comment changes.
    #[test]
    fn a_value_is_read_back(key in 0..KEYS.len(), value in any::<String>()) {
        let after = edit::apply(TEXT, &[Edit::put(KEYS[key], value.as_str())]).unwrap();
        let doc = after.parse().unwrap();
        prop_assert_eq!(edit::plain(&doc, KEYS[key]), Some(value));
        let (was, mut is) = (leaves(TEXT), edit::leaves(&doc));
        is.remove(KEYS[key]);
        for (key, value) in was.iter().filter(|(k, _)| *k != KEYS[key]) {
            prop_assert_eq!(is.get(key), Some(value));
        }
        prop_assert!(after.contains("# the shop's") && after.contains("# first"));
    }
}

/// One person on four devices and two connections writes to one fact, each time from what that device saw: every confirmed value stands in history, and
/// nothing was overwritten that had not been seen there. Facts that only one device writes never clash.
#[test]
fn no_device_overwrites_what_it_has_not_seen() {
    const EACH: usize = 25;
    let (folder, one) = start();
    let two = Book::open(folder.path().join("book.sqlite")).unwrap();
    let people: Vec<By> = (0..4).map(|n| By::new("Mirra Stobel", &format!("bench {n}"))).collect();
    let write = |person: usize| {
        let by = &people[person];
        let book = if person.is_multiple_of(2) { &one } else { &two };
        let mut written = Vec::new();
        for n in 0..EACH {
            let seen = book.job("0117").unwrap().revision;
            let own = format!("axle.left.person_{person}");
            book.set_fact("0117", &own, &n.to_string(), seen, by).expect("my own fact");
            loop {
                let seen = book.job("0117").unwrap().revision;
                let value = format!("{person}-{n}");
                match book.set_fact("0117", "bike.a", &value, seen, by) {
                    Ok(revision) => break written.push((seen, revision, value)),
                    Err(Error::Conflict(_)) => {}
                    Err(e) => panic!("{e}"),
                }
            }
        }
        written
    };
    let write = &write;
    let written: Vec<_> = thread::scope(|scope| {
        let people: Vec<_> = (0..people.len()).map(|person| scope.spawn(move || write(person))).collect();
        people.into_iter().flat_map(|person| person.join().unwrap()).collect()
    });
    let history = one.document_history("0117/job").unwrap();
    let shared: BTreeMap<i64, String> = history
        .iter()
        .flat_map(|c| c.values.iter().map(move |v| (c.revision, v)))
        .filter(|(revision, v)| *revision > 1 && v.key == "bike.a")
        .map(|(revision, v)| (revision, v.after.clone().unwrap()))
        .collect();
    assert_eq!(shared.len(), 4 * EACH);
    for (seen, revision, value) in written {
        assert_eq!(shared[&revision], value);
        assert_eq!(shared.range(seen + 1..revision).count(), 0, "{value} has overwritten something unseen");
    }
    assert_eq!(history.len(), 1 + 8 * EACH);
    assert_eq!(two.verify().unwrap().faults, Vec::<String>::new());
}
