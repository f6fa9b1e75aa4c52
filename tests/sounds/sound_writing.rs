//! A written WAV file gives every reader exactly the values on which its figures were measured.

#![allow(clippy::float_cmp, reason = "samples are compared to the last bit")]
#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use std::io::Cursor;

use drywire::digest::{Form, MarkedWriter, is_whole};
use drywire::sound::{Depth, Quantiser, Sound, WaveShape, WaveWriter, WriteError};
use proptest::collection::vec;
use proptest::prelude::*;
use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSourceStream, MediaSourceStreamOptions};
use symphonia::default::codecs::PcmDecoder;
use symphonia::default::formats::WavReader;

/// Quantises and writes planes in blocks of `size`; the bytes of the file and the values as measured.
fn written(depth: Depth, planes: &[Vec<f64>], size: usize) -> (Vec<u8>, Vec<Vec<f64>>) {
    let frames = planes[0].len();
    let shape = WaveShape::new(48_000, planes.len(), depth, frames as u64).unwrap();
    let mut writer = WaveWriter::new(Vec::new(), shape);
    let mut quantisers: Vec<_> = (0..planes.len()).map(|channel| Quantiser::new(depth, channel)).collect();
    let mut values = planes.to_vec();
    for from in (0..frames).step_by(size) {
        let to = frames.min(from + size);
        for (quantiser, plane) in quantisers.iter_mut().zip(&mut values) {
            quantiser.quantise(&mut plane[from..to]);
        }
        let block: Vec<&[f64]> = values.iter().map(|plane| &plane[from..to]).collect();
        writer.write(&block).unwrap();
    }
    let bytes = writer.finish().unwrap();
    assert_eq!(bytes.len() as u64, shape.file_bytes());
    (bytes, values)
}

/// What an independent reader makes of the bytes, in full scales.
fn read_by_hound(bytes: &[u8]) -> (hound::WavSpec, Vec<f64>) {
    let mut reader = hound::WavReader::new(Cursor::new(bytes)).unwrap();
    let spec = reader.spec();
    let samples = match spec.sample_format {
        hound::SampleFormat::Int => {
            let full_scale = f64::from(1u32 << (spec.bits_per_sample - 1));
            reader.samples::<i32>().map(|s| f64::from(s.unwrap()) / full_scale).collect()
        }
        hound::SampleFormat::Float => reader.samples::<f32>().map(|s| f64::from(s.unwrap())).collect(),
    };
    (spec, samples)
}

fn read_by_us(bytes: Vec<u8>) -> Vec<Vec<f64>> {
    let sound = Sound::from_bytes("written.wav", bytes).unwrap();
    assert_eq!(sound.warnings(), []);
    let mut blocks = sound.blocks(usize::MAX);
    let block = blocks.next_block().unwrap().unwrap();
    block.to_vec()
}

fn interleaved(planes: &[Vec<f64>]) -> Vec<f64> {
    (0..planes[0].len()).flat_map(|frame| planes.iter().map(move |plane| plane[frame])).collect()
}

/// The bytes of a file of one channel of 24 bits that ends with a mark.
fn marked(samples: &[f64]) -> Vec<u8> {
    let mark = u32::try_from(Form::Wave.bytes()).unwrap();
    let shape = WaveShape::new(48_000, 1, Depth::Pcm24, samples.len() as u64).unwrap();
    let shape = shape.followed_by(mark).unwrap();
    let mut writer = WaveWriter::new(MarkedWriter::new(Vec::new()), shape);
    writer.write(&[samples]).unwrap();
    let bytes = writer.finish().unwrap().finish(Form::Wave).unwrap();
    assert_eq!(bytes.len() as u64, shape.file_bytes());
    bytes
}

/// The chunks of a WAV file whose sizes, pad bytes and order fill it exactly: their names and bodies.
fn chunks(bytes: &[u8]) -> Vec<(&[u8], &[u8])> {
    let size = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!((&bytes[..4], &bytes[8..12]), (&b"RIFF"[..], &b"WAVE"[..]));
    assert_eq!(size(4) + 8, bytes.len());
    let (mut at, mut found) = (12, Vec::new());
    while at < bytes.len() {
        let end = at + 8 + size(at + 4);
        found.push((&bytes[at..at + 4], &bytes[at + 8..end]));
        at = end.next_multiple_of(2);
    }
    assert_eq!(at, bytes.len());
    found
}

