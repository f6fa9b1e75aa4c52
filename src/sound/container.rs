//! Which container a file is, by its first bytes and never by its name.

use super::medium::Medium;
use super::{Problem, coded};

/// A container whose audio can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Container {
    /// RIFF/WAVE, or its 64-bit forms RF64 and BW64.
    Wave,
    /// What the decoder library reads.
    Coded(coded::Kind),
}

/// Returns the container of `medium` and the byte at which it begins, past any ID3 tag put in front.
pub(super) fn detect(medium: &Medium) -> Result<(Container, u64), Problem> {
    if medium.len() == 0 {
        return Err(Problem::Empty);
    }
    let at = past_id3(medium)?;
    let mut start = [0; 512];
    let read = medium.read_at(at, &mut start).map_err(Problem::Unreadable)?;
    let start = &start[..read];
    let four = |from: usize| start.get(from..from + 4).unwrap_or_default();
    let container = match (four(0), four(8)) {
        (b"RIFF" | b"RF64" | b"BW64", b"WAVE") => Container::Wave,
        (b"fLaC", _) => Container::Coded(coded::Kind::Flac),
        (b"FORM", b"AIFF" | b"AIFC") => Container::Coded(coded::Kind::Aiff),
        (b"OggS", _) => Container::Coded(ogg(start)?),
        _ => match mpeg_layer(start) {
            Some(3) => Container::Coded(coded::Kind::Mp3),
            Some(1) => return Err(Problem::OtherContainer("an MPEG audio stream of layer I")),
            Some(2) => return Err(Problem::OtherContainer("an MPEG audio stream of layer II")),
            Some(_) => return Err(Problem::OtherContainer("an AAC stream")),
            None => return Err(Problem::OtherContainer(looks_like(start))),
        },
    };
    Ok((container, at))
}

/// Returns where the audio begins behind the ID3v2 tags at the start, each of which states its length in four
/// bytes of seven bits (ID3 tag version 2.4.0, §3.1).
fn past_id3(medium: &Medium) -> Result<u64, Problem> {
    const MOST_TAGS: usize = 8;
    let mut at = 0;
    for _ in 0..MOST_TAGS {
        match medium.array_at::<10>(at)? {
            Some([b'I', b'D', b'3', _, _, flags, a, b, c, d]) => {
                let body = [a, b, c, d].iter().fold(0u64, |n, byte| n << 7 | u64::from(byte & 0x7F));
                let footer = if flags & 0x10 == 0 { 0 } else { 10 };
                at += 10 + body + footer;
            }
            _ => break,
        }
    }
    Ok(at)
}

/// Returns what an Ogg file carries, by the first packet of its first page: its segment table of as many bytes as
/// byte 26 says begins at byte 27 (RFC 3533, §6).
fn ogg(start: &[u8]) -> Result<coded::Kind, Problem> {
    let packet =
        start.get(26).and_then(|&segments| start.get(27 + usize::from(segments)..)).unwrap_or_default();
    let other = |name| Err(Problem::OtherContainer(name));
    match packet {
        [1, b'v', b'o', b'r', b'b', b'i', b's', ..] => Ok(coded::Kind::OggVorbis),
        [b'O', b'p', b'u', b's', b'H', b'e', b'a', b'd', ..] => other("an Ogg file with Opus in it"),
        [0x7F, b'F', b'L', b'A', b'C', ..] => other("an Ogg file with FLAC in it"),
        [b'S', b'p', b'e', b'e', b'x', ..] => other("an Ogg file with Speex in it"),
        _ => other("an Ogg file with something else than Vorbis in it"),
    }
}

/// Returns the layer of the MPEG audio frame at the start, 0 for AAC, `None` where no frame header stands there
/// (ISO/IEC 11172-3, §2.4.1.3).
fn mpeg_layer(start: &[u8]) -> Option<u8> {
    let [0xFF, second, third, ..] = *start else { return None };
    let version_is_reserved = second & 0x18 == 0x08;
    let (bit_rate, sample_rate) = (third >> 4, third >> 2 & 3);
    if second & 0xE0 != 0xE0 || version_is_reserved || bit_rate == 15 || sample_rate == 3 {
        return None;
    }
    Some((4 - (second >> 1 & 3)) % 4)
}

