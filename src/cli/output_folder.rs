//! The folder that a set goes into.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Seek, Write};
use std::path::Path;

use clap::Args as ClapArgs;
use drywire::digest::{Digest, Form};
use drywire::folder::{
    Earlier, EntryName, Existing, FolderError, Inputs, ListedFile, NewSet, Obstacle, SetPlan,
};
use serde::Serialize;

use super::Failure;

/// What becomes of files that stand in the way.
#[derive(Debug, Clone, Copy, ClapArgs)]
pub(crate) struct ReplaceArgs {
    /// Replace what stands in the way also where drywire did not write it, or where it was changed since; it is gone then
    #[arg(long)]
    replace: bool,
}

impl ReplaceArgs {
    pub(crate) fn existing(self) -> Existing {
        if self.replace { Existing::Replace } else { Existing::ReplaceOwn }
    }
}

/// A set's files on their way into their folder.
pub(crate) struct OutputFolder {
    set: NewSet,
    /// The files opened so far, so that one can be begun anew.
    opened: BTreeMap<String, File>,
    digests: BTreeMap<String, Digest>,
}

/// What is to be put into a folder.
pub(crate) struct Contents<'c> {
    /// The files, apart from the list.
    pub(crate) names: Vec<String>,
    /// The file that tells of all others.
    pub(crate) list: &'static str,
    /// What an earlier run left in a folder within, which goes: by its list, and other files if they are written anew.
    pub(crate) within: Within,
    /// The bytes that all will take, as far as known.
    pub(crate) bytes: u64,
    /// The paths of the files that are read.
    pub(crate) inputs: &'c [&'c Path],
    pub(crate) existing: Existing,
}

/// What an earlier run left in a folder within another.
#[derive(Debug, Default)]
pub(crate) struct Within {
    /// The list that tells of its files.
    pub(crate) list: Option<String>,
    /// Files that go whether or not the list tells of them.
    pub(crate) names: Vec<String>,
}

/// The page that plays a set.
pub(crate) const PAGE: &str = "listen.html";
/// The table of a set.
pub(crate) const TABLE: &str = "figures.csv";
/// The files of a set that show it, and that it can do without.
pub(crate) const ILLUSTRATIONS: [&str; 3] = ["response.svg", "response.png", PAGE];

impl OutputFolder {
    /// Begins a set in the folder `out`; of the files of an earlier run those that do not come again are removed.
    pub(crate) fn begin(out: &Path, contents: &Contents<'_>) -> Result<Self, Failure> {
        let Contents { names, list, within, bytes, inputs, existing } = contents;
        let names = names.iter().map(String::as_str).chain([*list]);
        let files: Vec<EntryName> = names.map(entry).collect::<Result<_, _>>()?;
        let mut known = Inputs::new();
        for input in inputs.iter().filter(|path| path.is_file()) {
            known.add(input).map_err(|e| {
                Failure::input(format!("cannot read `{}`: {e}", input.display()), "check its permissions")
            })?;
        }
        let mut earlier = Earlier::listed_in(out, &entry(list)?);
        if let Some(list) = &within.list {
            earlier = earlier.and(Earlier::listed_in(out, &entry(list)?));
        }
        let mut retired: Vec<EntryName> = earlier.names().cloned().collect();
        retired.extend(within.names.iter().map(|name| entry(name)).collect::<Result<Vec<_>, _>>()?);
        let plan = SetPlan { files, retired, earlier, existing: *existing, inputs: known, bytes: *bytes };
        let set = NewSet::begin(out, plan).map_err(|e| folder_failure(&e, WITH_OUT))?;
        Ok(Self { set, opened: BTreeMap::new(), digests: BTreeMap::new() })
    }

    /// Returns the file called `name`, empty, whether or not it was begun before.
    pub(crate) fn open(&mut self, name: &str) -> io::Result<File> {
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

    /// Returns the failure that `cause` is, come up while writing one of the files.
    pub(crate) fn failed(&self, cause: io::Error) -> Failure {
        folder_failure(&self.set.failed_somewhere(cause), WITH_OUT)
    }

    /// Writes all of `bytes` to the file called `name`.
    pub(crate) fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        let entry = entry(name)?;
        let mut file = self.set.create(&entry).map_err(|e| folder_failure(&e, WITH_OUT))?;
        file.write_all(bytes).map_err(|e| folder_failure(&self.set.failed(&entry, e), WITH_OUT))?;
        self.note(name, Digest::of(bytes));
        Ok(())
    }

    /// Notes the digest of a file that was opened and is now written.
    pub(crate) fn note(&mut self, name: &str, digest: Digest) {
        self.digests.insert(name.to_owned(), digest);
    }

    /// Returns every file that is written, by name.
    pub(crate) fn listed(&self) -> Vec<ListedFile> {
        let listed = |(name, sha256): (&String, &Digest)| ListedFile { name: name.clone(), sha256: *sha256 };
        self.digests.iter().map(listed).collect()
    }

    /// Writes the list called `name`, which tells of all others, and puts the whole set in its place.
    pub(crate) fn commit(mut self, name: &str, list: &impl Serialize) -> Result<(), Failure> {
        self.write(name, Form::Json.marked(&to_json(list)).as_bytes())?;
        self.set.commit().map(|_| ()).map_err(|e| folder_failure(&e, WITH_OUT))
    }
}

/// Returns figures as JSON text.
pub(crate) fn to_json(figures: &impl Serialize) -> String {
    serde_json::to_string_pretty(figures).expect("figures hold nothing that JSON cannot")
}

fn entry(name: &str) -> Result<EntryName, Failure> {
    EntryName::new(name).map_err(|e| Failure::input(e.to_string(), "rename the arrangement or throw"))
}

/// How `hear`, `survey` and `pluck` are told to write elsewhere.
pub(crate) const WITH_OUT: &str = "with --out";

/// Returns a folder's or file's error as the command's, which is told to write `elsewhere` as that says.
pub(crate) fn folder_failure(error: &FolderError, elsewhere: &str) -> Failure {
    // Only commands that have the option keep what others wrote.
    let replaced = match error.obstacle() {
        Obstacle::Others { .. } => ", or say --replace, and it is gone",
        _ => "",
    };
    Failure::input(error.to_string(), format!("{}{replaced}", error.hint(elsewhere)))
}
