//! Why a file or a folder cannot be written.

use std::io;
use std::path::{Path, PathBuf};

/// A file or folder that cannot be written: which, and why.
#[derive(Debug, thiserror::Error)]
#[error("cannot write `{path}`{}: {obstacle}", led(link.as_deref()))]
pub struct FolderError {
    path: String,
    /// What the path leads to, where it is a link.
    link: Option<PathBuf>,
    obstacle: Obstacle,
}

impl FolderError {
    pub(super) fn new(path: impl Into<String>, obstacle: impl Into<Obstacle>) -> Self {
        Self { path: path.into(), link: None, obstacle: obstacle.into() }
    }

    /// Returns the error with what the path `target` leads to, where that is a link to something.
    pub(super) fn through(self, target: &Path) -> Self {
        let link = target.read_link().ok().filter(|_| target.exists());
        Self { link, ..self }
    }

    /// Returns what is in the way.
    pub fn obstacle(&self) -> &Obstacle {
        &self.obstacle
    }

    /// Returns what to do about it; `elsewhere` says how another place is named, such as `with --out`.
    pub fn hint(&self, elsewhere: &str) -> String {
        self.obstacle.hint(elsewhere)
    }
}

/// What stands in the way of writing.
#[derive(Debug, thiserror::Error)]
pub enum Obstacle {
    /// A file stands where a folder is wanted.
    #[error("it is a file, and a folder is wanted")]
    IsFile,
    /// A folder stands where a file is wanted.
    #[error("it is a folder, and a file is wanted")]
    IsFolder,
    /// A device, pipe or socket stands there.
    #[error("it is a device or a pipe, and a {wanted} is wanted")]
    IsSpecial {
        /// What is wanted there.
        wanted: &'static str,
    },
    /// A link stands there that leads nowhere.
    #[error("it is a link to nothing")]
    DanglingLink,
    /// The folder around it does not exist.
    #[error("the folder that it would lie in does not exist")]
    NoFolder,
    /// Something of another kind stands at a name that is to be written.
    #[error("its `{name}` is {what}")]
    InTheWay {
        /// The name within the folder.
        name: String,
        /// What stands there and what is wanted.
        what: &'static str,
    },
    /// An input stands at a name that is to be written.
    #[error("{} is the input `{input}`, which is never replaced", whose(name.as_deref()))]
    IsInput {
        /// The name within the folder, where it is one of a folder.
        name: Option<String>,
        /// The input as given.
        input: String,
    },
    /// Files stand at the names that are not ours, or were changed since they were written.
    #[error("{}", not_ours(names))]
    Others {
        /// Their names within the folder; none where it is the file itself.
        names: Vec<String>,
    },
    /// It is there already and is not to be replaced.
    #[error("it is there already")]
    Exists,
    /// Another run is writing to the same folder.
    #[error("another run is writing to it")]
    Busy,
    /// The disk has not the room.
    #[error("it needs {} and its disk has {} free", megabytes(*needed), megabytes(*free))]
    TooLittleSpace {
        /// The bytes needed.
        needed: u64,
        /// The bytes free.
        free: u64,
    },
    /// The disk filled up.
    #[error("the disk is full")]
    Full,
    /// The user's share of the disk is used up.
    #[error("your quota on the disk is used up")]
    Quota,
    /// The file system takes no larger file.
    #[error("the file would be larger than its disk or the limits of this session allow")]
    TooLarge,
    /// The disk is mounted read-only.
    #[error("the disk is read-only")]
    ReadOnly,
    /// The permissions forbid it.
    #[error("permission denied")]
    Denied,
    /// A name or the whole path is longer than the file system takes.
    #[error("the path or a name in it is too long")]
    NameTooLong,
    /// The set is in place, and files of others that came while it was put there could not be brought after.
    #[error("it is written, but files that came into it meanwhile still lie in `{}`: {cause}", folder.display())]
    LeftBehind {
        /// Where they lie.
        folder: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// The system says something else.
    #[error("{0}")]
    Other(io::Error),
}

impl Obstacle {
    /// Returns what to do about it; `elsewhere` says how another place is named, such as `with --out`.
    pub fn hint(&self, elsewhere: &str) -> String {
        let (what, another) = match self {
            Self::IsFile | Self::IsFolder | Self::IsSpecial { .. } => ("", "choose another"),
            Self::DanglingLink => ("remove the link, or ", "choose another place"),
            Self::NoFolder => ("make the folder first, or ", "choose another"),
            Self::InTheWay { .. } => ("move it away, or ", "choose another folder"),
            Self::IsInput { .. } => ("", "choose another place"),
            Self::Others { .. } => ("move it away, or ", "choose another place"),
            Self::Exists => ("remove it first, or ", "choose another name"),
            Self::Busy => ("wait for the other run to end, or ", "choose another folder"),
            Self::TooLittleSpace { .. } | Self::Full | Self::Quota => {
                ("make room, or ", "choose a folder on another disk")
            }
            Self::TooLarge => return "cut the source into shorter parts, or raise the limit".to_owned(),
            Self::ReadOnly => ("", "choose a folder on another disk"),
            Self::Denied => {
                ("check the permissions of the folder and of the one around it, or ", "choose another")
            }
            Self::LeftBehind { .. } => return "move them back by hand".to_owned(),
            Self::NameTooLong => ("", "choose a shorter path"),
            Self::Other(_) => ("check the path and the disk it is on, or ", "choose another"),
        };
        format!("{what}{another} {elsewhere}")
    }
}

impl From<io::Error> for Obstacle {
    fn from(cause: io::Error) -> Self {
        match cause.kind() {
            io::ErrorKind::StorageFull => Self::Full,
            io::ErrorKind::QuotaExceeded => Self::Quota,
            io::ErrorKind::FileTooLarge => Self::TooLarge,
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly,
            io::ErrorKind::PermissionDenied => Self::Denied,
            io::ErrorKind::InvalidFilename => Self::NameTooLong,
            io::ErrorKind::NotADirectory => Self::NoFolder,
            _ => Self::Other(without_path(cause)),
        }
    }
}

/// Returns `cause` without the path of a temporary file, which `tempfile` adds at the end.
fn without_path(cause: io::Error) -> io::Error {
    let told = cause.to_string();
    match told.split_once(" at path ") {
        Some((what, _)) if cause.raw_os_error().is_none() => io::Error::new(cause.kind(), what.to_owned()),
        Some(_) | None => cause,
    }
}

fn megabytes(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

fn whose(name: Option<&str>) -> String {
    name.map_or_else(|| "it".to_owned(), |name| format!("its `{name}`"))
}

fn led(link: Option<&Path>) -> String {
    link.map_or_else(String::new, |to| format!(", a link to `{}`", to.display()))
}

fn not_ours(names: &[String]) -> String {
    const MOST_NAMED: usize = 3;
    let named: Vec<String> = names.iter().take(MOST_NAMED).map(|name| format!("`{name}`")).collect();
    let named = named.join(", ");
    match (names.len(), names.len().saturating_sub(MOST_NAMED)) {
        (0, _) => "it was not written by drywire, or was changed since".to_owned(),
        (1, _) => format!("its {named} was not written by drywire, or was changed since"),
        (_, 0) => format!("its {named} were not written by drywire, or were changed since"),
        (_, more) => {
            format!("its {named} and {more} more were not written by drywire, or were changed since")
        }
    }
}
