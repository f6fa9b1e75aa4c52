//! Samples brought to another rate, where a sound card cannot do theirs.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Async, FixedAsync, Resampler, SincInterpolationParameters, WindowFunction};

/// The length of the interpolating filter in samples of the lower rate; its pass band then ends at about 94 % of
/// half of that rate.
const SINC_LENGTH: usize = 256;
const CHUNK: usize = 4096;

/// Returns interleaved `samples` of rate `from` at rate `to`.
///
/// All of them are early by the same part of a frame of `to`, at most one, which the filter's delay leaves.
pub(super) fn resampled(samples: &[f32], channels: usize, from: u32, to: u32) -> Vec<f32> {
    let frames = samples.len() / channels;
    let ratio = f64::from(to) / f64::from(from);
    let filter = SincInterpolationParameters::new(SINC_LENGTH, WindowFunction::BlackmanHarris2);
    let mut resampler = Async::<f32>::new_sinc(ratio, 1.0, &filter, CHUNK, channels, FixedAsync::Input)
        .expect("rates within what is read make a ratio that is allowed");
    let input = InterleavedSlice::new(samples, channels, frames).expect("frames are whole");
    let output = resampler.process_all(&input, frames, None).expect("buffers are as long as asked for");
    output.take_data()
}

#[cfg(test)]
mod tests {
    use super::resampled;

    const RATES: [(u32, u32); 5] =
        [(44_100, 48_000), (48_000, 44_100), (96_000, 48_000), (8_000, 48_000), (192_000, 44_100)];

    /// The ramp of `frames` frames at rate `from` in one channel and a constant in the other, at rate `to`; and for
    /// each of its frames, those within the filter's length of an end left out, where it is and where it should be,
    /// both in frames of `to`.
    fn ramp(from: u32, to: u32, frames: usize) -> (Vec<f32>, Vec<(f64, f64)>) {
        let ramp: Vec<f32> = (0..frames).flat_map(|n| [n as f32 / frames as f32, -1.0]).collect();
        let out = resampled(&ramp, 2, from, to);
        let ratio = f64::from(to) / f64::from(from);
        let edge = 300.0 * ratio.max(1.0);
        let places = out.chunks_exact(2).enumerate().map(|(n, frame)| {
            let is = f64::from(frame[0]) * frames as f64 * ratio;
            (is, n as f64)
        });
        let end = frames as f64 * ratio - edge;
        let places = places.filter(|(_, at)| (edge..end).contains(at)).collect();
        (out, places)
    }

    /// A ramp shows frames that are dropped, doubled or late, which a tone does not.
    #[test]
    fn a_ramp_stays_the_same_ramp_in_time() {
        for (from, to) in RATES {
            let frames = from as usize / 2;
            let (out, places) = ramp(from, to, frames);
            let wanted = frames as f64 * f64::from(to) / f64::from(from);
            assert!(
                (out.len() as f64 / 2.0 - wanted).abs() <= 1.0,
                "{from} to {to}: {} frames",
                out.len() / 2
            );
            // Single precision tells the ramp's height to a few millionths, a tenth of a frame at its end.
            let early = places[0].0 - places[0].1;
            assert!((-0.1..1.1).contains(&early), "{from} to {to}: early by {early}");
            for (is, at) in &places {
                // The filter's gain is one to within −94 dB, and a single frame dropped or doubled would be twice that.
                let error = (is - at - early).abs();
                assert!(error < 0.1 + 2e-5 * at, "{from} to {to}: frame {at} is frame {is}");
            }
            let middle = out.len() / 4..out.len() * 3 / 4;
            assert!(
                out[middle].iter().filter(|x| **x < 0.0).all(|x| (x + 1.0).abs() < 1e-4),
                "{from} to {to}"
            );
        }
    }

    #[test]
    fn a_tone_keeps_its_level_and_nothing_is_added_to_it() {
        for (from, to) in RATES {
            let hertz = 0.37 * f64::from(from.min(to));
            let turn = |rate: u32, n: usize| std::f64::consts::TAU * hertz * n as f64 / f64::from(rate);
            #[expect(clippy::cast_possible_truncation, reason = "samples are single precision")]
            let samples: Vec<f32> =
                (0..from as usize / 2).map(|n| 0.5 * turn(from, n).sin() as f32).collect();
            let out = resampled(&samples, 1, from, to);
            let middle: Vec<(f64, f64)> =
                (out.len() / 4..out.len() * 3 / 4).map(|n| (turn(to, n), f64::from(out[n]))).collect();
            // The tone in it, at whatever phase, and what is left without it.
            let part = |of: fn(f64) -> f64| {
                2.0 * middle.iter().map(|(t, x)| of(*t) * x).sum::<f64>() / middle.len() as f64
            };
            let (sine, cosine) = (part(f64::sin), part(f64::cos));
            let level = 20.0 * (sine.hypot(cosine) / 0.5).log10();
            assert!(level.abs() < 0.01, "{from} to {to}: {level} dB");
            let left = |(t, x): &(f64, f64)| (x - sine * t.sin() - cosine * t.cos()).powi(2);
            let power = middle.iter().map(left).sum::<f64>() / middle.len() as f64;
            let residual = 10.0 * (power / 0.125).log10();
            assert!(residual < -70.0, "{from} to {to}: {residual} dB");
        }
    }
}
