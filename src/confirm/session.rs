//! What is asked of a guitar: which throws were recorded, and what each is to be.

use super::Verdict;
use super::answer::{BandAnswer, Confirmation, DifferenceAnswer, TakeAnswer};
use super::flips::Flips;
use super::foretold::{Foretold, ForetoldError};
use super::playing::{Block, Fault, Measured, Playing};
use super::strum::centre;
use super::take::Take;
use super::weigh::{Drawn, Group, Weighed};
use super::words::{self, Told};
use crate::guitar::Guitar;
use crate::measure::Unmeasurable;
use crate::quantity::{Seconds, counted};
use crate::response::{Scope, SelectionError, Voice, VoiceError, voice_named, voices_named};
use crate::sound::SoundError;
use crate::wiring::Arrangement;

/// Why takes tell nothing at all.
#[derive(Debug, thiserror::Error)]
pub enum ConfirmError {
    /// A recording cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// A recording cannot be measured.
    #[error(transparent)]
    Unmeasurable(#[from] Unmeasurable),
    /// A name asks for nothing that this guitar has.
    #[error(transparent)]
    Selection(#[from] SelectionError),
    /// Nothing can be foretold.
    #[error(transparent)]
    Foretold(#[from] ForetoldError),
    /// A recording is too long.
    #[error("`{file}` lasts {given}; at most {most} are looked through")]
    TooLong {
        /// The recording's file.
        file: String,
        /// How long it lasts.
        given: Seconds,
        /// What is allowed.
        most: Seconds,
    },
    /// There is nothing to set a take against.
    #[error("only `{name}` was recorded; one throw is told against another")]
    OneVoice {
        /// Its name.
        name: String,
    },
    /// One recording was given as two.
    #[error("`{file}` and `{other}` are one recording, given for `{name}` and for `{other_name}`")]
    SameRecording {
        /// The earlier file.
        file: String,
        /// The later one.
        other: String,
        /// The voice that the earlier one is given for.
        name: String,
        /// The voice that the later one is given for.
        other_name: String,
    },
    /// One recording has not as many blocks as were named.
    #[error("`{file}` has {strums} strums and {} of 2 s; {wanted} blocks have {}", counted(*.rests, "rest"), counted(.wanted.saturating_sub(1), "rest"))]
    Blocks {
        /// The recording's file.
        file: String,
        /// How many strums were found.
        strums: usize,
        /// How many rests of 2 s lie between them.
        rests: usize,
        /// How many blocks were named.
        wanted: usize,
    },
    /// Several notes sound together where single ones are wanted.
    #[error(
        "`{file}` has {chords} chords among {notes} notes; while the switch is thrown one note is to ring"
    )]
    Chords {
        /// The recording's file.
        file: String,
        /// How many chords there are.
        chords: usize,
        /// How many notes and chords there are.
        notes: usize,
    },
    /// No note rings while the switch is thrown.
    #[error("in `{file}` no note is found that rings and steps as the switch is thrown")]
    NoFlips {
        /// The recording's file.
        file: String,
    },
}

impl ConfirmError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Sound(error) => error.hint().to_owned(),
            Self::Unmeasurable(_) => "record at the sound card's own rate, such as 48 kHz".to_owned(),
            Self::Selection(error) => error.hint(),
            Self::Foretold(ForetoldError::Voice(error)) => error.hint().to_owned(),
            Self::Foretold(ForetoldError::Unplayable(_)) => "look at the places of the guitar's pickups".to_owned(),
            Self::TooLong { .. } => "cut it to what was played, two minutes are enough".to_owned(),
            Self::OneVoice { .. } => {
                "record the same chord in another throw too, four strums in the one, four in the other, and again".to_owned()
            }
            Self::SameRecording { .. } => {
                "name for each block the recording that was made of it; one recording that holds them all goes with the order of its blocks"
                    .to_owned()
            }
            Self::Chords { .. } => {
                "strings beat against each other in a chord: let one note ring, throw the switch every half second, then the next note"
                    .to_owned()
            }
            Self::NoFlips { .. } => {
                "let a note ring for three seconds, and throw the switch every half second; where that was done, both throws sound alike"
                    .to_owned()
            }
            Self::Blocks { .. } => {
                "damp the strings and wait for two seconds before each change of the switch, or record each block by itself"
                    .to_owned()
            }
        }
    }
}

/// A voice that a take may turn out to be.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) name: String,
    voice: Voice,
}

