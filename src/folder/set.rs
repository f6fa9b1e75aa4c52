//! A folder of files that appears whole or not at all.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Component, Path, PathBuf};

use super::carry::{OurNames, bring_latecomers, carry_over, same_disk};
use super::earlier::Stamp;
use super::place::{check_writable, exchange, folders_from, free_bytes, sync, sync_all};
use super::temporary::{TemporaryFolder, sweep};
use super::{Earlier, EntryName, Existing, FolderError, Inputs, Obstacle};
use crate::digest;

/// What a new set consists of.
#[derive(Debug, Clone, Default)]
pub struct SetPlan {
    /// The files to be written, all of them. Where they must be put in place one by one, that is done in this order:
    /// let the file that tells of the others be the last.
    pub files: Vec<EntryName>,
    /// The files of an earlier set that go, unless they are among those to be written.
    pub retired: Vec<EntryName>,
    /// What an earlier run wrote, by which its files are known.
    pub earlier: Earlier,
    /// What to do where files stand at these names.
    pub existing: Existing,
    /// The files that are read, which must not lie at any of these names.
    pub inputs: Inputs,
    /// The bytes that the files will take, as far as known.
    pub bytes: u64,
}

impl SetPlan {
    /// Returns every name that is written or goes.
    fn names(&self) -> impl Iterator<Item = &EntryName> + Clone {
        self.files.iter().chain(&self.retired)
    }
}

/// How a set was put in place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// The folder is new.
    New,
    /// The new folder and the old one changed places in one step.
    Exchanged,
    /// Each file was put in place in one step of its own, since the folders could not change places: a run killed
    /// within these steps leaves some files old and some new, each of them whole.
    FileByFile,
}

/// A set on its way into its folder.
#[derive(Debug)]
pub struct NewSet {
    shown: String,
    target: PathBuf,
    way: Placed,
    temporary: TemporaryFolder,
    plan: SetPlan,
    /// The files that go, as they were found to be ours.
    seen: Seen,
    made: MadeFolders,
}

/// Files by their names within the folder, as they were when they were looked at.
type Seen = BTreeMap<PathBuf, Stamp>;

impl NewSet {
    /// Begins a set in the folder at `target`, which may be new, and finds out whether it can be written there.
    ///
    /// What killed runs left there is removed.
    ///
    /// # Errors
    /// [`FolderError`] where it cannot: see [`Obstacle`]. Nothing is changed then.
    pub fn begin(target: &Path, plan: SetPlan) -> Result<Self, FolderError> {
        let shown = target.display().to_string();
        Self::prepare(&shown, target, plan).map_err(|obstacle| FolderError::new(shown, obstacle))
    }

    fn prepare(shown: &str, target: &Path, plan: SetPlan) -> Result<Self, Obstacle> {
        let (target, is_new) = resolve(target)?;
        check_names(&target, &plan)?;
        let seen = check_ours(&target, &plan, &Seen::new())?;
        let made = MadeFolders::around(&target)?;
        let name = target.file_name().map_or_else(OsString::new, OsString::from);
        let beside = target.parent().filter(|parent| is_new || may_exchange(&target, parent));
        if !is_new {
            check_writable(&target)?;
        }
        let (way, place, temporary) = match beside.map(|parent| (parent, TemporaryFolder::new(parent, &name)))
        {
            Some((parent, Ok(temporary))) => {
                (if is_new { Placed::New } else { Placed::Exchanged }, parent, temporary)
            }
            Some((_, Err(e))) if is_new => return Err(e.into()),
            Some((_, Err(_))) | None => (Placed::FileByFile, &*target, TemporaryFolder::new(&target, &name)?),
        };
        // Runs before this one may have had to go another way.
        let places = [target.parent().filter(|parent| !parent.as_os_str().is_empty()), Some(&*target)];
        let busy = places.into_iter().flatten().filter(|place| sweep(place, temporary.path(), &name)).count();
        if busy > 0 {
            return Err(Obstacle::Busy);
        }
        if let Some(free) = free_bytes(place).filter(|free| *free < plan.bytes) {
            return Err(Obstacle::TooLittleSpace { needed: plan.bytes, free });
        }
        Ok(Self { shown: shown.to_owned(), target, way, temporary, plan, seen, made })
    }

