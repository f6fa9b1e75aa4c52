//! Every awkward sound file ends as the table says: read right, read with a warning, or refused with a reason, within
//! 5 s and 1 GB, and a refusal leaves no file.

#![allow(clippy::float_cmp, reason = "samples are compared to the last bit")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::wav_bytes::{
    chunk, chunk_stating, data_file, data16, drawn16, ds64, extensible, float32, fmt, fmt_of, form,
    identifier, mono16, wav,
};
use drywire::sound::{Inspector, Sound, SoundError, Warning};

const NAN: [u8; 4] = [0, 0, 0xC0, 0x7F];

enum Outcome {
    /// The samples of the first channel, and a part of each warning, in any order.
    Reads(Vec<f64>, &'static [&'static str]),
    /// A part of each warning about the samples themselves, in order.
    Tells(&'static [&'static str]),
    /// A part of the reason.
    Refused(&'static str),
}
use Outcome::{Reads, Refused, Tells};

struct Case {
    what: &'static str,
    bytes: Vec<u8>,
    outcome: Outcome,
}

fn case(what: &'static str, bytes: Vec<u8>, outcome: Outcome) -> Case {
    Case { what, bytes, outcome }
}

/// Three samples that show order, sign and scale, and how 16 bits store them.
const PLAIN: [i16; 3] = [16384, -32768, 1];
fn plain() -> Vec<f64> {
    vec![0.5, -1.0, 1.0 / 32768.0]
}

fn depths() -> Vec<Case> {
    let last24 = 1.0 / 8388608.0;
    vec![
        case(
            "8 bits are unsigned",
            wav(&[fmt(1, 1, 48_000, 8), chunk(*b"data", &[0, 128, 192, 255])]),
            Reads(vec![-1.0, 0.0, 0.5, 127.0 / 128.0], &[]),
        ),
        case("16 bits are signed", mono16(data16(&PLAIN)), Reads(plain(), &[])),
        case(
            "24 bits in three bytes, an odd number of them with a pad byte",
            wav(&[fmt(1, 1, 48_000, 24), chunk(*b"data", &[0, 0, 0x40, 0, 0, 0x80, 1, 0, 0])]),
            Reads(vec![0.5, -1.0, last24], &[]),
        ),
        case(
            "24 bits at the upper end of 32, as the extensible header says",
            wav(&[extensible(&identifier(1), 32, 24), chunk(*b"data", &[0, 0, 0, 0x40, 0, 1, 0, 0])]),
            Reads(vec![0.5, last24], &[]),
        ),
        case(
            "24 bits in 32 by bytes per frame alone, which bytes per second confirm",
            wav(&[fmt_of(1, 1, 48_000, 192_000, 4, 24), chunk(*b"data", &[0, 0, 0, 0x40, 0, 1, 0, 0])]),
            Reads(vec![0.5, last24], &["upper ones"]),
        ),
        case(
            "20 bits in 24",
            wav(&[fmt(1, 1, 48_000, 20), chunk(*b"data", &[0, 0, 0x40, 0x10, 0, 0])]),
            Reads(vec![0.5, 1.0 / 524288.0], &[]),
        ),
        case(
            "12 bits in 16",
            wav(&[fmt(1, 1, 48_000, 12), data16(&[16384, 16])]),
            Reads(vec![0.5, 1.0 / 2048.0], &[]),
        ),
        case(
            "32-bit integers, not taken for floats",
            wav(&[fmt(1, 1, 48_000, 32), chunk(*b"data", &[0, 0, 0, 0xC0, 1, 0, 0, 0])]),
            Reads(vec![-0.5, 1.0 / 2147483648.0], &[]),
        ),
        case(
            "32-bit floats, over full scale too",
            wav(&[fmt(3, 1, 48_000, 32), float32(&[0.25, -1.5])]),
            Reads(vec![0.25, -1.5], &[]),
        ),
        case(
            "64-bit floats",
            wav(&[fmt(3, 1, 48_000, 64), chunk(*b"data", &0.1f64.to_le_bytes())]),
            Reads(vec![0.1], &[]),
        ),
        case(
            "extensible floats",
            wav(&[extensible(&identifier(3), 32, 32), float32(&[0.25, -0.25])]),
            Reads(vec![0.25, -0.25], &[]),
        ),
        case(
            "extensible with no valid bits stated means all",
            wav(&[extensible(&identifier(1), 16, 0), data16(&PLAIN)]),
            Reads(plain(), &[]),
        ),
        case("the lowest rate", wav(&[fmt(1, 1, 8_000, 16), data16(&PLAIN)]), Reads(plain(), &[])),
        case(
            "the highest rate and the most channels",
            wav(&[fmt(1, 32, 384_000, 16), data16(&[PLAIN[0]; 32])]),
            Reads(vec![0.5], &[]),
        ),
        case(
            "two channels are parted",
            wav(&[fmt(1, 2, 48_000, 16), data16(&[16384, 7, -32768, 8, 1, 9])]),
            Reads(plain(), &[]),
        ),
    ]
}

