//! What of a guitar is made to be sent, in its folder: pages and archives, each under a name of its own.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use drywire::digest::Form;
use drywire::folder::{Existing, Inputs, NewFile};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::proofs::today;
use super::{FolderName, Guitars, GuitarsError, free_in, no_link};

/// Where it lies in the guitar's folder.
const FOLDER: &str = "sent";

/// A file that can be sent.
#[derive(Debug)]
pub(crate) struct Sendable {
    pub(crate) name: String,
    pub(crate) bytes: u64,
}

impl Guitars {
    /// Returns what was made to be sent.
    pub(crate) fn sendable(&self, guitar: &FolderName) -> Vec<Sendable> {
        let files = self.files_within(guitar, FOLDER).into_iter();
        files.map(|(name, bytes)| Sendable { name, bytes }).collect()
    }

    /// Returns the path of what was made to be sent under this name.
    pub(crate) fn sent(&self, guitar: &FolderName, name: &str) -> Result<PathBuf, GuitarsError> {
        let path = self.file_within(guitar, FOLDER, name)?;
        path.ok_or_else(|| GuitarsError::NotMade(name.to_owned()))
    }

    /// Puts a page among what can be sent, in the place of an earlier one that nobody changed, and returns its name.
    pub(crate) fn send_page(
        &self,
        guitar: &FolderName,
        called: &str,
        page: &str,
    ) -> Result<String, GuitarsError> {
        let name = format!("{}.html", FolderName::for_guitar(called));
        let path = no_link(self.made_within(guitar, FOLDER)?.join(&name))?;
        NewFile::write(&path, Form::Html.marked(page).as_bytes(), Existing::ReplaceOwn, &Inputs::default())?;
        Ok(name)
    }

    /// Puts all that is in a guitar's folder, but for what was made to be sent, into one archive and returns its name.
    pub(crate) fn send_folder(&self, guitar: &FolderName) -> Result<String, GuitarsError> {
        self.save_all();
        let home = self.home(guitar)?;
        let folder = self.made_within(guitar, FOLDER)?;
        let path = free_in(&folder, &format!("{guitar}-{}", today()), "zip");
        let mut file = NewFile::begin(&path, Existing::Keep, &Inputs::default())?;
        archived(&home, guitar.as_str(), file.file()).map_err(|cause| file.failed(cause))?;
        file.commit()?;
        Ok(path.file_name().unwrap_or_default().to_string_lossy().into_owned())
    }
}

/// Writes an archive of what is in `home`, below a folder of this name. Nothing but names and bytes goes into it, in the names'
/// order, so that the same files give the same archive; links are left out, and what is hidden, such as files on their way.
fn archived(home: &Path, name: &str, to: &mut File) -> io::Result<()> {
    let mut archive = ZipWriter::new(BufWriter::new(to));
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644)
        .large_file(true);
    for (path, within) in files(home, name, true)? {
        archive.start_file(within, options).map_err(io::Error::other)?;
        io::copy(&mut File::open(path)?, &mut archive)?;
    }
    archive.finish().map_err(io::Error::other)?.flush()
}

/// Returns the files in a folder and in those within it, each with its name in the archive.
fn files(folder: &Path, name: &str, is_home: bool) -> io::Result<Vec<(PathBuf, String)>> {
    let mut entries: Vec<fs::DirEntry> = fs::read_dir(folder)?.collect::<io::Result<_>>()?;
    entries.sort_by_key(fs::DirEntry::file_name);
    let mut all = Vec::new();
    for entry in entries {
        let Some(own) = entry.file_name().to_str().and_then(FolderName::new) else { continue };
        let (kind, within) = (entry.file_type()?, format!("{name}/{own}"));
        if kind.is_file() {
            all.push((entry.path(), within));
        } else if kind.is_dir() && !(is_home && own.as_str() == FOLDER) {
            all.extend(files(&entry.path(), &within, false)?);
        }
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use super::*;

    fn archive_of(home: &Path) -> Vec<u8> {
        let mut file = tempfile::tempfile().unwrap();
        archived(home, "blue", &mut file).unwrap();
        io::Seek::rewind(&mut file).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        bytes
    }

    #[test]
    fn the_same_files_give_the_same_archive_without_links_hidden_files_and_what_was_sent() {
        let [one, other] = [(); 2].map(|()| tempfile::tempdir().unwrap());
        for home in [one.path(), other.path()] {
            fs::create_dir_all(home.join("takes")).unwrap();
            fs::create_dir_all(home.join("sent")).unwrap();
            fs::write(home.join("takes/a.wav"), [7; 3000]).unwrap();
            fs::write(home.join("guitar.toml"), "format = 1\n").unwrap();
            fs::write(home.join("sent/old.zip"), "old").unwrap();
            fs::write(home.join(".hidden"), "on its way").unwrap();
            #[cfg(unix)]
            std::os::unix::fs::symlink("/etc/passwd", home.join("linked.toml")).unwrap();
        }
        fs::write(other.path().join("guitar.toml"), "format = 1\n").unwrap();
        let bytes = archive_of(one.path());
        assert_eq!(bytes, archive_of(other.path()));
        let mut archive = zip::ZipArchive::new(io::Cursor::new(bytes)).unwrap();
        let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
        assert_eq!(names, ["blue/guitar.toml", "blue/takes/a.wav"]);
        let mut take = Vec::new();
        archive.by_name("blue/takes/a.wav").unwrap().read_to_end(&mut take).unwrap();
        assert_eq!(take, [7; 3000]);
    }
}
