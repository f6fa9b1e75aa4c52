//! A set from its specification to its files: measure, find the gains, write and measure again.

mod amplified;

use std::io::{self, Write};
use std::sync::Mutex;

use super::files::{Finished, Recording, Recordings, Tape, Written};
use super::heard::{Heard, heard, tell_loudness};
use super::impulses::Impulses;
use super::listener::{Listener, Spectrum, TakeMeasures, levels_of};
use crate::amp::Amplification;
use crate::digest::Digest;
use crate::measure::CENTROID_DEFINITION;
use crate::quantity::{Db, DbSpl, Hertz, Lufs};
use crate::render::{
    Amplified, Amplifier, Configuration, Gains, MatchBy, RenderError, SILENT, Shortfall, Take,
    measuring_pass, pass,
};
use crate::report::{FileFigures, ImpulseFigures, RecordedThrough, SetFigures, SourceFigures, finite};
use crate::response::{OneChannel, VoiceResponse};
use crate::sound::{Depth, Inspector, Sound};

/// What a set is to be made of.
pub struct SetSpec<'o> {
    /// What all takes have in common.
    pub configuration: Configuration<'o>,
    /// The source.
    pub sound: &'o Sound,
    /// The voices.
    pub responses: &'o [VoiceResponse],
    /// Which of them the others are told against.
    pub baseline: usize,
    /// What the matched files are matched by.
    pub by: MatchBy,
    /// How samples are stored.
    pub depth: Depth,
    /// The amplifier that the files are heard through, if any.
    pub amplification: Option<Amplification>,
    /// Whether the takes' impulse responses are wanted as well.
    pub with_impulses: bool,
    /// Whether the takes' long-term spectra are wanted as well, and the loudness that is told from them.
    pub with_spectra: bool,
    /// The sound pressure level at which the baseline's as-is file is taken to be heard.
    pub listening_level: DbSpl,
    /// How many threads may work.
    pub workers: usize,
}

/// What is told of a set's progress: the frames that were read, over both passes.
pub type Watch<'w> = dyn Fn(u64) + Sync + 'w;

/// Why a set could not be made.
#[derive(Debug, thiserror::Error)]
pub enum SetError {
    /// A take cannot be rendered, measured or packed.
    #[error(transparent)]
    Render(#[from] RenderError),
    /// A file of the set cannot be opened.
    #[error("cannot write `{name}`: {cause}")]
    Open {
        /// The file, relative to the set's folder.
        name: String,
        /// What the system said.
        cause: io::Error,
    },
}

/// The folders of the files at matched and at true level.
const FOLDERS: [&str; 2] = ["matched", "as-is"];
/// The folder of the impulse responses.
const IMPULSES: &str = "impulses";

/// Files that should match but differ by more than this are written again with better gains; half of what is
/// promised.
const GOOD_MATCH: Db = Db::new(0.025);
/// How often they are, at most.
const MOST_ROUNDS: usize = 3;

/// The files of every take, matched first, each with its digest, and what each holds.
type Recorded<W> = (Vec<(W, Digest)>, Vec<[Written; 2]>);

/// A set's files and the long-term spectrum of each take before any gain, over its first minute.
pub struct Filled<W> {
    /// The files as they were opened, written whole, in the order of [`SetSpec::file_names`].
    pub files: Vec<W>,
    /// The digest of each.
    pub digests: Vec<Digest>,
    /// A spectrum a take, in the order of the takes; none where none were asked for.
    pub spectra: Vec<Spectrum>,
    /// What the matched files were matched by in the end.
    pub by: MatchBy,
    /// Where the files are heard through an amplifier, what they would be without.
    pub without: Option<Without>,
    /// The loudest moment of the baseline at the jack, as an amplitude, or of the take that leads where the baseline is silent;
    /// nothing where that was not measured.
    pub loudest: Option<f64>,
    /// The takes' impulse responses, where they were asked for.
    pub impulses: Option<Impulses>,
    /// What is odd about the source and what was done about it, which is also among the figures' notes.
    pub warnings: Vec<String>,
}

/// A set as it would be without its amplifier; there are no such files.
#[derive(Debug, Clone, PartialEq)]
pub struct Without {
    /// The figures.
    pub figures: SetFigures,
    /// What its matched files would be matched by.
    pub by: MatchBy,
}

impl SetSpec<'_> {
    /// Returns the number of frames that [`SetSpec::fill`] will read in all, where no round is repeated.
    pub fn frames_to_read(&self) -> u64 {
        let passes = if self.amplification.is_some() { 3 } else { 2 };
        passes * self.sound.frames()
    }

