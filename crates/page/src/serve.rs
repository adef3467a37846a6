//! Listening, until it is told to stop.

use crate::app::App;
use crate::routes::router;
use std::net::SocketAddr;
use std::sync::Arc;

/// Why nothing is served.
#[derive(Debug)]
pub enum ServeError {
    /// Listening wider than this computer without a passphrase.
    NoPassphrase,
    /// The book cannot be read.
    Book(jobbook::Error),
    /// The address is taken, or may not be listened on.
    Listen {
        /// The address.
        address: SocketAddr,
        /// Why not.
        why: String,
    },
}

/// Serves until the program is interrupted; `ready` is told the address as soon as pages can be asked for.
///
/// # Errors
/// [`ServeError`].
pub fn serve(
    make: impl FnOnce(SocketAddr) -> Result<Arc<App>, jobbook::Error>,
    listen: SocketAddr,
    ready: impl FnOnce(SocketAddr),
) -> Result<(), ServeError> {
    let fail = |e: std::io::Error| ServeError::Listen { address: listen, why: e.to_string() };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(fail)?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind(listen).await.map_err(fail)?;
        let address = listener.local_addr().map_err(fail)?;
        let app = make(address).map_err(ServeError::Book)?;
        if app.options.wide() && app.options.passphrase.as_ref().is_none_or(|p| p.trim().is_empty()) {
            return Err(ServeError::NoPassphrase);
        }
        ready(address);
        axum::serve(listener, router(app)).with_graceful_shutdown(stop()).await.map_err(fail)
    })
}

async fn stop() {
    // A system without signals cannot interrupt; it then serves until it is killed, which the book survives.
    let interrupted = tokio::signal::ctrl_c().await;
    if interrupted.is_err() {
        std::future::pending::<()>().await;
    }
    // Open streams of news would hold the end up for ever.
    tokio::spawn(async {
        tokio::time::sleep(std::time::Duration::from_secs(1)).await;
        std::process::exit(0);
    });
}
