//! The job book on the command line.

mod command;
mod print;

pub use command::command;

use crate::output::{self, Exit};
use clap::ArgMatches;
use jobbook::{Book, By, Edit, Error, Kind, LARGEST_FILE, NewFile, NewJob, Timestamp};
use std::path::{Path, PathBuf};
use workbench::words;

/// Where the book stands if nobody says otherwise: in the person's data folder.
///
/// # Errors
/// If this account has no such folder.
pub fn default_path() -> Result<PathBuf, Failed> {
    use etcetera::BaseStrategy;
    let base = etcetera::choose_base_strategy().map_err(|_| Failed::Said(words::text("book.say.no-folder")))?;
    Ok(base.data_dir().join("backdrive").join("book.sqlite"))
}

/// Why a command did not do what it was told.
pub enum Failed {
    /// The book says why.
    Book(Error),
    /// Already put in words.
    Said(String),
}

impl From<Error> for Failed {
    fn from(e: Error) -> Self {
        Self::Book(e)
    }
}

/// Runs `backdrive book …`.
pub fn run(matches: &ArgMatches) -> Exit {
    match carry_out(matches) {
        Ok(exit) => exit,
        Err(Failed::Said(text)) => {
            // The readers' own list of errors begins like this already.
            output::talk(&if text.starts_with("error: ") { text } else { format!("error: {text}") });
            Exit::BadInput
        }
        Err(Failed::Book(e)) => {
            output::talk(&format!("error: {e}"));
            match e {
                Error::Conflict(_) => Exit::DoesNotHold,
                e if e.is_input() => Exit::BadInput,
                _ => Exit::OurFault,
            }
        }
    }
}

fn word<'a>(m: &'a ArgMatches, name: &str) -> &'a str {
    m.get_one::<String>(name).map_or("", String::as_str)
}

fn list<'a>(m: &'a ArgMatches, name: &str) -> Vec<&'a str> {
    m.get_many::<String>(name).map(|v| v.map(String::as_str).collect()).unwrap_or_default()
}

fn say(key: &str, values: &[(&str, &str)]) {
    output::talk(&words::fill(&format!("book.say.{key}"), values));
}

/// Who writes: `--who`, else the account's name.
fn by(m: &ArgMatches) -> By {
    let account = || ["USER", "LOGNAME", "USERNAME"].into_iter().find_map(|name| std::env::var(name).ok());
    let who = Some(word(m, "who").to_owned()).filter(|who| !who.is_empty()).or_else(account).unwrap_or_default();
    By::new(&who, &words::text("book.say.device"))
}

