//! A source heard at once, without files: kernels as they run, and the gains and figures that a set of it has.

use std::io;

use super::figures::figures_of;
use super::neutral;
use super::recorded::Through;
use super::set::of_channels;
use super::{JobError, RecordedRequest, Source};
use crate::render::{Channels, Configuration, MatchBy, RenderError, Take};
use crate::report::SetFigures;
use crate::response::Selection;
use crate::set::{LISTENING_LEVEL, SetError, SetSpec};
use crate::sound::{Depth, Sound};

/// A source that is heard through voices of a guitar.
#[derive(Debug)]
pub struct Audition<'a, 'g> {
    selection: &'a Selection<'g>,
    source: &'a Source,
    through: Option<Through>,
}

/// A voice as a convolution hears it.
#[derive(Debug, Clone, PartialEq)]
pub struct VoiceKernel {
    /// The taps, one list a feed: one for every channel alike of a source that tells no coils apart, or one for the channel of
    /// each coil.
    pub feeds: Vec<Vec<f32>>,
    /// How many of the taps lie before time zero.
    pub before: usize,
}

impl VoiceKernel {
    /// Returns the kernel with only so many taps `before` time zero, and `length` in all, led to nothing at both ends: what it is
    /// for sound that comes in as it is played, and cannot be waited for.
    #[must_use]
    pub fn shortened(&self, before: usize, length: usize) -> Self {
        let before = before.min(self.before);
        let skipped = self.before - before;
        let shorten = |taps: &Vec<f32>| {
            let mut taps: Vec<f32> = taps.iter().skip(skipped).take(length).copied().collect();
            fade(taps.iter_mut().take(before / 2));
            fade(taps.iter_mut().rev().take(length / 8));
            taps
        };
        Self { feeds: self.feeds.iter().map(shorten).collect(), before }
    }
}

/// Leads taps from nothing to what they are.
fn fade<'t>(taps: impl ExactSizeIterator<Item = &'t mut f32>) {
    let length = taps.len() as f64;
    for (n, tap) in taps.enumerate() {
        let share = (std::f64::consts::FRAC_PI_2 * (n as f64 + 0.5) / length).sin().powi(2);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a share of a tap needs no more digits than the tap has"
        )]
        let share = share as f32;
        *tap *= share;
    }
}

impl<'a, 'g> Audition<'a, 'g> {
    /// Returns the audition of `source` through the voices of `selection`, the source being `recorded` through another, where
    /// it is.
    ///
    /// # Errors
    /// [`JobError`] where that does not go together.
    pub fn new(
        selection: &'a Selection<'g>,
        source: &'a Source,
        recorded: Option<&RecordedRequest<'_>>,
    ) -> Result<Self, JobError> {
        let through = match recorded {
            None => None,
            Some(_) if source.channels == Channels::Coils => return Err(JobError::RecordedOfCoils),
            Some(asked) => Some(Through::asked(asked, selection.guitar(), selection.scope())?),
        };
        Ok(Self { selection, source, through })
    }

    /// Returns the kernel of the voice at the place `index` of the selection.
    ///
    /// # Errors
    /// [`JobError`] where the source's channels do not fit what is heard, or the voice rings too long.
    ///
    /// # Panics
    /// Where the selection has no such place.
    pub fn kernel(&self, index: usize) -> Result<VoiceKernel, JobError> {
        let take = self.take(index)?;
        let kernels = take.kernels();
        let before = kernels.iter().map(|kernel| kernel.before()).max().unwrap_or(0);
        #[expect(clippy::cast_possible_truncation, reason = "a sound card takes no more than 24 bits")]
        let feed = |taps: &[f64], own: usize| {
            let silence = std::iter::repeat_n(0.0, before - own);
            silence.chain(taps.iter().map(|tap| *tap as f32)).collect()
        };
        let feeds = kernels.iter().map(|kernel| feed(kernel.taps(), kernel.before())).collect();
        Ok(VoiceKernel { feeds, before })
    }