fn structures() -> Vec<Case> {
    let junk = |n| chunk(*b"JUNK", &vec![0xAA; n]);
    let f = || fmt(1, 1, 48_000, 16);
    let d = || data16(&PLAIN);
    let many = |n: usize| [vec![f()], vec![chunk(*b"LIST", b"x"); n], vec![d()]].concat();
    vec![
        case(
            "chunks before, between and after",
            wav(&[junk(4), f(), junk(8), d(), junk(2)]),
            Reads(plain(), &[]),
        ),
        case("an odd chunk with its pad byte", wav(&[junk(3), f(), d()]), Reads(plain(), &[])),
        case(
            "an odd chunk without its pad byte",
            wav(&[chunk_stating(*b"JUNK", 3, &[1, 2, 3]), f(), d()]),
            Reads(plain(), &["lacks its pad byte; the next was found at byte 23"]),
        ),
        case(
            "an odd chunk without its pad byte before the audio",
            wav(&[f(), chunk_stating(*b"note", 1, &[0x40]), d()]),
            Reads(plain(), &["lacks its pad byte"]),
        ),
        case(
            "the format after the audio",
            wav(&[d(), f()]),
            Reads(plain(), &["the audio stands at byte 12, before the description of its format"]),
        ),
        case("nine thousand chunks before the audio", wav(&many(9000)), Reads(plain(), &[])),
        case(
            "more chunks than are looked at",
            wav(&many(10_001)),
            Refused("has more than 10000 chunks before its audio"),
        ),
        case(
            "a second block of audio, and a third",
            wav(&[f(), d(), d(), d()]),
            Reads(plain(), &["second block of audio at byte 50"]),
        ),
        case(
            "an empty block of audio before the true one",
            wav(&[f(), data16(&[]), d()]),
            Reads(plain(), &["the block of audio at byte 36 holds nothing; the one after it was read"]),
        ),
        case(
            "an empty block of audio, the format, and the true one",
            wav(&[data16(&[]), f(), d()]),
            Reads(plain(), &["the block of audio at byte 12 holds nothing"]),
        ),
        case(
            "a second format, which differs",
            wav(&[f(), fmt(1, 2, 44_100, 24), d()]),
            Reads(plain(), &["described again at byte 36"]),
        ),
        case("rubbish after the audio", [wav(&[f(), d()]), vec![0xFF; 99]].concat(), Reads(plain(), &[])),
        case(
            "a size of the whole that lies, which nothing depends on",
            form(*b"RIFF", 7, &[f(), d()]),
            Reads(plain(), &[]),
        ),
    ]
}

