//! What each stage of the job costs: `cargo bench`. Throughputs are of the source's samples, ten seconds of one channel.

use std::io::{Cursor, sink};

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use drywire::amp::{Cabinet, Setting, Stages};
use drywire::digest::Digests;
use drywire::guitar::Guitar;
use drywire::measure::{CentroidMeter, LevelMeter, ThirdOctaveMeter};
use drywire::quantity::DbSpl;
use drywire::render::{
    Amplifier, Channels, Configuration, MatchBy, Model, RenderError, Sink, forecast, pass,
};
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::{USUAL, Voice, VoiceResponse};
use drywire::set::SetSpec;
use drywire::sound::{Depth, Quantiser, Sound, WaveShape, WaveWriter};

const RATE: u32 = 48_000;
const FRAMES: usize = 480_000;
const BLOCK: usize = 2048;

fn main() {
    divan::main();
}

/// A low note that falls and is struck again each second.
fn samples() -> Vec<f64> {
    let at = |n: usize| n as f64 / f64::from(RATE);
    let partial = |n: usize, k: u32| (at(n) * 518.0 * f64::from(k)).sin() / f64::from(k);
    (0..FRAMES)
        .map(|n| 0.3 * (-3.0 * at(n % RATE as usize)).exp() * (1..8).map(|k| partial(n, k)).sum::<f64>())
        .collect()
}

/// The same as a file of 24 bits in memory.
fn file() -> Sound {
    let mut samples = samples();
    Quantiser::new(Depth::Pcm24, 0).quantise(&mut samples);
    let shape = WaveShape::new(RATE, 1, Depth::Pcm24, FRAMES as u64).expect("it fits");
    let mut writer = WaveWriter::new(Vec::new(), shape);
    writer.write(&[&samples]).expect("memory takes all");
    Sound::from_bytes("bench", writer.finish().expect("it is whole")).expect("a WAV file")
}

fn responses(guitar: &Guitar) -> Vec<VoiceResponse> {
    let pickup = &guitar.pickups()[0];
    USUAL.iter().map(|a| Voice::of(*a).response(guitar, pickup).expect("a sound circuit")).collect()
}

fn configuration(guitar: &Guitar) -> Configuration<'_> {
    Configuration {
        guitar,
        scope: (&guitar.pickups()[0]).into(),
        rate_hz: RATE,
        source_channels: 1,
        channels: Channels::Stereo,
        model: Model::Circuit,
        recorded: None,
        hum: None,
    }
}

fn guitar() -> Guitar {
    Guitar::built_in("set-neck").expect("it is built in")
}

fn measured(bencher: Bencher<'_, '_>, mut take: impl FnMut(&mut dyn Iterator<Item = &[f64]>)) {
    let samples = samples();
    bencher.counter(ItemsCount::new(FRAMES)).bench_local(|| take(&mut black_box(&samples).chunks(BLOCK)));
}

/// Throughput in bytes: both files of a take, as much of either as is handed to the system at once.
#[divan::bench]
fn digests_of_two_files(bencher: Bencher<'_, '_>) {
    let bytes = [vec![1; 64 * 1024], vec![2; 64 * 1024]];
    let mut digests = Digests::new();
    let count = BytesCount::new(bytes.concat().len());
    bencher.counter(count).bench_local(|| digests.add(black_box(&bytes).each_ref().map(Vec::as_slice)));
}

#[divan::bench]
fn decode_24_bits(bencher: Bencher<'_, '_>) {
    let sound = file();
    bencher.counter(ItemsCount::new(FRAMES)).bench(|| {
        let mut blocks = sound.blocks(8192);
        while blocks.next_block().expect("it is in memory").is_some() {}
    });
}

#[divan::bench]
fn kernels_of_six(bencher: Bencher<'_, '_>) {
    let guitar = guitar();
    let (configuration, responses) = (configuration(&guitar), responses(&guitar));
    bencher.bench(|| {
        responses.iter().map(|r| configuration.take(r).expect("it has a kernel")).collect::<Vec<_>>()
    });
}

/// Takes what is rendered and does nothing.
struct Nowhere;

impl Sink for Nowhere {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        black_box(block);
        Ok(())
    }
}

