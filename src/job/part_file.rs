//! The file beside a survey's results that holds what an unfinished one has heard.

use std::fs;
use std::path::{Path, PathBuf};

use super::SurveyError;
use crate::digest::is_whole_file;
use crate::folder::{Existing, FolderError, Inputs, NewFile};
use crate::survey::SurveyPart;

/// Where an unfinished survey is kept.
pub(super) struct PartFile {
    path: PathBuf,
    existing: Existing,
}

impl PartFile {
    /// Returns the file beside the folder `out`.
    pub(super) fn beside(out: &Path, existing: Existing) -> Result<Self, SurveyError> {
        let absolute = std::path::absolute(out).ok();
        let name = absolute.as_deref().and_then(Path::file_name);
        match (name, absolute.as_ref()) {
            (Some(name), Some(absolute)) => {
                let mut name = name.to_owned();
                name.push(".part");
                Ok(Self { path: absolute.with_file_name(name), existing })
            }
            _ => Err(SurveyError::NoFolder { out: out.to_owned() }),
        }
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Returns what was kept by an earlier run, if it is to be gone on from.
    pub(super) fn found(&self) -> Result<Option<SurveyPart>, SurveyError> {
        if !self.path.exists() {
            return Ok(None);
        }
        let text = fs::read(&self.path).map_err(|e| e.to_string());
        match (text.and_then(|text| SurveyPart::read(&text).map_err(|e| e.to_string())), self.existing) {
            (Ok(part), _) => Ok(Some(part)),
            (Err(_), Existing::Replace) => Ok(None),
            (Err(why), Existing::ReplaceOwn | Existing::Keep) => {
                Err(SurveyError::NotAPart { path: self.path.clone(), why })
            }
        }
    }

    pub(super) fn keep(&self, part: &SurveyPart) -> Result<(), FolderError> {
        NewFile::write(&self.path, &part.text(), self.existing, &Inputs::new())
    }

    /// Removes the file: the survey is whole. One that is not ours, or cannot be removed, stays; it is known for another
    /// survey's, or the same one's, the next time.
    pub(super) fn forget(&self) {
        if is_whole_file(&self.path).is_ok_and(|ours| ours) {
            let _ = fs::remove_file(&self.path);
        }
    }
}
