//! The folder that a set goes into.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use drywire::folder::{EntryName, FolderError, Inputs, NewSet, SetPlan};
use drywire::report::{MAX_FIGURES_BYTES, SetFigures};
use drywire::set::FIGURES;
use serde::Serialize;

use super::Failure;

/// A set's files on their way into their folder.
pub(crate) struct Shelf {
    set: NewSet,
    /// The files opened so far, so that one can be begun anew.
    opened: BTreeMap<String, File>,
}

/// The page that plays a set.
pub(crate) const PAGE: &str = "listen.html";
/// The files of a set that show it, and that it can do without.
pub(crate) const ILLUSTRATIONS: [&str; 3] = ["response.svg", "response.png", PAGE];

impl Shelf {
    /// Begins a set of `names` and the figures in the folder `out`, taking about `bytes`, made from `inputs`.
    pub(crate) fn begin(out: &Path, names: &[String], bytes: u64, inputs: &[&str]) -> Result<Self, Failure> {
        let names: Vec<String> = names.iter().cloned().chain([FIGURES.to_owned()]).collect();
        Self::planned(out, &names, earlier_files(out, ""), bytes, inputs)
    }

    /// Begins files of `names` in the folder `out`, taking about `bytes`, made from `inputs`; of the names of an
    /// `earlier` run those that do not come again are removed.
    pub(crate) fn planned(
        out: &Path,
        names: &[String],
        earlier: Vec<EntryName>,
        bytes: u64,
        inputs: &[&str],
    ) -> Result<Self, Failure> {
        let files: Vec<EntryName> = names.iter().map(|name| entry(name)).collect::<Result<_, _>>()?;
        let mut known = Inputs::new();
        for input in inputs.iter().map(Path::new).filter(|path| path.is_file()) {
            known.add(input).map_err(|e| {
                Failure::input(format!("cannot read `{}`: {e}", input.display()), "check its permissions")
            })?;
        }
        let plan = SetPlan { files, retired: earlier, inputs: known, bytes };
        Ok(Self { set: NewSet::begin(out, plan).map_err(|e| folder_failure(&e))?, opened: BTreeMap::new() })
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
        folder_failure(&self.set.failed_somewhere(cause))
    }

    /// Writes all of `bytes` to the file called `name`.
    pub(crate) fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        let name = entry(name)?;
        let mut file = self.set.create(&name).map_err(|e| folder_failure(&e))?;
        file.write_all(bytes).map_err(|e| folder_failure(&self.set.failed(&name, e)))
    }

    /// Writes the figures and puts the whole set in its place.
    pub(crate) fn commit(mut self, figures: &SetFigures) -> Result<(), Failure> {
        self.write_json(FIGURES, figures)?;
        self.put()
    }

    /// Writes `figures` to the file called `name`.
    pub(crate) fn write_json(&mut self, name: &str, figures: &impl Serialize) -> Result<(), Failure> {
        self.write(name, to_json(figures).as_bytes())
    }

    /// Puts all files in their place.
    pub(crate) fn put(self) -> Result<(), Failure> {
        self.set.commit().map(|_| ()).map_err(|e| folder_failure(&e))
    }
}

/// Returns figures as JSON text.
pub(crate) fn to_json(figures: &impl Serialize) -> String {
    serde_json::to_string_pretty(figures).expect("figures hold nothing that JSON cannot")
}

/// Returns the sound files, the pictures and the page of a set that was left in `out` before, at `place` in it: they go
/// with it. `place` ends with `/` where it is not empty.
pub(crate) fn earlier_files(out: &Path, place: &str) -> Vec<EntryName> {
    let mut text = Vec::new();
    let path = out.join(place).join(FIGURES);
    if !path.is_file() {
        return Vec::new();
    }
    let Ok(read) = File::open(path).and_then(|f| f.take(MAX_FIGURES_BYTES).read_to_end(&mut text)) else {
        return Vec::new();
    };
    let Ok(figures) = SetFigures::from_json(&text[..read]) else { return Vec::new() };
    let sounds = figures.arrangements.iter().flat_map(|a| [&a.matched, &a.as_is]).flatten().map(|f| &f.file);
    let impulses = figures.arrangements.iter().filter_map(|a| a.impulse.as_ref()).map(|i| &i.file);
    let ours = |name: &&str| {
        let in_ours = ["matched/", "as-is/", "impulses/"].iter().any(|folder| name.starts_with(folder));
        in_ours && Path::new(name).extension().is_some_and(|ending| ending == "wav")
    };
    sounds
        .chain(impulses)
        .map(String::as_str)
        .filter(ours)
        .chain(ILLUSTRATIONS)
        .filter_map(|name| EntryName::new(&format!("{place}{name}")).ok())
        .collect()
}

fn entry(name: &str) -> Result<EntryName, Failure> {
    EntryName::new(name).map_err(|e| Failure::input(e.to_string(), "rename the arrangement or throw"))
}

/// Returns a folder's or file's error as the command's.
pub(crate) fn folder_failure(error: &FolderError) -> Failure {
    Failure::input(error.to_string(), error.hint())
}
