//! The signal of a measurement, written into a file.

use std::path::PathBuf;

use super::wave::pack;
use crate::folder::{Existing, FolderError, Inputs, NewFile};
use crate::impedance::{Signal, SignalError};
use crate::sound::WriteError;

/// A signal that is to be written, not yet checked.
#[derive(Debug, Clone)]
pub struct SignalRequest {
    /// The rate in hertz.
    pub rate_hz: u32,
    /// The file: WAV, 24 bit.
    pub out: PathBuf,
    /// What to do where a file is there.
    pub existing: Existing,
}

/// Why a signal cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum SignalFileError {
    /// There is no such signal.
    #[error(transparent)]
    Signal(#[from] SignalError),
    /// The file's name is not that of a WAV file.
    #[error("`{}` is no name of a WAV file", out.display())]
    NotWave {
        /// The file.
        out: PathBuf,
    },
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

impl SignalFileError {
    /// Returns what to do about it; `elsewhere` says how another place is named.
    pub fn hint(&self, elsewhere: &str) -> String {
        match self {
            Self::Signal(error) => error.hint().to_owned(),
            Self::NotWave { .. } => "give a name that ends in .wav".to_owned(),
            Self::File(error) => error.hint(elsewhere),
            Self::Write { error, .. } => error.hint().to_owned(),
        }
    }
}

impl SignalRequest {
    /// Writes the signal and puts its file in place in one step.
    ///
    /// # Errors
    /// [`SignalFileError`] where there is no such signal or the file cannot be written, which is found out before the work.
    pub fn make(self) -> Result<Signal, SignalFileError> {
        let Self { rate_hz, out, existing } = self;
        let signal = Signal::new(rate_hz)?;
        if out.extension().is_none_or(|e| !e.eq_ignore_ascii_case("wav")) {
            return Err(SignalFileError::NotWave { out });
        }
        let mut file = NewFile::begin(&out, existing, &Inputs::new())?;
        pack(file.file(), &[&signal.samples()], rate_hz).map_err(|error| match error {
            WriteError::Io(cause) => file.failed(cause).into(),
            error => SignalFileError::Write { out: out.clone(), error },
        })?;
        file.commit()?;
        Ok(signal)
    }
}
