//! What the page's script works from.

use serde::Serialize;

use super::amplifier::AmplifierData;
use super::{BlindRun, Excerpt, PageData, PageError};
use crate::circuit::KnobCircuit;
use crate::guitar::{Controls, Guitar, Pot, Taper};
use crate::plot::{Stroke, strokes};
use crate::quantity::Db;
use crate::render::{CEILING, Channels, MOST_GAIN, MatchBy, Model};
use crate::report::{ArrangementFigures, SetFigures};
use crate::response::{OneChannel, Ratio, Recorded, Scope, VoiceResponse};
use crate::wiring::Arrangement;
use crate::words::{self, Answer};

#[derive(Debug, Serialize)]
pub(super) struct Payload {
    sound: SoundData,
    /// The place of the baseline among the voices.
    baseline: usize,
    match_by: &'static str,
    /// The highest peak allowed, as an amplitude.
    ceiling: f64,
    /// The gain, as an amplitude, beyond which nothing is matched.
    most_gain: f64,
    words: WordsData,
    knobs: Knobs,
    /// Whether hum was added to the files, which the page does not carry: their levels are then not the page's.
    has_hum: bool,
    /// Whether the voices follow the knobs.
    turnable: bool,
    voices: Vec<VoiceData>,
    recorded: Option<RecordedData>,
    blind: Vec<BlindRun>,
    amplifier: Option<AmplifierData>,
}

#[derive(Debug, Serialize)]
struct SoundData {
    file: String,
    rate_hz: u32,
    channels: usize,
    /// The frames carried, of which `played` are played from `lead` on.
    frames: usize,
    lead: u64,
    played: u64,
    /// The amplitude of one step of the 24-bit samples.
    unit: f64,
    /// The coils that have a channel each; none where the source does not tell them apart.
    coils: usize,
}

#[derive(Debug, Serialize)]
struct Knobs {
    volume: Option<PotData>,
    tone: Option<PotData>,
    cable: f64,
}

#[derive(Debug, Serialize)]
struct PotData {
    track: f64,
    /// The fraction at mid-travel of an audio taper, absent for a linear one.
    mid: Option<f64>,
    turned: f64,
}

#[derive(Debug, Serialize)]
struct VoiceData {
    name: String,
    /// What it does, in words.
    title: String,
    /// How it is connected, where the title does not tell.
    what: Option<String>,
    /// How its curve is drawn.
    look: Stroke,
    drawing: Option<&'static str>,
    circuit: Option<KnobCircuit>,
    section: Option<SectionData>,
    outputs: Vec<f64>,
    telling: Vec<f64>,
    rule: RuleData,
    matched_db: Option<f64>,
    true_db: Option<f64>,
    /// The peak of the file at its true level.
    peak_dbtp: Option<f64>,
    /// What it does to the sound, in a listener's words.
    answer: Option<String>,
    /// Its loudness against the baseline's, as the files were measured.
    loudness_lu: Option<f64>,
    /// The same as heard, as a share.
    heard: Option<f64>,
    /// The centroid of the file at its true level.
    centroid_hz: Option<f64>,
    /// Whether the source gives it only approximately.
    approximate: bool,
    /// Its files behind the amplifier, where they are heard through one.
    behind: Option<BehindData>,
}

/// A voice's files behind an amplifier.
#[derive(Debug, Serialize)]
struct BehindData {
    matched_db: Option<f64>,
    true_db: Option<f64>,
    answer: Option<String>,
    loudness_lu: Option<f64>,
}

/// Words, each with the value from which on it holds.
#[derive(Debug, Serialize)]
struct WordsData {
    loudness: Vec<(f64, String)>,
    brightness: Vec<(f64, String)>,
}

#[derive(Debug, Serialize)]
struct SectionData {
    b: [f64; 3],
    a: [f64; 2],
    shares: [f64; 2],
    rate_hz: u32,
}