    /// Returns a new empty file that will be the set's `name`.
    ///
    /// # Errors
    /// [`FolderError`] where the system cannot make it.
    ///
    /// # Panics
    /// Where the name is not in the plan or was made before.
    pub fn create(&self, name: &EntryName) -> Result<File, FolderError> {
        assert!(self.plan.files.contains(name), "{name} is not planned");
        let path = self.temporary.set().join(name.as_path());
        let made = path.parent().map_or(Ok(()), fs::create_dir_all);
        made.and_then(|()| OpenOptions::new().write(true).create_new(true).open(path))
            .map_err(|e| self.failed(name, e))
    }

    /// Returns the error that `cause` is, come up while writing the set's `name`.
    pub fn failed(&self, name: &EntryName, cause: io::Error) -> FolderError {
        self.failed_at(name.as_path(), cause)
    }

    /// Returns the error that `cause` is, come up while writing one of the set's files, it is not known which.
    pub fn failed_somewhere(&self, cause: io::Error) -> FolderError {
        FolderError::new(self.shown.clone(), cause)
    }

    fn failed_at(&self, name: &Path, cause: io::Error) -> FolderError {
        FolderError::new(Path::new(&self.shown).join(name).display().to_string(), cause)
    }

    /// Brings the files to the disk and puts the set in its place.
    ///
    /// # Errors
    /// [`FolderError`] where the system cannot, or an input or a file of others has come to lie at one of the names. The
    /// old set is then still in place, except where files had to be put in place one by one.
    ///
    /// # Panics
    /// Where a planned file was not created.
    pub fn commit(mut self) -> Result<Placed, FolderError> {
        let set = self.temporary.set();
        let paths: Vec<_> = self.plan.files.iter().map(|name| set.join(name.as_path())).collect();
        for (path, name) in paths.iter().zip(&self.plan.files) {
            assert!(path.is_file(), "{name} was planned and not made");
        }
        sync_all(&paths)
            .map_err(|(path, cause)| self.failed_at(path.strip_prefix(&set).unwrap_or(path), cause))?;
        self.put(&set).map_err(|obstacle| FolderError::new(self.shown.clone(), obstacle))?;
        self.made.keep();
        Ok(self.way)
    }

    fn put(&mut self, set: &Path) -> Result<(), Obstacle> {
        if self.way == Placed::New {
            sync_folders(set)?;
            match fs::rename(set, &self.target) {
                Ok(()) => return Ok(self.sync_around()?),
                // A folder has come there in the meantime; it is treated as one that was there before.
                Err(e)
                    if matches!(
                        e.kind(),
                        io::ErrorKind::DirectoryNotEmpty | io::ErrorKind::AlreadyExists
                    ) =>
                {
                    self.way = Placed::Exchanged;
                }
                Err(e) => return Err(e.into()),
            }
        }
        check_names(&self.target, &self.plan)?;
        self.seen = check_ours(&self.target, &self.plan, &self.seen)?;
        if self.way == Placed::Exchanged {
            let ours = OurNames::new(self.plan.names());
            let exchanged = carry_over(&self.target, set, &ours)
                .and_then(|()| sync_folders(set))
                .and_then(|()| exchange(set, &self.target));
            match exchanged {
                Ok(()) => {
                    // The old folder now lies where the new one was made.
                    let brought =
                        bring_latecomers(set, &self.target, &ours).and_then(|()| self.check_gone(set));
                    if let Err(cause) = brought {
                        return Err(Obstacle::LeftBehind { folder: self.temporary.keep(), cause });
                    }
                    return Ok(self.sync_around()?);
                }
                // Without room for one folder more, files that go one by one may not get far either.
                Err(e) if matches!(e.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded) => {
                    return Err(e.into());
                }
                Err(_) => {}
            }
        }
        self.way = Placed::FileByFile;
        Ok(self.put_file_by_file(set)?)
    }

