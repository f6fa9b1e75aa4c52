//! The guitars in the panel's folder: a folder each, with the guitar's file in it.

mod confirmation;
mod folder_name;
mod history;
mod measurement;
mod open_guitar;
mod proofs;
mod records;
mod saver;
mod sent;
mod surveys;
mod takes;
mod watch;

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, mpsc};
use std::time::SystemTime;

use drywire::document::{Document, EditError, Fault, OpenError, Refusal};
use drywire::folder::{Existing, FolderError, Inputs, NewFile};
use drywire::guitar::{Draft, Guitar};
use tokio::sync::broadcast;

pub(crate) use confirmation::{Confirmation, Played, TakeOfFlips};
pub(crate) use folder_name::FolderName;
pub(crate) use history::Way;
pub(crate) use measurement::Measurement;
pub(crate) use open_guitar::{Checked, OpenGuitar, Refused};
pub(crate) use records::Shelf;
pub(crate) use takes::{NewTake, TakesFor};

/// The guitar's file in its folder.
pub(crate) const FILE: &str = "guitar.toml";

/// The guitars of one folder.
#[derive(Debug)]
pub(crate) struct Guitars {
    root: PathBuf,
    open: Mutex<BTreeMap<FolderName, OpenGuitar>>,
    told: broadcast::Sender<Told>,
    /// How much was told.
    count: AtomicU64,
    unsaved: mpsc::Sender<()>,
    watch: watch::Watch,
    proofs: proofs::Proofs,
    /// One changes at a time how a guitar is measured, and what was recorded of it.
    measuring: Mutex<()>,
    recording: Mutex<()>,
}

/// What happened to a guitar, for every window.
#[derive(Debug, Clone)]
pub(crate) enum Told {
    /// One was changed, and is at this number now.
    Changed(FolderName, u64),
    /// What was changed, up to this number, is saved.
    Saved(FolderName, u64),
    /// One has come, gone or is called otherwise.
    Listed,
}

/// A guitar as the list shows it.
#[derive(Debug)]
pub(crate) struct Listed {
    pub(crate) folder: FolderName,
    /// What its owner calls it.
    pub(crate) called: String,
    pub(crate) changed: Option<SystemTime>,
    /// The guitar, or how many faults its file has.
    pub(crate) guitar: Result<Guitar, usize>,
}