/// A guitar, the voices that were recorded in the order of their first naming, and all that is foretold of them.
#[derive(Debug)]
pub struct Session<'g> {
    guitar: &'g Guitar,
    scope: Scope<'g>,
    names: Vec<String>,
    candidates: Vec<Candidate>,
    /// For each name the candidate that it is drawn as.
    drawn: Vec<usize>,
    groups: Vec<Group>,
}

/// What is foretold of a session's voices in chords.
#[derive(Debug, Clone)]
pub struct Forecast(Foretold);

impl<'g> Session<'g> {
    /// Returns the session in which the voices called `names` of `guitar`, of `pickup` where one is named, were recorded; a name may
    /// come again.
    ///
    /// # Errors
    /// [`ConfirmError::Selection`] where a name asks for nothing or for several, [`ConfirmError::OneVoice`] where only one is named.
    pub fn new(
        guitar: &'g Guitar,
        pickup: Option<&str>,
        names: &[impl AsRef<str>],
    ) -> Result<Self, ConfirmError> {
        let mut distinct: Vec<String> = Vec::new();
        for name in names.iter().map(AsRef::as_ref) {
            if !distinct.iter().any(|known| known == name) {
                distinct.push(name.to_owned());
            }
        }
        let scope = Scope::of_names(guitar, pickup, &distinct)?;
        let mut candidates = Vec::new();
        for voice in every_voice(guitar, scope)? {
            candidates.push(Candidate::of(voice));
        }
        let mut drawn = Vec::new();
        for name in &distinct {
            let voice = voice_named(guitar, scope, name)?;
            let known = candidates.iter().position(|own| own.is(&voice));
            if known.is_none() {
                candidates.push(Candidate::of(voice));
            }
            drawn.push(known.unwrap_or(candidates.len() - 1));
        }
        if let [name] = &distinct[..] {
            return Err(ConfirmError::OneVoice { name: name.clone() });
        }
        let groups = groups(guitar, scope, &candidates)?;
        Ok(Self { guitar, scope, names: distinct, candidates, drawn, groups })
    }

    /// Returns the voices' names in the order of their first naming, at least two.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Returns what is foretold of every voice in chords, worked out by up to so many threads; it holds for any takes.
    ///
    /// # Errors
    /// [`ConfirmError::Foretold`] where a circuit has no solution or no chord can be played.
    pub fn forecast(&self, workers: usize) -> Result<Forecast, ConfirmError> {
        Ok(Forecast(Foretold::of_chords(self.guitar, self.scope, &self.voices(), workers)?))
    }

    /// Returns the blocks of `takes`, each of the voice called so, in the order in which they were played.
    ///
    /// # Errors
    /// [`ConfirmError::SameRecording`] where one was given twice, [`ConfirmError::Unmeasurable`] where a rate is out of range.
    pub fn blocks(&self, takes: &[(String, Take)]) -> Result<Vec<Block>, ConfirmError> {
        for (place, (name, take)) in takes.iter().enumerate() {
            if let Some((other_name, other)) = takes[place + 1..].iter().find(|(_, other)| take.is(other)) {
                return Err(ConfirmError::SameRecording {
                    file: take.file().to_owned(),
                    other: other.file().to_owned(),
                    name: name.clone(),
                    other_name: other_name.clone(),
                });
            }
        }
        let length = Take::measurable(takes.iter().map(|(_, take)| take));
        let block = |(name, take): &(String, Take)| self.block(name, take, 0..take.onsets().len(), length);
        takes.iter().map(block).collect()
    }

    /// Returns the blocks of the one `take` in which the voices were recorded in this `order`, a rest of 2 s between them.
    ///
    /// # Errors
    /// [`ConfirmError::Blocks`] where it has not as many rests, [`ConfirmError::Unmeasurable`] where its rate is out of range.
    pub fn blocks_of_one(&self, take: &Take, order: &[impl AsRef<str>]) -> Result<Vec<Block>, ConfirmError> {
        let parts = take.blocks(order.len()).ok_or_else(|| ConfirmError::Blocks {
            file: take.file().to_owned(),
            strums: take.onsets().len(),
            rests: take.rests(),
            wanted: order.len(),
        })?;
        let length = Take::measurable([take]);
        let block = |(name, numbers): (&str, _)| self.block(name, take, numbers, length);
        order.iter().map(AsRef::as_ref).zip(parts).map(block).collect()
    }

