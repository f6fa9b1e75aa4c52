//! Which sources are heard, and the folder that each one's set goes into.

use std::collections::HashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::set::PAGE;

/// One source on its way to its set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetSource {
    /// The source as it was given; `None` where a chord is plucked.
    pub source: Option<PathBuf>,
    /// The folder of its set.
    pub out: PathBuf,
}

/// What was asked for.
#[derive(Debug)]
pub enum SourcesOf {
    /// One source, whose set is the folder given.
    One(SetSource),
    /// Several, or what is in a folder: each set in a folder of its own within the one given; and the folders whose sounds
    /// are not known, with why not.
    Many(Vec<SetSource>, Vec<(PathBuf, SourcesError)>),
}

/// A folder whose sounds are not known.
#[derive(Debug, thiserror::Error)]
pub enum SourcesError {
    /// It cannot be read.
    #[error("cannot read the folder `{}`: {cause}", folder.display())]
    Unreadable {
        /// The folder.
        folder: PathBuf,
        /// What the system says.
        cause: io::Error,
    },
    /// No sound file lies in it.
    #[error("the folder `{}` holds no sound file", folder.display())]
    NoSound {
        /// The folder.
        folder: PathBuf,
    },
}

/// The endings by which a folder's sound files are known; a file given by itself is known by its content.
const ENDINGS: [&str; 7] = ["wav", "flac", "aif", "aiff", "aifc", "ogg", "mp3"];

impl SourcesError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Unreadable { .. } => "check its permissions".to_owned(),
            Self::NoSound { folder } if folder.join(PAGE).is_file() => format!(
                "it is a set already: open its {PAGE} in a browser, or `drywire play {}`",
                folder.display()
            ),
            Self::NoSound { .. } => {
                format!("its names must end in {}; folders within it are not looked into", ENDINGS.join(", "))
            }
        }
    }
}

impl SourcesOf {
    /// Returns the sources `given`, files or folders of them, each on its way into `out`.
    ///
    /// # Errors
    /// [`SourcesError`] where the only folder cannot be read or holds no sound file.
    pub fn given(given: &[PathBuf], out: &Path) -> Result<Self, SourcesError> {
        let one = |source: Option<&PathBuf>| SetSource { source: source.cloned(), out: out.to_owned() };
        match given {
            [] => return Ok(Self::One(one(None))),
            [source] if !source.is_dir() => return Ok(Self::One(one(Some(source)))),
            [_, ..] => {}
        }
        let (mut sources, mut failed) = (Vec::new(), Vec::new());
        for source in given {
            if !source.is_dir() {
                sources.push(source.clone());
                continue;
            }
            match sound_files(source) {
                Ok(found) => sources.extend(found),
                Err(error) if given.len() == 1 => return Err(error),
                Err(error) => failed.push((source.clone(), error)),
            }
        }
        let mut taken = HashSet::new();
        let sources = sources.into_iter().map(|source| {
            let name = free_name(&source, &mut taken);
            SetSource { source: Some(source), out: out.join(name) }
        });
        Ok(Self::Many(sources.collect(), failed))
    }
}

/// Returns the sound files that lie in `folder` itself, by name.
fn sound_files(folder: &Path) -> Result<Vec<PathBuf>, SourcesError> {
    let unreadable = |cause| SourcesError::Unreadable { folder: folder.to_owned(), cause };
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        if path.is_file() && ending.is_some_and(|e| ENDINGS.contains(&e.as_str())) {
            files.push(path);
        }
    }
    if files.is_empty() {
        return Err(SourcesError::NoSound { folder: folder.to_owned() });
    }
    files.sort();
    Ok(files)
}

/// Returns the source's name without its ending and without dots in front, so that it is a folder within another and is
/// not hidden; followed by `-2` and so on where another set has that name already. Capitals do not tell names apart, as
/// they do not on every disk.
fn free_name(source: &Path, taken: &mut HashSet<String>) -> String {
    let stem = source.file_stem().map_or_else(|| "".into(), |s| s.to_string_lossy());
    let stem = Some(stem.trim_start_matches('.')).filter(|stem| !stem.is_empty()).unwrap_or("source");
    let numbered = (2..).map(|number| format!("{stem}-{number}"));
    std::iter::once(stem.to_string())
        .chain(numbered)
        .find(|name| taken.insert(name.to_lowercase()))
        .expect("there is no end to numbers")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outs(sources: &SourcesOf) -> Vec<String> {
        match sources {
            SourcesOf::One(one) => vec![one.out.display().to_string()],
            SourcesOf::Many(several, _) => several.iter().map(|e| e.out.display().to_string()).collect(),
        }
    }

    #[test]
    fn one_sources_set_is_the_folder_and_of_several_each_has_its_own_name_in_it() {
        let of = |given: &[&str]| {
            let given: Vec<PathBuf> = given.iter().map(PathBuf::from).collect();
            outs(&SourcesOf::given(&given, Path::new("out")).expect("nothing is read"))
        };
        assert_eq!(of(&[]), ["out"]);
        assert_eq!(of(&["a/take.wav"]), ["out"]);
        assert_eq!(of(&["a/take.wav", "low-note"]), ["out/take", "out/low-note"]);
        assert_eq!(
            of(&["take.wav", "b/Take.flac", "take-2.wav", "take.mp3"]),
            ["out/take", "out/Take-2", "out/take-2-2", "out/take-3"]
        );
        assert_eq!(
            of(&["..wav", "...wav", ".wav", "a/....wav", ".hidden.wav"]),
            ["out/source", "out/source-2", "out/wav", "out/source-3", "out/hidden"]
        );
    }

    #[test]
    fn a_folder_stands_for_its_sound_files_by_name() {
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["b.WAV", "a.flac", "notes.txt", "c.wav.bak"] {
            fs::write(folder.path().join(name), "").expect("it is written");
        }
        fs::create_dir(folder.path().join("d.wav")).expect("it is made");
        let given = folder.path().to_owned();
        let found = SourcesOf::given(std::slice::from_ref(&given), Path::new("out")).expect("it is read");
        assert_eq!(outs(&found), ["out/a", "out/b"]);
        let none = SourcesOf::given(&[folder.path().join("d.wav")], Path::new("out"));
        assert!(matches!(none, Err(SourcesError::NoSound { .. })));
    }
}
