//! What is not ours, carried from the old folder into the new one.
//!
//! Files get a second name in the new folder, so they are the same files in both while the two change places, whatever
//! happens; folders are made anew around them. What cannot be carried like that without a loss is refused, and the
//! set is then put in place file by file.

use std::collections::HashSet;
use std::fs::{self, DirEntry, File, FileTimes, Metadata};
use std::io;
use std::path::{Path, PathBuf};

use super::EntryName;
use super::temporary::is_temporary_name;

/// The most files carried; in a folder of more the set is put in place file by file.
const MOST_FILES: usize = 10_000;
const MOST_LEVELS: usize = 32;

/// The names within a folder that a new set writes or takes away.
#[derive(Debug)]
pub(super) struct OurNames {
    files: HashSet<PathBuf>,
    folders: HashSet<PathBuf>,
}

impl OurNames {
    pub(super) fn new<'n>(names: impl Iterator<Item = &'n EntryName> + Clone) -> Self {
        Self {
            files: names.clone().map(|n| n.as_path().to_owned()).collect(),
            folders: names.flat_map(|n| n.folders().map(Path::to_owned).collect::<Vec<_>>()).collect(),
        }
    }
}

/// Gives everything in `old` that is not of `ours` a place in `new`, which has the same permissions and owner after.
pub(super) fn carry_over(old: &Path, new: &Path, ours: &OurNames) -> io::Result<()> {
    let mut left = MOST_FILES;
    carry_folder(old, new, Path::new(""), ours, &mut left, MOST_LEVELS)?;
    make_alike(&fs::metadata(old)?, old, new)
}

fn carry_folder(
    old: &Path,
    new: &Path,
    within: &Path,
    ours: &OurNames,
    left: &mut usize,
    levels: usize,
) -> io::Result<()> {
    for entry in fs::read_dir(old.join(within))? {
        let entry = entry?;
        let name = within.join(entry.file_name());
        let kind = entry.file_type()?;
        if ours.files.contains(&name) && !kind.is_dir() {
            continue;
        }
        *left = left.checked_sub(1).ok_or_else(too_much)?;
        if !kind.is_dir() {
            make_parents(old, new, within)?;
            fs::hard_link(entry.path(), new.join(&name))?;
            continue;
        }
        let is_foreign = !ours.folders.contains(&name);
        let levels = levels.checked_sub(1).ok_or_else(too_much)?;
        check_folder(old, &entry)?;
        if is_foreign {
            make_parents(old, new, &name)?;
        }
        carry_folder(old, new, &name, ours, left, levels)?;
        if is_foreign {
            let metadata = entry.metadata()?;
            make_alike(&metadata, &entry.path(), &new.join(&name))?;
            set_times(&metadata, &new.join(&name))?;
        }
    }
    Ok(())
}

fn too_much() -> io::Error {
    io::Error::from(io::ErrorKind::Unsupported)
}

/// Makes the folder called `within` in `new`, and those around it, like those in `old`.
fn make_parents(old: &Path, new: &Path, within: &Path) -> io::Result<()> {
    let mut missing: Vec<&Path> =
        within.ancestors().take_while(|a| !a.as_os_str().is_empty() && !new.join(a).exists()).collect();
    while let Some(folder) = missing.pop() {
        fs::create_dir(new.join(folder))?;
        make_alike(&fs::metadata(old.join(folder))?, &old.join(folder), &new.join(folder))?;
    }
    Ok(())
}

/// Refuses a folder that cannot be made anew: on another disk, one that its owner may not write to, or a temporary of
/// another run.
fn check_folder(old: &Path, entry: &DirEntry) -> io::Result<()> {
    let metadata = entry.metadata()?;
    if metadata.permissions().readonly()
        || is_temporary_name(&entry.file_name())
        || !same_disk(&metadata, &fs::metadata(old)?)
    {
        return Err(io::Error::from(io::ErrorKind::Unsupported));
    }
    Ok(())
}

/// Gives the folder `new` the permissions and owner of `old`, and refuses one with attributes that would be lost.
fn make_alike(metadata: &Metadata, old: &Path, new: &Path) -> io::Result<()> {
    if has_attributes(old)? {
        return Err(io::Error::from(io::ErrorKind::Unsupported));
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, chown};
        let now = fs::metadata(new)?;
        if (now.uid(), now.gid()) != (metadata.uid(), metadata.gid()) {
            chown(new, Some(metadata.uid()), Some(metadata.gid()))?;
        }
    }
    fs::set_permissions(new, metadata.permissions())
}

fn set_times(metadata: &Metadata, new: &Path) -> io::Result<()> {
    let times = FileTimes::new().set_accessed(metadata.accessed()?).set_modified(metadata.modified()?);
    File::open(new)?.set_times(times)
}