fn carry_out(matches: &ArgMatches) -> Result<Exit, Failed> {
    let Some((name, m)) = matches.subcommand() else { return Ok(Exit::BadInput) };
    let path = match word(matches, "book") {
        "" => default_path()?,
        given => PathBuf::from(given),
    };
    let by = by(matches);
    let format = || word(m, "format");
    // These make a book where there is none; all others want one.
    let there = || match Book::open_existing(&path) {
        Err(Error::Missing(path)) => Err(Failed::Said(words::fill("book.say.no-book", &[("path", &path)]))),
        other => other.map_err(Failed::from),
    };
    match name {
        "add" => return add(&Book::open(&path)?, m, &by),
        "import" => {
            let new = Some(word(m, "as")).filter(|new| !new.is_empty());
            for job in Book::open(&path)?.import(Path::new(word(m, "file")), new, &by)? {
                say(if job.was_there { "was-there" } else { "imported" }, &[("number", &job.number)]);
            }
        }
        "restore" => {
            let done = Book::restore(&path, Path::new(word(m, "file")), &by)?;
            if let Some(before) = done.before {
                say("kept-before", &[("path", &before.display().to_string())]);
            }
            for number in done.erased_again {
                say("erased-again", &[("number", &number)]);
            }
            output::talk(&print::verified("restored", &done.now));
        }
        "list" => output::data(&print::jobs(&there()?.jobs()?, word(m, "stage"), format())),
        "find" => {
            let hits = there()?.find(&list(m, "words"))?;
            output::data(&print::hits(&hits, format()));
            return Ok(if hits.is_empty() { Exit::DoesNotHold } else { Exit::Holds });
        }
        "show" => show(&there()?, m)?,
        "history" => output::data(&print::history(&there()?.history(word(m, "number"))?, format())),
        "set" => {
            let book = there()?;
            let revision = set(&book, m, &by)?;
            say("written", &[("number", word(m, "number")), ("revision", &revision.to_string())]);
        }
        "undo" => {
            let change = m.get_one::<i64>("change").copied().unwrap_or_default();
            let revision = there()?.undo(change, &by)?;
            say("undone", &[("change", &change.to_string()), ("revision", &revision.to_string())]);
        }
        "attach" => attach(&there()?, m, &by)?,
        "fetch" => {
            let (file, bytes) = there()?.attachment(word(m, "number"), word(m, "name"))?;
            write_new(Path::new(word(m, "to")), &bytes)?;
            say("fetched", &[("path", word(m, "to")), ("sha256", &file.sha256)]);
        }
        "export" => {
            let to = Path::new(word(m, "to"));
            there()?.export(&list(m, "numbers"), !m.get_flag("without-rider"), to, &by)?;
            say("exported", &[("path", word(m, "to")), ("n", &list(m, "numbers").len().to_string())]);
        }
        "backup" => {
            let book = there()?;
            let to = match word(m, "to") {
                "" => {
                    let now = Timestamp::now().strftime("%Y%m%dT%H%M%SZ");
                    path.with_file_name(format!("backup-{now}.sqlite"))
                }
                to => PathBuf::from(to),
            };
            let made = book.backup(&to, &by)?;
            output::data(&to.display().to_string());
            output::talk(&print::verified("backed-up", &made));
        }
        "verify" => return verify(&path, word(m, "file"), format()),
        "erase-rider" => return erase(&there()?, m, &by),
        _ => return Ok(Exit::BadInput),
    }
    Ok(Exit::Holds)
}

/// Writes one value, unless the job file would get worse by it.
fn set(book: &Book, m: &ArgMatches, by: &By) -> Result<i64, Failed> {
    let (number, key, value) = (word(m, "number"), word(m, "key"), word(m, "value"));
    let job = book.job(number)?;
    // `one_in` and such are no texts: they stay what they were.
    let literal = jobbook::edit::parse(&job.text).ok().and_then(|doc| jobbook::edit::literal(&doc, key));
    let is_text = literal.is_none_or(|literal| literal.starts_with(['"', '\'']));
    let edit = match value {
        "" => Edit::remove(key),
        value if is_text => Edit::put(key, value),
        value => Edit { key: key.to_owned(), value: Some(value.parse().unwrap_or_else(|_| value.into())) },
    };
    if let Ok(after) = jobbook::edit::apply(&job.text, std::slice::from_ref(&edit)) {
        let shop = shop(book)?;
        let errors = |text: &str| intake::read_job(text, &shop).err().unwrap_or_default();
        let found = errors(&after);
        if found.len() > errors(&job.text).len() {
            return Err(Failed::Said(intake::render(number, &after, &found)));
        }
    }
    let from = m.get_one::<i64>("from").copied().unwrap_or(job.revision);
    Ok(book.set_values(&format!("{number}/job"), &[edit], from, by)?)
}

/// Takes job files in. A file that the checker would refuse is refused here too, with the same words.
fn add(book: &Book, m: &ArgMatches, by: &By) -> Result<Exit, Failed> {
    let kind = Kind::read(word(m, "kind"))?;
    let of = Some(word(m, "of")).filter(|of| !of.is_empty());
    for path in list(m, "files") {
        if let Err(exit) = crate::load(path) {
            return Ok(exit);
        }
        let text = std::fs::read_to_string(path).map_err(|e| no_file(path, &e))?;
        keep_shop(book, Path::new(path), &text, by)?;
        let number = book.new_job(&NewJob { kind, of, text: &text }, by)?;
        output::data(&number);
    }
    Ok(Exit::Holds)
}

/// The tool rack and house rules that the job names are kept as the shop's, if the shop has none yet.
fn keep_shop(book: &Book, path: &Path, text: &str, by: &By) -> Result<(), Failed> {
    let Ok(doc) = jobbook::edit::parse(text) else { return Ok(()) };
    for what in ["rack", "rules"] {
        let Some(name) = jobbook::edit::plain(&doc, what) else { continue };
        let beside = path.with_file_name(&name).display().to_string();
        let text = std::fs::read_to_string(&beside).map_err(|e| no_file(&beside, &e))?;
        let values = [("path", beside.as_str()), ("what", &words::text(&format!("book.say.{what}")))];
        match book.document(what)? {
            None => {
                book.set_document(what, &text, 0, by)?;
                say("shop", &values);
            }
            Some(there) if there.text != text => say("other-shop", &values),
            Some(_) => {}
        }
    }
    Ok(())
}

