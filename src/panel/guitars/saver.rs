//! What is changed is saved a moment later.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::sync::{Arc, Weak};
use std::thread;
use std::time::Duration;

use super::Guitars;

/// From a change to the file: so much typing a killed panel may lose, and so many changes become one write.
const DELAY: Duration = Duration::from_millis(200);
/// What could not be saved is tried again after this.
const AGAIN: Duration = Duration::from_secs(3);

/// Saves, as long as there are `guitars`, what is changed.
pub(super) fn start(guitars: &Arc<Guitars>, changed: Receiver<()>) {
    let guitars = Arc::downgrade(guitars);
    thread::spawn(move || save(&guitars, &changed));
}

fn save(guitars: &Weak<Guitars>, changed: &Receiver<()>) {
    let mut is_waiting = false;
    loop {
        let next = if is_waiting {
            changed.recv_timeout(AGAIN)
        } else {
            changed.recv().map_err(|_| RecvTimeoutError::Disconnected)
        };
        if next == Err(RecvTimeoutError::Disconnected) {
            return;
        }
        if next.is_ok() {
            thread::sleep(DELAY);
            while changed.try_recv().is_ok() {}
        }
        let Some(guitars) = guitars.upgrade() else { return };
        guitars.save_all();
        is_waiting = !guitars.is_saved();
    }
}
