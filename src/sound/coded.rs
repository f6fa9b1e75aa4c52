//! Sound in containers that the decoder library reads: FLAC, AIFF, Ogg Vorbis and MP3.
//!
//! A header's length is not believed: the stream is decoded once when it is opened, which counts its frames and
//! finds its damage before any work is done. The demuxer is chosen by content, given neither tags nor pictures to
//! keep, and a panic inside the library is an error like any other.

use std::cell::Cell;
use std::io::ErrorKind;
use std::panic::{AssertUnwindSafe, catch_unwind};

use symphonia::core::audio::Channels;
use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream, MediaSourceStreamOptions};
use symphonia::core::units::Timestamp;
use symphonia::default::codecs::{FlacDecoder, MpaDecoder, PcmDecoder, VorbisDecoder};
use symphonia::default::formats::{AiffReader, FlacReader, MpaReader, OggReader};

use super::medium::{Cursor, Medium};
use super::{MAX_CHANNELS, Problem, RATES_HZ, Warning};

/// The most frames that a compressed stream may decode to: six hours at 48 kHz. A few bytes of FLAC can stand for
/// any length of silence.
const MAX_FRAMES: u64 = 1 << 30;

/// The frames in the longest frame of MP3 (ISO/IEC 11172-3, §2.4.2.1).
const MP3_FRAME: u64 = 1152;

/// The most padding that an encoder's tag can state in its twelve bits; what is left out past it was no padding.
const MAX_PADDING: u64 = 4095;

/// A container and codec of the decoder library.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Flac,
    Aiff,
    OggVorbis,
    Mp3,
}

/// What decoding a whole stream has shown.
#[derive(Debug)]
pub(super) struct Survey {
    pub(super) rate_hz: u32,
    pub(super) channels: usize,
    pub(super) frames: u64,
    /// The bits of a sample where the coding is lossless and of integers.
    pub(super) bits: Option<u32>,
    pub(super) description: String,
}

impl Kind {
    const fn name(self) -> &'static str {
        match self {
            Self::Flac => "FLAC",
            Self::Aiff => "AIFF",
            Self::OggVorbis => "Ogg Vorbis",
            Self::Mp3 => "MP3",
        }
    }

    /// What of such files can be read, in words that come before "can be read".
    const fn allowed(self) -> &'static str {
        match self {
            Self::Flac => "FLAC of 4 to 32 bits",
            Self::Aiff => "integer and floating-point samples without compression",
            Self::OggVorbis => "Vorbis I",
            Self::Mp3 => "MP3 of a stated bit rate",
        }
    }

    /// Returns why a file is refused at its beginning: what the library does not know is no damage.
    fn refused(self, error: Error) -> Problem {
        match error {
            Error::Unsupported(what) | Error::LimitError(what) => Problem::OtherCoding {
                coding: format!("what is not known of {} ({what})", self.name()),
                allowed: self.allowed(),
            },
            other => problem(other, 0),
        }
    }

    /// Decodes the whole stream without keeping it.
    pub(super) fn survey(self, medium: &Medium, warnings: &mut Vec<Warning>) -> Result<Survey, Problem> {
        let mut stream = Stream::open(self, medium, true)?;
        while stream.decode_packet()? {
            stream.pending.iter_mut().for_each(Vec::clear);
        }
        if stream.decoded == 0 {
            return Err(Problem::NoFrames);
        }
        warnings.extend(stream.end_warning.clone());
        if let Some(stated) =
            stream.stated_frames.filter(|n| *n != stream.decoded && stream.end_warning.is_none())
        {
            warnings.push(Warning::OtherLength { stated, present: stream.decoded });
        }
        let is_intact = guarded(0, || stream.decoder.finalize().verify_ok)?;
        if stream.end_warning.is_none() && is_intact == Some(false) {
            warnings.push(Warning::OtherDigest);
        }
        let bits = stream.bits;
        let description = match bits {
            Some(bits) => format!("{}, {bits}-bit integer", self.name()),
            None => self.name().to_owned(),
        };
        let (rate_hz, channels, frames) = (stream.rate_hz, stream.pending.len(), stream.decoded);
        Ok(Survey { rate_hz, channels, frames, bits, description })
    }
}

