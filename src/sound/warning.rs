//! What is odd about a sound that could be read all the same, and what was done about it.

use std::fmt;

use crate::quantity::{Db, counted};

/// A remark about a sound. Frames and bytes are counted from 0, channels from 1.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// The file ends before its audio does; what is there was read.
    Truncated {
        /// The bytes of audio that the header states.
        stated: u64,
        /// The bytes that are there.
        present: u64,
    },
    /// The header gives no length, as a recording that was never finished or came through a pipe; the audio was
    /// read to the end of the file.
    NoStatedLength,
    /// The audio ends within a frame; the bytes left over were not read.
    PartialFrame {
        /// Their number.
        bytes: u64,
    },
    /// There is a second block of audio; only the first was read.
    SecondAudio {
        /// The byte at which the second begins.
        at: u64,
    },
    /// The audio stands before the description of its format; both were read.
    AudioBeforeFormat {
        /// The byte at which the audio begins.
        at: u64,
    },
    /// A block of audio holds nothing; the one after it was read.
    EmptyAudio {
        /// The byte at which the empty one begins.
        at: u64,
    },
    /// The format is described twice; the first description was used.
    SecondFormat {
        /// The byte at which the second begins.
        at: u64,
    },
    /// The header's bytes per frame do not fit the channels and bits; those were believed.
    BlockAlign {
        /// The bytes per frame stated.
        stated: u16,
        /// The bytes per frame used.
        used: u32,
    },
    /// Samples of few bits lie in wider words without the header form that says on which side; they were read as
    /// lying at the upper end, which is the rule of the format.
    LeftJustified {
        /// The bits of a sample.
        bits: u16,
        /// The bits of a word.
        word: u16,
    },
    /// A chunk of odd size lacks its pad byte; the next chunk was found all the same.
    Unpadded {
        /// The byte at which the next chunk begins.
        at: u64,
    },
    /// A compressed stream ends early or late against what its header states; what is there was read.
    OtherLength {
        /// The frames that the header states.
        stated: u64,
        /// The frames that were decoded.
        present: u64,
    },
    /// A compressed stream breaks off; what is there was read.
    BrokenOff,
    /// Another stream follows in the same file; only the first was read.
    SecondStream,
    /// The decoded samples are not those that were encoded: their digest differs from the one in the file.
    OtherDigest,
    /// Samples that were NaN, infinite or absurdly large were replaced by silence, as was asked for.
    Repaired {
        /// Their number.
        samples: u64,
        /// The frame of the first.
        first: u64,
    },
    /// Three or more samples in a row stand at full scale: the recording was clipped.
    Clipped {
        /// The number of such runs.
        runs: u64,
        /// The frame at which the first begins.
        first: u64,
        /// The channel of the first.
        channel: usize,
    },
    /// Floating-point samples exceed full scale.
    OverFullScale {
        /// Their number.
        samples: u64,
        /// The largest, against full scale.
        peak: Db,
    },
    /// The left channel is the right one turned over, so that their sum is silence.
    ChannelsCancel,
    /// The signal does not swing about zero.
    Offset {
        /// The channel.
        channel: usize,
        /// Its mean in full scales.
        mean: f64,
    },
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Truncated { stated, present } => write!(
                f,
                "the file is cut short: it states {} of audio and holds {present}, which were read",
                counted(*stated, "byte")
            ),
            Self::NoStatedLength => f.write_str(
                "the header states no length, as in a recording that was not finished; read to the end of the file",
            ),
            Self::PartialFrame { bytes } => {
                match bytes {
                    1 => f.write_str("the audio ends within a frame; its last byte was left out"),
                    _ => write!(f, "the audio ends within a frame; its last {bytes} bytes were left out"),
                }
            }
            Self::SecondAudio { at } => {
                write!(f, "there is a second block of audio at byte {at}; only the first was read")
            }
            Self::AudioBeforeFormat { at } => write!(
                f,
                "the audio stands at byte {at}, before the description of its format; both were read"
            ),
            Self::EmptyAudio { at } => {
                write!(f, "the block of audio at byte {at} holds nothing; the one after it was read")
            }
            Self::SecondFormat { at } => {
                write!(f, "the format is described again at byte {at}; the first description was used")
            }
            Self::BlockAlign { stated, used } => write!(
                f,
                "the header states {} a frame where its channels and bits make {used}, which was used",
                counted(*stated, "byte")
            ),
            Self::LeftJustified { bits, word } => write!(
                f,
                "the header does not say where the {bits} bits lie in words of {word}; taken as the upper ones"
            ),
            Self::Unpadded { at } => {
                write!(f, "a chunk lacks its pad byte; the next was found at byte {at}")
            }
            Self::OtherLength { stated, present } => {
                write!(
                    f,
                    "the file states {} and decodes to {present}, which were read",
                    counted(*stated, "frame")
                )
            }
            Self::BrokenOff => f.write_str("the stream breaks off before its end; what is there was read"),
            Self::SecondStream => f.write_str("another stream follows in the file; only the first was read"),
            Self::OtherDigest => f.write_str(
                "the decoded samples differ from those that were encoded (their MD5 is not the one in the file)",
            ),
            Self::Repaired { samples: 1, first } => write!(
                f,
                "repaired: 1 sample that was no number of a sound is now silence, at frame {first}"
            ),
            Self::Repaired { samples, first } => write!(
                f,
                "repaired: {samples} samples that were no numbers of a sound are now silence, the first at frame {first}"
            ),
            Self::Clipped { runs, first, channel } => write!(
                f,
                "clipped: {} of three or more samples at full scale, {} frame {first}, channel {channel}",
                counted(*runs, "run"),
                if *runs == 1 { "at" } else { "the first at" }
            ),
            Self::OverFullScale { samples: 1, peak } => write!(f, "1 sample exceeds full scale, by {peak:.2}"),
            Self::OverFullScale { samples, peak } => {
                write!(f, "{samples} samples exceed full scale, the largest by {peak:.2}")
            }
            Self::ChannelsCancel => {
                f.write_str("the two channels cancel: one is the other turned over, and their sum is silence")
            }
            Self::Offset { channel, mean } => write!(
                f,
                "channel {channel} has a DC offset of {:.1} % of full scale, which counts in its RMS",
                mean * 100.0
            ),
        }
    }
}
