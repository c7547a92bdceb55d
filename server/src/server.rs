//! The whole server from its parts: `run(entrance, store, clock, ready, shutdown)`. Whoever calls it
//! builds these.

use std::future::Future;
use std::sync::Arc;

use crate::clock::Clock;
use crate::ledger::{LedgerError, Store, Writer};
use crate::live::Hub;
use crate::metrics::Metrics;
use crate::review;
use crate::secret::JoinCodes;
use crate::shelf::Shelf;
use crate::web;

/// Why the server could not start or go on.
#[derive(Debug)]
pub enum ServerError {
    /// The ledger.
    Ledger(LedgerError),
    /// The listener.
    Listener(std::io::Error),
    /// The system's randomness.
    Randomness(getrandom::Error),
}

impl std::fmt::Display for ServerError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Ledger(error) => error.fmt(f),
            Self::Listener(error) => write!(f, "the address cannot be served: {error}"),
            Self::Randomness(error) => write!(f, "the system has no randomness to give: {error}"),
        }
    }
}

impl std::error::Error for ServerError {}

impl From<LedgerError> for ServerError {
    fn from(error: LedgerError) -> Self {
        Self::Ledger(error)
    }
}

/// What is known once the server is ready, for whoever greets the person at the console.
#[derive(Debug, Clone)]
pub struct Ready {
    /// The first join code.
    pub join_code: String,
    /// Where the next ones are asked for.
    pub join_codes: Arc<JoinCodes>,
    /// How many codes go on from before.
    pub running: usize,
    /// Protocol files that could not be used, with the reason.
    pub unusable: Vec<String>,
}

/// Serves until `shutdown` resolves, and then until everything taken is on disk.
///
/// # Errors
/// If the ledger or the listener cannot be used.
pub async fn run(
    entrance: web::Entrance,
    store: Store,
    clock: Clock,
    ready: impl FnOnce(&Ready),
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServerError> {
    let (store, clock, metrics) = (Arc::new(store), Arc::new(clock), Arc::new(Metrics::default()));
    // Nobody can connect before the run is raised durably.
    let run = store.raise_run(&clock).await?;
    let shelf = Shelf::with_local(store.folder());
    let unusable = shelf.unusable().iter().map(|file| format!("{}: {}", file.file.display(), file.problem)).collect();
    store.age_lines(&review::line::made_by()).await?;
    let (writer, writing) = Writer::start(Arc::clone(&store), Arc::clone(&clock), Arc::clone(&metrics)).await?;
    let reader = store.reader().clone();
    let hub = Hub::start(clock, writer.clone(), reader, shelf, run, metrics).await?;
    review::line::start_keeping(&hub);
    let join_codes = Arc::new(JoinCodes::new().map_err(ServerError::Randomness)?);
    let join_code = join_codes.current().0;
    ready(&Ready { join_code, join_codes: Arc::clone(&join_codes), running: hub.counts().0, unusable });
    let served = web::serve(entrance, hub, join_codes, shutdown).await;
    // Rooms may hold the writer for a little longer; what they handed in before this is on disk after it.
    writer.flush().await;
    drop(writer);
    writing.abort();
    served.map_err(ServerError::Listener)
}
