//! What all requests share.

use crate::answer::Answers;
use crate::pair::Sessions;
use crate::rides::Rides;
use jobbook::{Book, Error};
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::sync::broadcast;

/// How the workbench is served.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where it listens.
    pub listen: SocketAddr,
    /// Names by which it may be called besides its own address.
    pub hosts: Vec<String>,
    /// What opens it from another device; must be there when it listens wider than this computer.
    pub passphrase: Option<String>,
    /// The demo shop: a banner on every page.
    pub demo: bool,
}

impl Options {
    /// Whether anybody else than this computer can reach it.
    pub fn wide(&self) -> bool {
        !self.listen.ip().is_loopback() || !self.hosts.is_empty()
    }
}

/// Somebody changed something.
#[derive(Clone, Debug)]
pub struct News {
    /// The job, or nothing for the shop's own pages.
    pub job: String,
    /// What the page should do: the newest revision.
    pub revision: i64,
    /// Who.
    pub who: String,
    /// Where.
    pub device: String,
    /// Change id, so that a page knows its own.
    pub change: String,
}

/// The running workbench.
pub struct App {
    /// The job book.
    pub book: Book,
    /// Results, kept by the text that they came from.
    pub answers: Answers,
    /// Rides that are being worked out, and those that were.
    pub rides: Rides,
    /// Photos made small.
    pub small: crate::small::Small,
    /// Paired devices.
    pub sessions: Sessions,
    /// How it is served.
    pub options: Options,
    /// What changes, as it changes.
    pub news: broadcast::Sender<News>,
}

impl App {
    /// A workbench on that book.
    ///
    /// # Errors
    /// If the book cannot be read.
    pub fn new(book: Book, options: Options) -> Result<Arc<Self>, Error> {
        let (news, _) = broadcast::channel(64);
        let sessions = Sessions::from_book(&book)?;
        Ok(Arc::new(Self {
            book,
            answers: Answers::default(),
            rides: Rides::default(),
            small: crate::small::Small::default(),
            sessions,
            options,
            news,
        }))
    }

    /// Tells every open page.
    pub fn tell(&self, news: News) {
        // Nobody listening is no fault.
        let _ = self.news.send(news);
    }
}