#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
enum RuleData {
    Whole,
    Halves,
    Split {
        /// Each coil's distance to the bridge in metres and its lead in seconds.
        coils: Vec<[f64; 2]>,
        /// The distances to the bridge of the coils that the source is the sum of, pickup by pickup, in metres.
        pickups: Vec<Vec<f64>>,
        /// The wave speed of each string in m/s.
        speeds: Vec<f64>,
    },
}

#[derive(Debug, Serialize)]
struct RecordedData {
    circuit: KnobCircuit,
    outputs: Vec<f64>,
    rule: RuleData,
    bound: BoundData,
}

#[derive(Debug, Serialize)]
struct BoundData {
    cap: f64,
    order: i32,
}

impl Payload {
    pub(super) fn of(data: &PageData<'_>, unit: f64) -> Result<Self, PageError> {
        let configuration = data.configuration;
        let arrangements: Vec<Option<Arrangement>> =
            data.voices.iter().map(|v| v.voice().arrangement()).collect();
        let looks = strokes(&arrangements).into_iter();
        let voices: Result<Vec<VoiceData>, PageError> =
            data.voices.iter().zip(looks).map(|(v, look)| voice(data, v, look)).collect();
        let baseline = data.voices.iter().position(|v| v.voice().name() == data.figures.baseline);
        Ok(Self {
            sound: sound(data, data.excerpt, unit),
            baseline: baseline.unwrap_or(0),
            match_by: match data.matched_by {
                MatchBy::Loudness => "loudness",
                MatchBy::Rms => "rms",
            },
            ceiling: Db::new(CEILING.value()).amplitude(),
            most_gain: MOST_GAIN.amplitude(),
            words: WordsData { loudness: words::loudness_steps(), brightness: words::brightness_steps() },
            knobs: knobs(configuration.guitar),
            has_hum: has_hum(data),
            turnable: configuration.model == Model::Circuit,
            voices: voices?,
            recorded: configuration.recorded.map(recorded),
            blind: BlindRun::all(),
            amplifier: AmplifierData::of(data),
        })
    }
}

fn has_hum(data: &PageData<'_>) -> bool {
    data.figures.source.as_ref().is_some_and(|source| source.hum_hz.is_some())
}

fn sound(data: &PageData<'_>, excerpt: &Excerpt, unit: f64) -> SoundData {
    let played = excerpt.played();
    SoundData {
        file: data.figures.source.as_ref().map_or_else(String::new, |s| s.file.clone()),
        rate_hz: excerpt.rate_hz(),
        channels: excerpt.planes().len(),
        frames: excerpt.planes().first().map_or(0, Vec::len),
        lead: excerpt.lead(),
        played: played.end - played.start,
        unit,
        coils: match data.configuration.channels {
            Channels::Stereo => 0,
            Channels::Coils => excerpt.planes().len(),
        },
    }
}

fn knobs(guitar: &Guitar) -> Knobs {
    let pot = |pot: Pot| PotData {
        track: pot.track().value(),
        mid: match pot.taper() {
            Taper::Linear => None,
            Taper::Audio { mid } => Some(mid),
        },
        turned: pot.turned(),
    };
    let controls: &Controls = guitar.controls();
    Knobs {
        volume: controls.volume().map(pot),
        tone: controls.tone().map(|tone| pot(tone.pot())),
        cable: guitar.cable().capacitance().value(),
    }
}