/// One pass through a stream.
pub(super) struct Stream {
    kind: Kind,
    demuxer: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    rate_hz: u32,
    bits: Option<u32>,
    stated_frames: Option<u64>,
    next_time: Option<Timestamp>,
    decoded: u64,
    /// The frames past the stated length that the decoder leaves out.
    cut: u64,
    end_warning: Option<Warning>,
    /// The samples decoded and not yet taken, and how many of each plane are taken.
    pending: Vec<Vec<f64>>,
    taken: usize,
    scratch: Vec<Vec<f64>>,
}

impl Stream {
    pub(super) fn open(kind: Kind, medium: &Medium, verify: bool) -> Result<Self, Problem> {
        if kind == Kind::Aiff {
            check_aiff_channels(medium)?;
        }
        let source = Box::new(Cursor::new(medium.clone()));
        let bytes = MediaSourceStream::new(source, MediaSourceStreamOptions::default());
        let options = FormatOptions::default();
        let demuxer: Box<dyn FormatReader> = guarded(0, || {
            Ok(match kind {
                Kind::Flac => Box::new(FlacReader::try_new(bytes, options)?) as Box<dyn FormatReader>,
                Kind::Aiff => Box::new(AiffReader::try_new(bytes, options)?),
                Kind::OggVorbis => Box::new(OggReader::try_new(bytes, options)?),
                Kind::Mp3 => Box::new(MpaReader::try_new(bytes, options)?),
            })
        })?
        .map_err(|e| kind.refused(e))?;
        let damaged = |what: &str| Problem::Damaged { frame: 0, what: what.to_owned() };
        let track = demuxer.default_track(TrackType::Audio).ok_or_else(|| damaged("it has no audio"))?;
        let Some(CodecParameters::Audio(coding)) = &track.codec_params else {
            return Err(damaged("it has no audio"));
        };
        let rate_hz = coding.sample_rate.unwrap_or(0);
        if !RATES_HZ.contains(&rate_hz) {
            return Err(Problem::Rate { given: rate_hz });
        }
        let channels = coding.channels.as_ref().map_or(0, Channels::count);
        if channels == 0 || channels > MAX_CHANNELS {
            return Err(Problem::Channels { given: channels });
        }
        if track.num_frames.is_some_and(|frames| frames > MAX_FRAMES) {
            return Err(Problem::TooLong { limit: MAX_FRAMES });
        }
        let options = AudioDecoderOptions::default().verify(verify);
        let decoder: Box<dyn AudioDecoder> = guarded(0, || {
            Ok(match kind {
                Kind::Flac => Box::new(FlacDecoder::try_new(coding, &options)?) as Box<dyn AudioDecoder>,
                Kind::Aiff => Box::new(PcmDecoder::try_new(coding, &options)?),
                Kind::OggVorbis => Box::new(VorbisDecoder::try_new(coding, &options)?),
                Kind::Mp3 => Box::new(MpaDecoder::try_new(coding, &options)?),
            })
        })?
        .map_err(|e| kind.refused(e))?;
        let (bits, stated_frames) = match kind {
            Kind::Flac | Kind::Aiff => (coding.bits_per_sample, track.num_frames),
            // Only an encoder's own tag, which also tells its delay, counts frames; the rest are estimates.
            Kind::Mp3 => (None, track.num_frames.filter(|_| track.delay.is_some())),
            Kind::OggVorbis => (None, None),
        };
        let track = track.id;
        let (pending, scratch) = (vec![Vec::new(); channels], Vec::new());
        Ok(Self {
            kind,
            demuxer,
            decoder,
            track,
            rate_hz,
            bits,
            stated_frames,
            next_time: None,
            decoded: 0,
            cut: 0,
            end_warning: None,
            pending,
            taken: 0,
            scratch,
        })
    }

    /// Appends up to `frames` frames to `planes` and returns how many there were, fewer only at the end.
    pub(super) fn fill(&mut self, planes: &mut [Vec<f64>], frames: usize) -> Result<usize, Problem> {
        let mut filled = 0;
        while filled < frames {
            let ready = self.pending[0].len() - self.taken;
            if ready == 0 {
                self.pending.iter_mut().for_each(Vec::clear);
                self.taken = 0;
                if !self.decode_packet()? {
                    break;
                }
                continue;
            }
            let now = ready.min(frames - filled);
            for (plane, pending) in planes.iter_mut().zip(&self.pending) {
                plane.extend_from_slice(&pending[self.taken..self.taken + now]);
            }
            self.taken += now;
            filled += now;
        }
        Ok(filled)
    }

