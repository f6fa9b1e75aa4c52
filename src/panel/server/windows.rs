//! The windows that are open, by which the panel knows when to end.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use tokio::sync::Notify;
use tokio::time::sleep;

/// So long a panel waits for its first window: as long as the address works that is printed.
const FIRST: Duration = super::door::PRINTED;
/// So long it waits for another after the last one was closed; a page that is opened from another closes that one first.
const AFTER_LAST: Duration = Duration::from_secs(20);

/// How many windows listen.
#[derive(Debug, Default)]
pub(crate) struct Windows {
    open: AtomicUsize,
    changed: Notify,
}

/// An open window; it is closed as this is dropped.
#[derive(Debug)]
pub(crate) struct Window(Arc<Windows>);

impl Windows {
    /// Counts a window as long as what is returned lives.
    pub(crate) fn opened(self: &Arc<Self>) -> Window {
        self.open.fetch_add(1, Ordering::SeqCst);
        self.changed.notify_waiters();
        self.changed.notify_one();
        Window(Arc::clone(self))
    }

    /// Waits until no window has been open for a while.
    pub(super) async fn all_closed(&self) {
        let mut patience = FIRST;
        loop {
            let changed = self.changed.notified();
            if self.open.load(Ordering::SeqCst) > 0 {
                patience = AFTER_LAST;
                changed.await;
            } else {
                tokio::select! {
                    () = changed => {}
                    () = sleep(patience) => return,
                }
            }
        }
    }
}

impl Drop for Window {
    fn drop(&mut self) {
        self.0.open.fetch_sub(1, Ordering::SeqCst);
        self.0.changed.notify_one();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test(start_paused = true)]
    async fn a_panel_ends_a_while_after_its_last_window() {
        let windows = Arc::new(Windows::default());
        let ended = tokio::spawn({
            let windows = Arc::clone(&windows);
            async move { windows.all_closed().await }
        });
        sleep(FIRST.mul_f64(0.9)).await;
        let first = windows.opened();
        sleep(Duration::from_secs(100_000)).await;
        drop(first);
        sleep(AFTER_LAST.mul_f64(0.9)).await;
        let second = windows.opened();
        sleep(Duration::from_secs(100_000)).await;
        assert!(!ended.is_finished());
        drop(second);
        sleep(AFTER_LAST + Duration::from_secs(1)).await;
        assert!(ended.is_finished());
    }
}