/// Returns what a file that is not read seems to be, in words that follow "is".
fn looks_like(start: &[u8]) -> &'static str {
    const KNOWN: [(usize, &[u8], &str); 18] = [
        (0, b"RIFX", "a big-endian RIFF file"),
        (8, b"AVI ", "an AVI film"),
        (8, b"8SVX", "an 8SVX file"),
        (0, b"caff", "a CAF file"),
        (4, b"ftyp", "an MP4 or M4A file"),
        (0, &[0x1A, 0x45, 0xDF, 0xA3], "a Matroska or WebM file"),
        (0, b".snd", "an AU file"),
        (0, b"wvPk", "a WavPack file"),
        (0, b"riff", "a Wave64 file"),
        (0, &[0x30, 0x26, 0xB2, 0x75], "an ASF or WMA file"),
        (0, b"TTA1", "a TTA file"),
        (0, b"MThd", "a MIDI file, which holds notes and no sound"),
        (0, b"RIFF", "a RIFF file without sound"),
        (0, b"FORM", "an IFF file without sound"),
        (0, b"PK\x03\x04", "a ZIP archive"),
        (0, &[0x1F, 0x8B], "a gzip archive"),
        (0, b"%PDF", "a PDF document"),
        (0, b"\x89PNG", "a picture"),
    ];
    let holds = |at: usize, bytes: &[u8]| start.get(at..).is_some_and(|rest| rest.starts_with(bytes));
    if let Some((_, _, name)) = KNOWN.iter().find(|(at, bytes, _)| holds(*at, bytes)) {
        return name;
    }
    // A character may be cut at the end of the 512 bytes looked at.
    let text = match std::str::from_utf8(start) {
        Ok(text) => text,
        Err(e) if e.error_len().is_none() => std::str::from_utf8(&start[..e.valid_up_to()]).unwrap_or("\0"),
        Err(_) => "\0",
    };
    let is_text = text.chars().all(|c| !c.is_control() || c.is_ascii_whitespace());
    if is_text && !text.is_empty() { "a text file" } else { "no sound file of a known kind" }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn detected(bytes: &'static [u8]) -> Result<(Container, u64), String> {
        detect(&Medium::of_bytes(bytes.into())).map_err(|e| e.to_string())
    }

    #[test]
    fn a_container_is_known_by_its_content_and_past_a_tag_in_front() {
        assert_eq!(detected(b"RIFF\0\0\0\0WAVE"), Ok((Container::Wave, 0)));
        assert_eq!(detected(b"BW64\xFF\xFF\xFF\xFFWAVE"), Ok((Container::Wave, 0)));
        assert_eq!(detected(b"fLaC"), Ok((Container::Coded(coded::Kind::Flac), 0)));
        assert_eq!(detected(b"\xFF\xFB\x90\x00"), Ok((Container::Coded(coded::Kind::Mp3), 0)));
        let tagged = b"ID3\x04\0\0\0\0\0\x03abcfLaC";
        assert_eq!(detected(tagged), Ok((Container::Coded(coded::Kind::Flac), 13)));
    }

    #[test]
    fn what_is_not_read_is_named() {
        for (bytes, name) in [
            (&b"RIFF\0\0\0\0AVI "[..], "AVI"),
            (b"RIFX\0\0\0\0WAVE", "big-endian"),
            (b"\0\0\0\x20ftypM4A ", "MP4"),
            (b"format = 1\nname = \"x\"\n", "a text file"),
            (b"OggS\0\x02\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\x01\x13OpusHead", "Opus"),
            (b"\xFF\xFD\x90\x00", "layer II"),
            (b"\xFF\xF1\x50\x80", "AAC"),
            (b"\0\x01\x02\x03", "no sound file"),
            (b"", "is empty"),
        ] {
            let refusal = detected(bytes).expect_err(name);
            assert!(refusal.contains(name), "{refusal}");
        }
    }
}
