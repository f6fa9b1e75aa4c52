//! The impulse responses of a set's takes, for any convolution player.

use std::io::Cursor;

use num_complex::Complex64;

use crate::filter::Kernel;
use crate::quantity::{Db, Hertz};
use crate::render::Take;
use crate::response::LOW;

/// The impulse responses of a set, scaled alike so that the baseline passes low frequencies at unity.
///
/// All of them begin by the same number of frames before time zero: a response cut off at half the rate has a part
/// there, without which a convolution would be wrong by more than −50 dB for one coil of a one-channel source.
#[derive(Debug, Clone, PartialEq)]
pub struct Impulses {
    /// The frames before time zero in every file.
    pub lead: usize,
    /// What takes a source, convolved with an impulse response and freed of the lead, to the as-is files' level before
    /// their own gain.
    pub scale: Db,
    /// For each take the bytes of a WAV file: 32-bit float, a channel for each of the source's channels that differ.
    pub files: Vec<Vec<u8>>,
}

impl Impulses {
    /// Returns the impulse responses of `takes` at `rate_hz`, against that of the baseline.
    pub(super) fn of(takes: &[Take], baseline: usize, rate_hz: u32) -> Self {
        let kernels: Vec<Vec<&Kernel>> = takes.iter().map(Take::kernels).collect();
        let lead = kernels.iter().flatten().map(|k| k.before()).max().unwrap_or(0);
        let unity: Complex64 = kernels[baseline].iter().map(|k| at(k, LOW, rate_hz)).sum();
        let level = Some(unity.norm()).filter(|level| *level > 0.0).unwrap_or(1.0);
        let files = kernels.iter().map(|kernels| file(kernels, lead, level, rate_hz)).collect();
        Self { lead, scale: Db::of_amplitude(level), files }
    }
}

/// Returns a kernel's response at one frequency.
fn at(kernel: &Kernel, frequency: Hertz, rate_hz: u32) -> Complex64 {
    let step = -std::f64::consts::TAU * frequency.value() / f64::from(rate_hz);
    let taps = kernel.taps().iter().enumerate();
    taps.map(|(n, tap)| Complex64::cis(step * (n as f64 - kernel.before() as f64)) * tap).sum()
}

fn file(kernels: &[&Kernel], lead: usize, level: f64, rate_hz: u32) -> Vec<u8> {
    let frames = kernels.iter().map(|k| lead - k.before() + k.taps().len()).max().unwrap_or(0);
    let format = hound::WavSpec {
        channels: u16::try_from(kernels.len()).expect("a pickup has few coils"),
        sample_rate: rate_hz,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, format).expect("memory takes all");
    for frame in 0..frames {
        for kernel in kernels {
            let tap = (frame + kernel.before()).checked_sub(lead).and_then(|n| kernel.taps().get(n));
            #[expect(
                clippy::cast_possible_truncation,
                reason = "it is to be rounded to the precision of f32"
            )]
            let value = (tap.copied().unwrap_or(0.0) / level) as f32;
            writer.write_sample(value).expect("memory takes all");
        }
    }
    writer.finalize().expect("memory takes all");
    bytes.into_inner()
}