/// Why something could not be done with a guitar.
#[derive(Debug, thiserror::Error)]
pub(crate) enum GuitarsError {
    #[error("there is no guitar in the folder `{0}`")]
    Missing(String),
    #[error("there is no take `{0}`")]
    NoTake(String),
    #[error("there is no `{0}` that was made to be sent")]
    NotMade(String),
    #[error("there are no readings of a pickup `{0}`")]
    NoPickup(String),
    #[error("`{0}` is a link, and the panel reads and writes inside its own folder alone")]
    Link(String),
    #[error("the readings that are kept cannot be read: {0}")]
    Readings(String),
    #[error(transparent)]
    Open(#[from] OpenError),
    #[error(transparent)]
    Folder(#[from] FolderError),
    #[error("{what}: {cause}")]
    System { what: String, cause: io::Error },
    #[error("it could not be put into the system's bin: {0}")]
    NoBin(trash::Error),
}

impl From<Refusal> for GuitarsError {
    fn from(refusal: Refusal) -> Self {
        let told: Vec<String> = refusal.faults().iter().map(Fault::told).collect();
        Self::Readings(told.join("; "))
    }
}

impl From<EditError> for GuitarsError {
    fn from(error: EditError) -> Self {
        Self::Readings(format!("{error}; {}", error.hint()))
    }
}

impl GuitarsError {
    /// Returns what to do about it.
    pub(crate) fn hint(&self) -> String {
        match self {
            Self::Missing(_) => {
                "it may have been renamed or removed; the list shows what is there".to_owned()
            }
            Self::NotMade(_) => "make it again".to_owned(),
            Self::NoPickup(_) => "name its leads first; or they are with a guitar already".to_owned(),
            Self::NoTake(_) => "choose another, or add it again".to_owned(),
            Self::Readings(_) => {
                "mend the file or move it away; until then nothing in it is changed".to_owned()
            }
            Self::Link(_) => "put the folder itself in its place".to_owned(),
            Self::Open(error) => error.hint(),
            Self::Folder(error) => error.hint("by `drywire panel FOLDER`"),
            Self::System { .. } => "see that the folder is there and can be written to".to_owned(),
            Self::NoBin(_) => "nothing was removed; take the folder away in the file manager".to_owned(),
        }
    }
}

/// Returns a path that is no link and so leads nowhere else; nothing need be there.
fn no_link(path: PathBuf) -> Result<PathBuf, GuitarsError> {
    match fs::symlink_metadata(&path) {
        Ok(there) if there.file_type().is_symlink() => Err(GuitarsError::Link(path.display().to_string())),
        Ok(_) | Err(_) => Ok(path),
    }
}

/// Returns the same folder, made where it is not there.
fn made(folder: PathBuf) -> Result<PathBuf, GuitarsError> {
    fs::create_dir_all(&folder).map_err(|cause| GuitarsError::System {
        what: format!("the folder `{}` could not be made", folder.display()),
        cause,
    })?;
    Ok(folder)
}

/// Returns the names of the files in a folder, each with its size.
fn files_in(folder: &Path) -> Vec<(String, u64)> {
    let file = |entry: fs::DirEntry| {
        let there = entry.metadata().ok().filter(fs::Metadata::is_file)?;
        Some((FolderName::new(entry.file_name().to_str()?)?.to_string(), there.len()))
    };
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<_> = entries.filter_map(file).collect();
    files.sort();
    files
}

/// Returns a path in `folder` where nothing is: `stem.ending`, or the first of `stem-2.ending`, `stem-3.ending` and so on.
fn free_in(folder: &Path, stem: &str, ending: &str) -> PathBuf {
    let mut path = folder.join(format!("{stem}.{ending}"));
    let mut number = 1;
    while fs::symlink_metadata(&path).is_ok() {
        number += 1;
        path = folder.join(format!("{stem}-{number}.{ending}"));
    }
    path
}

impl Guitars {
    /// Opens the folder at `root`, which need not be there yet, and watches it.
    pub(crate) fn open(root: PathBuf) -> Arc<Self> {
        let (unsaved, to_save) = mpsc::channel();
        let (told, _) = broadcast::channel(64);
        let guitars = Arc::new(Self {
            root,
            open: Mutex::default(),
            told,
            count: AtomicU64::new(0),
            unsaved,
            watch: watch::Watch::default(),
            proofs: proofs::Proofs::default(),
            measuring: Mutex::default(),
            recording: Mutex::default(),
        });
        saver::start(&guitars, to_save);
        guitars.watch.start(&guitars);
        guitars
    }

    pub(crate) fn root(&self) -> &Path {
        &self.root
    }

    /// Returns what happens from now on.
    pub(crate) fn listen(&self) -> broadcast::Receiver<Told> {
        self.told.subscribe()
    }

    /// Returns how much was told so far.
    pub(crate) fn told(&self) -> u64 {
        self.count.load(Ordering::SeqCst)
    }

    pub(crate) fn tell(&self, told: Told) {
        self.count.fetch_add(1, Ordering::SeqCst);
        // Nobody may be listening.
        let _ = self.told.send(told);
    }

    fn opened(&self) -> MutexGuard<'_, BTreeMap<FolderName, OpenGuitar>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns the guitars, the one last worked on first.
    pub(crate) fn list(&self) -> Vec<Listed> {
        let mut listed: Vec<Listed> = self.folders().filter_map(|folder| self.listed(folder)).collect();
        listed.sort_by(|a, b| b.changed.cmp(&a.changed).then_with(|| a.folder.cmp(&b.folder)));
        listed
    }

    fn listed(&self, folder: FolderName) -> Option<Listed> {
        let file = self.file(&folder).ok()?;
        let changed = fs::metadata(&file).and_then(|file| file.modified()).ok();
        let Some(draft) = self.draft(&folder) else {
            return Some(Listed { called: folder.to_string(), folder, changed, guitar: Err(1) });
        };
        let called = called(&draft, &folder);
        let guitar = draft.check().map_err(|refusal| refusal.faults().len());
        Some(Listed { folder, called, changed, guitar })
    }

    /// Returns the folders of the guitars, each with what its owner calls it.
    pub(crate) fn names(&self) -> Vec<(FolderName, String)> {
        let named = |folder: FolderName| {
            self.file(&folder).ok()?;
            let called =
                self.draft(&folder).map_or_else(|| folder.to_string(), |draft| called(&draft, &folder));
            Some((folder, called))
        };
        let mut names: Vec<_> = self.folders().filter_map(named).collect();
        names.sort();
        names
    }

    fn folders(&self) -> impl Iterator<Item = FolderName> + use<> {
        let entries = fs::read_dir(&self.root).into_iter().flatten().flatten();
        entries.filter_map(|entry| FolderName::new(entry.file_name().to_str()?))
    }

    /// Returns the text of a guitar as it stands here, or where it is not open on the disk.
    fn draft(&self, folder: &FolderName) -> Option<Draft> {
        if let Some(open) = self.opened().get(folder) {
            return Some(open.draft().clone());
        }
        Document::open(&self.file(folder).ok()?).ok().map(Draft::of)
    }

    /// Returns the path of a guitar's file, looked at for links that might lead out.
    fn file(&self, folder: &FolderName) -> Result<PathBuf, GuitarsError> {
        let own = self.root.join(folder.as_str());
        let file = own.join(FILE);
        for path in [&own, &file] {
            match fs::symlink_metadata(path) {
                Ok(there) if there.file_type().is_symlink() => {
                    return Err(GuitarsError::Link(path.display().to_string()));
                }
                Ok(_) => {}
                Err(_) => return Err(GuitarsError::Missing(folder.to_string())),
            }
        }
        Ok(file)
    }

    /// Returns the folder of a guitar, where it is there.
    pub(crate) fn home(&self, folder: &FolderName) -> Result<PathBuf, GuitarsError> {
        self.file(folder)?;
        Ok(self.root.join(folder.as_str()))
    }

    /// Returns a folder within that of a guitar, which need not be there.
    fn within(&self, guitar: &FolderName, name: &str) -> Result<PathBuf, GuitarsError> {
        no_link(self.home(guitar)?.join(name))
    }

    /// Returns the path of a file within a guitar's folder `folder`, where there is one of this name.
    fn file_within(
        &self,
        guitar: &FolderName,
        folder: &str,
        name: &str,
    ) -> Result<Option<PathBuf>, GuitarsError> {
        let Some(own) = FolderName::new(name) else { return Ok(None) };
        let path = no_link(self.within(guitar, folder)?.join(own.as_str()))?;
        Ok(path.is_file().then_some(path))
    }

    /// Returns the names of the files within a guitar's folder `folder`, each with its size.
    fn files_within(&self, guitar: &FolderName, folder: &str) -> Vec<(String, u64)> {
        self.within(guitar, folder).map_or_else(|_| Vec::new(), |folder| files_in(&folder))
    }

    /// Returns the same folder, made where it is not there.
    fn made_within(&self, guitar: &FolderName, name: &str) -> Result<PathBuf, GuitarsError> {
        made(self.within(guitar, name)?)
    }

    /// Returns what `work` makes of an open guitar; whoever listens is told where it changed.
    pub(crate) fn with<T>(
        &self,
        folder: &FolderName,
        work: impl FnOnce(&mut OpenGuitar) -> T,
    ) -> Result<T, GuitarsError> {
        let mut opened = self.opened();
        if !opened.contains_key(folder) {
            let document = Document::open(&self.file(folder)?)?;
            opened.insert(folder.clone(), OpenGuitar::new(FILE, document.text().to_owned()));
        }
        let open = opened.get_mut(folder).ok_or_else(|| GuitarsError::Missing(folder.to_string()))?;
        let before = open.number();
        let made = work(open);
        let number = open.number();
        drop(opened);
        if number != before {
            // The saver ends with the panel.
            let _ = self.unsaved.send(());
            self.tell(Told::Changed(folder.clone(), number));
        }
        Ok(made)
    }

    /// Makes a folder for a guitar whose file says `text`, and returns its name.
    pub(crate) fn make(&self, called: &str, text: &str) -> Result<FolderName, GuitarsError> {
        let system = |what: &str| {
            let what = what.to_owned();
            move |cause| GuitarsError::System { what, cause }
        };
        fs::create_dir_all(&self.root)
            .map_err(system(&format!("the folder `{}` could not be made", self.root.display())))?;
        self.watch.begin(&self.root);
        let wanted = FolderName::for_guitar(called);
        let names = std::iter::once(wanted.clone()).chain((2..).map(|number| wanted.numbered(number)));
        for folder in names {
            let own = self.root.join(folder.as_str());
            match fs::create_dir(&own) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                made => {
                    made.map_err(system(&format!("the folder `{}` could not be made", own.display())))?;
                    let written =
                        NewFile::write(&own.join(FILE), text.as_bytes(), Existing::Keep, &Inputs::default());
                    if let Err(error) = written {
                        // It is empty, since nothing was written.
                        let _ = fs::remove_dir(&own);
                        return Err(error.into());
                    }
                    self.tell(Told::Listed);
                    return Ok(folder);
                }
            }
        }
        unreachable!("there is always another number")
    }

    /// Copies a guitar's file into a folder of its own, called so, or where another is called so already with a number.
    pub(crate) fn copy(&self, folder: &FolderName, called: &str) -> Result<FolderName, GuitarsError> {
        let mut draft = self.with(folder, |open| open.draft().clone())?;
        let names = self.names();
        let is_free = |name: &String| names.iter().all(|(_, own)| own != name);
        let numbered = (2..).map(|number| format!("{called} {number}"));
        let name = std::iter::once(called.to_owned()).chain(numbered).find(is_free).unwrap_or_default();
        // A file that is no TOML keeps the name that it has.
        let _ = draft.set("name", name.as_str());
        self.make(&name, draft.text())
    }

    /// Puts a guitar's folder, with all that is in it, into the system's bin, and returns what it was called.
    pub(crate) fn remove(&self, folder: &FolderName) -> Result<String, GuitarsError> {
        self.file(folder)?;
        let called = self.draft(folder).map_or_else(|| folder.to_string(), |draft| called(&draft, folder));
        self.save_all();
        trash::delete(self.root.join(folder.as_str())).map_err(GuitarsError::NoBin)?;
        self.opened().remove(folder);
        self.tell(Told::Listed);
        Ok(called)
    }

    /// Saves what is not saved, each file whole or not at all.
    pub(crate) fn save_all(&self) {
        let names: Vec<FolderName> =
            self.opened().iter().filter(|(_, open)| !open.is_saved()).map(|(name, _)| name.clone()).collect();
        for folder in names {
            // What cannot be read there is not replaced.
            let looked = self.look(&folder);
            let mut opened = self.opened();
            let Some(open) =
                opened.get_mut(&folder).filter(|open| !open.is_saved() && open.clash().is_none())
            else {
                continue;
            };
            let text = open.text().to_owned();
            let had = open.trouble.clone();
            match looked.and_then(|()| self.file(&folder)).and_then(|file| {
                Ok(NewFile::write(&file, text.as_bytes(), Existing::Replace, &Inputs::default())?)
            }) {
                Ok(()) => open.saved(text),
                Err(error) => open.trouble = Some(format!("{error}; {}", error.hint())),
            }
            let is_news = open.trouble.is_some() || had.is_some();
            let number = open.number();
            drop(opened);
            self.tell(if is_news { Told::Changed(folder, number) } else { Told::Saved(folder, number) });
        }
    }

    /// Returns whether all is saved.
    pub(crate) fn is_saved(&self) -> bool {
        self.opened().values().all(OpenGuitar::is_saved)
    }

    /// Looks whether another program changed a guitar's file that is open.
    ///
    /// # Errors
    /// [`GuitarsError`] where what stands there is no text that can be read.
    fn look(&self, folder: &FolderName) -> Result<(), GuitarsError> {
        let document = Document::open(&self.file(folder)?)?;
        let mut opened = self.opened();
        let Some(open) = opened.get_mut(folder) else { return Ok(()) };
        if open.look_at_disk(document.text()) {
            let number = open.number();
            drop(opened);
            let _ = self.unsaved.send(());
            self.tell(Told::Changed(folder.clone(), number));
        }
        Ok(())
    }
}

/// Returns what the owner of the guitar that `draft` is calls it, or the name of its folder.
pub(crate) fn called(draft: &Draft, folder: &FolderName) -> String {
    draft.get("name").ok().flatten().unwrap_or_else(|| folder.to_string())
}