fn sizes_and_alignments() -> Vec<Case> {
    let f = || fmt(1, 1, 48_000, 16);
    let d = || data16(&PLAIN);
    let samples: Vec<u8> = d()[8..].to_vec();
    vec![
        case(
            "audio that is cut short",
            mono16(chunk_stating(*b"data", 1000, &samples)),
            Reads(plain(), &["states 1000 bytes of audio and holds 6"]),
        ),
        case(
            "audio that is cut within a sample",
            mono16(chunk_stating(*b"data", 1000, &samples[..5])),
            Reads(plain()[..2].to_vec(), &["states 1000 bytes of audio and holds 5"]),
        ),
        case(
            "a size that ends within a frame",
            mono16(chunk_stating(*b"data", 5, &samples)),
            Reads(plain()[..2].to_vec(), &["its last byte was left out"]),
        ),
        case(
            "a stream's size of all ones",
            form(*b"RIFF", u32::MAX, &[f(), chunk_stating(*b"data", u32::MAX, &samples)]),
            Reads(plain(), &["states no length"]),
        ),
        case(
            "a recording that was never finished has sizes of zero",
            form(*b"RIFF", 0, &[f(), chunk_stating(*b"data", 0, &samples)]),
            Reads(plain(), &["states no length"]),
        ),
        case(
            "RF64 with its sizes in ds64",
            form(
                *b"RF64",
                u32::MAX,
                &[ds64(6, None), f(), chunk_stating(*b"data", u32::MAX, &samples), chunk(*b"JUNK", b"xy")],
            ),
            Reads(plain(), &[]),
        ),
        case(
            "BW64 with a wide chunk before the audio",
            form(
                *b"BW64",
                u32::MAX,
                &[
                    ds64(6, Some((b"axml", 2))),
                    f(),
                    chunk_stating(*b"axml", u32::MAX, b"ab"),
                    chunk_stating(*b"data", u32::MAX, &samples),
                ],
            ),
            Reads(plain(), &[]),
        ),
        case(
            "RF64 whose wide size lies",
            form(
                *b"RF64",
                u32::MAX,
                &[ds64(u64::MAX, None), f(), chunk_stating(*b"data", u32::MAX, &samples)],
            ),
            Reads(plain(), &["cut short"]),
        ),
        case(
            "RF64 without ds64",
            form(*b"RF64", u32::MAX, &[f(), chunk_stating(*b"data", u32::MAX, &samples)]),
            Reads(plain(), &["states no length"]),
        ),
        case(
            "bytes per frame that lie",
            wav(&[fmt_of(1, 1, 48_000, 96_000, 7, 16), d()]),
            Reads(plain(), &["states 7 bytes a frame where its channels and bits make 2"]),
        ),
        case(
            "bytes per frame of zero",
            wav(&[fmt_of(1, 1, 48_000, 96_000, 0, 16), d()]),
            Reads(plain(), &["states 0 bytes a frame"]),
        ),
        case(
            "twice the bytes per frame, which the bytes per second deny",
            wav(&[fmt_of(1, 1, 48_000, 96_000, 4, 16), d()]),
            Reads(plain(), &["states 4 bytes a frame"]),
        ),
        case(
            "bytes per second that lie, which nothing depends on",
            wav(&[fmt_of(1, 1, 48_000, 1, 2, 16), d()]),
            Reads(plain(), &[]),
        ),
        case("one single frame", mono16(data16(&[1])), Reads(vec![1.0 / 32768.0], &[])),
        case(
            "another container by content: FLAC",
            fs::read(data_file("stereo16.flac")).unwrap(),
            Reads(drawn16(1000, 41), &[]),
        ),
        case(
            "a tag in front of another container",
            [&b"ID3\x04\0\0\0\0\0\x05hello"[..], &wav(&[f(), d()])].concat(),
            Reads(plain(), &[]),
        ),
    ]
}