    /// Returns the names of the set's sound files, relative to its folder.
    pub fn file_names(&self) -> Vec<String> {
        let names = self.responses.iter().map(|r| r.voice().name());
        names.flat_map(|name| FOLDERS.map(|folder| file_name(folder, name))).collect()
    }

    /// Returns the size of the set's sound files in bytes.
    ///
    /// # Errors
    /// [`RenderError`] where no such file can be written.
    pub fn bytes(&self) -> Result<u64, RenderError> {
        let each = self.tape().shape()?.file_bytes();
        Ok(each * (FOLDERS.len() * self.responses.len()) as u64)
    }

    fn tape(&self) -> Tape {
        Tape {
            rate_hz: self.sound.rate_hz(),
            channels: self.configuration.output_channels(),
            depth: self.depth,
            frames: self.sound.frames(),
        }
    }

    /// Writes every file of the set into what `open` returns for its name, and adds what was measured to `figures`,
    /// whose arrangements are those of the specification.
    ///
    /// # Errors
    /// [`SetError`] where the source cannot be read or rendered, or a file not be written.
    pub fn fill<W: Write + Send>(
        &self,
        figures: &mut SetFigures,
        open: &mut dyn FnMut(&str) -> io::Result<W>,
        watch: &Watch<'_>,
    ) -> Result<Filled<W>, SetError> {
        let tape = self.tape();
        let takes: Result<Vec<Take>, RenderError> =
            self.responses.iter().map(|r| self.configuration.take(r)).collect();
        let takes = takes?;
        let (at_jack, mut warnings, source_is_silent) = self.listen(&takes, &tape, watch)?;
        let names: Vec<&str> = takes.iter().map(|t| t.name.as_str()).collect();
        let linear = Gains::of(&names, &levels_of(&at_jack), self.baseline, self.by);
        let behind = match self.amplification {
            Some(asked) => Some(self.amplify(asked, &takes, &at_jack, &tape, watch)?),
            None => None,
        };
        let (before, mut gains) = match &behind {
            Some(behind) => {
                let levels = [levels_of(&behind.takes), levels_of(&at_jack)];
                let gains = linear.amplified(&names, &levels[0], &levels[1], self.baseline, self.by);
                (&behind.takes, gains)
            }
            None => (&at_jack, linear.clone()),
        };
        let is_all_silent = gains.shortfall == Some(Shortfall::Silent);
        warnings.extend(source_is_silent.then(|| silence(is_all_silent)));
        let shortfall = gains.shortfall.filter(|_| !(source_is_silent && is_all_silent));
        warnings.extend(shortfall.map(|shortfall| self.shortfall(shortfall)));
        figures.notes.extend(warnings.iter().cloned());
        figures.notes.extend(self.reach());
        self.tell_hum(figures, source_is_silent);
        figures.notes.append(&mut gains.remarks);
        let without = behind.as_ref().map(|_| self.without(figures, &takes, &linear, &at_jack));
        let amplifier = behind.as_ref().map(|behind| behind.amplifier);
        let mut round = 1;
        loop {
            let (files, written) = self.record(&takes, before, &gains, amplifier.as_ref(), open, watch)?;
            let errors = self.errors(&gains, &written);
            let worst = errors.iter().fold(Db::new(0.0), |a, b| if abs(*b) > a { abs(*b) } else { a });
            if worst <= GOOD_MATCH || round == MOST_ROUNDS {
                self.tell(figures, &takes, &gains, &written);
                tell_loudness(figures, &self.heard(before));
                if let Some((behind, without)) = behind.as_ref().zip(without.as_ref()) {
                    self.tell_amplifier(figures, behind, &without.figures, &written);
                }
                let impulses = self.with_impulses.then(|| Impulses::of(&takes, self.baseline, tape.rate_hz));
                if let Some(impulses) = &impulses {
                    self.tell_impulses(figures, impulses, linear.as_is);
                }
                let (files, digests) = files.into_iter().unzip();
                let spectra = before.iter().filter_map(|take| take.spectrum.clone()).collect();
                return Ok(Filled {
                    files,
                    digests,
                    spectra,
                    by: gains.by,
                    without,
                    loudest: self.loudest(&at_jack),
                    impulses,
                    warnings,
                });
            }
            for (gain, error) in gains.matched.iter_mut().zip(errors) {
                *gain = *gain - error;
            }
            round += 1;
        }
    }