#[test]
fn every_reader_passes_over_a_mark_behind_an_even_or_an_odd_number_of_bytes() {
    for frames in [999, 1000] {
        let samples: Vec<f64> = (0..frames).map(|n| f64::from(n % 64) / 128.0).collect();
        let bytes = marked(&samples);
        assert!(is_whole(&bytes));
        let found = chunks(&bytes);
        assert_eq!(found.iter().map(|(name, _)| *name).collect::<Vec<_>>(), [&b"fmt "[..], b"data", b"LIST"]);
        assert_eq!(found[1].1.len(), 3 * samples.len());
        assert!(found[2].1.starts_with(b"INFOICMT"), "a list of information, in it a comment");

        assert_eq!(read_by_hound(&bytes).1, samples);
        assert_eq!(read_by_us(bytes.clone()), std::slice::from_ref(&samples));
        assert_eq!(read_by_symphonia(bytes.clone()), samples);
        let mut edited = bytes.clone();
        edited[50] ^= 1;
        assert!(!is_whole(&edited));
    }
}

/// What another independent reader makes of the bytes of one channel.
fn read_by_symphonia(bytes: Vec<u8>) -> Vec<f64> {
    let stream = MediaSourceStream::new(Box::new(Cursor::new(bytes)), MediaSourceStreamOptions::default());
    let mut reader = WavReader::try_new(stream, FormatOptions::default()).unwrap();
    let track = reader.default_track(TrackType::Audio).unwrap();
    let Some(CodecParameters::Audio(coding)) = &track.codec_params else { panic!("no audio") };
    let mut decoder = PcmDecoder::try_new(coding, &AudioDecoderOptions::default()).unwrap();
    let mut planes: Vec<Vec<f64>> = Vec::new();
    let mut samples = Vec::new();
    while let Some(packet) = reader.next_packet().unwrap() {
        decoder.decode(&packet).unwrap().copy_to_vecs_planar(&mut planes);
        samples.extend(&planes[0]);
    }
    samples
}

/// Full scale and past it at both ends, the smallest steps, halves of steps and nothing.
fn edges() -> Vec<f64> {
    let step = 1.0 / 8388608.0;
    vec![1.0, -1.0, 1.0 - step, 1.0 - step / 2.0, 1.5, -1.5, step, -step, step / 2.0, 0.0, -0.0, 0.1, -0.7]
}

#[test]
fn every_depth_is_read_by_an_independent_reader_as_the_values_that_were_measured() {
    for depth in Depth::ALL {
        for channels in [1, 2, 3] {
            let planes: Vec<Vec<f64>> =
                (0..channels).map(|c| edges().iter().map(|x| x * 0.9f64.powi(c)).collect()).collect();
            let (bytes, values) = written(depth, &planes, 5);
            let (spec, samples) = read_by_hound(&bytes);
            assert_eq!(i32::from(spec.channels), channels);
            assert_eq!(spec.bits_per_sample, depth.bytes() * 8, "{depth}");
            assert_eq!(samples, interleaved(&values), "{depth}, {channels} channels");
            assert_eq!(read_by_us(bytes), values, "{depth}, {channels} channels");
        }
    }
}

#[test]
fn full_scale_saturates_at_the_largest_integer_and_does_not_wrap() {
    let (bytes, _) = written(Depth::Pcm24, &[vec![1.0, 2.0, -1.0, -2.0]], 4);
    let mut reader = hound::WavReader::new(Cursor::new(bytes)).unwrap();
    let samples: Vec<i32> = reader.samples().map(Result::unwrap).collect();
    assert_eq!(samples, [8_388_607, 8_388_607, -8_388_608, -8_388_608]);
    // Samples that no quantiser has seen are kept from wrapping as well.
    let shape = WaveShape::new(48_000, 1, Depth::Pcm24, 2).unwrap();
    let mut writer = WaveWriter::new(Vec::new(), shape);
    writer.write(&[&[1.0, f64::NAN]]).unwrap();
    assert_eq!(read_by_us(writer.finish().unwrap()), [[8388607.0 / 8388608.0, 0.0]]);
}