    fn put_file_by_file(&self, set: &Path) -> io::Result<()> {
        // All that needs room comes before the first file that is replaced.
        let places = self.plan.files.iter().map(|name| self.target.join(name.as_path()));
        let mut made: Vec<MadeFolders> =
            places.map(|place| MadeFolders::around(&place)).collect::<io::Result<_>>()?;
        for name in &self.plan.files {
            fs::rename(set.join(name.as_path()), self.target.join(name.as_path()))?;
        }
        made.iter_mut().for_each(MadeFolders::keep);
        for name in self.plan.retired.iter().filter(|name| !self.plan.files.contains(name)) {
            let place = self.target.join(name.as_path());
            match fs::symlink_metadata(&place) {
                // What stands there now is not what an earlier set wrote.
                Ok(there) if there.is_dir() => continue,
                Ok(_) => fs::remove_file(place)?,
                Err(_) => {}
            }
            // A folder that has become empty goes; one that has not stays, which is what the error says.
            for folder in name.folders().collect::<Vec<_>>().into_iter().rev() {
                let _ = fs::remove_dir(self.target.join(folder));
            }
        }
        let folders = self.plan.files.iter().flat_map(EntryName::folders);
        folders.map(|folder| self.target.join(folder)).try_for_each(|folder| sync(&folder))?;
        sync(&self.target)
    }

    /// Refuses where a file that went with the old folder, which now is at `old`, was changed as it went.
    fn check_gone(&self, old: &Path) -> io::Result<()> {
        match self.plan.existing {
            Existing::Replace => Ok(()),
            Existing::ReplaceOwn | Existing::Keep => {
                let changed = self.plan.names().map(EntryName::as_path).find(|name| {
                    let now = fs::symlink_metadata(old.join(name)).ok().filter(|there| !there.is_dir());
                    now.is_some_and(|there| self.seen.get(*name) != Some(&Stamp::of(&there)))
                });
                changed.map_or(Ok(()), |name| {
                    Err(io::Error::other(format!("`{}` was changed as it was replaced", name.display())))
                })
            }
        }
    }

    fn sync_around(&self) -> io::Result<()> {
        self.target.parent().map_or(Ok(()), sync)
    }
}

/// Brings the entries of a folder and of all below it to the disk.
fn sync_folders(set: &Path) -> io::Result<()> {
    sync_all(&folders_from(set)?).map_err(|(_, cause)| cause)
}

/// Returns the path of the folder without links and whether it is new.
fn resolve(target: &Path) -> Result<(PathBuf, bool), Obstacle> {
    match fs::metadata(target) {
        Ok(metadata) if metadata.is_dir() => return Ok((target.canonicalize()?, false)),
        Ok(metadata) if metadata.is_file() => return Err(Obstacle::IsFile),
        Ok(_) => return Err(Obstacle::IsSpecial { wanted: "folder" }),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {}
        Err(e) => return Err(e.into()),
    }
    if fs::symlink_metadata(target).is_ok() {
        return Err(Obstacle::DanglingLink);
    }
    let absolute = std::path::absolute(target)?;
    let there = absolute.ancestors().find(|a| fs::symlink_metadata(a).is_ok()).ok_or(Obstacle::NoFolder)?;
    let missing = absolute.strip_prefix(there).unwrap_or(Path::new(""));
    let is_plain = missing.components().all(|part| matches!(part, Component::Normal(_)));
    if !is_plain || !fs::metadata(there).is_ok_and(|m| m.is_dir()) {
        return Err(Obstacle::NoFolder);
    }
    Ok((there.canonicalize()?.join(missing), true))
}

/// Refuses where an input lies at one of the names, or something of another kind at one that is to be written.
fn check_names(target: &Path, plan: &SetPlan) -> Result<(), Obstacle> {
    for name in plan.names() {
        if let Some(input) = plan.inputs.at(&target.join(name.as_path())) {
            return Err(Obstacle::IsInput { name: Some(name.to_string()), input: input.to_owned() });
        }
    }
    let in_the_way = |name: &Path, what| Obstacle::InTheWay { name: name.display().to_string(), what };
    for name in &plan.files {
        for folder in name.folders() {
            match fs::symlink_metadata(target.join(folder)) {
                Ok(there) if there.is_symlink() => {
                    return Err(in_the_way(folder, "a link, and a folder is wanted"));
                }
                Ok(there) if !there.is_dir() => {
                    return Err(in_the_way(folder, "a file, and a folder is wanted"));
                }
                Ok(_) => check_writable(&target.join(folder))?,
                Err(_) => break,
            }
        }
        match fs::symlink_metadata(target.join(name.as_path())) {
            Ok(there) if there.is_dir() => {
                return Err(in_the_way(name.as_path(), "a folder, and a file is wanted"));
            }
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e.into()),
            Ok(_) | Err(_) => {}
        }
    }
    Ok(())
}