/// Moves what came into `old`, or was replaced there, since it was carried, to `new`, where the two have changed places.
pub(super) fn bring_latecomers(old: &Path, new: &Path, ours: &OurNames) -> io::Result<()> {
    bring_from(old, new, Path::new(""), ours)
}

fn bring_from(old: &Path, new: &Path, within: &Path, ours: &OurNames) -> io::Result<()> {
    for entry in fs::read_dir(old.join(within))? {
        let entry = entry?;
        let name = within.join(entry.file_name());
        let there = new.join(&name);
        if entry.file_type()?.is_dir() {
            if fs::symlink_metadata(&there).is_ok() || ours.folders.contains(&name) {
                bring_from(old, new, &name, ours)?;
            } else {
                fs::rename(entry.path(), there)?;
            }
        } else if !ours.files.contains(&name) && !is_same(&entry.metadata()?, &there) {
            if let Some(folder) = there.parent() {
                fs::create_dir_all(folder)?;
            }
            fs::rename(entry.path(), there)?;
        }
    }
    Ok(())
}

#[cfg(unix)]
fn is_same(metadata: &Metadata, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    fs::symlink_metadata(path).is_ok_and(|m| (m.dev(), m.ino()) == (metadata.dev(), metadata.ino()))
}

#[cfg(unix)]
pub(super) fn same_disk(one: &Metadata, other: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    one.dev() == other.dev()
}

/// Returns whether a folder carries access lists or other attributes beyond what the system gives to every file.
#[cfg(unix)]
fn has_attributes(folder: &Path) -> io::Result<bool> {
    let mut names = vec![0; 64 * 1024];
    match rustix::fs::listxattr(folder, &mut names[..]) {
        Ok(length) => {
            Ok(names[..length].split(|b| *b == 0).any(|n| !n.is_empty() && !n.starts_with(b"security.")))
        }
        Err(rustix::io::Errno::NOTSUP) => Ok(false),
        Err(e) => Err(e.into()),
    }
}

// Elsewhere folders are never exchanged, and nothing is carried.
#[cfg(not(unix))]
fn is_same(_: &Metadata, _: &Path) -> bool {
    false
}

#[cfg(not(unix))]
pub(super) fn same_disk(_: &Metadata, _: &Metadata) -> bool {
    false
}

#[cfg(not(unix))]
fn has_attributes(_: &Path) -> io::Result<bool> {
    Err(io::Error::from(io::ErrorKind::Unsupported))
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn what_comes_into_the_folder_between_carrying_and_exchange_is_brought_after() {
        let folder = tempfile::tempdir().unwrap();
        let (old, new) = (folder.path().join("old"), folder.path().join("new"));
        fs::create_dir_all(old.join("matched")).unwrap();
        fs::create_dir_all(&new).unwrap();
        for name in ["kept.txt", "edited.txt", "matched/series.wav"] {
            fs::write(old.join(name), "before").unwrap();
        }
        fs::write(new.join("set"), "new").unwrap();
        let names = ["set", "matched/series.wav"].map(|n| EntryName::new(n).unwrap());
        let ours = OurNames::new(names.iter());
        carry_over(&old, &new, &ours).unwrap();

        // An editor saves by putting a new file in the place of the old one; another program makes a folder.
        fs::remove_file(old.join("edited.txt")).unwrap();
        fs::write(old.join("edited.txt"), "after").unwrap();
        fs::create_dir(old.join("late")).unwrap();
        fs::write(old.join("late/take.wav"), "late").unwrap();
        fs::write(old.join("matched/note.txt"), "late").unwrap();
        super::super::place::exchange(&old, &new).unwrap();
        // Their names now stand for each other's content.
        bring_latecomers(&new, &old, &ours).unwrap();

        let read = |name: &str| fs::read_to_string(old.join(name)).unwrap();
        assert_eq!((read("kept.txt"), read("edited.txt")), ("before".into(), "after".into()));
        assert_eq!((read("late/take.wav"), read("matched/note.txt")), ("late".into(), "late".into()));
        assert_eq!(read("set"), "new");
        assert!(!old.join("matched/series.wav").exists(), "what the new set retires does not come back");
    }

    #[test]
    fn more_files_than_are_carried_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let (old, new) = (folder.path().join("old"), folder.path().join("new"));
        let mut deep = old.clone();
        (0..=MOST_LEVELS).for_each(|_| deep.push("d"));
        fs::create_dir_all(deep).unwrap();
        fs::create_dir(&new).unwrap();
        let refusal = carry_over(&old, &new, &OurNames::new([].iter())).unwrap_err();
        assert_eq!(refusal.kind(), io::ErrorKind::Unsupported);
    }
}
