//! Killed at any moment, or out of room: every write that was confirmed is there, and nothing is half done.
//!
//! The writers are processes of their own: this test program again, told by `BOOK_WRITER` which book to write to.
//! `BOOK_KILLS=1000 cargo test -p jobbook --test crash` kills that many times.

use jobbook::{Book, By, Error, Kind, NewFile, NewJob};
use std::env;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;
use tempfile::TempDir;

const FACT: &str = "axle.left.nut_torque";
/// Kills in a usual run.
const KILLS: u64 = 60;

/// A small generator with a fixed start: the same moments are asked for in every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

fn by() -> By {
    By::new("Jossel Varn", "bench 1")
}

fn content(n: i64) -> Vec<u8> {
    let mut dice = Dice(n.unsigned_abs() + 1);
    (0..20_000 + n % 50_000).map(|_| dice.below(256) as u8).collect()
}

/// One line on standard output, whole.
fn say(line: String) {
    let mut out = std::io::stdout().lock();
    out.write_all(format!("{line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

/// What the killed process does: writes of four kinds in turn, each said on standard output once it is confirmed; with
/// `BOOK_PEOPLE` others write to facts of their own meanwhile.
#[test]
fn writer() {
    let Ok(path) = env::var("BOOK_WRITER") else { return };
    let people: usize = env::var("BOOK_PEOPLE").map_or(0, |n| n.parse().unwrap());
    let full = |e: Error| if matches!(e, Error::Full { .. }) { format!("full {e}") } else { panic!("{e}") };
    let book = match Book::open(path) {
        Ok(book) => book,
        Err(e) => return say(full(e)),
    };
    say("open".to_owned());
    if book.jobs().unwrap().is_empty() {
        let new = NewJob { kind: Kind::Convert, of: None, text: "number = \"0117\"\nname = \"Bread longtail\"\n" };
        match book.new_job(&new, &by()) {
            Ok(number) => say(format!("job {number} Bread longtail")),
            Err(e) => return say(full(e)),
        }
    }
    std::thread::scope(|scope| {
        for person in 0..people {
            let book = &book;
            scope.spawn(move || {
                for n in 0.. {
                    let from = book.job("0117").unwrap().revision;
                    match book.set_fact("0117", &format!("bike.person_{person}"), &n.to_string(), from, &by()) {
                        Ok(revision) => say(format!("own {revision} person_{person} = \"{n}\"")),
                        Err(e) => return say(full(e)),
                    }
                }
            });
        }
        alone(&book, people, full);
    });
}

fn alone(book: &Book, people: usize, full: impl Fn(Error) -> String) {
    loop {
        let from = book.job("0117").unwrap().revision;
        let done = match from % 5 {
            3 => {
                let name = format!("{from}.jpg");
                let bytes = content(from);
                let photo = NewFile { name: &name, media_type: "image/jpeg", slot: "", personal: false, bytes: &bytes };
                book.attach("0117", &photo, &by()).map(|_| say(format!("file {from}"))).and_then(|()| fact(book, from))
            }
            4 if people == 0 => {
                let last = book.document_history("0117/job").unwrap().pop().unwrap();
                let new = NewJob { kind: Kind::Sister, of: Some("0117"), text: &format!("name = \"{from}\"\n") };
                let job = book.new_job(&new, &by()).map(|number| say(format!("job {number} {from}")));
                job.and_then(|()| book.undo(last.id, &by())).map(|r| (r, "undone".to_owned()))
            }
            _ => fact(book, from),
        };
        match done {
            Ok((revision, value)) => say(format!("fact {revision} {value}")),
            Err(e) => {
                // What was confirmed can still be read, and what was refused has left nothing.
                let now = book.job("0117").unwrap().revision;
                assert!(now == from || people > 0, "{now} after {from}");
                return say(full(e));
            }
        }
    }
}

fn fact(book: &Book, from: i64) -> Result<(i64, String), Error> {
    let value = format!("{} N·m", from + 1);
    book.set_fact("0117", FACT, &value, from, &by()).map(|revision| (revision, value))
}

fn start(command: &mut Command, book: &Path) -> (Child, BufReader<ChildStdout>) {
    let command = command.args(["writer", "--exact", "--nocapture"]).env("BOOK_WRITER", book);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
    let out = BufReader::new(child.stdout.take().unwrap());
    (child, out)
}

/// Waits until the process has said so many lines of ours.
fn lines(out: &mut BufReader<ChildStdout>, said: &mut String, n: u64) {
    let ours = |said: &str| said.lines().filter(|l| !l.is_empty() && !l.starts_with("running ")).count() as u64;
    while ours(said) < n && out.read_line(said).unwrap() > 0 {}
}

/// Every line says something that must be in the book now.
fn check(book: &Book, confirmed: &str) -> usize {
    let mut checked = 0;
    let newest = book.job("0117").map_or(0, |job| job.revision);
    for line in confirmed.lines() {
        let words: Vec<&str> = line.splitn(3, ' ').collect();
        match words[..] {
            ["fact", revision, "undone"] => {
                assert!(revision.parse::<i64>().unwrap() <= newest, "{line}: newest is {newest}");
            }
            ["own", revision, line] => {
                let revision = revision.parse().unwrap();
                assert!(revision <= newest, "{line}: newest is {newest}");
                assert!(book.text_at("0117/job", revision).unwrap().contains(line), "{line}");
            }
            ["fact", revision, value] => {
                let revision = revision.parse().unwrap();
                assert!(revision <= newest, "{line}: newest is {newest}");
                let text = book.text_at("0117/job", revision).unwrap();
                assert!(text.contains(&format!("\"{value}\"")), "{line}: {text}");
            }
            ["file", n] => {
                let (_, bytes) = book.attachment("0117", &format!("{n}.jpg")).unwrap();
                assert!(bytes == content(n.parse().unwrap()), "{line}");
            }
            ["job", number, name] => assert_eq!(book.job(number).unwrap().summary.title, name),
            _ => continue,
        }
        checked += 1;
    }
    checked
}

#[test]
fn killed_at_any_moment_keeps_every_confirmed_write() {
    if env::var("BOOK_WRITER").is_ok() {
        return;
    }
    let kills: u64 = env::var("BOOK_KILLS").ok().map_or(KILLS, |n| n.parse().expect("BOOK_KILLS is a number"));
    let mut dice = Dice(0x5EED);
    let mut checked = 0;
    let mut folder = TempDir::new().unwrap();
    for round in 0..kills {
        // A new book now and then, so that making one is among the moments too.
        if round % 40 == 0 {
            folder = TempDir::new().unwrap();
        }
        let path = folder.path().join("book.sqlite");
        let people = if round % 2 == 0 { "0" } else { "4" };
        let mut command = Command::new(env::current_exe().unwrap());
        let (mut child, mut out) = start(command.env("BOOK_PEOPLE", people), &path);
        let mut confirmed = String::new();
        // Some are killed while they start, the others some writes later: at a moment between two lines, or within one.
        if round % 8 != 0 {
            lines(&mut out, &mut confirmed, 1 + dice.below(8));
        }
        sleep(Duration::from_micros(dice.below(25_000)));
        child.kill().unwrap();
        child.wait().unwrap();
        out.read_to_string(&mut confirmed).unwrap();
        if path.exists() {
            let book = Book::open(&path).unwrap();
            checked += check(&book, &confirmed);
            if round % 10 == 9 {
                assert_eq!(book.verify().unwrap().faults, Vec::<String>::new(), "after kill {round}");
            }
        }
    }
    println!("{kills} kills, {checked} confirmed writes checked");
    assert!(checked as u64 > kills / 2, "the writer hardly wrote: {checked} writes");
}

#[test]
fn out_of_room_says_so_and_keeps_every_confirmed_write() {
    if env::var("BOOK_WRITER").is_ok() {
        return;
    }
    // Limits in blocks of 512 bytes, so that each step runs out of room: log, attachment, checkpoint.
    for (blocks, people) in [(20, 0), (100, 0), (200, 0), (300, 0), (400, 5), (700, 0), (1000, 5), (1500, 0), (2000, 5)]
    {
        let folder = TempDir::new().unwrap();
        let path = folder.path().join("book.sqlite");
        let limited = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let mut shell = Command::new("sh");
        shell.args(["-c", &limited]).arg(env::current_exe().unwrap());
        shell.env("BOOK_PEOPLE", people.to_string());
        let (mut child, mut out) = start(&mut shell, &path);
        let mut confirmed = String::new();
        out.read_to_string(&mut confirmed).unwrap();
        assert!(child.wait().unwrap().success(), "{blocks} blocks");
        assert!(confirmed.contains("full No room to write"), "{blocks} blocks: {confirmed}");

        let wrote = sound(&path, &confirmed);
        println!("{blocks} blocks of room: {wrote} confirmed writes");
        assert_eq!(wrote == 0, blocks < 200, "{confirmed}");
    }
}

/// Opens what a writer without room has left, with room again.
fn sound(path: &Path, confirmed: &str) -> usize {
    let book = Book::open(path).unwrap();
    let wrote = check(&book, confirmed);
    assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
    if wrote > 0 {
        let from = book.job("0117").unwrap().revision;
        assert_eq!(fact(&book, from).unwrap().0, from + 1, "with room again it goes on");
    }
    wrote
}

#[test]
fn a_full_disk_says_so_and_keeps_every_confirmed_write() {
    if env::var("BOOK_WRITER").is_ok() {
        return;
    }
    // A small disk in memory, mounted for this process only; where the system does not let us, the limits above must do.
    let disks = "unshare --user --map-root-user --mount true";
    if !Command::new("sh").args(["-c", disks]).status().is_ok_and(|s| s.success()) {
        println!("skipped: this system mounts no disk for a usual user");
        return;
    }
    for kib in [200, 300, 500, 900, 5000] {
        let folder = TempDir::new().unwrap();
        let (disk, out_of) = (folder.path().join("disk"), folder.path().join("out"));
        std::fs::create_dir(&disk).unwrap();
        std::fs::create_dir(&out_of).unwrap();
        let script = format!(
            "set -e; mount -t tmpfs -o size={kib}k tmpfs {disk}; \"$0\" \"$@\"; cp {disk}/* {out}",
            disk = disk.display(),
            out = out_of.display()
        );
        let mut shell = Command::new("unshare");
        shell.args(["--user", "--map-root-user", "--mount", "sh", "-c", &script]).arg(env::current_exe().unwrap());
        let (mut child, mut out) = start(&mut shell, &disk.join("book.sqlite"));
        let mut confirmed = String::new();
        out.read_to_string(&mut confirmed).unwrap();
        assert!(child.wait().unwrap().success(), "{kib} KiB: {confirmed}");
        assert!(confirmed.contains("full No room to write"), "{kib} KiB: {confirmed}");
        let wrote = sound(&out_of.join("book.sqlite"), &confirmed);
        println!("disk of {kib} KiB: {wrote} confirmed writes");
        assert!(wrote > 0, "{confirmed}");
    }
}

/// What the second killed process does: large steps, again and again.
#[test]
fn mover() {
    let Ok(folder) = env::var("BOOK_MOVER") else { return };
    let folder = Path::new(&folder);
    let at = |name: &str| folder.join(name);
    for n in 0.. {
        say("restore".to_owned());
        let from = if n % 2 == 0 { "one.sqlite" } else { "two.sqlite" };
        Book::restore(&at("book.sqlite"), &at(from), &by()).unwrap();
        let _ = Book::open(at("other.sqlite")).unwrap().import(&at("one.sqlite"), None, &by()).unwrap();
    }
}

#[test]
fn killed_while_restoring_or_importing_has_the_whole_or_nothing() {
    if env::var("BOOK_MOVER").is_ok() {
        return;
    }
    let folder = TempDir::new().unwrap();
    let at = |name: &str| folder.path().join(name);
    // Two shops with the same jobs by number, and photos that take many pages.
    for (name, word) in [("one.sqlite", "one"), ("two.sqlite", "two")] {
        let book = Book::open(at("making.sqlite")).unwrap();
        for n in 0..5 {
            let text = format!("name = \"{word}\"\n");
            let number = book.new_job(&NewJob { kind: Kind::Convert, of: None, text: &text }, &by()).unwrap();
            let bytes = content(n * 10_000 + i64::from(word == "one"));
            let photo = NewFile { name: "a.jpg", media_type: "image/jpeg", slot: "", personal: false, bytes: &bytes };
            book.attach(&number, &photo, &by()).unwrap();
        }
        book.backup(&at(name), &by()).unwrap();
        drop(book);
        for ending in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(at(&format!("making.sqlite{ending}")));
        }
    }
    let kills: u64 = env::var("BOOK_KILLS").ok().map_or(KILLS, |n| n.parse().unwrap()) / 4;
    let mut dice = Dice(0xB00C);
    let mut seen = (0, 0);
    for round in 0..kills {
        let mut mover = Command::new(env::current_exe().unwrap());
        mover.args(["mover", "--exact", "--nocapture"]).env("BOOK_MOVER", folder.path());
        let mut child = mover.stdout(Stdio::piped()).spawn().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        lines(&mut out, &mut said, 1 + dice.below(3));
        sleep(Duration::from_micros(dice.below(40_000)));
        assert_eq!(child.try_wait().unwrap(), None, "still at work when it is killed");
        child.kill().unwrap();
        child.wait().unwrap();
        for name in ["book.sqlite", "other.sqlite"] {
            let book = Book::open(at(name)).unwrap();
            let jobs = book.jobs().unwrap();
            assert!([0, 5].contains(&jobs.len()), "{name} has {} jobs after kill {round}", jobs.len());
            assert!(jobs.iter().all(|job| job.title == jobs[0].title), "a mixture after kill {round}");
            assert_eq!(book.verify().unwrap().faults, Vec::<String>::new());
            match jobs.first().map(|job| job.title.as_str()) {
                Some("one") if name == "book.sqlite" => seen.0 += 1,
                Some("two") => seen.1 += 1,
                _ => {}
            }
            if round % 3 == 0 && name == "other.sqlite" {
                drop(book);
                let _ = std::fs::remove_file(at(name));
            }
        }
        // Kept copies of the books before would fill the disk.
        for entry in std::fs::read_dir(folder.path()).unwrap() {
            let path = entry.unwrap().path();
            if path.to_string_lossy().contains("before-restore") {
                std::fs::remove_file(path).unwrap();
            }
        }
    }
    assert!(seen.0 > 0 && seen.1 > 0, "{seen:?}");
}
