//! What was read at the bench, kept in a guitar's folder as files that the commands read, too.

use std::fs;
use std::path::PathBuf;

use drywire::document::Document;
use drywire::folder::{Existing, Inputs, NewFile};

use super::{FolderName, Guitars, GuitarsError, Told, files_in, made, no_link};

/// Where they lie in the guitar's folder, and in that of all guitars those of pickups that are in none.
pub(super) const FOLDER: &str = "readings";

/// Where a record lies.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Shelf<'s> {
    /// With a guitar.
    Guitar(&'s FolderName),
    /// With pickups that are in no guitar.
    Drawer,
}

impl<'s> From<&'s FolderName> for Shelf<'s> {
    fn from(guitar: &'s FolderName) -> Self {
        Self::Guitar(guitar)
    }
}

impl Guitars {
    /// Returns the record called `name`, where there is one.
    pub(crate) fn record<'s>(
        &self,
        shelf: impl Into<Shelf<'s>>,
        name: &str,
    ) -> Result<Option<Document>, GuitarsError> {
        let path = self.record_path(shelf, name)?;
        if fs::symlink_metadata(&path).is_err() {
            return Ok(None);
        }
        Ok(Some(Document::open(&path)?))
    }

    /// Keeps `text` as the record called `name`, in the place of the one before.
    pub(crate) fn keep_record<'s>(
        &self,
        shelf: impl Into<Shelf<'s>>,
        name: &str,
        text: &str,
    ) -> Result<(), GuitarsError> {
        let shelf = shelf.into();
        let path = self.record_path(shelf, name)?;
        match shelf {
            Shelf::Guitar(guitar) => self.made_within(guitar, FOLDER)?,
            Shelf::Drawer => {
                let drawer = made(self.drawer()?)?;
                self.watch.begin(self.root());
                drawer
            }
        };
        NewFile::write(&path, text.as_bytes(), Existing::Replace, &Inputs::default())?;
        self.tell_of_shelf(shelf);
        Ok(())
    }

    /// Returns the folder of the records of pickups that are in no guitar, which need not be there.
    fn drawer(&self) -> Result<PathBuf, GuitarsError> {
        no_link(self.root().join(FOLDER))
    }

    /// Returns the names of those records.
    pub(crate) fn records_in_drawer(&self) -> Vec<String> {
        self.drawer()
            .map_or_else(|_| Vec::new(), |folder| files_in(&folder))
            .into_iter()
            .map(|(name, _)| name)
            .collect()
    }

    /// Lays the record called `name`, of a pickup that was in no guitar, with the guitar that it is in now, as `called`. Where one
    /// lies there already that stays, and the other too.
    pub(crate) fn record_into_guitar(
        &self,
        name: &str,
        guitar: &FolderName,
        called: &str,
    ) -> Result<(), GuitarsError> {
        let (from, to) = (self.record_path(Shelf::Drawer, name)?, self.record_path(guitar, called)?);
        if fs::symlink_metadata(&to).is_ok() {
            return Ok(());
        }
        self.made_within(guitar, FOLDER)?;
        let what = format!("the readings could not be laid with the guitar as `{}`", to.display());
        fs::rename(from, to).map_err(|cause| GuitarsError::System { what, cause })?;
        self.tell_of(guitar);
        self.tell(Told::Listed);
        Ok(())
    }

    /// Puts the record called `name` into the system's bin.
    pub(crate) fn remove_record<'s>(
        &self,
        shelf: impl Into<Shelf<'s>>,
        name: &str,
    ) -> Result<(), GuitarsError> {
        let shelf = shelf.into();
        trash::delete(self.record_path(shelf, name)?).map_err(GuitarsError::NoBin)?;
        self.tell_of_shelf(shelf);
        Ok(())
    }

    /// Returns the path of a record, which need not be there and is no link that might lead out.
    pub(crate) fn record_path<'s>(
        &self,
        shelf: impl Into<Shelf<'s>>,
        name: &str,
    ) -> Result<PathBuf, GuitarsError> {
        let folder = match shelf.into() {
            Shelf::Guitar(guitar) => self.within(guitar, FOLDER)?,
            Shelf::Drawer => self.drawer()?,
        };
        no_link(folder.join(name))
    }

    fn tell_of_shelf(&self, shelf: Shelf<'_>) {
        match shelf {
            Shelf::Guitar(guitar) => self.tell_of(guitar),
            Shelf::Drawer => self.tell(Told::Listed),
        }
    }

    /// Tells the windows of a guitar that something of it is other than it was.
    pub(crate) fn tell_of(&self, guitar: &FolderName) {
        if let Ok(number) = self.with(guitar, |open| open.number()) {
            self.tell(Told::Changed(guitar.clone(), number));
        }
    }
}
