//! What each circuit sounds like with a neutral source, found by as many threads as may work.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::{Combination, DistinctCircuit, Space};
use crate::circuit::SolveError;
use crate::guitar::Guitar;
use crate::measure::{CrossSpectrum, MixLevels};
use crate::pluck::{Recipe, Unplayable};
use crate::quantity::Hertz;
use crate::report::finite;
use crate::response::{LOW, Paths, Scope, VoiceError, VoiceResponse};
use crate::words;

/// What is known of a circuit when it is solved; a field is `None` where there is no such figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// What it is, in words.
    pub title: String,
    /// The resonance's frequency.
    pub resonance_hz: Option<f64>,
    /// Its quality factor.
    pub q: Option<f64>,
    /// The RMS level with the neutral source.
    pub rms_dbfs: Option<f64>,
    /// The K-weighted level with the neutral source, without gates.
    pub k_weighted_lufs: Option<f64>,
    /// The hum at 100 Hz against one coil alone; `None` where it cancels to below −120 dB.
    pub hum_db: Option<f64>,
    /// Whether the strings sound in phase from all coils that are heard.
    pub in_phase: bool,
    /// The resistance at the jack with nothing plugged in.
    pub dc_at_jack_ohm: Option<f64>,
    /// The levels in third octaves from 50 Hz to 10 kHz, in dB.
    pub third_octaves_db: Vec<f64>,
}

/// The neutral source: an open chord, plucked for the guitar at hand, with a channel for each coil.
#[derive(Debug, Clone)]
pub struct Neutral<'g> {
    guitar: &'g Guitar,
    spectrum: CrossSpectrum,
    /// For each pickup of the guitar the first of its channels, where it has some.
    channels: Vec<Option<usize>>,
}

/// How circuits are solved.
#[derive(Debug, Clone, Copy)]
pub struct Solving {
    /// How many threads may work; where none can be had, the caller's does.
    pub workers: usize,
}

/// A level below this is silence: nothing but rounding is left of it.
const SILENT: f64 = -140.0;

/// Circuits that a thread takes at a time.
const CHUNK: usize = 16;

impl<'g> Neutral<'g> {
    /// Returns the neutral source for what `space` is of.
    ///
    /// # Errors
    /// Every [`Unplayable`] found where no chord can be played over those coils.
    pub fn of(space: &Space<'g>) -> Result<Self, Vec<Unplayable>> {
        let (guitar, pickups) = (space.guitar(), space.pickups());
        let take = Recipe::open_chord(guitar, pickups.iter().copied())?.render();
        let mut next = 0;
        let channels = guitar.pickups().iter().map(|own| {
            pickups.iter().any(|heard| heard.name() == own.name()).then(|| {
                next += own.coil_places().len();
                next - own.coil_places().len()
            })
        });
        let channels = channels.collect();
        Ok(Self { guitar, spectrum: CrossSpectrum::of(take.rate(), take.coils()), channels })
    }

    /// Returns what `combination` sounds like.
    ///
    /// # Errors
    /// [`VoiceError`] where its circuit cannot be built or solved.
    pub fn hear(&self, combination: &Combination<'_>) -> Result<Heard, VoiceError> {
        let response = combination.voice.response(self.guitar, combination.scope)?;
        let levels = self.levels(&response, combination.scope)?;
        let low = response.at(LOW)?;
        let resonance = response.resonance();
        let audible = |level: f64| finite(level).filter(|level| *level > SILENT);
        let band = |power: &f64| (10.0 * power.log10()).max(SILENT);
        let title = words::voice(&response, self.guitar, combination.scope);
        let apart = self.channels.iter().flatten().count() > 1;
        Ok(Heard {
            title: match combination.scope {
                Scope::Pickup(pickup) if apart => format!("{}: {title}", pickup.name()),
                Scope::Pickup(_) | Scope::Guitar => title,
            },
            resonance_hz: resonance.and_then(|r| finite(r.frequency.value())),
            q: resonance.and_then(|r| finite(r.q)),
            rms_dbfs: audible(levels.rms.value()),
            k_weighted_lufs: audible(levels.k_weighted.value()),
            hum_db: response.hum_level(&low).and_then(|hum| finite(hum.value())),
            in_phase: response.in_phase(),
            dc_at_jack_ohm: response.dc_at_jack().and_then(|r| finite(r.value())),
            third_octaves_db: levels.third_octaves.iter().map(band).collect(),
        })
    }

    /// Returns the levels of the neutral source through `response`.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at some frequency.
    pub fn levels(&self, response: &VoiceResponse, scope: Scope<'_>) -> Result<MixLevels, SolveError> {
        let first = match scope {
            Scope::Guitar => 0,
            Scope::Pickup(pickup) => {
                let place = self.guitar.pickups().iter().position(|own| own.name() == pickup.name());
                place.and_then(|place| self.channels[place]).unwrap_or(0)
            }
        };
        let heard = |paths: &Paths| {
            let heard = paths.0.iter().zip(response.outputs()).map(|(path, output)| path * output);
            std::iter::repeat_n(Complex64::ZERO, first).chain(heard).collect()
        };
        let frequencies: Vec<Hertz> = self.spectrum.frequencies().collect();
        let paths: Vec<Vec<Complex64>> = response.along(&frequencies)?.iter().map(heard).collect();
        Ok(self.spectrum.levels(&paths))
    }
}

impl Solving {
    /// Hears every circuit that is not yet `heard`. `watch` is told whenever one more is, and ends the work by
    /// returning `false`. What is heard does not depend on the number of threads.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit cannot be built or solved.
    pub fn hear(
        self,
        neutral: &Neutral<'_>,
        circuits: &[DistinctCircuit<'_>],
        heard: &mut [Option<Heard>],
        watch: &mut dyn FnMut(&[Option<Heard>]) -> bool,
    ) -> Result<(), VoiceError> {
        let open: Vec<usize> = (0..circuits.len()).filter(|i| heard[*i].is_none()).collect();
        let (next, stopped) = (AtomicUsize::new(0), AtomicBool::new(false));
        let work = |sender: mpsc::Sender<(usize, Result<Heard, VoiceError>)>| {
            while !stopped.load(Ordering::Relaxed) {
                let chunk = next.fetch_add(1, Ordering::Relaxed);
                let Some(own) = open.chunks(CHUNK).nth(chunk) else { return };
                for place in own {
                    let told = sender.send((*place, neutral.hear(&circuits[*place].first)));
                    if told.is_err() || stopped.load(Ordering::Relaxed) {
                        return;
                    }
                }
            }
        };
        thread::scope(|scope| {
            let (sender, receiver) = mpsc::channel();
            let others = (0..self.workers.max(1)).map_while(|_| {
                let sender = sender.clone();
                thread::Builder::new().spawn_scoped(scope, || work(sender)).ok()
            });
            let has_others = others.count() > 0;
            drop(sender);
            if !has_others {
                for place in open.iter().copied() {
                    heard[place] = Some(neutral.hear(&circuits[place].first)?);
                    if !watch(heard) {
                        break;
                    }
                }
            }
            for (place, found) in receiver {
                match found {
                    Ok(found) => heard[place] = Some(found),
                    Err(error) => {
                        stopped.store(true, Ordering::Relaxed);
                        return Err(error);
                    }
                }
                if !watch(heard) {
                    stopped.store(true, Ordering::Relaxed);
                    break;
                }
            }
            Ok(())
        })
    }
}
