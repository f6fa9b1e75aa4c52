//! No bytes, however broken, make the reading of a sound panic, hang or give other samples the second time.
//!
//! `PROPTEST_CASES` sets the number of cases of each test; what is held to stands in the fuzzer's target.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::fs;
use std::path::Path;

use crate::targets::sound::run;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

fn data(name: &str) -> Vec<u8> {
    fs::read(Path::new("tests/data/sound").join(name)).unwrap()
}

/// A whole file with some bytes changed, a piece cut out and its end cut off.
fn broken_file() -> impl Strategy<Value = Vec<u8>> {
    const NAMES: [&str; 9] = [
        "stereo16.flac",
        "stereo24.flac",
        "stereo24.aiff",
        "mono.ogg",
        "mono.mp3",
        "extensible24.wav",
        "float64.wav",
        "wide.wav",
        "piped-ffmpeg.wav",
    ];
    // Half of the changes fall on the headers, where the sizes are.
    let place = prop_oneof![(0usize..128).prop_map(Err), any::<Index>().prop_map(Ok)];
    let value = prop_oneof![Just(0u8), Just(0xFF), Just(0x7F), Just(0x80), any::<u8>()];
    let changes = vec((place, value), 0..12);
    let cut = (any::<Index>(), 0usize..64, prop::bool::weighted(0.2));
    let end = (any::<Index>(), prop::bool::weighted(0.3));
    (prop::sample::select(&NAMES[..]), changes, cut, end).prop_map(|(name, changes, cut, end)| {
        let mut bytes = data(name);
        for (place, value) in changes {
            let at = place.map_or_else(|header| header, |anywhere| anywhere.index(bytes.len()));
            bytes[at] = value;
        }
        if cut.2 {
            let from = cut.0.index(bytes.len());
            bytes.drain(from..(from + cut.1).min(bytes.len()));
        }
        if end.1 {
            bytes.truncate(end.0.index(bytes.len()));
        }
        bytes
    })
}

/// Chunks of random names and sizes behind a WAVE header.
fn random_chunks() -> impl Strategy<Value = Vec<u8>> {
    let id = prop_oneof![
        4 => prop::sample::select(vec![*b"fmt ", *b"data", *b"ds64", *b"LIST", *b"JUNK"]),
        1 => any::<[u8; 4]>(),
    ];
    let size = prop_oneof![3 => 0u32..64, 1 => Just(u32::MAX), 1 => any::<u32>()];
    let chunk = (id, size, vec(any::<u8>(), 0..64))
        .prop_map(|(id, size, body)| [&id[..], &size.to_le_bytes(), &body].concat());
    let form = prop::sample::select(vec![*b"RIFF", *b"RF64", *b"BW64"]);
    let good = b"fmt \x10\0\0\0\x01\0\x01\0\x80\xBB\0\0\0\x77\x01\0\x02\0\x10\0".to_vec();
    (form, any::<bool>(), vec(chunk, 0..8)).prop_map(move |(form, is_good, chunks)| {
        let format = if is_good { good.clone() } else { Vec::new() };
        [&form[..], &[0xFF; 4], b"WAVE", &format, &chunks.concat()].concat()
    })
}

proptest! {
    #[test]
    fn random_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..600)) {
        run(&bytes);
    }

    #[test]
    fn random_chunks_are_read_or_refused(bytes in random_chunks()) {
        run(&bytes);
    }

    #[test]
    fn broken_files_are_read_or_refused(bytes in broken_file()) {
        run(&bytes);
    }
}
