//! What a set's takes are behind an amplifier: measured, and told beside what they are without.

use super::{SetSpec, Watch, Without, Written};
use crate::amp::Amplification;
use crate::measure::AddedSound;
use crate::render::{Amplifier, Gains, RenderError, Take, measuring_pass};
use crate::report::{AmplifiedFigures, AmplifierFigures, AtJack, SetFigures, finite};
use crate::set::files::Tape;
use crate::set::heard::tell_loudness;
use crate::set::listener::{AmplifiedListener, TakeMeasures, levels_of};

/// What was measured of every take behind an amplifier.
pub(super) struct Behind {
    pub(super) amplifier: Amplifier,
    pub(super) takes: Vec<TakeMeasures>,
    told: AmplifierFigures,
    added: Vec<AddedSound>,
    /// The take whose loudest moment it is driven by, where that is not the baseline's.
    driven_by: Option<usize>,
}

/// What is said wherever an amplifier is.
const AMPLIFIER_IS: &str = "it is one generic amplifier and says nothing of yours but the direction; one that clips harder behaves \
                            like this one turned up some 5 dB. A driven sound is denser and louder at the same peak: start low. \
                            What the source has of noise, hum and room goes through it as well";
const NEAR_A_GATE: &str =
    "a long sound that dies away may lie near a gate of its loudness: compare the change of RMS beside it";
const IMPULSES_ARE_LINEAR: &str = "impulse responses are the circuit's alone, without the amplifier";

impl SetSpec<'_> {
    /// Returns whether the loudest moment of the take at this place is looked for: that of the baseline, by which an amplifier
    /// is set; where one is asked for those of all, since the baseline may be silent.
    pub(super) fn asks_how_loud(&self, take: usize) -> bool {
        take == self.baseline || self.amplification.is_some()
    }

    /// Returns the loudest moment of the take that leads, where it was measured.
    pub(super) fn loudest(&self, at_jack: &[TakeMeasures]) -> Option<f64> {
        Gains::leader(&levels_of(at_jack), self.baseline).and_then(|leader| at_jack[leader].loudest)
    }

    /// Measures every take behind the amplifier that is asked for, driven as the takes `at_jack` have it.
    pub(super) fn amplify(
        &self,
        asked: Amplification,
        takes: &[Take],
        at_jack: &[TakeMeasures],
        tape: &Tape,
        watch: &Watch<'_>,
    ) -> Result<Behind, RenderError> {
        let leader = Gains::leader(&levels_of(at_jack), self.baseline);
        let loudest = self.loudest(at_jack).unwrap_or(0.0);
        let told = AmplifierFigures::new(asked, loudest);
        let amplifier = Amplifier {
            rate_hz: tape.rate_hz,
            // Of silence nothing comes at any gain.
            gain: told.gain().unwrap_or(1.0),
            cabinet: asked.cabinet,
        };
        let sinks: Result<Vec<_>, RenderError> = takes
            .iter()
            .map(|_| {
                let listener = AmplifiedListener::new(tape, self.with_spectra)?;
                Ok(amplifier.before(listener, tape.channels, true))
            })
            .collect();
        let progress = |block: &[Vec<f64>]| watch(block.first().map_or(0, |plane| plane.len() as u64));
        let done = measuring_pass(self.sound, takes, sinks?, self.workers, &progress)?;
        let (takes, added) = done.into_iter().map(|sink| sink.into_inner().finish()).unzip();
        let driven_by = leader.filter(|leader| *leader != self.baseline);
        Ok(Behind { amplifier, takes, told, added, driven_by })
    }

    /// Returns what the set would be without its amplifier, its `figures` holding what is told before any sound.
    pub(super) fn without(
        &self,
        figures: &SetFigures,
        takes: &[Take],
        linear: &Gains,
        at_jack: &[TakeMeasures],
    ) -> Without {
        let mut figures = figures.clone();
        let written: Vec<[Written; 2]> = at_jack
            .iter()
            .zip(&linear.matched)
            .map(|(take, matched)| [*matched, linear.as_is].map(|gain| Written::scaled(&take.measures, gain)))
            .collect();
        self.tell(&mut figures, takes, linear, &written);
        tell_loudness(&mut figures, &self.heard(at_jack));
        Without { figures, by: linear.by }
    }

    /// Tells what the amplifier makes of each take, beside what the figures are `without` it.
    pub(super) fn tell_amplifier(
        &self,
        figures: &mut SetFigures,
        behind: &Behind,
        without: &SetFigures,
        written: &[[Written; 2]],
    ) {
        for (place, (arrangement, at_jack)) in
            figures.arrangements.iter_mut().zip(&without.arrangements).enumerate()
        {
            let [_, as_is] = &written[place];
            arrangement.amplified = Some(AmplifiedFigures {
                added_sound_db: behind.added[place].level().and_then(|level| finite(level.value())),
                broken_up_percent: behind.added[place].broken_up_percent(&behind.added[self.baseline]),
                crest_db: finite(as_is.true_peak.value() - as_is.rms.value()),
                at_jack: AtJack {
                    drop_rms_db: at_jack.drop_rms_db,
                    drop_loudness_lu: at_jack.drop_loudness_lu,
                    drop_heard_percent: at_jack.drop_heard_percent,
                    drop_heard_percent_60_to_85: at_jack.drop_heard_percent_60_to_85,
                },
            });
        }
        figures.notes.push(format!("heard through {}; {AMPLIFIER_IS}", behind.told.words()));
        if let Some(leader) = behind.driven_by {
            figures.notes.push(format!(
                "{} is silent with this source: the amplifier is driven as {} has it",
                self.responses[self.baseline].voice().name(),
                self.responses[leader].voice().name()
            ));
        }
        figures.notes.push(NEAR_A_GATE.to_owned());
        figures.notes.extend(self.with_impulses.then(|| IMPULSES_ARE_LINEAR.to_owned()));
        figures.amplifier = Some(behind.told.clone());
    }
}
