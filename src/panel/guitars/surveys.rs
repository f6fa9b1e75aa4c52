//! The surveys in a guitar's folder: a folder each.

use std::fs;
use std::path::PathBuf;

use drywire::job::SURVEY_PAGE;

use super::{FolderName, Guitars, GuitarsError, no_link};

/// Where they lie in the guitar's folder.
const FOLDER: &str = "surveys";

impl Guitars {
    /// Returns the folders of a guitar's surveys, each with its path.
    pub(crate) fn surveys(&self, guitar: &FolderName) -> Vec<(String, PathBuf)> {
        let entries = self.within(guitar, FOLDER).ok().and_then(|folder| fs::read_dir(folder).ok());
        let folders = entries.into_iter().flatten().flatten();
        let mut surveys: Vec<(String, PathBuf)> = folders
            .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_dir()))
            .filter_map(|entry| {
                Some((FolderName::new(entry.file_name().to_str()?)?.to_string(), entry.path()))
            })
            .collect();
        surveys.sort();
        surveys
    }

    /// Returns the folder of the survey of this name, whose own folder is made where it is not there.
    pub(crate) fn survey(&self, guitar: &FolderName, whose: &str) -> Result<PathBuf, GuitarsError> {
        let name = FolderName::new(whose).ok_or_else(|| GuitarsError::NotMade(whose.to_owned()))?;
        no_link(self.made_within(guitar, FOLDER)?.join(name.as_str()))
    }

    /// Returns the page of the survey of this name.
    pub(crate) fn survey_page(&self, guitar: &FolderName, whose: &str) -> Result<String, GuitarsError> {
        let path = no_link(self.survey(guitar, whose)?.join(SURVEY_PAGE))?;
        fs::read_to_string(&path).map_err(|_| GuitarsError::NotMade(format!("survey of {whose}")))
    }
}