fn what_is_broken() -> Vec<Case> {
    let d = || data16(&PLAIN);
    vec![
        case("nothing at all", Vec::new(), Refused("is empty")),
        case("one byte", vec![b'R'], Refused("is a text file")),
        case("a header alone", wav(&[]), Refused("ends before any description")),
        case(
            "a name of a chunk and no more",
            [wav(&[]), b"fmt ".to_vec()].concat(),
            Refused("ends before any description"),
        ),
        case("a format and no audio", wav(&[fmt(1, 1, 48_000, 16)]), Refused("ends before any audio")),
        case("audio and no format", wav(&[d()]), Refused("ends before any description")),
        case("audio of no bytes", mono16(data16(&[])), Refused("not one whole frame")),
        case("audio of half a sample", mono16(chunk(*b"data", &[1])), Refused("not one whole frame")),
        case(
            "a format chunk that is too short",
            wav(&[chunk(*b"fmt ", &[1, 0, 1, 0]), d()]),
            Refused("the format chunk has 4 bytes where 16"),
        ),
        case(
            "an extensible format without its extension",
            wav(&[fmt(0xFFFE, 1, 48_000, 16), d()]),
            Refused("has 16 bytes where 40"),
        ),
        case("no chunk where one should be", wav(&[vec![0; 64]]), Refused("damaged at byte 12")),
        case(
            "a chunk that claims more than the file",
            wav(&[chunk_stating(*b"LIST", 0xFFFF_0000, b""), fmt(1, 1, 48_000, 16), d()]),
            Refused("ends before any description"),
        ),
    ]
}

/// Ten silent frames of MP3 (ISO/IEC 11172-3, §2.4.1.3): 128 kbit/s at 44.1 kHz, the mode being the highest bits of
/// the fourth byte.
fn silent_mp3(mode: u8) -> Vec<u8> {
    let mut frame = vec![0; 417];
    frame[..4].copy_from_slice(&[0xFF, 0xFB, 0x90, mode]);
    frame.repeat(10)
}

/// An AIFF-C file of a second at 8 kHz with one channel of 16 bits, which are said to be compressed so.
fn form_of_aiff(compression: [u8; 4]) -> Vec<u8> {
    let big = |id: &[u8; 4], body: &[u8]| {
        [id, &u32::try_from(body.len()).unwrap().to_be_bytes()[..], body].concat()
    };
    let rate = [0x40, 0x0B, 0xFA, 0, 0, 0, 0, 0, 0, 0];
    let common = [&[0, 1, 0, 0, 0x1F, 0x40, 0, 16][..], &rate, &compression, &[0, 0]].concat();
    let sound = [vec![0; 8], vec![0; 16_000]].concat();
    big(b"FORM", &[b"AIFC".to_vec(), big(b"COMM", &common), big(b"SSND", &sound)].concat())
}

