//! What was read at the bench, kept in a guitar's folder as files that the commands read, too.

use std::fs;
use std::path::PathBuf;

use drywire::document::Document;
use drywire::folder::{Existing, Inputs, NewFile};

use super::{FolderName, Guitars, GuitarsError, Told, no_link};

/// Where they lie in the guitar's folder.
pub(super) const FOLDER: &str = "readings";

impl Guitars {
    /// Returns the record called `name`, where there is one.
    pub(crate) fn record(&self, guitar: &FolderName, name: &str) -> Result<Option<Document>, GuitarsError> {
        let path = self.record_path(guitar, name)?;
        if fs::symlink_metadata(&path).is_err() {
            return Ok(None);
        }
        Ok(Some(Document::open(&path)?))
    }

    /// Keeps `text` as the record called `name`, in the place of the one before.
    pub(crate) fn keep_record(
        &self,
        guitar: &FolderName,
        name: &str,
        text: &str,
    ) -> Result<(), GuitarsError> {
        let path = self.record_path(guitar, name)?;
        self.made_within(guitar, FOLDER)?;
        NewFile::write(&path, text.as_bytes(), Existing::Replace, &Inputs::default())?;
        self.tell_of(guitar);
        Ok(())
    }

    /// Puts the record called `name` into the system's bin.
    pub(crate) fn remove_record(&self, guitar: &FolderName, name: &str) -> Result<(), GuitarsError> {
        trash::delete(self.record_path(guitar, name)?).map_err(GuitarsError::NoBin)?;
        self.tell_of(guitar);
        Ok(())
    }

    /// Returns the path of a record, which need not be there and is no link that might lead out.
    pub(crate) fn record_path(&self, guitar: &FolderName, name: &str) -> Result<PathBuf, GuitarsError> {
        no_link(self.within(guitar, FOLDER)?.join(name))
    }

    /// Tells the windows of a guitar that something of it is other than it was.
    pub(crate) fn tell_of(&self, guitar: &FolderName) {
        if let Ok(number) = self.with(guitar, |open| open.number()) {
            self.tell(Told::Changed(guitar.clone(), number));
        }
    }
}
