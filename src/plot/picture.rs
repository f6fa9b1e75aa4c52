//! What is told of a set, ready to be drawn: levels by frequency, resonances, drops and words.

use super::palette::Look;
use super::scene::count;
use crate::circuit::SolveError;
use crate::quantity::{Db, Hertz, engineering, signed};
use crate::report::SetFigures;
use crate::response::{LOW, VoiceResponse};

/// The panels whose curves can have a band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Panel {
    /// The response at the jack, against the baseline's level at 100 Hz.
    Response,
    /// The difference to the baseline.
    Difference,
}

/// How far a curve may lie at one frequency, such as its 5th and 95th percentile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandPoint {
    /// The frequency.
    pub frequency: Hertz,
    /// The lower edge, in the panel's decibels.
    pub low: Db,
    /// The upper edge, in the panel's decibels.
    pub high: Db,
}

/// A picture of a set: responses at the jack and their differences, and where there is sound its levels and
/// spectra.
#[derive(Debug, Clone)]
pub struct Picture {
    pub(super) title: String,
    pub(super) subtitle: String,
    /// What stands below, a paragraph an entry.
    pub(super) footing: Vec<String>,
    pub(super) baseline: Option<usize>,
    pub(super) voices: Vec<Drawn>,
}

/// One voice of a picture.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    pub(super) name: String,
    pub(super) look: Look,
    /// Whether the curve is coil A's path, because the coils sound against each other.
    pub(super) coil_a: bool,
    /// Levels by frequency, in dB against the baseline's at 100 Hz.
    pub(super) response: Vec<(f64, f64)>,
    /// Levels by frequency, in dB against the baseline's.
    pub(super) difference: Vec<(f64, f64)>,
    pub(super) response_band: Vec<BandPoint>,
    pub(super) difference_band: Vec<BandPoint>,
    /// The peak's frequency and the response's level there, where there is one within the picture.
    pub(super) peak: Option<(f64, f64)>,
    pub(super) q: Option<f64>,
    pub(super) approximate: bool,
    pub(super) drop_rms: Option<f64>,
    pub(super) drop_loudness: Option<f64>,
    /// Third-octave levels of the rendered file.
    pub(super) spectrum: Vec<(f64, f64)>,
}

/// The frequencies that a picture reaches from and to: from below a guitar's lowest note to the end of hearing.
pub(super) const REACH: (f64, f64) = (50.0, 20e3);
const STEPS_PER_OCTAVE: f64 = 32.0;
/// Stands for silence, and keeps what is no number off the sheet; far below every picture.
const NOTHING: f64 = -400.0;
/// A path below this at low frequency is silent, and nothing can be told against it.
const SILENT: f64 = -200.0;
/// Longer names of guitars are cut to their room anyway.
const LONGEST: usize = 200;

impl Picture {
    /// Returns the picture of `responses` with what `figures` tells of them; voices and figures belong together by
    /// name, and differences are told against the figures' baseline, or the first voice where it is not among them.
    ///
    /// # Errors
    /// [`SolveError`] where a circuit has no solution at some frequency.
    pub fn new(responses: &[VoiceResponse], figures: &SetFigures) -> Result<Self, SolveError> {
        let baseline = responses.iter().position(|r| r.voice().name() == figures.baseline);
        let baseline = baseline.or((!responses.is_empty()).then_some(0));
        let reference = match baseline {
            Some(b) => Some(level(&responses[b], LOW)?).filter(|l| *l > SILENT).unwrap_or(0.0),
            None => 0.0,
        };
        let arrangements: Vec<_> = responses.iter().map(|r| r.voice().arrangement()).collect();
        let mut voices = Vec::with_capacity(responses.len());
        for (response, look) in responses.iter().zip(Look::assigned(&arrangements)) {
            voices.push(Drawn::new(response, look, reference, figures)?);
        }
        if let Some(b) = baseline {
            let against = voices[b].response.clone();
            for voice in &mut voices {
                let pairs = voice.response.iter().zip(&against);
                voice.difference = pairs.map(|(own, base)| (own.0, own.1 - base.1)).collect();
            }
        }
        Ok(Self {
            title: plain(&figures.guitar),
            subtitle: subtitle(figures),
            footing: footing(figures),
            baseline,
            voices,
        })
    }

    /// Returns the picture with a band around the curve of the voice called `name` in `panel`, by rising
    /// frequency; a voice that is not there leaves it as it was.
    #[must_use]
    pub fn with_band(mut self, panel: Panel, name: &str, band: impl IntoIterator<Item = BandPoint>) -> Self {
        let band = band.into_iter().filter(|p| {
            within(p.frequency.value()) && p.low.value().is_finite() && p.high.value().is_finite()
        });
        if let Some(voice) = self.voices.iter_mut().find(|v| v.name == plain(name)) {
            match panel {
                Panel::Response => voice.response_band = band.collect(),
                Panel::Difference => voice.difference_band = band.collect(),
            }
        }
        self
    }

