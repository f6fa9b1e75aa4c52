//! Results on their way into their folder, each file with its digest, beside the list that tells of them.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};

use super::{Earlier, EntryName, Existing, FolderError, Inputs, ListedFile, NewSet, NotAName, SetPlan};
use crate::digest::{Digest, Form};

/// What is to be put into a folder.
#[derive(Debug, Clone, Copy)]
pub struct Contents<'c> {
    /// The files, apart from the list.
    pub names: &'c [String],
    /// The file that tells of all others, a JSON object.
    pub list: &'c str,
    /// What an earlier run left in a folder within, which goes.
    pub within: &'c Within,
    /// The bytes that all will take, as far as known.
    pub bytes: u64,
    /// The paths of the files that are read; those that are no files are passed over.
    pub inputs: &'c [PathBuf],
    /// What to do where files stand at these names.
    pub existing: Existing,
}

/// What an earlier run left in a folder within another.
#[derive(Debug, Clone, Default)]
pub struct Within {
    /// The list that tells of its files.
    pub list: Option<String>,
    /// Files that go whether or not the list tells of them.
    pub names: Vec<String>,
}

/// Why results cannot be put into a folder.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// The folder or a file in it cannot be written.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// A file would have a name that is none.
    #[error(transparent)]
    Name(#[from] NotAName),
    /// A file that is read cannot be told from others.
    #[error("cannot read `{}`: {cause}", path.display())]
    Input {
        /// The file.
        path: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
}

impl OutputError {
    /// Returns what to do about it; `elsewhere` says how another place is named.
    pub fn hint(&self, elsewhere: &str) -> String {
        match self {
            Self::Folder(error) => error.hint(elsewhere),
            Self::Name(_) => "rename the arrangement or throw".to_owned(),
            Self::Input { .. } => "check its permissions".to_owned(),
        }
    }
}

/// A set's files on their way into their folder.
#[derive(Debug)]
pub struct OutputFolder {
    set: NewSet,
    /// The files opened so far, so that one can be begun anew.
    opened: BTreeMap<String, File>,
    digests: BTreeMap<String, Digest>,
}

impl OutputFolder {
    /// Begins a set in the folder `out`; of the files of an earlier run those that do not come again are removed.
    ///
    /// # Errors
    /// [`OutputError`] where it cannot be written; nothing is changed then.
    pub fn begin(out: &Path, contents: &Contents<'_>) -> Result<Self, OutputError> {
        let Contents { names, list, within, bytes, inputs, existing } = *contents;
        let list = EntryName::new(list)?;
        let mut files = names.iter().map(|name| EntryName::new(name)).collect::<Result<Vec<_>, _>>()?;
        files.push(list.clone());
        let mut known = Inputs::new();
        for input in inputs.iter().filter(|path| path.is_file()) {
            known.add(input).map_err(|cause| OutputError::Input { path: input.clone(), cause })?;
        }
        let mut earlier = Earlier::listed_in(out, &list);
        if let Some(list) = &within.list {
            earlier = earlier.and(Earlier::listed_in(out, &EntryName::new(list)?));
        }
        let mut retired: Vec<EntryName> = earlier.names().cloned().collect();
        for name in &within.names {
            retired.push(EntryName::new(name)?);
        }
        let plan = SetPlan { files, retired, earlier, existing, inputs: known, bytes };
        Ok(Self { set: NewSet::begin(out, plan)?, opened: BTreeMap::new(), digests: BTreeMap::new() })
    }

    /// Returns the file called `name`, empty, whether or not it was begun before.
    ///
    /// # Errors
    /// A [`FolderError`] as an [`io::Error`], or what the system says of a file that was begun before.
    pub fn open(&mut self, name: &str) -> io::Result<File> {
        if let Some(file) = self.opened.get_mut(name) {
            file.set_len(0)?;
            file.rewind()?;
            return file.try_clone();
        }
        let entry = EntryName::new(name).map_err(io::Error::other)?;
        let file = self.set.create(&entry).map_err(io::Error::other)?;
        self.opened.insert(name.to_owned(), file.try_clone()?);
        Ok(file)
    }

    /// Returns the error that `cause` is, come up while writing one of the files.
    pub fn failed(&self, cause: io::Error) -> FolderError {
        self.set.failed_somewhere(cause)
    }

    /// Writes all of `bytes` to the file called `name`.
    ///
    /// # Errors
    /// [`OutputError`] where the system cannot.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), OutputError> {
        let entry = EntryName::new(name)?;
        let mut file = self.set.create(&entry)?;
        file.write_all(bytes).map_err(|e| self.set.failed(&entry, e))?;
        self.note(name, Digest::of(bytes));
        Ok(())
    }

    /// Notes the digest of a file that was opened and is now written.
    pub fn note(&mut self, name: &str, digest: Digest) {
        self.digests.insert(name.to_owned(), digest);
    }

    /// Returns every file that is written, by name.
    pub fn listed(&self) -> Vec<ListedFile> {
        let listed = |(name, sha256): (&String, &Digest)| ListedFile { name: name.clone(), sha256: *sha256 };
        self.digests.iter().map(listed).collect()
    }

    /// Writes the list called `name`, a JSON object over several lines that tells of all others, and puts the whole set in
    /// its place.
    ///
    /// # Errors
    /// [`OutputError`] where the system cannot; what was there before is then still there.
    pub fn commit(mut self, name: &str, list: &str) -> Result<(), OutputError> {
        self.write(name, Form::Json.marked(list).as_bytes())?;
        Ok(self.set.commit().map(|_| ())?)
    }
}