/// Refuses where something stands at one of the names that may not go, and returns what was looked at; what is still as
/// it was `seen` before is not read again.
fn check_ours(target: &Path, plan: &SetPlan, seen: &Seen) -> Result<Seen, Obstacle> {
    let mut ours = Seen::new();
    if plan.existing == Existing::Replace {
        return Ok(ours);
    }
    let mut others = BTreeSet::new();
    let mut unread = BTreeMap::new();
    // A file that is written anew is mostly one that goes as well, and is looked at once.
    for name in plan.names().collect::<BTreeSet<_>>() {
        let there = match fs::symlink_metadata(target.join(name.as_path())) {
            // What is a folder stays, or is refused for it.
            Ok(there) if there.is_dir() => continue,
            Ok(there) => there,
            Err(e) if matches!(e.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory) => continue,
            Err(e) => return Err(e.into()),
        };
        let stamp = Stamp::of(&there);
        let may_be_ours = match plan.existing {
            Existing::Keep => false,
            Existing::Replace | Existing::ReplaceOwn => there.is_file(),
        };
        match plan.earlier.digest(name).filter(|_| may_be_ours) {
            Some(_) if seen.get(name.as_path()) == Some(&stamp) => {
                ours.insert(name.as_path().to_owned(), stamp);
            }
            Some(digest) => {
                unread.insert(target.join(name.as_path()), (name, stamp, digest));
            }
            None => {
                others.insert(name.to_string());
            }
        }
    }
    let digests = digest::of_files(&unread.keys().cloned().collect::<Vec<_>>())?;
    for ((name, stamp, expected), found) in unread.into_values().zip(digests) {
        if found == expected {
            ours.insert(name.as_path().to_owned(), stamp);
        } else {
            others.insert(name.to_string());
        }
    }
    if others.is_empty() {
        return Ok(ours);
    }
    // Where the file that tells of the others is not ours, that is why they are not known.
    let list = plan.files.last().and_then(|list| others.take(list.as_str()));
    Err(Obstacle::Others { names: list.into_iter().chain(others).collect() })
}

/// Returns whether a folder may be replaced by another: not where it is the root of a disk, and not where this program,
/// and with it the shell that it was started from, is at work in it.
fn may_exchange(target: &Path, parent: &Path) -> bool {
    let is_on_one_disk = match (fs::metadata(target), fs::metadata(parent)) {
        (Ok(own), Ok(around)) => same_disk(&own, &around),
        (Ok(_) | Err(_), Ok(_) | Err(_)) => false,
    };
    let is_at_work_here = std::env::current_dir()
        .and_then(|at_work| at_work.canonicalize())
        .is_ok_and(|at_work| at_work.starts_with(target));
    is_on_one_disk && !is_at_work_here
}

/// The folders that had to be made around a new one, which go again if it does not come.
#[derive(Debug)]
struct MadeFolders(Vec<PathBuf>);

impl MadeFolders {
    /// Makes the folders in which `target` is to lie.
    fn around(target: &Path) -> io::Result<Self> {
        let mut made = Self(Vec::new());
        let missing: Vec<&Path> = target.ancestors().skip(1).take_while(|folder| !folder.exists()).collect();
        for folder in missing.into_iter().rev() {
            fs::create_dir(folder)?;
            made.0.push(folder.to_owned());
        }
        Ok(made)
    }

    fn keep(&mut self) {
        self.0.clear();
    }
}

impl Drop for MadeFolders {
    fn drop(&mut self) {
        for folder in self.0.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}
