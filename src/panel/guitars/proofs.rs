//! The readings in a guitar's folder: what the meter read, each with its day; those of before lie beside them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use drywire::probe::KeptReadings;

use super::records::FOLDER;
use super::{FolderName, Guitars, GuitarsError, free_in};

/// Those that are shown.
pub(super) const FILE: &str = "proof.toml";

/// Of each guitar the text of the file as it was last written or looked at, so that a change by hand is seen; one changes a
/// file at a time.
#[derive(Debug, Default)]
pub(super) struct Proofs(Mutex<BTreeMap<FolderName, String>>);

impl Guitars {
    /// Returns the readings of a guitar that are kept.
    pub(crate) fn proof(&self, guitar: &FolderName) -> Result<KeptReadings, GuitarsError> {
        match self.record(guitar, FILE)? {
            Some(document) => Ok(KeptReadings::read(&document)?),
            None => Ok(KeptReadings::new(FILE)),
        }
    }

    /// Keeps what was read at `place`; nothing takes it out.
    pub(crate) fn keep_reading(
        &self,
        guitar: &FolderName,
        place: &str,
        reads: &str,
    ) -> Result<(), GuitarsError> {
        let mut known = self.proofs();
        let mut kept = self.proof(guitar)?;
        if kept.at(place).map_or("", |reading| &reading.reads) == reads {
            return Ok(());
        }
        kept.keep(place, reads, &today())?;
        known.insert(guitar.clone(), kept.text().to_owned());
        self.keep_record(guitar, FILE, kept.text())
    }

    /// Lays the readings beside those of before, so that new ones begin.
    pub(crate) fn begin_readings_anew(&self, guitar: &FolderName) -> Result<(), GuitarsError> {
        let mut known = self.proofs();
        let kept = self.proof(guitar)?;
        let folder = self.within(guitar, FOLDER)?;
        if kept.readings().is_empty() {
            return Ok(());
        }
        let last = kept.readings().iter().filter_map(|reading| reading.date.as_deref()).max();
        // A day that a person wrote need be none.
        let day = last.and_then(FolderName::new).map_or_else(today, |day| day.to_string());
        let free = free_in(&folder, &format!("proof-{day}"), "toml");
        fs::rename(folder.join(FILE), &free).map_err(|cause| GuitarsError::System {
            what: format!("the readings could not be laid aside as `{}`", free.display()),
            cause,
        })?;
        known.insert(guitar.clone(), String::new());
        drop(known);
        self.tell_of(guitar);
        Ok(())
    }

    /// Returns the names of the files with readings of before.
    pub(crate) fn earlier_readings(&self, guitar: &FolderName) -> Vec<String> {
        let is_earlier = |name: &String| name.starts_with("proof-") && is_toml(name);
        self.files_within(guitar, FOLDER).into_iter().map(|(name, _)| name).filter(is_earlier).collect()
    }

    /// Tells the windows where the readings were changed by hand.
    pub(super) fn look_at_proof(&self, guitar: &FolderName) {
        let text = |path: PathBuf| fs::read_to_string(path).unwrap_or_default();
        let Ok(text) = self.within(guitar, FOLDER).map(|folder| text(folder.join(FILE))) else { return };
        let mut known = self.proofs();
        let before = known.insert(guitar.clone(), text.clone());
        drop(known);
        if before.is_none_or(|before| before != text) {
            self.tell_of(guitar);
        }
    }

    fn proofs(&self) -> MutexGuard<'_, BTreeMap<FolderName, String>> {
        self.proofs.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn is_toml(name: &str) -> bool {
    Path::new(name).extension().is_some_and(|ending| ending == "toml")
}

/// Returns the day, as the person's clock has it.
pub(super) fn today() -> String {
    chrono::Local::now().format("%Y-%m-%d").to_string()
}
