//! The `fmt ` chunk of a WAVE file: how many channels, how fast, and how a sample is stored.
//!
//! # Source
//! IBM and Microsoft, *Multimedia Programming Interface and Data Specifications 1.0*, 1991, §3 (WAVE), and the
//! `WAVEFORMATEXTENSIBLE` structure of the later interface, as read in RFC 2361 and EBU Tech 3285 and 3306.

use super::coding::Coding;
use super::{MAX_CHANNELS, Problem, RATES_HZ, Warning};
use crate::quantity::counted;

/// A checked format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Format {
    pub(super) rate_hz: u32,
    pub(super) channels: u16,
    pub(super) coding: Coding,
    /// The bits of a sample that count, at the upper end of its word.
    pub(super) bits: u16,
}

/// What the decoder of WAVE takes, in words that come before "can be read".
const ALLOWED: &str = "integer samples of 1 to 32 bits and floating-point samples of 32 or 64";

/// The last twelve bytes of a sub-format identifier whose first four are a plain format code.
const PLAIN_CODE: [u8; 12] = [0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71];

impl Format {
    /// Reads the chunk's body, of which the first 40 bytes are enough; `at` is its place for messages.
    pub(super) fn read(body: &[u8], at: u64, warnings: &mut Vec<Warning>) -> Result<Self, Problem> {
        let short = |least: usize| Problem::BadStructure {
            at,
            what: format!("the format chunk has {} where {least} are needed", counted(body.len(), "byte")),
        };
        let word = |from: usize| body.get(from..from + 2).map(|b| u16::from_le_bytes([b[0], b[1]]));
        let Some(stated_bits) = word(14) else { return Err(short(16)) };
        let (code, channels, block_align) =
            (word(0).unwrap_or(0), word(2).unwrap_or(0), word(12).unwrap_or(0));
        let double =
            |from: usize| u32::from(word(from).unwrap_or(0)) | u32::from(word(from + 2).unwrap_or(0)) << 16;
        let (rate_hz, byte_rate) = (double(4), double(8));

        let is_extensible = code == 0xFFFE;
        let (code, valid_bits) = if is_extensible {
            let Some(sub_format) = body.get(24..40) else { return Err(short(40)) };
            (plain_code(sub_format)?, word(18).filter(|bits| *bits > 0))
        } else {
            (code, None)
        };
        let is_float = match code {
            1 => false,
            3 => true,
            other => return Err(refused(name_of(other))),
        };
        if !RATES_HZ.contains(&rate_hz) {
            return Err(Problem::Rate { given: rate_hz });
        }
        if channels == 0 || usize::from(channels) > MAX_CHANNELS {
            return Err(Problem::Channels { given: channels.into() });
        }

        let natural = stated_bits.div_ceil(8);
        let natural_frame = u32::from(channels) * u32::from(natural);
        let mut word_bytes = natural;
        if u32::from(block_align) != natural_frame {
            // A wider word is believed where the bytes per second confirm it; the bits then lie at its upper end.
            let wider = block_align / channels;
            let is_confirmed = block_align % channels == 0
                && u64::from(byte_rate) == u64::from(rate_hz) * u64::from(block_align)
                && (natural..=4).contains(&wider);
            if is_confirmed && !is_float {
                word_bytes = wider;
                warnings.push(Warning::LeftJustified { bits: stated_bits, word: wider * 8 });
            } else {
                warnings.push(Warning::BlockAlign { stated: block_align, used: natural_frame });
            }
        }
        let coding = match (is_float, word_bytes, stated_bits) {
            (_, _, 0) => None,
            (true, _, 32) => Some(Coding::Float32),
            (true, _, 64) => Some(Coding::Float64),
            (false, 1, _) => Some(Coding::Unsigned8),
            (false, 2, _) => Some(Coding::Signed16),
            (false, 3, _) => Some(Coding::Signed24),
            (false, 4, _) => Some(Coding::Signed32),
            (true | false, ..) => None,
        };
        let kind = if is_float { "floating-point" } else { "integer" };
        let coding = coding.ok_or_else(|| refused(format!("{kind} samples of {stated_bits} bits")))?;
        let bits = valid_bits.unwrap_or(stated_bits).min(stated_bits);
        Ok(Self { rate_hz, channels, coding, bits })
    }

    /// Returns the bytes of one frame, at most 256.
    pub(super) fn frame_bytes(&self) -> u16 {
        self.channels * self.coding.bytes()
    }

    /// Returns how a sample is stored, in words.
    pub(super) fn description(&self) -> String {
        let word = self.coding.bytes() * 8;
        if self.coding.is_float() {
            format!("{word}-bit float")
        } else if self.bits == word {
            format!("{word}-bit integer")
        } else {
            format!("{}-bit integer in {word}-bit words", self.bits)
        }
    }
}

fn refused(coding: String) -> Problem {
    Problem::OtherCoding { coding, allowed: ALLOWED }
}

/// Returns the format code in a sub-format identifier.
fn plain_code(sub_format: &[u8]) -> Result<u16, Problem> {
    if let ([low, high, 0, 0], tail) = (&sub_format[..4], &sub_format[4..])
        && tail == PLAIN_CODE
    {
        return Ok(u16::from_le_bytes([*low, *high]));
    }
    let identifier = sub_format.iter().fold(0u128, |n, b| n << 8 | u128::from(*b));
    Err(refused(format!("an unknown sample format (identifier {identifier:032x})")))
}

/// Returns the name of a coding that is not read (codes of RFC 2361).
fn name_of(code: u16) -> String {
    let name = match code {
        0x02 | 0x11 | 0x17 | 0x20 | 0x40 => "ADPCM-coded samples",
        0x06 => "A-law samples (G.711)",
        0x07 => "mu-law samples (G.711)",
        0x31 => "GSM 6.10 speech",
        0x50 => "MPEG audio of layer I or II",
        0x55 => "MP3 audio",
        0xFF => "AAC audio",
        _ => return format!("samples of the unknown coding {code:#06x}"),
    };
    format!("{name} (coding {code:#06x})")
}
