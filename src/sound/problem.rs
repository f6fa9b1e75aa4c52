//! Why a sound cannot be read.

use std::io;

use super::{MAX_CHANNELS, RATES_HZ};
use crate::quantity::brief;

/// A sound that cannot be read: which, and why.
#[derive(Debug, thiserror::Error)]
#[error("`{name}` {problem}")]
pub struct SoundError {
    name: String,
    problem: Problem,
}

impl SoundError {
    pub(super) fn new(name: impl Into<String>, problem: Problem) -> Self {
        Self { name: name.into(), problem }
    }

    /// Returns the name by which messages call the sound: its path as given.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns why the sound cannot be read.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// Returns whether there is no such file.
    pub fn is_missing(&self) -> bool {
        matches!(&self.problem, Problem::Unreadable(cause) if cause.kind() == io::ErrorKind::NotFound)
    }

    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        self.problem.hint()
    }
}

/// What is wrong with a sound. Frames and bytes are counted from 0, channels from 1.
#[derive(Debug, thiserror::Error)]
pub enum Problem {
    /// There is no such file, or the system does not let it be read.
    #[error("cannot be read: {0}")]
    Unreadable(io::Error),
    /// A folder, pipe, socket or device stands where a file is wanted.
    #[error("is {0}, not a sound file")]
    NotAFile(&'static str),
    /// The file has no bytes.
    #[error("is empty")]
    Empty,
    /// The file is something else than one of the containers that are read.
    #[error("is {0}; WAV, FLAC, AIFF, Ogg Vorbis and MP3 can be read")]
    OtherContainer(&'static str),
    /// The samples are stored in a way that is not read.
    #[error("holds {coding}; {allowed} can be read")]
    OtherCoding {
        /// How they are stored.
        coding: String,
        /// What could be read in such a container.
        allowed: &'static str,
    },
    /// The container's structure is broken.
    #[error("is damaged at byte {at}: {what}")]
    BadStructure {
        /// Where.
        at: u64,
        /// What is wrong there.
        what: String,
    },
    /// More chunks come before the audio than are looked at.
    #[error("has more than {most} chunks before its audio; up to {most} are looked at")]
    ManyChunks {
        /// The most that are looked at.
        most: u32,
    },
    /// The rate or the number of channels changes on the way.
    #[error(
        "changes its sample rate or its channels at frame {frame}; one of each for the whole file can be read"
    )]
    Changes {
        /// The first frame that differs.
        frame: u64,
    },
    /// The sample rate is zero or outside of what is read.
    #[error(
        "has a sample rate of {given} Hz; {} to {} Hz can be read", RATES_HZ.start(), RATES_HZ.end()
    )]
    Rate {
        /// The rate given.
        given: u32,
    },
    /// The number of channels is zero or too large.
    #[error("has {given} channels; 1 to {MAX_CHANNELS} can be read")]
    Channels {
        /// The number given.
        given: usize,
    },
    /// There is not a single whole frame of audio.
    #[error("holds no audio: not one whole frame")]
    NoFrames,
    /// The decoded sound is longer than any that is taken.
    #[error("decodes to more than {limit} frames, the most that are taken of a compressed file")]
    TooLong {
        /// The most frames that a compressed file may decode to.
        limit: u64,
    },
    /// A sample is NaN, infinite or absurdly large.
    #[error("holds {} at frame {frame}, channel {channel}, which is no sample of a sound", brief(*value))]
    BadSample {
        /// The value.
        value: f64,
        /// Its frame.
        frame: u64,
        /// Its channel.
        channel: usize,
    },
    /// The compressed stream is broken.
    #[error("is damaged at frame {frame}: {what}")]
    Damaged {
        /// The first frame that could not be decoded.
        frame: u64,
        /// What the decoder says.
        what: String,
    },
    /// The file has another length or date than when it was opened.
    #[error("changed while it was read")]
    Changed,
}

impl Problem {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Unreadable(cause) => match cause.kind() {
                io::ErrorKind::NotFound => "check the spelling of the path",
                io::ErrorKind::PermissionDenied => "check the file's permissions",
                _ => "check the path and the disk it is on",
            },
            Self::NotAFile(_) => "give the path of a sound file: WAV, FLAC, AIFF, Ogg Vorbis or MP3",
            Self::Empty | Self::NoFrames => "record or export it again; nothing was stored in it",
            Self::OtherContainer(_)
            | Self::OtherCoding { .. }
            | Self::ManyChunks { .. }
            | Self::Changes { .. } => {
                "export it as a 24-bit WAV file from the program that made it, and give that"
            }
            Self::BadStructure { .. }
            | Self::Damaged { .. }
            | Self::Rate { given: 0 }
            | Self::Channels { given: 0 } => {
                "export it again, or let a sound editor repair it and save it as a WAV file"
            }
            Self::Rate { .. } => "convert it to 44100 or 48000 Hz in a sound editor",
            Self::Channels { .. } => "export one or two channels of it",
            Self::TooLong { .. } => "cut out the part that you want to hear",
            Self::BadSample { .. } => "export it again, or have such samples read as silence",
            Self::Changed => "wait until nothing writes to it any more, then start again",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_called_one_and_what_cannot_be_is_called_broken() {
        let repair = "let a sound editor repair it";
        let limits = [
            Problem::ManyChunks { most: 10 },
            Problem::Changes { frame: 10 },
            Problem::Rate { given: 768_000 },
            Problem::Channels { given: 64 },
            Problem::TooLong { limit: 10 },
            Problem::OtherCoding { coding: "A-law samples".to_owned(), allowed: "integer samples" },
        ];
        for limit in limits {
            assert!(!limit.to_string().contains("damage") && !limit.hint().contains(repair), "{limit}");
        }
        for broken in [Problem::Rate { given: 0 }, Problem::Channels { given: 0 }] {
            assert!(broken.hint().contains(repair), "{broken}");
        }
    }
}