fn formats_that_are_not_read() -> Vec<Case> {
    let d = || data16(&PLAIN);
    let other = |code, bits| wav(&[fmt(code, 1, 8_000, bits), d()]);
    let mut crowded = fs::read(data_file("stereo24.aiff")).unwrap();
    let common = crowded.windows(4).position(|w| w == b"COMM").unwrap();
    crowded[common + 8] = 0x80;
    // The number of frames has 36 bits, of which the highest four share byte 21 (RFC 9639, §8.2).
    let mut endless = fs::read(data_file("stereo16.flac")).unwrap();
    endless[21] |= 0x0F;
    let mut ambisonic = identifier(1);
    ambisonic[4..].copy_from_slice(&[0x21, 0x07, 0xD3, 0x11, 0x86, 0x44, 0xC8, 0xC1, 0xCA, 0, 0, 0]);
    vec![
        case(
            "a rate of zero",
            wav(&[fmt(1, 1, 0, 16), d()]),
            Refused("sample rate of 0 Hz; 8000 to 384000 Hz"),
        ),
        case("a rate too low", wav(&[fmt(1, 1, 7_999, 16), d()]), Refused("7999 Hz")),
        case("an absurd rate", wav(&[fmt(1, 1, u32::MAX, 16), d()]), Refused("4294967295 Hz")),
        case("no channels", wav(&[fmt(1, 0, 48_000, 16), d()]), Refused("has 0 channels; 1 to 32")),
        case("absurd channels", wav(&[fmt(1, 65_535, 48_000, 16), d()]), Refused("has 65535 channels")),
        case("no bits", wav(&[fmt(1, 1, 48_000, 0), d()]), Refused("integer samples of 0 bits")),
        case(
            "integers of 64 bits",
            wav(&[fmt(1, 1, 48_000, 64), d()]),
            Refused("integer samples of 64 bits"),
        ),
        case("absurd bits", wav(&[fmt(1, 1, 48_000, 65_535), d()]), Refused("integer samples of 65535 bits")),
        case(
            "floats of 16 bits",
            wav(&[fmt(3, 1, 48_000, 16), d()]),
            Refused("floating-point samples of 16 bits"),
        ),
        case("mu-law", other(7, 8), Refused("mu-law samples (G.711) (coding 0x0007); integer samples")),
        case("A-law", other(6, 8), Refused("A-law")),
        case("ADPCM", other(2, 4), Refused("ADPCM")),
        case("GSM", other(0x31, 0), Refused("GSM")),
        case("MP3 in a WAV", other(0x55, 0), Refused("MP3 audio (coding 0x0055)")),
        case("an unknown coding", other(0x1234, 16), Refused("unknown coding 0x1234")),
        case(
            "an extensible coding by name",
            wav(&[extensible(&identifier(7), 8, 8), d()]),
            Refused("mu-law"),
        ),
        case(
            "an unknown sample format",
            wav(&[extensible(&ambisonic, 16, 16), d()]),
            Refused("identifier 010000002107d3118644c8c1ca000000"),
        ),
        case(
            "NaN",
            wav(&[fmt(3, 1, 48_000, 32), chunk(*b"data", &[[0; 4], [0; 4], NAN].concat())]),
            Refused("holds NaN at frame 2, channel 1"),
        ),
        case(
            "an infinity in the second channel",
            wav(&[fmt(3, 2, 48_000, 32), float32(&[0.0, 0.0, 0.0, f32::INFINITY])]),
            Refused("holds inf at frame 1, channel 2"),
        ),
        case(
            "an absurd number",
            wav(&[fmt(3, 1, 48_000, 32), float32(&[0.0, -1e30])]),
            Refused("at frame 1, channel 1"),
        ),
        case(
            "a sum of big-endian words",
            form(*b"RIFX", 0, &[fmt(1, 1, 48_000, 16), d()]),
            Refused("a big-endian RIFF file"),
        ),
        case(
            "a RIFF file of another kind",
            b"RIFF\x04\0\0\0AVI ".to_vec(),
            Refused("an AVI film; WAV, FLAC, AIFF, Ogg Vorbis and MP3 can be read"),
        ),
        case("a guitar file", b"format = 1\nname = \"bench\"\n".to_vec(), Refused("is a text file")),
        case("rubbish", vec![0; 4096], Refused("no sound file of a known kind")),
        case("a FLAC file of its first bytes alone", b"fLaC".to_vec(), Refused("ends too early")),
        case("a FLAC file of days", endless, Refused("decodes to more than 1073741824 frames")),
        case("an AIFF file of absurd channels", crowded, Refused("has 32770 channels")),
        case(
            "a compressed AIFF file",
            form_of_aiff(*b"ima4"),
            Refused("holds what is not known of AIFF (aifc: compression type not supported); integer and"),
        ),
        case(
            "an MP3 file whose second half has two channels",
            [silent_mp3(0xC0), silent_mp3(0x00)].concat(),
            Refused("changes its sample rate or its channels at frame 11520; one of each"),
        ),
        case("an AIFF file of its first bytes alone", b"FORM\0\0\0\x04AIFF".to_vec(), Refused("is damaged")),
    ]
}