    /// Returns what a set of the source has in its `figures.json`, gains among it, with nothing written.
    ///
    /// # Errors
    /// [`JobError`] where the source cannot be read or rendered.
    pub fn figures(&self) -> Result<SetFigures, JobError> {
        Ok(self.figures_of(&self.spec())?.0)
    }

    /// Returns the figures of a set by a specification of it, and where it is heard through an amplifier those without.
    pub(super) fn figures_of(
        &self,
        spec: &SetSpec<'_>,
    ) -> Result<(SetFigures, Option<SetFigures>), JobError> {
        let mut figures = figures_of(self.selection)?;
        figures.notes.extend(self.through.as_ref().and_then(|through| through.note.clone()));
        if !self.source.is_made && self.through.is_none() {
            figures.assumed.push(neutral::ASSUMED.to_owned());
        }
        let filled = spec.fill(&mut figures, &mut |_| Ok(io::sink()), &|_| ());
        let filled = filled.map_err(|error| of_channels(spec, error))?;
        figures.notes.extend(self.doubt()?);
        Ok((figures, filled.without.map(|without| without.figures)))
    }

    /// Returns what speaks against what the source is held to be, in words.
    ///
    /// # Errors
    /// [`JobError`] where the source cannot be read.
    pub fn doubt(&self) -> Result<Option<String>, JobError> {
        neutral::doubt(self.source, self.through.is_some())
    }

    /// Returns the take of the voice at the place `index` of the selection.
    pub(super) fn take(&self, index: usize) -> Result<Take, JobError> {
        let take = self.configuration().take(&self.selection.responses()[index]);
        take.map_err(|error| self.of_channels(error))
    }

    /// Returns an error, with what is wanted of the source's channels where it is about them.
    pub(super) fn of_channels(&self, error: RenderError) -> JobError {
        of_channels(&self.spec(), SetError::Render(error))
    }

    /// Returns the place of the voice that the others are told against.
    pub(super) fn baseline(&self) -> usize {
        self.selection.baseline()
    }

    /// Returns the sound that is heard.
    pub(super) fn sound(&self) -> &Sound {
        &self.source.sound
    }

    fn configuration(&self) -> Configuration<'_> {
        self.source.configuration(self.selection, self.through.as_ref())
    }

    /// Returns the specification of a set of it, by one thread.
    pub(super) fn spec(&self) -> SetSpec<'_> {
        SetSpec {
            configuration: self.configuration(),
            sound: &self.source.sound,
            responses: self.selection.responses(),
            baseline: self.selection.baseline(),
            by: MatchBy::Loudness,
            depth: Depth::Pcm24,
            amplification: None,
            with_impulses: false,
            with_spectra: true,
            listening_level: LISTENING_LEVEL,
            workers: 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Guitar;
    use crate::job::SetRequest;

    /// The figures without what only files have.
    fn told(figures: &SetFigures) -> Vec<(String, String)> {
        let each = figures.arrangements.iter();
        each.map(|own| {
            (own.name.clone(), format!("{:?} {:?} {:?}", own.matched, own.as_is, own.drop_heard_percent))
        })
        .collect()
    }

    #[test]
    fn it_has_the_gains_and_figures_of_the_set() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let selection = Selection::of_names(&guitar, None, &[""; 0], None).unwrap();
        let folder = tempfile::tempdir().unwrap();
        for recorded in [None, Some(RecordedRequest { through: "series", guitar: None })] {
            let mut request = SetRequest::new(&guitar, folder.path().join("set"));
            request.source = Some("phrase".into());
            request.recorded = recorded;
            request.existing = crate::folder::Existing::Replace;
            let made = request.check().unwrap().make(&|_| ()).unwrap().figures;
            let source = Source::open("phrase".as_ref(), None, false).unwrap();
            let audition = Audition::new(&selection, &source, recorded.as_ref()).unwrap();
            assert_eq!(told(&audition.figures().unwrap()), told(&made));
            let kernel = audition.kernel(0).unwrap();
            assert_eq!(kernel.feeds.len(), 1);
            assert!(kernel.before > 0 && kernel.feeds[0].len() > kernel.before);
        }
    }
}