    /// Returns how far up the source's rate reaches, where that is not as far as ears do.
    fn reach(&self) -> Option<String> {
        const EARS: f64 = 16e3;
        let half = f64::from(self.sound.rate_hz()) / 2.0;
        (half < EARS).then(|| {
            format!(
                "at a rate of {} Hz nothing above {} is in the source or in the files: what the arrangements do \
                 there is in the figures and is not heard",
                self.sound.rate_hz(),
                Hertz::new(half)
            )
        })
    }

    /// Returns why the files are not matched as asked.
    fn shortfall(&self, shortfall: Shortfall) -> String {
        match shortfall {
            Shortfall::Silent => format!(
                "nothing of the source is heard in any file (all are below {SILENT:.0}), and nothing is matched: \
                 look at the volume in the guitar's file and at the level of the source"
            ),
            Shortfall::TooShort => format!(
                "the source lasts {}, and an integrated loudness needs 400 ms: matched by RMS instead",
                self.sound.duration()
            ),
            Shortfall::TooQuiet => {
                "the source is too quiet for an integrated loudness, whose gate lies at −70 LUFS: matched by RMS \
                 instead"
                    .to_owned()
            }
        }
    }

    /// Measures every take before any gain, and looks the source over on the way: returns what was measured, remarks, and
    /// whether the source is silent.
    fn listen(
        &self,
        takes: &[Take],
        tape: &Tape,
        watch: &Watch<'_>,
    ) -> Result<(Vec<TakeMeasures>, Vec<String>, bool), RenderError> {
        let listeners: Result<Vec<Listener>, RenderError> = (0..takes.len())
            .map(|take| Listener::new(tape, self.with_spectra, self.asks_how_loud(take)))
            .collect();
        let inspector = Mutex::new(Inspector::new(self.sound));
        let look = |block: &[Vec<f64>]| {
            inspector.lock().unwrap_or_else(std::sync::PoisonError::into_inner).add(block);
            watch(block.first().map_or(0, |plane| plane.len() as u64));
        };
        let listeners = measuring_pass(self.sound, takes, listeners?, self.workers, &look)?;
        let inspector = inspector.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
        let told = [self.sound.warnings(), &self.sound.repairs()?, &inspector.warnings()].concat();
        let remarks = told.iter().map(ToString::to_string).collect();
        let heard = listeners.into_iter().map(Listener::finish).collect();
        Ok((heard, remarks, inspector.is_silent()))
    }

    /// Returns how loud the takes are to a listener; nothing where that was not measured.
    fn heard(&self, takes: &[TakeMeasures]) -> Vec<Heard> {
        let spectra: Vec<Spectrum> = takes.iter().filter_map(|take| take.spectrum.clone()).collect();
        if spectra.is_empty() {
            return Vec::new();
        }
        let own = takes[self.baseline].measures.levels.rms();
        heard(&spectra, self.baseline, own, self.listening_level)
    }