    fn block(
        &self,
        name: &str,
        take: &Take,
        numbers: std::ops::Range<usize>,
        length: Seconds,
    ) -> Result<Block, ConfirmError> {
        let voice = self.names.iter().position(|own| own == name).unwrap_or_default();
        let strums = take.strums(numbers, length)?;
        let fault = match strums.is_empty() {
            true if take.is_silent() => Some(Fault::Silent),
            true => Some(Fault::NoStrum),
            false => take.is_clipped().then_some(Fault::Clipped),
        };
        Ok(Block { voice, file: take.file().to_owned(), strums, noise: take.noise()?, fault })
    }

    /// Returns what `blocks` of strums tell against the `forecast`.
    pub fn confirm(&self, blocks: Vec<Block>, forecast: &Forecast) -> Confirmation {
        let playing = Playing::of(blocks);
        let measured: Vec<Option<(Measured, Option<Weighed>)>> = (0..self.names.len())
            .map(|voice| {
                let measured = (voice > 0).then(|| playing.measured(0, voice)).flatten()?;
                let weighed = self.weighed(&forecast.0, &measured, voice);
                Some((measured, weighed))
            })
            .collect();
        let takes = playing.blocks.iter().zip(&playing.odd).map(|(block, odd)| {
            let of_voice = measured[block.voice].as_ref().and_then(|(_, weighed)| weighed.as_ref());
            let told = self.told(block.voice, of_voice, &playing);
            let mut words = told.words.clone();
            let mut verdict = told.verdict;
            if let Some(fault) = block.fault {
                verdict = Verdict::CannotBeTold;
                words::of_fault(fault).clone_into(&mut words);
            }
            if *odd > 0 {
                words.push_str(&words::of_odd(*odd));
            }
            TakeAnswer {
                name: self.names[block.voice].clone(),
                file: block.file.clone(),
                strums: block.strums.len(),
                consistent_with: if block.fault.is_some() { Vec::new() } else { told.consistent_with },
                verdict,
                words,
            }
        });
        let differences = measured.iter().enumerate().filter_map(|(voice, own)| {
            let (measured, weighed) = own.as_ref()?;
            Some(self.difference(voice, measured, weighed.as_ref()?))
        });
        Confirmation {
            takes: takes.collect(),
            differences: differences.collect(),
            notes: words::notes(self.scope.coils(self.guitar).count() > 1),
        }
    }

    /// Returns what a `take` tells in which single notes ring while the switch is thrown between this session's two voices, the first
    /// of them beginning in the first voice; it is worked out by up to so many threads.
    ///
    /// # Errors
    /// [`ConfirmError::Chords`] where most of them are chords, [`ConfirmError::NoFlips`] where none steps as the switch is thrown,
    /// [`ConfirmError::Foretold`] and [`ConfirmError::Unmeasurable`] as elsewhere.
    pub fn confirm_flips(&self, take: &Take, workers: usize) -> Result<Confirmation, ConfirmError> {
        let file = || take.file().to_owned();
        let flips = Flips::of(take)?;
        if flips.chords > flips.notes {
            return Err(ConfirmError::Chords {
                file: file(),
                chords: flips.chords,
                notes: flips.chords + flips.notes,
            });
        }
        let Some(measured) = flips.measured else {
            return Err(ConfirmError::NoFlips { file: file() });
        };
        let foretold = Foretold::of_notes(self.guitar, self.scope, &self.voices(), flips.partials, workers)?;
        let weighed = self.weighed(&foretold, &measured, 1).filter(|_| !take.is_clipped());
        let entry = |voice: usize| {
            let mut told = match &weighed {
                Some(weighed) if voice > 0 => {
                    words::of(weighed, &|group| self.called(group), [&self.names[0], &self.names[voice]])
                }
                Some(_) | None => words::of_first(&self.names[0], voice == 0),
            };
            if take.is_clipped() {
                words::of_fault(Fault::Clipped).clone_into(&mut told.words);
            }
            TakeAnswer {
                name: self.names[voice].clone(),
                file: file(),
                strums: flips.notes,
                consistent_with: told.consistent_with,
                verdict: told.verdict,
                words: told.words,
            }
        };
        let mut notes = words::notes(self.scope.coils(self.guitar).count() > 1);
        notes.insert(0, words::of_notes(flips.notes, flips.throws, flips.chords));
        Ok(Confirmation {
            takes: vec![entry(0), entry(1)],
            differences: weighed.iter().map(|weighed| self.difference(1, &measured, weighed)).collect(),
            notes,
        })
    }