/// What is read as it is, and told.
fn samples() -> Vec<Case> {
    let top = i16::MAX;
    let pcm = |channels, rate, samples: &[i16]| wav(&[fmt(1, channels, rate, 16), data16(samples)]);
    let floats = |samples: &[f32]| wav(&[fmt(3, 1, 48_000, 32), float32(samples)]);
    let swing: Vec<i16> = (0..400).map(|i| if i % 2 == 0 { 9000 } else { -9000 }).collect();
    let both = |other: fn(i16) -> i16| swing.iter().flat_map(|s| [*s, other(*s)]).collect::<Vec<_>>();
    vec![
        case("an ordinary take", pcm(1, 48_000, &swing), Tells(&[])),
        case(
            "a peak at full scale, which a normalised take has",
            pcm(1, 48_000, &[top, -11_000, -11_000, -10_700]),
            Tells(&[]),
        ),
        case(
            "runs at full scale, which a converter out of its range gives",
            pcm(1, 48_000, &[top, top, top, 0, i16::MIN, i16::MIN, i16::MIN, 0]),
            Tells(&["clipped"]),
        ),
        case(
            "a float over full scale, which is no harm yet",
            floats(&[1.5, -1.5, 0.25, -0.25]),
            Tells(&["exceed full scale"]),
        ),
        case(
            "right is left turned over, so that nothing is left of a sum",
            pcm(2, 48_000, &both(|s| -s)),
            Tells(&["cancel"]),
        ),
        case("right is left, as in most stereo files of a guitar", pcm(2, 48_000, &both(|s| s)), Tells(&[])),
        case(
            "an offset, which the meters would count as sound",
            pcm(1, 48_000, &[3000, 3100, 2900, 3000]),
            Tells(&["offset"]),
        ),
        case("silence", pcm(1, 48_000, &[0; 100]), Tells(&[])),
        case("11.025 kHz, above whose half nothing is heard", pcm(1, 11_025, &swing), Tells(&[])),
        case("384 kHz", pcm(1, 384_000, &swing), Tells(&[])),
        case(
            "eight channels, of which the reader takes all",
            pcm(8, 48_000, &[[9000; 8], [-9000; 8]].concat()),
            Tells(&[]),
        ),
    ]
}

/// Opens and reads a file; the samples of its first channel and all warnings as text.
fn take_in(path: &Path) -> Result<(Vec<f64>, Vec<String>), SoundError> {
    let sound = Sound::open(path)?;
    let mut blocks = sound.blocks(2);
    let mut first = Vec::new();
    while let Some(block) = blocks.next_block()? {
        assert!(block.len() == sound.channels() && block.iter().all(|plane| plane.len() == block[0].len()));
        first.extend_from_slice(&block[0]);
    }
    assert_eq!(first.len() as u64, sound.frames());
    let warnings = [sound.warnings(), &blocks.warnings()].concat();
    Ok((first, warnings.iter().map(Warning::to_string).collect()))
}

/// Returns what is told about the samples of a file.
fn inspect(path: &Path) -> Result<Vec<String>, SoundError> {
    let sound = Sound::open(path)?;
    let mut inspector = Inspector::new(&sound);
    let mut blocks = sound.blocks(100);
    while let Some(block) = blocks.next_block()? {
        inspector.add(block);
    }
    Ok(inspector.warnings().iter().map(Warning::to_string).collect())
}

fn cases() -> Vec<Case> {
    let groups = [
        depths(),
        structures(),
        sizes_and_alignments(),
        what_is_broken(),
        formats_that_are_not_read(),
        samples(),
    ];
    groups.into_iter().flatten().collect()
}

