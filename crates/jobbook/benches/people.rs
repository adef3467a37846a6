//! Twenty people at once on a book with a thousand jobs: `cargo bench -p jobbook`.
//! Beside it, in the same run: one bare row written by SQLite with the same settings, which is mostly the disk.

use jobbook::{Book, By, Kind, NewJob};
use std::hint::black_box;
use std::sync::Mutex;
use std::thread;
use std::time::{Duration, Instant};
use tempfile::TempDir;

const JOBS: usize = 1000;
const PEOPLE: usize = 20;
const EACH: usize = 30;
const LONG_HISTORY: usize = 300;

fn line(name: &str, mut times: Vec<Duration>) {
    times.sort();
    let ms = |share: f64| times[((times.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    println!("{name:<44} median {:>8.2} ms   99 % below {:>8.2} ms   n {}", ms(0.5), ms(0.99), times.len());
}

fn timed<T>(n: usize, mut work: impl FnMut() -> T) -> Vec<Duration> {
    let one = |_| {
        let begin = Instant::now();
        black_box(work());
        begin.elapsed()
    };
    (0..n).map(one).collect()
}

fn main() {
    let folder = TempDir::new().expect("a folder");
    let path = folder.path().join("book.sqlite");
    let text = include_str!("../../../demo/0117-bread-longtail.toml").replace("\"0117\"", "\"0000\"");
    let by = By::new("Mirra Stobel", "bench 2");
    let book = Book::open(&path).expect("a new book");
    for _ in 0..JOBS {
        book.new_job(&NewJob { kind: Kind::Convert, of: None, text: &text }, &by).expect("a job");
    }
    for n in 0..LONG_HISTORY {
        let from = book.job("0001").expect("a job").revision;
        book.set_fact("0001", "axle.left.nut_torque", &format!("{n} N·m"), from, &by).expect("a write");
    }
    println!("{JOBS} jobs, {PEOPLE} people, {} KiB", std::fs::metadata(&path).map_or(0, |m| m.len() / 1024));

    line("open", timed(20, || Book::open(&path).expect("the book")));
    line("list of all jobs", timed(50, || book.jobs().expect("the list")));
    line("one job", timed(200, || book.job("0500").expect("a job")));
    line(&format!("history of {LONG_HISTORY} changes"), timed(20, || book.history("0001").expect("history")));
    line("find a word in all jobs", timed(5, || book.find(&["pinching"]).expect("hits")));
    line("verify", timed(1, || book.verify().expect("read")));
    line("backup", timed(1, || book.backup(&folder.path().join("backup.sqlite"), &by).expect("a backup")));

    let (reads, writes) = (Mutex::new(Vec::new()), Mutex::new(Vec::new()));
    thread::scope(|scope| {
        for person in 0..PEOPLE {
            let (book, by, reads, writes) = (&book, &by, &reads, &writes);
            scope.spawn(move || {
                let number = format!("{:04}", person / 2 + 10);
                for n in 0..EACH {
                    let begin = Instant::now();
                    let from = book.job(&number).expect("a job").revision;
                    let read = begin.elapsed();
                    let key = format!("bike.person_{person}");
                    let begin = Instant::now();
                    book.set_fact(&number, &key, &n.to_string(), from, by).expect("a fact of my own");
                    writes.lock().expect("no panic").push(begin.elapsed());
                    reads.lock().expect("no panic").push(read);
                }
            });
        }
    });
    line("read a job, 20 people at once", reads.into_inner().expect("no panic"));
    line("write a fact, 20 people at once", writes.into_inner().expect("no panic"));
    line("write a fact, alone", {
        let mut n = 0;
        timed(200, || {
            n += 1;
            let from = book.job("0500").expect("a job").revision;
            book.set_fact("0500", "axle.left.nut_torque", &format!("{n} N·m"), from, &by).expect("a write")
        })
    });

    let bare = rusqlite::Connection::open(folder.path().join("bare.sqlite")).expect("a file");
    bare.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a TEXT)")
        .expect("a table");
    line(
        "bare SQLite: one row, alone",
        timed(200, || bare.execute("INSERT INTO t VALUES ('72 N·m')", []).expect("a row")),
    );
}
