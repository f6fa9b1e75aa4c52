//! A neutral source plucked into a file.

use std::io;
use std::path::PathBuf;

use super::source::{hints_of, told};
use super::wave::pack;
use crate::folder::{Existing, FolderError, Inputs, NewFile};
use crate::pluck::{Layout, Phrase, PluckedTake, Recipe, Settings, Unplayable};
use crate::quantity::Seconds;
use crate::sound::WriteError;

/// What a plucked file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PluckChannels {
    /// One channel, the sum of the coils.
    One,
    /// A channel for each coil.
    Coils,
}

/// What is to be plucked, not yet checked.
#[derive(Debug, Clone)]
pub struct PluckRequest {
    /// What is played.
    pub phrase: Phrase,
    /// The coils that sense it.
    pub layout: Layout,
    /// How it is played and by what strings.
    pub settings: Settings,
    /// What the file holds.
    pub channels: PluckChannels,
    /// The file: WAV, 24 bit.
    pub out: PathBuf,
    /// What to do where a file is there.
    pub existing: Existing,
    /// Files that are read, such as the guitar's, and must not be replaced; those that are no files are passed over.
    pub inputs: Vec<PathBuf>,
}

/// Why a source cannot be plucked into a file.
#[derive(Debug, thiserror::Error)]
pub enum PluckError {
    /// It cannot be played.
    #[error("{}", told(faults))]
    Unplayable {
        /// Every reason.
        faults: Vec<Unplayable>,
    },
    /// The file's name is not that of a WAV file.
    #[error("`{}` is no name of a WAV file", out.display())]
    NotWave {
        /// The file.
        out: PathBuf,
    },
    /// A file that is read cannot be told from others.
    #[error("{0}")]
    Input(io::Error),
    /// The file cannot be written.
    #[error(transparent)]
    File(#[from] FolderError),
    /// The sound cannot be written.
    #[error("cannot write `{}`: {error}", out.display())]
    Write {
        /// The file.
        out: PathBuf,
        /// Why not.
        error: WriteError,
    },
}

impl PluckError {
    /// Returns what to do about it; `elsewhere` says how another place is named.
    pub fn hint(&self, elsewhere: &str) -> String {
        match self {
            Self::Unplayable { faults } => hints_of(faults),
            Self::NotWave { .. } => "give a name that ends in .wav".to_owned(),
            Self::Input(_) => "check the guitar file's permissions".to_owned(),
            Self::File(error) => error.hint(elsewhere),
            Self::Write { error, .. } => error.hint().to_owned(),
        }
    }
}

impl PluckRequest {
    /// How long a chord is let ring where no time is given.
    pub const CHORD: Seconds = Seconds::new(4.0);

    /// Checks the request; nothing is written.
    ///
    /// # Errors
    /// [`PluckError`] where it cannot be played, or the file has the name of another kind.
    pub fn check(self) -> Result<PluckJob, PluckError> {
        let Self { phrase, layout, settings, channels, out, existing, inputs } = self;
        let recipe =
            Recipe::new(&phrase, layout, settings).map_err(|faults| PluckError::Unplayable { faults })?;
        if out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("wav")) {
            return Err(PluckError::NotWave { out });
        }
        Ok(PluckJob { recipe, channels, out, existing, inputs })
    }
}

/// A source that can be plucked as it stands.
#[derive(Debug, Clone)]
pub struct PluckJob {
    recipe: Recipe,
    channels: PluckChannels,
    out: PathBuf,
    existing: Existing,
    inputs: Vec<PathBuf>,
}

impl PluckJob {
    /// Returns what is played.
    pub fn recipe(&self) -> &Recipe {
        &self.recipe
    }

    /// Plucks the source and puts its file in place in one step.
    ///
    /// # Errors
    /// [`PluckError`] where the file cannot be written, which is found out before the work.
    pub fn make(&self) -> Result<(), PluckError> {
        let mut inputs = Inputs::new();
        for input in self.inputs.iter().filter(|path| path.is_file()) {
            inputs.add(input).map_err(PluckError::Input)?;
        }
        let mut file = NewFile::begin(&self.out, self.existing, &inputs)?;
        let take = self.recipe.render();
        pack(file.file(), &self.planes(&take), take.rate()).map_err(|error| match error {
            WriteError::Io(cause) => file.failed(cause).into(),
            error => PluckError::Write { out: self.out.clone(), error },
        })?;
        Ok(file.commit()?)
    }

    fn planes<'t>(&self, take: &'t PluckedTake) -> Vec<&'t [f64]> {
        match self.channels {
            PluckChannels::One => vec![take.sum()],
            PluckChannels::Coils => take.coils().iter().map(Vec::as_slice).collect(),
        }
    }
}