    /// Writes both files of every take, which measured `before`.
    fn record<W: Write + Send>(
        &self,
        takes: &[Take],
        before: &[TakeMeasures],
        gains: &Gains,
        amplifier: Option<&Amplifier>,
        open: &mut dyn FnMut(&str) -> io::Result<W>,
        watch: &Watch<'_>,
    ) -> Result<Recorded<W>, SetError> {
        let tape = &self.tape();
        let mut sinks = Vec::new();
        for ((take, before), matched) in takes.iter().zip(before).zip(&gains.matched) {
            let mut recording = |folder: &str, gain: Db| {
                let name = file_name(folder, &take.name);
                let file = open(&name).map_err(|cause| SetError::Open { name, cause })?;
                Ok::<_, SetError>(Recording::new(tape, &before.measures, gain, file)?)
            };
            sinks.push(Recordings::new([
                recording(FOLDERS[0], *matched)?,
                recording(FOLDERS[1], gains.as_is)?,
            ]));
        }
        let progress = |block: &[Vec<f64>]| watch(block.first().map_or(0, |plane| plane.len() as u64));
        let sinks = match amplifier {
            None => pass(self.sound, takes, sinks, self.workers, &progress)?,
            Some(amplifier) => {
                let sinks = sinks.into_iter().map(|sink| amplifier.before(sink, tape.channels, false));
                // What kernels in parts are off by would be amplified too; beside the amplifier whole ones cost little.
                let takes: Vec<Take> = takes.iter().map(Take::undivided).collect();
                let done = pass(self.sound, &takes, sinks.collect(), self.workers, &progress)?;
                done.into_iter().map(Amplified::into_inner).collect()
            }
        };
        let (mut files, mut written) = (Vec::new(), Vec::new());
        for ((recordings, before), matched) in sinks.into_iter().zip(before).zip(&gains.matched) {
            let mut both = [*matched, gains.as_is].map(|gain| Written::scaled(&before.measures, gain));
            for (Finished { file, digest, measured }, told) in recordings.finish()?.into_iter().zip(&mut both)
            {
                files.push((file, digest));
                *told = measured.unwrap_or(*told);
            }
            written.push(both);
        }
        Ok((files, written))
    }

    /// Returns how far each matched file is above the level that all should have.
    fn errors(&self, gains: &Gains, written: &[[Written; 2]]) -> Vec<Db> {
        let level = |file: &Written| match gains.by {
            MatchBy::Loudness => file.loudness.map(Lufs::value),
            MatchBy::Rms => Some(file.rms.value()).filter(|rms| rms.is_finite()),
        };
        let leader = if gains.is_matched[self.baseline] {
            Some(self.baseline)
        } else {
            gains.is_matched.iter().position(|m| *m)
        };
        let wanted = leader.and_then(|leader| level(&written[leader][0]));
        written
            .iter()
            .zip(&gains.is_matched)
            .map(|([matched, _], is_matched)| match (level(matched), wanted, is_matched) {
                (Some(own), Some(wanted), true) => Db::new(own - wanted),
                _ => Db::new(0.0),
            })
            .collect()
    }

    fn tell(&self, figures: &mut SetFigures, takes: &[Take], gains: &Gains, written: &[[Written; 2]]) {
        figures.source = Some(self.source_figures(gains));
        let baseline = &written[self.baseline][1];
        for (i, arrangement) in figures.arrangements.iter_mut().enumerate() {
            let (take, [matched, as_is]) = (&takes[i], &written[i]);
            arrangement.approximate = Some(take.approximate);
            arrangement.drop_rms_db = finite((as_is.rms - baseline.rms).value());
            arrangement.drop_loudness_lu =
                as_is.loudness.zip(baseline.loudness).and_then(|(own, base)| finite((own - base).value()));
            arrangement.matched =
                Some(file_figures(file_name(FOLDERS[0], &take.name), gains.matched[i], matched));
            arrangement.as_is = Some(file_figures(file_name(FOLDERS[1], &take.name), gains.as_is, as_is));
            if let Some(beyond) = take.beyond_the_bound {
                figures.notes.push(format!(
                    "{}: up to {beyond} of its treble is not in the recording and is left out; a take with the tone up holds more",
                    take.name
                ));
            }
        }
        if takes.iter().any(|t| t.approximate) {
            figures.notes.push(format!(
                "a one-channel source does not tell the coils apart: single coils and coils against each other are \
                 approximate, in level too: within {}; a take of each coil by itself, as the channels of \
                 one file, or the built-in chord is exact",
                OneChannel::BOUND
            ));
        }
    }