/// The shop's tool rack and house rules, as its jobs are read with them.
///
/// # Errors
/// If one of them cannot be used.
pub fn shop(book: &Book) -> Result<intake::Shop, Failed> {
    fn read<T: Default>(
        book: &Book,
        name: &str,
        read: impl Fn(&str) -> Result<T, Vec<intake::Diagnostic>>,
    ) -> Result<T, Failed> {
        let Some(document) = book.document(name)? else { return Ok(T::default()) };
        read(&document.text).map_err(|errors| Failed::Said(intake::render(name, &document.text, &errors)))
    }
    Ok(intake::Shop { rack: read(book, "rack", intake::read_rack)?, rules: read(book, "rules", intake::read_rules)? })
}

fn no_file(path: &str, e: &std::io::Error) -> Failed {
    Failed::Said(words::fill("book.say.no-file", &[("path", path), ("why", &e.to_string())]))
}

/// Writes a file that is not there yet.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failed> {
    use std::io::Write;
    let mut options = std::fs::OpenOptions::new();
    let written = options.write(true).create_new(true).open(path).and_then(|mut file| file.write_all(bytes));
    written.map_err(|e| no_file(&path.display().to_string(), &e))
}

fn show(book: &Book, m: &ArgMatches) -> Result<(), Failed> {
    let number = word(m, "number");
    let job = book.job(number)?;
    let text = match m.get_one::<i64>("revision") {
        Some(revision) => book.text_at(&format!("{number}/job"), *revision)?,
        None => job.text.clone(),
    };
    match word(m, "format") {
        "toml" => output::data(&text),
        format => output::data(&print::job(&job, &text, &book.attachments(number)?, format)),
    }
    Ok(())
}

fn attach(book: &Book, m: &ArgMatches, by: &By) -> Result<(), Failed> {
    let path = Path::new(word(m, "file"));
    let fail = |e: std::io::Error| no_file(&path.display().to_string(), &e);
    let size_bytes = std::fs::metadata(path).map_err(fail)?.len() as usize;
    if size_bytes > LARGEST_FILE {
        let what = path.display().to_string();
        return Err(Error::TooLarge { what, size_bytes, most_bytes: LARGEST_FILE }.into());
    }
    let bytes = std::fs::read(path).map_err(fail)?;
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let media_type = match path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase().as_str() {
        "jpg" | "jpeg" => "image/jpeg",
        "png" => "image/png",
        "webp" => "image/webp",
        "pdf" => "application/pdf",
        "csv" => "text/csv",
        "txt" | "log" => "text/plain",
        _ => "application/octet-stream",
    };
    let file = NewFile { name, media_type, slot: word(m, "slot"), personal: m.get_flag("personal"), bytes: &bytes };
    let kept = book.attach(word(m, "number"), &file, by)?;
    say("attached", &[("name", &kept.name), ("sha256", &kept.sha256)]);
    Ok(())
}

fn verify(path: &Path, file: &str, format: &str) -> Result<Exit, Failed> {
    let found = if file.is_empty() { Book::open_existing(path)?.verify()? } else { jobbook::inspect(Path::new(file))? };
    output::data(&print::verified_as(&found, format));
    Ok(if found.faults.is_empty() { Exit::Holds } else { Exit::DoesNotHold })
}

fn erase(book: &Book, m: &ArgMatches, by: &By) -> Result<Exit, Failed> {
    let number = word(m, "number");
    book.job(number)?;
    if !m.get_flag("yes") {
        say("erase-sure", &[("number", number)]);
        return Ok(Exit::BadInput);
    }
    let done = book.erase_rider(number, &list(m, "also"), by)?;
    for document in done.documents.iter().chain(&done.files) {
        output::data(document);
    }
    say(if done.log_emptied { "erased" } else { "erased-log" }, &[("number", number)]);
    Ok(Exit::Holds)
}
