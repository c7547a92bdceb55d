//! What waits to go to one connection: the latest view, and a bounded queue of everything else. A connection that does
//! not keep up is closed, never left with a silent gap: it comes back and gets everything fresh.

use std::sync::Arc;

use axum::extract::ws::Utf8Bytes;
use serde::Serialize;
use tokio::sync::{Notify, mpsc, watch};

/// Messages that may wait besides the view.
const QUEUE: usize = 1_024;

/// A message, serialised once for all who get it.
pub type Frame = Utf8Bytes;

/// The sender's side. Cloning it is cheap.
#[derive(Debug, Clone)]
pub struct Outbox {
    view: Arc<watch::Sender<Option<Frame>>>,
    queue: mpsc::Sender<Frame>,
    overflowed: Arc<Notify>,
}

/// The connection's side.
#[derive(Debug)]
pub struct Inbox {
    /// The latest view.
    pub view: watch::Receiver<Option<Frame>>,
    /// Everything else, in order.
    pub queue: mpsc::Receiver<Frame>,
    /// Told when the queue ran over.
    pub overflowed: Arc<Notify>,
}

/// Both sides for a new connection.
pub fn outbox() -> (Outbox, Inbox) {
    let (view, latest) = watch::channel(None);
    let (queue, waiting) = mpsc::channel(QUEUE);
    let overflowed = Arc::new(Notify::new());
    let outbox = Outbox { view: Arc::new(view), queue, overflowed: Arc::clone(&overflowed) };
    (outbox, Inbox { view: latest, queue: waiting, overflowed })
}

/// A message as text.
pub fn frame<T: Serialize>(message: &T) -> Frame {
    // Every message is plain data with text keys; if one could not be written, an empty object would go out instead.
    serde_json::to_string(message).unwrap_or_else(|_| "{}".to_owned()).into()
}

impl Outbox {
    /// Replaces the view that waits.
    pub fn show(&self, view: Frame) {
        self.view.send_replace(Some(view));
    }

    /// Queues a message.
    pub fn push(&self, message: Frame) {
        if let Err(mpsc::error::TrySendError::Full(_)) = self.queue.try_send(message) {
            self.overflowed.notify_one();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_latest_view_replaces_the_one_that_waits_and_a_full_queue_is_told() {
        let (sender, mut inbox) = outbox();
        sender.show("1".into());
        sender.show("2".into());
        assert!(inbox.view.has_changed().unwrap());
        assert_eq!(inbox.view.borrow_and_update().as_ref().map(|view| view.as_str()), Some("2"));
        for _ in 0..=QUEUE {
            sender.push("x".into());
        }
        inbox.overflowed.notified().await;
    }
}