    /// Tells what hum does to a set whose source is silent or not.
    fn tell_hum(&self, figures: &mut SetFigures, source_is_silent: bool) {
        let Some(hum) = self.configuration.hum else { return };
        figures.notes.push(format!(
            "hum of {} Hz and its harmonics is in every file, as strong as {} in a coil of one turn; the page and impulse \
             responses have none",
            hum.mains().hertz(),
            hum.level().to_string().replace('-', "−")
        ));
        if self.configuration.recorded.is_some() {
            figures.notes.push("the hum that a recording has of its own stays in it beside that".to_owned());
        }
        if !source_is_silent {
            figures.notes.push(
                "as-is files have hum at its true relation to each other; in a matched file it went up or down with the \
                 strings"
                    .to_owned(),
            );
        }
    }

    fn tell_impulses(&self, figures: &mut SetFigures, impulses: &Impulses, as_is: Db) {
        for (arrangement, response) in figures.arrangements.iter_mut().zip(self.responses) {
            arrangement.impulse = Some(ImpulseFigures {
                file: file_name(IMPULSES, response.voice().name()),
                lead_frames: impulses.lead,
                gain_db: (impulses.scale + as_is).value(),
            });
        }
    }

    /// Returns the names of the impulse responses' files, in the order of the responses, where they are asked for.
    pub fn impulse_names(&self) -> Vec<String> {
        let names = self.responses.iter().filter(|_| self.with_impulses);
        names.map(|r| file_name(IMPULSES, r.voice().name())).collect()
    }

    fn source_figures(&self, gains: &Gains) -> SourceFigures {
        SourceFigures {
            file: self.sound.file_name().to_owned(),
            rate_hz: self.sound.rate_hz(),
            channels: self.sound.channels(),
            duration_s: self.sound.duration().value(),
            recorded_through: self.configuration.recorded.map_or(RecordedThrough::Neutral, |recorded| {
                RecordedThrough::Voice(recorded.response().voice().name().to_owned())
            }),
            channels_are: self.configuration.channels,
            model: self.configuration.model,
            hum_hz: self.configuration.hum.map(|hum| hum.mains().hertz()),
            hum_level_dbfs: self.configuration.hum.map(|hum| hum.level().value()),
            listening_level_db_spl: self.with_spectra.then_some(self.listening_level.value()),
            matched_by: gains.matched_by().into(),
            spectral_centroid: CENTROID_DEFINITION.to_owned(),
            rms: "root of the mean square over all samples, channels' powers averaged; a full-scale sine reads −3.01"
                .to_owned(),
        }
    }
}

/// Returns what comes of a silent source; where not all files are silent, hum was added.
fn silence(is_all_silent: bool) -> String {
    let what = if is_all_silent {
        "so is every file, and nothing is matched"
    } else {
        "the matched files bring hum alone to one level, and the as-is files tell it as it is"
    };
    format!("the source is silent: {what}")
}

/// Returns the name of a take's file; a throw's colon is not for file names.
fn file_name(folder: &str, take: &str) -> String {
    format!("{folder}/{}.wav", take.replace([':', '='], "-").replace('+', "_"))
}

fn file_figures(file: String, gain: Db, written: &Written) -> FileFigures {
    FileFigures {
        file,
        gain_db: gain.value(),
        rms_dbfs: finite(written.rms.value()),
        loudness_lufs: written.loudness.and_then(|l| finite(l.value())),
        true_peak_dbtp: finite(written.true_peak.value()),
        spectral_centroid_hz: written.centroid.and_then(|c| finite(c.value())),
    }
}

fn abs(x: Db) -> Db {
    Db::new(x.value().abs())
}
