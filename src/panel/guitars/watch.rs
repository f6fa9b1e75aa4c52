//! Changes on the disk by other programs.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError, Weak};

use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};

use super::{FILE, FolderName, Guitars, Told, proofs, records};

/// The watcher, and whether it watches already.
#[derive(Debug, Default)]
pub(super) struct Watch(Mutex<Option<(RecommendedWatcher, bool)>>);

impl Watch {
    /// Watches the folder of `guitars` from now on, or as soon as it is made.
    pub(super) fn start(&self, guitars: &Arc<Guitars>) {
        let weak = Arc::downgrade(guitars);
        let watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
            if let (Ok(event), Some(guitars)) = (event, Weak::upgrade(&weak)) {
                told(&guitars, &event);
            }
        });
        // Without a watcher, files are looked at before each save all the same.
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = watcher.ok().map(|watcher| (watcher, false));
        self.begin(guitars.root());
    }

    /// Begins to watch `root` once it is there.
    pub(super) fn begin(&self, root: &Path) {
        let mut watch = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((watcher, watches)) = watch.as_mut().filter(|(_, watches)| !watches) {
            *watches = watcher.watch(root, RecursiveMode::Recursive).is_ok();
        }
    }
}

fn told(guitars: &Guitars, event: &Event) {
    if event.kind.is_access() {
        return;
    }
    for path in &event.paths {
        let Ok(within) = path.strip_prefix(guitars.root()) else { continue };
        let mut names = within.iter().filter_map(|part| part.to_str());
        match (names.next().and_then(FolderName::new), names.next(), names.next()) {
            (Some(folder), Some(FILE), None) => {
                // What cannot be read is said once there is something to save.
                let _ = guitars.look(&folder);
                guitars.tell(Told::Listed);
            }
            (Some(folder), Some(records::FOLDER), Some(proofs::FILE)) => guitars.look_at_proof(&folder),
            (Some(_), None, None) => guitars.tell(Told::Listed),
            _ => {}
        }
    }
}
