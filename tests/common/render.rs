//! Sources rendered in memory.

use drywire::render::{Configuration, RenderError, Sink, pass};
use drywire::response::VoiceResponse;
use drywire::sound::Sound;
use num_complex::Complex64;

/// Collects what is rendered, one vector a channel.
#[derive(Default)]
pub struct Collected(pub Vec<Vec<f64>>);

impl Sink for Collected {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.0.resize(block.len(), Vec::new());
        for (all, new) in self.0.iter_mut().zip(block) {
            all.extend_from_slice(new);
        }
        Ok(())
    }
}

/// Returns, for each response, the channels that `planes` give through it.
pub fn rendered(
    configuration: &Configuration<'_>,
    responses: &[VoiceResponse],
    planes: Vec<Vec<f64>>,
) -> Vec<Vec<Vec<f64>>> {
    rendered_by(configuration, responses, planes, 2)
}

/// The same with a number of threads.
pub fn rendered_by(
    configuration: &Configuration<'_>,
    responses: &[VoiceResponse],
    planes: Vec<Vec<f64>>,
    workers: usize,
) -> Vec<Vec<Vec<f64>>> {
    let length = planes[0].len();
    let takes: Vec<_> = responses.iter().map(|r| configuration.take(r).unwrap()).collect();
    let sound = Sound::from_planes("test", configuration.rate_hz, planes).unwrap();
    let sinks = takes.iter().map(|_| Collected::default()).collect();
    let sinks = pass(&sound, &takes, sinks, workers, &|_| {}).unwrap();
    let heard: Vec<_> = sinks.into_iter().map(|c| c.0).collect();
    assert!(heard.iter().flatten().all(|channel| channel.len() == length), "as long as the source");
    heard
}

/// Returns the Fourier sum of `samples` at `frequency`, with time zero at the sample `zero`.
pub fn spectrum(samples: &[f64], zero: usize, frequency: f64, rate: u32) -> Complex64 {
    let step = -std::f64::consts::TAU * frequency / f64::from(rate);
    let terms = samples.iter().enumerate().filter(|(_, x)| **x != 0.0);
    terms.map(|(n, x)| Complex64::cis(step * (n as f64 - zero as f64)) * x).sum()
}