    /// Returns the picture with the long-term third-octave levels of the voice called `name`, rendered and matched,
    /// by rising frequency; a voice that is not there leaves it as it was.
    #[must_use]
    pub fn with_spectrum(mut self, name: &str, levels: impl IntoIterator<Item = (Hertz, Db)>) -> Self {
        let levels = levels.into_iter().map(|(f, level)| (f.value(), level.value()));
        if let Some(voice) = self.voices.iter_mut().find(|v| v.name == plain(name)) {
            voice.spectrum = levels.filter(|(f, level)| within(*f) && !level.is_nan()).collect();
        }
        self
    }

    /// Returns what the picture shows, in words.
    pub(super) fn described(&self) -> String {
        let mut text = format!(
            "Level at the jack from 50 Hz to 20 kHz, in decibels against {} at 100 Hz.",
            self.baseline_name()
        );
        for voice in &self.voices {
            text += &format!(" {}: ", voice.name);
            let mut facts = Vec::new();
            if let Some((f, _)) = voice.peak {
                facts.push(format!("peak at {}", engineering(f, "Hz", 3)));
            }
            facts.extend(voice.q.map(|q| format!("Q {q:.2}")));
            facts.extend(voice.drop_rms.map(|d| format!("RMS {} dB", signed(d, 1))));
            facts.extend(voice.drop_loudness.map(|d| format!("loudness {} LU", signed(d, 1))));
            facts.extend(voice.coil_a.then(|| "the coils sound against each other".to_owned()));
            text += &if facts.is_empty() { "no peak".to_owned() } else { facts.join(", ") };
            text.push('.');
        }
        text
    }

    pub(super) fn baseline_name(&self) -> &str {
        self.baseline.map_or("none", |b| &self.voices[b].name)
    }
}

impl Drawn {
    fn new(
        response: &VoiceResponse,
        look: Look,
        reference: f64,
        figures: &SetFigures,
    ) -> Result<Self, SolveError> {
        let name = response.voice().name();
        let told = figures.arrangements.iter().find(|a| a.name == name);
        let own = |f: f64| level(response, Hertz::new(f)).map(|l| (f, l - reference));
        let peak = told.and_then(|a| a.peak_hz).filter(|f| within(*f));
        Ok(Self {
            name: plain(name),
            look,
            coil_a: !response.in_phase(),
            response: frequencies().map(own).collect::<Result<_, _>>()?,
            difference: Vec::new(),
            response_band: Vec::new(),
            difference_band: Vec::new(),
            peak: peak.map(own).transpose()?,
            q: told.and_then(|a| a.q),
            approximate: told.and_then(|a| a.approximate) == Some(true),
            drop_rms: told.and_then(|a| a.drop_rms_db).filter(|d| d.is_finite()),
            drop_loudness: told.and_then(|a| a.drop_loudness_lu).filter(|d| d.is_finite()),
            spectrum: Vec::new(),
        })
    }
}

/// Returns the level of the path in which the voice's character shows, in dB.
fn level(response: &VoiceResponse, f: Hertz) -> Result<f64, SolveError> {
    let level = Db::of_amplitude(response.telling(&response.at(f)?).norm()).value();
    Ok(if level.is_finite() { level.max(NOTHING) } else { NOTHING })
}

fn frequencies() -> impl Iterator<Item = f64> {
    let steps = ((REACH.1 / REACH.0).log2() * STEPS_PER_OCTAVE).ceil();
    (0..=count(steps)).map(move |i| REACH.0 * (REACH.1 / REACH.0).powf(f64::from(i) / steps))
}

fn within(f: f64) -> bool {
    (REACH.0..=REACH.1).contains(&f)
}

fn subtitle(figures: &SetFigures) -> String {
    let mut text = plain(&figures.heard());
    if let Some(source) = &figures.source {
        text += &format!(", heard with {}", plain(&source.file));
    }
    text
}

fn footing(figures: &SetFigures) -> Vec<String> {
    let approximate = figures.arrangements.iter().any(|a| a.approximate == Some(true));
    let about = "≈ approximate with this source, in level and in spectrum";
    let honest = format!("This is {}.", plain(&figures.honesty));
    std::iter::once(honest).chain(approximate.then(|| about.to_owned())).collect()
}

/// Returns `text` without what is no letter, and not without end: control characters, which XML forbids, and
/// characters that turn the direction of writing, which would let a name rearrange the words beside it.
pub(super) fn plain(text: &str) -> String {
    let unseen = |c: char| {
        c.is_control()
            || matches!(c, '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}')
            || matches!(c, '\u{feff}' | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}')
    };
    text.chars().map(|c| if unseen(c) { ' ' } else { c }).take(LONGEST).collect()
}

/// Writes a whole number of decibels with its sign.
pub(super) fn rising(level: f64) -> String {
    let text = signed(level, 0);
    if level > 0.0 { format!("+{text}") } else { text }
}
