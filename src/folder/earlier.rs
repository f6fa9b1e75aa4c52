//! What an earlier run wrote into a folder, and whether it is still as it was.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::path::Path;
use std::time::SystemTime;

use serde::{Deserialize, Serialize};

use super::EntryName;
use crate::digest::{Digest, is_whole, is_whole_file};

/// A file of a folder as the list in the same folder tells of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ListedFile {
    /// Its name, relative to the folder of the list, parts joined by `/`.
    pub name: String,
    /// The SHA-256 of what was written.
    pub sha256: Digest,
}

/// The files that an earlier run wrote into a folder, with their digests.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Earlier {
    digests: BTreeMap<EntryName, Digest>,
    /// Those of them that a list names which is as it was written.
    certain: BTreeSet<EntryName>,
}

/// The largest list that is read where it was changed; it is then believed only as far as what it says of a file fits.
const MOST_OF_A_CHANGED_LIST: u64 = 64 * 1024 * 1024;

/// What is read of a list, a JSON object with much else in it.
#[derive(Deserialize)]
struct List {
    files: Vec<ListedFile>,
}

impl Earlier {
    /// Returns the files that the list called `list` in `folder` tells of, itself included if it ends with a mark and is
    /// unchanged since it was written; none where there is no list. Names that are none within the folder are passed over.
    pub fn listed_in(folder: &Path, list: &EntryName) -> Self {
        Self::read(folder, list).unwrap_or_default()
    }

    fn read(folder: &Path, list: &EntryName) -> Option<Self> {
        let path = folder.join(list.as_path());
        let there = fs::symlink_metadata(&path).ok().filter(Metadata::is_file)?;
        if there.len() > MOST_OF_A_CHANGED_LIST && !is_whole_file(&path).ok()? {
            return None;
        }
        let text = fs::read(path).ok()?;
        let List { files } = serde_json::from_slice(&text).ok()?;
        let place = list.as_str().rsplit_once('/').map_or_else(String::new, |(place, _)| format!("{place}/"));
        let named = files.into_iter().filter_map(|ListedFile { name, sha256 }| {
            EntryName::new(&format!("{place}{name}")).ok().map(|name| (name, sha256))
        });
        let mut digests: BTreeMap<EntryName, Digest> = named.collect();
        digests.remove(list);
        let mut certain = BTreeSet::new();
        if is_whole(&text) {
            digests.insert(list.clone(), Digest::of(&text));
            certain.extend(digests.keys().cloned());
        }
        Some(Self { digests, certain })
    }

    /// Returns these files and those of `other`.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.digests.extend(other.digests);
        self.certain.extend(other.certain);
        self
    }

    /// Returns the names of the files that lists tell of which are as they were written.
    pub fn names(&self) -> impl Iterator<Item = &EntryName> {
        self.certain.iter()
    }

    /// Returns the digest of what was written at `name`, where lists tell of it.
    pub(super) fn digest(&self, name: &EntryName) -> Option<Digest> {
        self.digests.get(name).copied()
    }
}

/// What tells that a file is the same and was not written to, without reading it again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stamp {
    length: u64,
    modified: Option<SystemTime>,
    /// The disk, the file's number on it, and when the system last noted a change, which no program can set.
    #[cfg(unix)]
    system: (u64, u64, i64, i64),
}

impl Stamp {
    pub(super) fn of(metadata: &Metadata) -> Self {
        #[cfg(unix)]
        use std::os::unix::fs::MetadataExt;
        Self {
            length: metadata.len(),
            modified: metadata.modified().ok(),
            #[cfg(unix)]
            system: (metadata.dev(), metadata.ino(), metadata.ctime(), metadata.ctime_nsec()),
        }
    }
}