fn voice(data: &PageData<'_>, response: &VoiceResponse, look: Stroke) -> Result<VoiceData, PageError> {
    let configuration = data.configuration;
    let voice = response.voice();
    let figures = data.played().arrangements.iter().find(|a| a.name == voice.name());
    let (circuit, section) = match configuration.model {
        Model::Circuit => (Some(voice.with_knobs(configuration.guitar, configuration.scope)?), None),
        Model::SecondOrder => {
            let shares = configuration.second_order(response)?.shares();
            let section = configuration.section(response)?.map(|s| s.coefficients());
            let section = section.map(|c| SectionData {
                b: [c.b0, c.b1, c.b2],
                a: [c.a1, c.a2],
                shares,
                rate_hz: configuration.rate_hz,
            });
            (None, section)
        }
    };
    let file = |of: fn(&ArrangementFigures) -> Option<&crate::report::FileFigures>| figures.and_then(of);
    let as_is = file(|a| a.as_is.as_ref());
    Ok(VoiceData {
        name: voice.name().to_owned(),
        title: words::voice(response, configuration.guitar, configuration.scope),
        what: match (voice.arrangement(), configuration.scope) {
            (Some(arrangement), Scope::Pickup(pickup)) => Some(words::details(arrangement, pickup)),
            (None, _) | (Some(_), Scope::Guitar) => None,
        },
        look,
        drawing: voice.arrangement().map(Arrangement::name),
        circuit,
        section,
        outputs: response.outputs().to_vec(),
        telling: response.telling_weights().to_vec(),
        rule: rule(&configuration.rule(response)),
        matched_db: file(|a| a.matched.as_ref()).map(|f| f.gain_db),
        true_db: as_is.map(|f| f.gain_db),
        peak_dbtp: as_is.and_then(|f| f.true_peak_dbtp),
        answer: answered(data.played(), voice.name()),
        loudness_lu: figures.and_then(|a| a.drop_loudness_lu),
        heard: figures.and_then(heard),
        centroid_hz: as_is.and_then(|f| f.spectral_centroid_hz),
        approximate: figures.and_then(|a| a.approximate).unwrap_or(false),
        behind: data.without.and_then(|_| behind(data.figures, voice.name())),
    })
}

fn behind(figures: &SetFigures, name: &str) -> Option<BehindData> {
    let own = figures.arrangements.iter().find(|a| a.name == name)?;
    Some(BehindData {
        matched_db: own.matched.as_ref().map(|file| file.gain_db),
        true_db: own.as_is.as_ref().map(|file| file.gain_db),
        answer: answered(figures, name),
        loudness_lu: own.drop_loudness_lu,
    })
}

/// Returns how much louder than the baseline a listener hears an arrangement, as a share: the middle of the range that the
/// tables tell.
fn heard(figures: &ArrangementFigures) -> Option<f64> {
    figures.drop_heard_percent_60_to_85.map(|[low, high]| f64::midpoint(low, high) / 100.0)
}

/// Returns the plain answer to what an arrangement does, where it was measured.
fn answered(figures: &SetFigures, name: &str) -> Option<String> {
    let own = figures.arrangements.iter().find(|a| a.name == name);
    own.zip(figures.baseline()).map(|(own, baseline)| answer_of(own, baseline).to_string())
}

/// Returns the plain answer to what an arrangement does against the baseline.
pub fn answer_of(own: &ArrangementFigures, baseline: &ArrangementFigures) -> Answer {
    let centroid = |of: &ArrangementFigures| of.as_is.as_ref().and_then(|f| f.spectral_centroid_hz);
    Answer {
        loudness: heard(own),
        brightness: centroid(own).zip(centroid(baseline)).map(|(own, base)| own / base),
        is_approximate: own.approximate.unwrap_or(false),
    }
}

fn rule(rule: &OneChannel) -> RuleData {
    match rule {
        OneChannel::Whole => RuleData::Whole,
        OneChannel::Halves => RuleData::Halves,
        OneChannel::Split(split) => RuleData::Split {
            coils: split.coils().map(|(place, lead)| [place, lead]).collect(),
            pickups: split.pickups().to_vec(),
            speeds: split.speeds().to_vec(),
        },
    }
}

fn recorded(recorded: &Recorded) -> RecordedData {
    let response = recorded.response();
    RecordedData {
        circuit: response.equations(),
        outputs: response.outputs().to_vec(),
        rule: rule(recorded.rule()),
        bound: BoundData { cap: Ratio::CAP.amplitude(), order: Ratio::ORDER },
    }
}