    /// Decodes one more packet into `pending` and returns whether there was one.
    fn decode_packet(&mut self) -> Result<bool, Problem> {
        loop {
            let frame = self.decoded;
            let packet = match guarded(frame, || self.demuxer.next_packet())? {
                Ok(Some(packet)) => packet,
                Ok(None) => {
                    if self.cut > MAX_PADDING {
                        self.end_warning = Some(Warning::SecondStream);
                    }
                    return Ok(false);
                }
                Err(Error::ResetRequired) => {
                    self.end_warning = Some(Warning::SecondStream);
                    return Ok(false);
                }
                Err(Error::IoError(e)) if e.kind() == ErrorKind::UnexpectedEof => {
                    self.end_warning = Some(Warning::BrokenOff);
                    return Ok(false);
                }
                Err(e) => return Err(problem(e, frame)),
            };
            if packet.track_id != self.track {
                continue;
            }
            // A demuxer skips what it cannot read; only the time of the next packet shows it. The times of MP3 are
            // the demuxer's own count and show nothing.
            let is_expected = self.next_time.is_none_or(|expected| expected == packet.pts);
            if !is_expected && self.kind != Kind::Mp3 {
                return Err(Problem::Damaged { frame, what: "a part of the stream is missing".to_owned() });
            }
            self.next_time = packet.pts.checked_add(packet.block_dur());
            self.cut += packet.trim_end.get().min(MP3_FRAME);
            let decoded = match guarded(frame, || self.decoder.decode(&packet))? {
                Ok(decoded) => decoded,
                Err(e) => return Err(problem(e, frame)),
            };
            let spec = decoded.spec();
            if spec.rate() != self.rate_hz || spec.channels().count() != self.pending.len() {
                return Err(Problem::Changes { frame });
            }
            if decoded.frames() == 0 {
                continue;
            }
            decoded.copy_to_vecs_planar(&mut self.scratch);
            for (pending, plane) in self.pending.iter_mut().zip(&self.scratch) {
                pending.extend_from_slice(plane);
            }
            self.decoded += decoded.frames() as u64;
            if self.decoded > MAX_FRAMES {
                return Err(Problem::TooLong { limit: MAX_FRAMES });
            }
            return Ok(true);
        }
    }
}

/// Refuses an AIFF file whose common chunk states a number of channels that is not read, before the library multiplies
/// with it.
fn check_aiff_channels(medium: &Medium) -> Result<(), Problem> {
    const MOST_CHUNKS: u32 = 10_000;
    let mut at = 12;
    for _ in 0..MOST_CHUNKS {
        let Some([a, b, c, d, size @ ..]) = medium.array_at::<8>(at)? else { break };
        if [a, b, c, d] == *b"COMM" {
            let channels = usize::from(medium.array_at(at + 8)?.map_or(0, u16::from_be_bytes));
            let is_read = (1..=MAX_CHANNELS).contains(&channels);
            return if is_read { Ok(()) } else { Err(Problem::Channels { given: channels }) };
        }
        let size = u64::from(u32::from_be_bytes(size));
        at += 8 + size + size % 2;
    }
    Ok(())
}

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// Returns whether a panic of this thread, now, would become an error of a sound, so that a panic hook need not tell of it.
pub fn is_guarded() -> bool {
    GUARDED.get()
}

/// Runs a part of the decoder library, whose panic becomes an error.
///
/// What a panic leaves behind is never used again: the stream is dropped with the error.
fn guarded<T>(frame: u64, part: impl FnOnce() -> T) -> Result<T, Problem> {
    GUARDED.set(true);
    let result = catch_unwind(AssertUnwindSafe(part));
    GUARDED.set(false);
    result.map_err(|_| Problem::Damaged { frame, what: "the decoder gave up on it".to_owned() })
}

/// What the MP3 decoder says of a packet whose rate or channels are not those of the first; a test holds it to that.
const OTHER_SPEC: &str = "mpa: invalid audio buffer signal spec for packet";

fn problem(error: Error, frame: u64) -> Problem {
    match error {
        Error::DecodeError(OTHER_SPEC) => Problem::Changes { frame },
        Error::IoError(e) if e.kind() != ErrorKind::UnexpectedEof => Problem::Unreadable(e),
        Error::IoError(_) => Problem::Damaged { frame, what: "the file ends too early".to_owned() },
        other => Problem::Damaged { frame, what: other.to_string() },
    }
}

impl MediaSource for Cursor {
    fn is_seekable(&self) -> bool {
        true
    }
    fn byte_len(&self) -> Option<u64> {
        Some(self.len())
    }
}
