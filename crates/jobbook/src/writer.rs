//! The one connection that writes. People who write at the same moment share one trip to the disk: each one's write is a
//! step of a common transaction, and none of them is told "done" before it is on the disk.

use crate::error::Error;
use crate::store::{Failed, lock};
use rusqlite::Connection;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex, OnceLock, PoisonError};

/// Steps in one transaction at most, so that the first does not wait long for the last.
const MOST_STEPS: usize = 32;

/// How a common transaction ended, once it has.
type End = OnceLock<Result<(), Error>>;

struct Open {
    conn: Connection,
    /// The transaction that is open now, and its steps so far.
    common: Option<(Arc<End>, usize)>,
}

pub(crate) struct Writer {
    path: String,
    open: Mutex<Open>,
    ended: Condvar,
    /// Threads that wait for their step; each of them will join what is open, so the last one ends it.
    coming: AtomicUsize,
}

impl Writer {
    pub(crate) fn new(conn: Connection, path: &str) -> Self {
        let open = Mutex::new(Open { conn, common: None });
        Self { path: path.to_owned(), open, ended: Condvar::new(), coming: AtomicUsize::new(0) }
    }

    fn sqlite(&self, e: &rusqlite::Error) -> Error {
        Error::from_sqlite(&self.path, e)
    }

    /// All of `work` or nothing; on the disk when this returns.
    pub(crate) fn write<T>(&self, work: impl FnOnce(&Connection) -> Result<T, Failed>) -> Result<T, Error> {
        self.coming.fetch_add(1, Ordering::SeqCst);
        let mut open = lock(&self.open);
        self.coming.fetch_sub(1, Ordering::SeqCst);
        let (end, steps) = match open.common.take() {
            Some(common) => common,
            None => {
                open.conn.execute_batch("BEGIN IMMEDIATE").map_err(|e| self.sqlite(&e))?;
                (Arc::default(), 0)
            }
        };
        open.common = Some((Arc::clone(&end), steps + 1));
        let done = catch_unwind(AssertUnwindSafe(|| step(&open.conn, work)));
        let done = done.map(|result| result.map_err(|failed| failed.or(|e| self.sqlite(e))));
        // A full disk makes SQLite take back the whole transaction, the others' steps too.
        let taken_back =
            |conn: &Connection| conn.is_autocommit() || conn.execute_batch("ROLLBACK TO step; RELEASE step").is_err();
        match &done {
            Ok(Ok(_)) => self.maybe_end(&mut open),
            Ok(Err(e)) if taken_back(&open.conn) => self.end(&mut open, Err(e.clone())),
            Err(_) if taken_back(&open.conn) => self.end(&mut open, Err(Error::Busy { path: self.path.clone() })),
            _ => self.maybe_end(&mut open),
        }
        let committed = loop {
            if let Some(result) = end.get() {
                break result.clone();
            }
            open = self.ended.wait(open).unwrap_or_else(PoisonError::into_inner);
        };
        drop(open);
        match done {
            Ok(result) => committed.and(result),
            Err(panic) => resume_unwind(panic),
        }
    }

    /// Ends the common transaction unless somebody is coming who will.
    fn maybe_end(&self, open: &mut Open) {
        let steps = open.common.as_ref().map_or(0, |(_, steps)| *steps);
        if self.coming.load(Ordering::SeqCst) == 0 || steps >= MOST_STEPS {
            let committed = open.conn.execute_batch("COMMIT").map_err(|e| self.sqlite(&e));
            self.end(open, committed);
        }
    }

    fn end(&self, open: &mut Open, result: Result<(), Error>) {
        if !open.conn.is_autocommit() {
            let _ = open.conn.execute_batch("ROLLBACK");
        }
        if let Some((end, _)) = open.common.take() {
            let _ = end.set(result);
        }
        self.ended.notify_all();
    }

    /// The connection with no transaction open on it.
    pub(crate) fn alone<T>(&self, work: impl FnOnce(&mut Connection) -> T) -> T {
        let mut open = lock(&self.open);
        if open.common.is_some() {
            let committed = open.conn.execute_batch("COMMIT").map_err(|e| self.sqlite(&e));
            self.end(&mut open, committed);
        }
        work(&mut open.conn)
    }
}

fn step<T>(conn: &Connection, work: impl FnOnce(&Connection) -> Result<T, Failed>) -> Result<T, Failed> {
    conn.execute_batch("SAVEPOINT step")?;
    let done = work(conn)?;
    conn.execute_batch("RELEASE step")?;
    Ok(done)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::thread;

    /// One who is refused, or whose code panics, takes nothing back that the others wrote, and leaves nothing himself.
    #[test]
    fn steps_of_one_transaction_do_not_touch_each_other() {
        let conn = Connection::open_in_memory().unwrap();
        conn.execute_batch("CREATE TABLE t (n INTEGER)").unwrap();
        let writer = Writer::new(conn, "memory");
        let insert = |n: i64| {
            writer.write(|conn| {
                conn.execute("INSERT INTO t VALUES (?1)", [n])?;
                // Let the others come, so that they share the transaction.
                thread::yield_now();
                match n % 3 {
                    0 => Ok(n),
                    1 => Err(Error::NoChange(n).into()),
                    _ => std::panic::panic_any(n),
                }
            })
        };
        std::panic::set_hook(Box::new(|_| {}));
        thread::scope(|scope| {
            for person in 0..16 {
                let insert = &insert;
                scope.spawn(move || {
                    for n in (0..60).map(|n| person * 60 + n) {
                        match (n % 3, catch_unwind(AssertUnwindSafe(|| insert(n)))) {
                            (0, Ok(Ok(done))) => assert_eq!(done, n),
                            (1, Ok(Err(Error::NoChange(refused)))) => assert_eq!(refused, n),
                            (2, Err(_)) => {}
                            (_, other) => panic!("{n}: {:?}", other.map_err(|_| "panic")),
                        }
                    }
                });
            }
        });
        let _ = std::panic::take_hook();
        let (count, wrong): (i64, i64) = writer.alone(|conn| {
            conn.query_row("SELECT count(*), coalesce(sum(n % 3 <> 0), 0) FROM t", [], |r| Ok((r.get(0)?, r.get(1)?)))
                .unwrap()
        });
        assert_eq!((count, wrong), (16 * 20, 0));
        assert_eq!(writer.coming.load(Ordering::SeqCst), 0);
    }
}
