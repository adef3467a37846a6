//! The workbench in a browser: opens the book, says where it listens.

use crate::output::{self, Exit};
use jobbook::{Book, By, Kind, NewJob};
use page::{App, Options, ServeError};
use std::net::SocketAddr;
use std::path::PathBuf;
use workbench::words::{fill, text};

/// The demo shop: five bikes of an invented place, and its tools.
const DEMO_JOBS: [&str; 5] = [
    include_str!("../../../demo/0126-second-hauler.toml"),
    include_str!("../../../demo/0124-compact-hauler.toml"),
    include_str!("../../../demo/0121-folding-commuter.toml"),
    include_str!("../../../demo/0109-bread-longtail-as-found.toml"),
    include_str!("../../../demo/0117-bread-longtail.toml"),
];
const DEMO_RACK: &str = include_str!("../../../demo/rack.toml");
const DEMO_SHELF: &str = include_str!("../../../demo/shelf.toml");
const DEMO_PRICES: &str = include_str!("../../../demo/prices.toml");

/// What was asked for.
pub struct Wanted {
    /// The book; the usual place where it is empty.
    pub book: String,
    /// The demo shop instead of a book.
    pub demo: bool,
    /// Where to listen.
    pub listen: String,
    /// Names by which it may be called.
    pub hosts: Vec<String>,
    /// File with the passphrase.
    pub passphrase_file: Option<String>,
}

/// Serves until interrupted.
pub fn run(wanted: &Wanted) -> Exit {
    let no = |key: &str, values: &[(&str, &str)]| {
        output::talk(&fill(key, values));
        Exit::BadInput
    };
    let Ok(listen) = wanted.listen.parse::<SocketAddr>() else {
        return no("serve.bad-address", &[("address", &wanted.listen)]);
    };
    let wide = !listen.ip().is_loopback() || !wanted.hosts.is_empty();
    let passphrase = match &wanted.passphrase_file {
        Some(path) => match std::fs::read_to_string(path) {
            Ok(text) => Some(text.trim().to_owned()),
            Err(e) => return no("app.no-file", &[("path", path), ("why", &e.to_string())]),
        },
        None if wide => Some(page::new_passphrase()),
        None => None,
    };
    let folder = match tempfile::tempdir() {
        Ok(folder) => folder,
        Err(e) => return no("app.no-file", &[("path", "temp"), ("why", &e.to_string())]),
    };
    let path = if wanted.demo { folder.path().join("demo.book") } else { PathBuf::from(&wanted.book) };
    let book =
        match Book::open(&path).and_then(|book| if wanted.demo { fill_demo(&book).map(|()| book) } else { Ok(book) }) {
            Ok(book) => book,
            Err(e) => {
                output::talk(&fill("serve.no-book", &[("why", &e.to_string())]));
                return Exit::BadInput;
            }
        };
    let secret = passphrase.clone();
    let make = |address: SocketAddr| {
        App::new(book, Options { listen: address, hosts: wanted.hosts.clone(), passphrase, demo: wanted.demo })
    };
    let ready = |address: SocketAddr| {
        let host = if address.ip().is_unspecified() { "localhost".to_owned() } else { address.ip().to_string() };
        let host = if address.is_ipv6() && host != "localhost" { format!("[{host}]") } else { host };
        output::data(&fill("serve.ready", &[("address", &format!("http://{host}:{}/", address.port()))]));
        if let Some(p) = secret.filter(|_| wide && wanted.passphrase_file.is_none()) {
            output::talk(&fill("serve.passphrase", &[("passphrase", &p)]));
        }
    };
    match page::serve(make, listen, ready) {
        Ok(()) => Exit::Holds,
        Err(ServeError::NoPassphrase) => no("serve.no-passphrase", &[]),
        Err(ServeError::Book(e)) => no("serve.no-book", &[("why", &e.to_string())]),
        Err(ServeError::Listen { address, why }) => {
            no("serve.no-listen", &[("address", &address.to_string()), ("why", &why)])
        }
    }
}

fn fill_demo(book: &Book) -> Result<(), jobbook::Error> {
    let by = By::new("Mirra Stobel", &text("page.this-device"));
    book.set_document("rack", DEMO_RACK, 0, &by)?;
    book.set_document("shelf", DEMO_SHELF, 0, &by)?;
    book.set_document("prices", DEMO_PRICES, 0, &by)?;
    for job in DEMO_JOBS {
        let kind = if job.contains("number = \"0109\"") { Kind::FoundLocked } else { Kind::Convert };
        book.new_job(&NewJob { kind, of: None, text: job }, &by)?;
    }
    Ok(())
}
