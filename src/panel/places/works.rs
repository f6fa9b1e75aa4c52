//! Long work, done beside the pages, which show how far it is: one of a kind at a time for each guitar.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::panel::guitars::FolderName;
use crate::panel::server::Panel;

/// The windows are told no oftener than this how far something is.
const TELL_EVERY: Duration = Duration::from_millis(500);

/// What is worked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Survey,
    Send,
    Measure,
    Confirm,
}

/// What became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Stage {
    /// It is on its way; in words, how far.
    Works(String),
    /// It is done; in words, what.
    Done(String),
    /// It could not be done; in words, why.
    Failed(String),
}

/// What is worked on, and what became of what was.
#[derive(Debug, Default)]
pub(crate) struct Works(Mutex<BTreeMap<(FolderName, Kind), Stage>>);

impl Works {
    fn all(&self) -> MutexGuard<'_, BTreeMap<(FolderName, Kind), Stage>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns how the last work of this kind for a guitar stands.
    pub(super) fn stage(&self, guitar: &FolderName, kind: Kind) -> Option<Stage> {
        self.all().get(&(guitar.clone(), kind)).cloned()
    }

    fn put(&self, guitar: &FolderName, kind: Kind, stage: Stage) {
        self.all().insert((guitar.clone(), kind), stage);
    }
}

/// Begins `work`, which is given what tells how far it is and returns what it made, or why it could not; returns whether it was
/// begun: not where such work is on its way already.
pub(super) fn begin(
    panel: &Arc<Panel>,
    guitar: &FolderName,
    kind: Kind,
    words: &str,
    work: impl FnOnce(&Panel, &(dyn Fn(String) + Sync)) -> Result<String, String> + Send + 'static,
) -> bool {
    let key = (guitar.clone(), kind);
    let mut all = panel.works.all();
    if matches!(all.get(&key), Some(Stage::Works(_))) {
        return false;
    }
    all.insert(key, Stage::Works(words.to_owned()));
    drop(all);
    let (panel, guitar) = (Arc::clone(panel), guitar.clone());
    tokio::task::spawn_blocking(move || {
        let last = Mutex::new(Instant::now());
        let tell = |words: String| {
            panel.works.put(&guitar, kind, Stage::Works(words));
            let mut last = last.lock().unwrap_or_else(PoisonError::into_inner);
            if last.elapsed() >= TELL_EVERY {
                *last = Instant::now();
                panel.guitars.tell_of(&guitar);
            }
        };
        // Work that breaks off is said to have failed, not to go on for ever.
        let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&panel, &tell)));
        let stage = match made {
            Ok(Ok(made)) => Stage::Done(made),
            Ok(Err(why)) => Stage::Failed(why),
            Err(_) => Stage::Failed("this broke off by a fault of the program".to_owned()),
        };
        panel.works.put(&guitar, kind, stage);
        panel.guitars.tell_of(&guitar);
    });
    true
}
