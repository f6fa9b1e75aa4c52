//! A source heard at once behind an amplifier, without files: parts of a voice as the file has them, and the gains and figures that
//! a set of it has.

use std::ops::Range;
use std::thread::available_parallelism;

use super::{Audition, JobError};
use crate::amp::Amplification;
use crate::filter::base_length;
use crate::measure::LoudestMeter;
use crate::quantity::Seconds;
use crate::render::{Amplifier, RenderError, Sink, measuring_pass, pass};
use crate::report::{AmplifierFigures, SetFigures};
use crate::set::SetSpec;
use crate::sound::Sound;

/// How long couplings at 7.23 Hz know of what they heard: to less than a step of 24 bits.
const KNOWN: Seconds = Seconds::new(0.5);

/// The figures of a set that is heard through an amplifier.
#[derive(Debug, Clone, PartialEq)]
pub struct BehindFigures {
    /// What the set has in its `figures.json`.
    pub behind: SetFigures,
    /// What it would have without the amplifier.
    pub at_jack: SetFigures,
}

impl Audition<'_, '_> {
    /// Returns the amplifier that is `asked` for, driven by the baseline's loudest moment; nothing where the baseline is silent.
    ///
    /// # Errors
    /// [`JobError`] where the source cannot be read or rendered.
    pub fn amplifier(&self, asked: Amplification) -> Result<Option<Amplifier>, JobError> {
        let sound = self.sound();
        let take = self.take(self.baseline())?;
        let channels = self.spec().configuration.output_channels();
        let meter = Loudest(LoudestMeter::new(sound.rate_hz(), channels));
        let done = measuring_pass(sound, &[take], vec![meter], 1, &|_| ());
        let loudest = done.map_err(|error| self.of_channels(error))?.remove(0).0.finish();
        let gain = AmplifierFigures::new(asked, loudest).gain();
        Ok(gain.map(|gain| Amplifier { rate_hz: sound.rate_hz(), gain, cabinet: asked.cabinet }))
    }

    /// Returns the frames within `frames` of the voice at the place `index` of the selection behind `amplifier`, one plane a
    /// channel, before any gain.
    ///
    /// # Errors
    /// [`JobError`] where the source cannot be read or rendered.
    pub fn amplified(
        &self,
        index: usize,
        amplifier: Amplifier,
        frames: &Range<u64>,
    ) -> Result<Vec<Vec<f32>>, JobError> {
        let sound = self.sound();
        let take = self.take(index)?.undivided();
        let longest = take.kernels().iter().map(|kernel| kernel.taps().len()).max().unwrap_or(0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "half a second of frames"
        )]
        let known = (KNOWN.value() * f64::from(sound.rate_hz())) as u64 + longest as u64;
        let begin = frames.start.min(sound.frames()).saturating_sub(known);
        // What kernels want of what comes after.
        let end =
            frames.end.saturating_add((longest + base_length(sound.rate_hz())) as u64).min(sound.frames());
        let render = |error: RenderError| self.of_channels(error);
        let planes = sound.planes_within(&(begin..end)).map_err(|error| render(error.into()))?;
        let part = Sound::from_planes(sound.file_name(), sound.rate_hz(), planes);
        let part = part.map_err(|error| render(error.into()))?;
        let channels = self.spec().configuration.output_channels();
        let sink = amplifier.before(Collected(vec![Vec::new(); channels]), channels, false);
        let done = pass(&part, &[take], vec![sink], 1, &|_| ()).map_err(render)?;
        let within = |frame: u64| usize::try_from(frame.clamp(begin, end) - begin).unwrap_or(0);
        let asked = within(frames.start)..within(frames.end);
        let planes = done.into_iter().flat_map(|sink| sink.into_inner().0);
        Ok(planes.map(|plane| plane[asked.clone()].to_vec()).collect())
    }

    /// Returns the figures of a set of the source that is heard through the amplifier that is `asked` for, with nothing written.
    ///
    /// # Errors
    /// [`JobError`] where the source cannot be read or rendered.
    pub fn figures_behind(&self, asked: Amplification) -> Result<BehindFigures, JobError> {
        let workers = available_parallelism().map_or(1, usize::from);
        let spec = SetSpec { amplification: Some(asked), workers, ..self.spec() };
        let (behind, without) = self.figures_of(&spec)?;
        let at_jack = without.unwrap_or_else(|| behind.clone());
        Ok(BehindFigures { behind, at_jack })
    }
}

/// Finds the loudest moment of a take.
struct Loudest(LoudestMeter);

impl Sink for Loudest {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        self.0.push(block);
        Ok(())
    }
}

/// Keeps the samples of a take as a sound card takes them.
struct Collected(Vec<Vec<f32>>);

impl Sink for Collected {
    fn take(&mut self, block: &[&[f64]]) -> Result<(), RenderError> {
        for (plane, samples) in self.0.iter_mut().zip(block) {
            #[expect(clippy::cast_possible_truncation, reason = "a sound card takes no more than 24 bits")]
            plane.extend(samples.iter().map(|sample| *sample as f32));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::amp::{Cabinet, Drive, Setting};
    use crate::guitar::Guitar;
    use crate::job::{SetRequest, Source};
    use crate::response::Selection;

    #[test]
    fn parts_are_those_of_the_files_and_gains_and_figures_those_of_the_set() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let selection = Selection::of_names(&guitar, None, &["series", "parallel"], None).unwrap();
        let source = Source::open("low-note".as_ref(), None, false).unwrap();
        let audition = Audition::new(&selection, &source, None).unwrap();
        let asked = Amplification { drive: Drive::Set(Setting::Driven), cabinet: Cabinet::Closed };
        let folder = tempfile::tempdir().unwrap();
        let mut request = SetRequest::new(&guitar, folder.path().join("set"));
        request.source = Some("low-note".into());
        request.voices = vec!["series".to_owned(), "parallel".to_owned()];
        request.amplification = Some(asked);
        let made = request.check().unwrap().make(&|_| ()).unwrap().figures;
        let told = audition.figures_behind(asked).unwrap();
        for (own, file) in told.behind.arrangements.iter().zip(&made.arrangements) {
            assert_eq!(
                (&own.as_is, &own.matched, &own.amplified),
                (&file.as_is, &file.matched, &file.amplified)
            );
        }
        assert!(told.at_jack.amplifier.is_none() && told.behind.amplifier.is_some());
        let amplifier = audition.amplifier(asked).unwrap().unwrap();
        let own = &made.arrangements[1].as_is.as_ref().unwrap();
        let file = Sound::open(&folder.path().join("set").join(&own.file)).unwrap();
        let gain = 10f64.powf(own.gain_db / 20.0);
        // From its beginning, from its middle, over its end.
        for frames in [0..9_600, 70_000..90_000, file.frames() - 5_000..file.frames() + 100] {
            let planes = audition.amplified(1, amplifier, &frames).unwrap();
            let theirs = file.planes_within(&frames).unwrap();
            assert_eq!(planes[0].len(), theirs[0].len());
            let pairs = planes[0].iter().zip(&theirs[0]);
            let off = pairs.map(|(own, other)| (f64::from(*own) * gain - other).abs()).fold(0.0, f64::max);
            println!("{frames:?}: {:.2} steps of 24 bits off", off * 8_388_608.0);
            assert!(off < 2f64.powi(-23), "{frames:?}: {off}");
        }
    }
}