    fn voices(&self) -> Vec<Voice> {
        self.candidates.iter().map(|candidate| candidate.voice.clone()).collect()
    }

    fn weighed(&self, foretold: &Foretold, measured: &Measured, voice: usize) -> Option<Weighed> {
        let drawn = Drawn { foretold, groups: &self.groups, first: self.drawn[0], later: self.drawn[voice] };
        drawn.weigh(measured)
    }

    fn told(&self, voice: usize, weighed: Option<&Weighed>, playing: &Playing) -> Told {
        let Some(weighed) = weighed else {
            return words::of_first(&self.names[0], voice == 0);
        };
        let told = words::of(weighed, &|group| self.called(group), [&self.names[0], &self.names[voice]]);
        let changed =
            [0, voice].map(|voice| playing.gain_changed(voice).map(|apart| (&self.names[voice], apart)));
        words::with_gain(told, &changed.into_iter().flatten().collect::<Vec<_>>())
    }

    /// Returns what the voices of a group are called: both, where a take cannot tell them apart.
    pub(super) fn called(&self, group: usize) -> Vec<&str> {
        self.groups[group].iter().map(|place| self.candidates[*place].name.as_str()).collect()
    }

    fn difference(&self, voice: usize, measured: &Measured, weighed: &Weighed) -> DifferenceAnswer {
        let bands = measured.bands.iter().enumerate().map(|(i, band)| BandAnswer {
            hz: centre(*band).value(),
            measured_db: measured.mean[i],
            sd_db: measured.covariance[(i, i)].sqrt(),
            foretold_db: weighed.bands[i].0,
            foretold_sd_db: weighed.bands[i].1,
        });
        DifferenceAnswer {
            between: [self.names[0].clone(), self.names[voice].clone()],
            level_db: measured.level,
            level_sd_db: measured.level_sd,
            foretold_db: weighed.level,
            foretold_sd_db: weighed.level_sd,
            bands: bands.collect(),
        }
    }
}

impl Candidate {
    fn of(voice: Voice) -> Self {
        let name = voice.arrangement().map_or_else(|| voice.name().to_owned(), |own| own.name().to_owned());
        Self { name, voice }
    }

    /// Returns whether that is `voice` by another name.
    fn is(&self, voice: &Voice) -> bool {
        let is_arranged =
            self.voice.arrangement().is_some() && self.voice.arrangement() == voice.arrangement();
        is_arranged || self.voice.name() == voice.name()
    }
}

/// Returns every voice that a take may be of.
fn every_voice(guitar: &Guitar, scope: Scope<'_>) -> Result<Vec<Voice>, SelectionError> {
    Ok(match scope {
        Scope::Pickup(_) => voices_named(guitar, scope, &["all"])?,
        Scope::Guitar => {
            let positions = Voice::at_every_position(guitar).unwrap_or_default();
            positions.into_iter().chain(Voice::at_every_linked_throw(guitar)).collect()
        }
    })
}

/// Returns which candidates are not told apart: the same circuit, and one coil whether the other is shorted or open.
fn groups(guitar: &Guitar, scope: Scope<'_>, candidates: &[Candidate]) -> Result<Vec<Group>, ConfirmError> {
    let twin = |arrangement: Option<Arrangement>| match arrangement {
        Some(Arrangement::SplitA) => Some(Arrangement::SplitAOpen),
        Some(Arrangement::SplitB) => Some(Arrangement::SplitBOpen),
        Some(
            Arrangement::Series
            | Arrangement::Parallel
            | Arrangement::SplitAOpen
            | Arrangement::SplitBOpen
            | Arrangement::SeriesReversed
            | Arrangement::ParallelReversed
            | Arrangement::SeriesBypassed
            | Arrangement::Alone,
        )
        | None => None,
    };
    let likenesses: Result<Vec<_>, VoiceError> =
        candidates.iter().map(|own| own.voice.likeness(guitar, scope)).collect();
    let likenesses = likenesses.map_err(SelectionError::Voice)?;
    let mut groups: Vec<Group> = Vec::new();
    for (place, candidate) in candidates.iter().enumerate() {
        let own = candidate.voice.arrangement();
        let belongs = |group: &&mut Group| {
            let other = candidates[group[0]].voice.arrangement();
            likenesses[group[0]] == likenesses[place] || own.is_some() && twin(other) == own
        };
        match groups.iter_mut().find(belongs) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    Ok(groups)
}