#[test]
fn the_header_is_of_the_plain_form_and_its_sizes_are_right() {
    for (depth, header) in [(Depth::Pcm16, 44), (Depth::Pcm24, 44), (Depth::Float32, 58)] {
        let (bytes, _) = written(depth, &[vec![0.25; 3]], 3);
        let data = 3 * usize::from(depth.bytes());
        let word = |at: usize| u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
        assert_eq!(bytes.len(), header + data.next_multiple_of(2), "{depth}");
        assert_eq!(word(4) as usize, bytes.len() - 8, "{depth}");
        assert_eq!(word(header - 4) as usize, data, "{depth}");
        assert_eq!(&bytes[header - 8..header - 4], b"data", "{depth}");
        assert_eq!(u16::from_le_bytes([bytes[20], bytes[21]]), if depth == Depth::Float32 { 3 } else { 1 });
    }
    let (float, _) = written(Depth::Float32, &[vec![0.25; 3]], 3);
    assert_eq!(
        float[38..50],
        *b"fact\x04\0\0\0\x03\0\0\0",
        "the number of frames stands in a chunk of its own"
    );
}

#[test]
fn what_a_wav_file_cannot_hold_is_refused_beforehand_with_the_way_out() {
    // A header states at most 2³²−1 bytes after its own first eight; 36 of them come before the samples.
    let most = (u64::from(u32::MAX) - 36) / 6;
    let shape = WaveShape::new(48_000, 2, Depth::Pcm24, most).unwrap();
    assert!(shape.file_bytes() <= u64::from(u32::MAX) + 8);
    for frames in [most + 1, u64::MAX] {
        let refusal = WaveShape::new(48_000, 2, Depth::Pcm24, frames).unwrap_err();
        assert!(matches!(refusal, WriteError::TooLong { most: 4_294_967_303, .. }), "{refusal}");
        assert!(refusal.hint().contains("fewer bits"), "{refusal}");
    }
    let rate = WaveShape::new(400_000, 1, Depth::Pcm24, 1).unwrap_err();
    assert_eq!(rate.to_string(), "a sample rate of 400000 Hz cannot be written; 8000 to 384000 Hz can");
    for channels in [0, 33, 70_000] {
        let refusal = WaveShape::new(48_000, channels, Depth::Pcm24, 1).unwrap_err();
        assert!(matches!(refusal, WriteError::Channels { given } if given == channels));
    }
}

#[test]
fn a_file_of_another_length_than_stated_is_not_finished() {
    let shape = WaveShape::new(48_000, 1, Depth::Pcm16, 3).unwrap();
    let mut writer = WaveWriter::new(Vec::new(), shape);
    writer.write(&[&[0.0; 2]]).unwrap();
    assert!(matches!(writer.write(&[&[0.0; 2]]), Err(WriteError::OtherLength { stated: 3, given: 4 })));
    let mut writer = WaveWriter::new(Vec::new(), shape);
    writer.write(&[&[0.0; 2]]).unwrap();
    assert!(matches!(writer.finish(), Err(WriteError::OtherLength { stated: 3, given: 2 })));
}

proptest! {
    #[test]
    fn reading_gives_back_what_was_measured_and_writing_it_again_gives_the_same_bytes(
        planes in (1usize..4, 1usize..400)
            .prop_flat_map(|(channels, frames)| vec(vec(-1.2f64..1.2, frames), channels)),
        depth in prop::sample::select(&Depth::ALL[..]),
        size in 1usize..500,
    ) {
        let (bytes, values) = written(depth, &planes, size);
        let (whole, same) = written(depth, &planes, usize::MAX);
        prop_assert_eq!(&bytes, &whole);
        prop_assert_eq!(&values, &same);
        prop_assert_eq!(&read_by_us(bytes.clone()), &values);
        if depth != Depth::Pcm16 {
            let (again, _) = written(depth, &values, size);
            prop_assert_eq!(again, bytes);
        }
        for (value, sample) in values.iter().flatten().zip(planes.iter().flatten()) {
            // Half a step without dither, one and a half with it; past full scale there is no promise.
            let step = match depth {
                Depth::Pcm16 => 3.0 / 65536.0,
                Depth::Pcm24 => 0.5 / 8388608.0,
                Depth::Float32 => sample.abs() * f64::from(f32::EPSILON) / 2.0,
            };
            prop_assert!((value - sample).abs() <= step || sample.abs() > 1.0 - step, "{} for {}", value, sample);
        }
    }
}