#[test]
fn every_awkward_file_ends_as_the_table_says() {
    let folder = tempfile::tempdir().unwrap();
    let cases = cases();
    assert!(cases.len() >= 60, "{} cases", cases.len());
    for (i, case) in cases.iter().enumerate() {
        let path = folder.path().join(format!("{i}.wav"));
        fs::write(&path, &case.bytes).unwrap();
        match (&case.outcome, take_in(&path)) {
            (Tells(warnings), _) => {
                let told = inspect(&path).unwrap_or_else(|refusal| panic!("{}: {refusal}", case.what));
                assert_eq!(told.len(), warnings.len(), "{}: {told:?}", case.what);
                let is_as_said = told.iter().zip(*warnings).all(|(told, said)| told.contains(said));
                assert!(is_as_said, "{}: {told:?}", case.what);
            }
            (Reads(samples, warnings), Ok((read, told))) => {
                assert_eq!(&read, samples, "{}", case.what);
                assert_eq!(told.len(), warnings.len(), "{}: {told:?}", case.what);
                for warning in *warnings {
                    assert!(told.iter().any(|t| t.contains(warning)), "{}: {told:?}", case.what);
                }
            }
            (Refused(reason), Err(refusal)) => {
                let told = refusal.to_string();
                assert!(told.contains(reason), "{}: {told}", case.what);
                assert!(told.contains(&format!("{i}.wav`")), "{}: {told}", case.what);
                assert!(!refusal.hint().is_empty() && !told.ends_with('.'), "{}: {told}", case.what);
            }
            (Reads(..), Err(refusal)) => panic!("{}: {refusal}", case.what),
            (Refused(_), Ok((read, told))) => panic!("{}: read as {read:?} with {told:?}", case.what),
        }
    }
}

/// The program on an awkward path: the files of the table, and what is no file.
#[cfg(unix)]
mod the_program {
    use std::os::unix::fs::{PermissionsExt, symlink};
    use std::process::Command;

    use super::*;
    use crate::common::program::drywire_within_bounds;

    /// Runs `hear` on `source`, and expects a refusal that says `said` and leaves no file.
    fn refuses(folder: &Path, source: &str, said: &str, what: &str) {
        let output = drywire_within_bounds(folder, &["hear", "--quiet", "--arrangements", "series", source]);
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{what}: {told}");
        assert!(told.contains(said) && told.contains("hint: "), "{what}: {told}");
        assert!(!folder.join("drywire-out").exists(), "{what}: a refusal left a file");
        assert_eq!(fs::read_dir(folder).unwrap().count(), 1, "{what}: a refusal left a file");
    }

    /// Runs `hear` on `source`, and expects a set and a warning that says `said`, if any.
    fn hears(folder: &Path, arguments: &[&str], said: Option<&str>, what: &str) {
        let hear = ["hear", "--quiet", "--arrangements", "series"];
        let output = drywire_within_bounds(folder, &[&hear, arguments].concat());
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{what}: {told}");
        assert!(said.is_none_or(|said| told.contains(said)), "{what}: {told}");
        fs::remove_dir_all(folder.join("drywire-out")).unwrap();
    }

    #[test]
    fn refuses_or_hears_every_file_of_the_table_within_bounds() {
        for case in cases() {
            let folder = tempfile::tempdir().unwrap();
            fs::write(folder.path().join("0.wav"), &case.bytes).unwrap();
            match case.outcome {
                Refused(said) => refuses(folder.path(), "0.wav", said, case.what),
                // How such a file is rendered does not hang on how it was stored; a few stand for all.
                Tells(said) if !case.what.starts_with("eight") => {
                    hears(folder.path(), &["0.wav"], said.first().copied(), case.what);
                }
                Tells(_) => refuses(folder.path(), "0.wav", "--source-channels", case.what),
                Reads(_, said) if !said.is_empty() => {
                    hears(folder.path(), &["0.wav"], Some(said[0]), case.what);
                }
                Reads(..) => {}
            }
        }
    }

    #[test]
    fn hears_what_is_mended_on_request_and_says_so() {
        let folder = tempfile::tempdir().unwrap();
        let bytes = wav(&[fmt(3, 1, 48_000, 32), float32(&[0.25, f32::NAN, f32::INFINITY, -0.25])]);
        fs::write(folder.path().join("take.wav"), bytes).unwrap();
        refuses(folder.path(), "take.wav", "holds NaN at frame 1, channel 1", "without being asked");
        hears(
            folder.path(),
            &["take.wav", "--repair"],
            Some("2 samples that were no numbers of a sound are now silence"),
            "on request",
        );
    }