#[divan::bench(args = [1, 2])]
fn render_six(bencher: Bencher<'_, '_>, workers: usize) {
    let guitar = guitar();
    let (configuration, sound) = (configuration(&guitar), file());
    let takes: Vec<_> =
        responses(&guitar).iter().map(|r| configuration.take(r).expect("it has a kernel")).collect();
    bencher.counter(ItemsCount::new(FRAMES)).bench(|| {
        let sinks = takes.iter().map(|_| Nowhere).collect();
        pass(&sound, &takes, sinks, workers, &|_| {}).expect("it is rendered").len()
    });
}

#[divan::bench]
fn levels_of_one(bencher: Bencher<'_, '_>) {
    measured(bencher, |blocks| {
        let mut meter = LevelMeter::new(RATE, 1).expect("in range");
        blocks.for_each(|block| meter.push(&[block]).expect("finite"));
        black_box(meter.finish());
    });
}

#[divan::bench]
fn centroid_of_one(bencher: Bencher<'_, '_>) {
    measured(bencher, |blocks| {
        let mut meter = CentroidMeter::new(RATE, 1).expect("in range");
        blocks.for_each(|block| meter.push(&[block]).expect("finite"));
        black_box(meter.finish());
    });
}

#[divan::bench]
fn third_octaves_of_one(bencher: Bencher<'_, '_>) {
    measured(bencher, |blocks| {
        let mut meter = ThirdOctaveMeter::new(RATE, 1).expect("in range");
        blocks.for_each(|block| meter.push(&[block]).expect("finite"));
        black_box(meter.finish());
    });
}

#[divan::bench(args = [Depth::Pcm16, Depth::Pcm24, Depth::Float32])]
fn write_one(bencher: Bencher<'_, '_>, depth: Depth) {
    measured(bencher, |blocks| {
        let shape = WaveShape::new(RATE, 1, depth, FRAMES as u64).expect("it fits");
        let mut writer = WaveWriter::new(sink(), shape);
        blocks.for_each(|block| {
            writer.pack_rounded(&[block], 0.7).expect("it fits");
            writer.hand_on().expect("it goes nowhere");
        });
        writer.finish().expect("it is whole");
    });
}

#[divan::bench]
fn drops_foretold(bencher: Bencher<'_, '_>) {
    let guitar = guitar();
    let responses = responses(&guitar);
    let sound = Sound::from_planes("coils", RATE, vec![samples(), samples()]).expect("a sound");
    bencher.bench(|| forecast(&sound, &responses).expect("two channels"));
}

#[divan::bench(args = [1, 2])]
fn a_whole_set(bencher: Bencher<'_, '_>, workers: usize) {
    let guitar = guitar();
    let (responses, sound) = (responses(&guitar), file());
    let spec = SetSpec {
        configuration: configuration(&guitar),
        sound: &sound,
        responses: &responses,
        baseline: 0,
        by: MatchBy::Loudness,
        depth: Depth::Pcm24,
        amplification: None,
        with_impulses: false,
        with_spectra: false,
        listening_level: DbSpl::new(75.0),
        workers,
    };
    bencher.counter(ItemsCount::new(FRAMES)).bench(|| {
        let mut figures = SetFigures::new(&guitar, &guitar.pickups()[0], "series");
        for response in &responses {
            let told = response.figures().expect("a sound circuit");
            figures.arrangements.push(ArrangementFigures::new(response.voice().name(), &told, None));
        }
        let filled = spec.fill(&mut figures, &mut |_| Ok(Cursor::new(Vec::new())), &|_| {});
        filled.expect("memory takes all").files.len()
    });
}

/// Throughput in samples of one take, 300 ns each being the most: driven, behind the loudspeaker.
#[divan::bench]
fn amplify_one(bencher: Bencher<'_, '_>) {
    let gain = Stages::clip_point() * (-Setting::Driven.headroom().level()).amplitude() / 0.3;
    let amplifier = Amplifier { rate_hz: RATE, gain, cabinet: Cabinet::Closed };
    measured(bencher, |blocks| {
        let mut sink = amplifier.before(Nowhere, 1, false);
        blocks.for_each(|block| sink.take(&[block]).expect("it is taken"));
        sink.end().expect("it is taken");
    });
}