    #[test]
    fn says_how_far_up_a_low_rate_reaches() {
        let folder = tempfile::tempdir().unwrap();
        for (rate, said) in [(11_025, Some("nothing above 5.51 kHz")), (44_100, None)] {
            let bytes = wav(&[fmt(1, 1, rate, 16), data16(&[9000, -9000, 9000, -9000])]);
            fs::write(folder.path().join("take.wav"), bytes).unwrap();
            let output = drywire_within_bounds(folder.path(), &["hear", "--json", "take.wav"]);
            let figures: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
            let notes = figures["notes"].to_string();
            assert_eq!(notes.contains("nothing above"), said.is_some(), "{notes}");
            assert!(said.is_none_or(|said| notes.contains(said)), "{notes}");
        }
    }

    #[test]
    fn refuses_a_set_of_more_than_wav_files_can_state_before_the_work() {
        let folder = tempfile::tempdir().unwrap();
        // A file of holes, which takes no room: a billion and a half frames, three bytes each as they are written.
        let bytes = 3_000_000_000;
        let header = mono16(chunk_stating(*b"data", bytes, &[]));
        let take = fs::File::create(folder.path().join("take.wav")).unwrap();
        std::io::Write::write_all(&mut &take, &header).unwrap();
        take.set_len(header.len() as u64 + u64::from(bytes)).unwrap();
        refuses(folder.path(), "take.wav", "its header can state at most", "a set of long files");
        hears_less(folder.path());
    }

    /// What is refused in 24 bits for its length is let through to the next check in 16.
    fn hears_less(folder: &Path) {
        let arguments = ["hear", "take.wav", "--bits", "16", "--out", "/proc/nowhere/set"];
        let told = String::from_utf8(drywire_within_bounds(folder, &arguments).stderr).unwrap();
        assert!(told.contains("/proc/nowhere"), "{told}");
    }

    #[test]
    fn refuses_what_is_no_file_without_opening_it() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join("kinds").join(name);
        fs::create_dir_all(at("folder.wav")).unwrap();
        let made = Command::new("mkfifo").arg(at("pipe.wav")).status().unwrap();
        assert!(made.success());
        symlink("loop.wav", at("loop.wav")).unwrap();
        symlink("pipe.wav", at("to-pipe.wav")).unwrap();
        symlink("nowhere.wav", at("dangling.wav")).unwrap();
        let _socket = std::os::unix::net::UnixListener::bind(at("socket.wav")).unwrap();
        for (source, said) in [
            ("kinds/folder.wav", "holds no sound file"),
            ("kinds/pipe.wav", "is a pipe"),
            ("kinds/to-pipe.wav", "is a pipe"),
            ("kinds/loop.wav", "cannot be read"),
            ("kinds/dangling.wav", "cannot be read"),
            ("kinds/socket.wav", "is a socket"),
            ("/dev/zero", "is a device"),
            ("/dev/stdin", "is a device"),
            ("kinds/none.wav", "check the spelling of the path"),
            ("kinds/pipe.wav/take.wav", "cannot be read"),
        ] {
            refuses(folder.path(), source, said, source);
        }
    }

    #[test]
    fn refuses_a_file_that_it_may_not_read() {
        let folder = tempfile::tempdir().unwrap();
        let take = folder.path().join("take.wav");
        fs::write(&take, mono16(data16(&PLAIN))).unwrap();
        fs::set_permissions(&take, fs::Permissions::from_mode(0o000)).unwrap();
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o777)).unwrap();
        if fs::File::open(&take).is_ok() {
            // The system refuses nothing to its administrator, who can be another user for a moment.
            use std::os::unix::process::CommandExt;
            let program = folder.path().join("program");
            fs::copy(env!("CARGO_BIN_EXE_drywire"), &program).unwrap();
            let mut hear = Command::new(program);
            hear.args(["hear", "take.wav"]).current_dir(folder.path()).uid(65_534).gid(65_534);
            let output = hear.output().unwrap();
            let told = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{told}");
            assert!(told.contains("take.wav` cannot be read") && told.contains("permissions"), "{told}");
            assert!(!folder.path().join("drywire-out").exists());
        } else {
            refuses(folder.path(), "take.wav", "permissions", "a file without permission");
        }
    }
}
