//! The figures of a set as data.

use serde::{Deserialize, Serialize};

use super::{AmplifiedFigures, AmplifierFigures, ArrangementBands, BandsFigures, ScopeName, SourceFigures};
use crate::folder::ListedFile;
use crate::guitar::{Guitar, Pickup};
use crate::quantity::Db;
use crate::response::{Figures, HumBand, Scope, ThermalNoise};

/// The number of this form of the data; another number is another form.
pub const SCHEMA: u32 = 1;

/// The figures of a set, `figures.json`.
///
/// A field is `null` where there is no such figure, never a number that is not finite.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetFigures {
    /// The form of the data.
    pub schema: u32,
    /// The program and its version.
    pub program: String,
    /// What these figures are, in one sentence.
    pub honesty: String,
    /// The guitar's name.
    pub guitar: String,
    /// What of it is heard.
    pub pickup: ScopeName,
    /// The name of the arrangement that drops are told against.
    pub baseline: String,
    /// The source that was rendered, absent where nothing was.
    pub source: Option<SourceFigures>,
    /// The amplifier that it is heard through; null where it is none. The arrangements' figures are then those behind it.
    #[serde(default)]
    pub amplifier: Option<AmplifierFigures>,
    /// Values that were assumed, in words.
    pub assumed: Vec<String>,
    /// Coils' values that were measured, with their standard deviations, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<String>,
    /// Remarks and warnings, in words.
    pub notes: Vec<String>,
    /// How sure the figures are, where that was worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bands: Option<BandsFigures>,
    /// One entry an arrangement, in the order asked for.
    pub arrangements: Vec<ArrangementFigures>,
    /// The files of the same folder, where they are written.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<ListedFile>,
}

/// The figures of one arrangement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArrangementFigures {
    /// The arrangement's or throw's name.
    pub name: String,
    /// The undamped frequency of the complex pair that is heard.
    pub resonance_hz: Option<f64>,
    /// The quality factor of that pair.
    pub q: Option<f64>,
    /// The rise over the low-frequency level, where it is 1 dB or more.
    pub peak_db: Option<f64>,
    /// The frequency at which the response is highest; null where `peak_db` is.
    #[serde(default)]
    pub peak_hz: Option<f64>,
    /// Where the response first falls 3 dB below its low-frequency level.
    pub cutoff_hz: Option<f64>,
    /// The response of both coils at 100 Hz, against one volt of string EMF in a coil of output 1.
    pub gain_low_db: Option<f64>,
    /// The resistance at the jack with nothing plugged in.
    pub dc_at_jack_ohm: Option<f64>,
    /// The hum at 100 Hz against coil A alone; null where it cancels to below −120 dB.
    pub hum_db: Option<f64>,
    /// The least and the most of that where each coil's turns are up to 3 % off; the least is null where hum may cancel.
    #[serde(default)]
    pub hum_band_db: Option<[Option<f64>; 2]>,
    /// Whether the strings sound in phase from all coils that are heard.
    pub in_phase: bool,
    /// How far the resonance alone is from the circuit at its worst, 20 Hz to 20 kHz; null for a wiring without a
    /// name.
    pub second_order_off_db: Option<f64>,
    /// Whether this source gives the arrangement only approximately ([`OneChannel::BOUND`](crate::response::OneChannel::BOUND)).
    pub approximate: Option<bool>,
    /// RMS of the as-is file against the baseline's; where nothing was rendered, as foretold from the source's
    /// spectrum.
    pub drop_rms_db: Option<f64>,
    /// Loudness of the as-is file against the baseline's, or foretold.
    pub drop_loudness_lu: Option<f64>,
    /// Loudness of the as-is file in sones by ISO 532-1, as a steady sound of its long-term spectrum, where the baseline's
    /// is heard at the source's `listening_level_db_spl`.
    #[serde(default)]
    pub loudness_sone: Option<f64>,
    /// That loudness against the baseline's, in percent more; negative where it is less loud.
    #[serde(default)]
    pub drop_heard_percent: Option<f64>,
    /// The least and the most of that where the baseline is heard at 60 to 85 dB SPL.
    #[serde(default)]
    pub drop_heard_percent_60_to_85: Option<[f64; 2]>,
    /// The thermal noise at the jack, 20 Hz to 20 kHz at 300 K.
    #[serde(default)]
    pub noise_dbv: Option<f64>,
    /// The same, A-weighted.
    #[serde(default)]
    pub noise_dbv_a: Option<f64>,
    /// The file at matched level.
    pub matched: Option<FileFigures>,
    /// The file at its true level.
    pub as_is: Option<FileFigures>,
    /// What the amplifier makes of it, beside what it is without; only where there is one.
    #[serde(default, flatten, skip_serializing_if = "Option::is_none")]
    pub amplified: Option<AmplifiedFigures>,
    /// How sure its figures are, where that was worked out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bands: Option<ArrangementBands>,
    /// The impulse response, where one was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub impulse: Option<ImpulseFigures>,
}

/// The impulse response of an arrangement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ImpulseFigures {
    /// The file, relative to the set's folder.
    pub file: String,
    /// The frames before time zero: drop as many from the beginning of a convolution.
    pub lead_frames: usize,
    /// The gain from the convolved source to the as-is file.
    pub gain_db: f64,
}

/// What was measured on one file as written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FileFigures {
    /// The file, relative to the set's folder.
    pub file: String,
    /// The gain applied after the circuit.
    pub gain_db: f64,
    /// RMS; a full-scale sine reads −3.01.
    pub rms_dbfs: Option<f64>,
    /// Integrated loudness; null where nothing passes the gate.
    pub loudness_lufs: Option<f64>,
    /// The peak between the samples.
    pub true_peak_dbtp: Option<f64>,
    /// The spectral centroid; null for silence and for less than a frame.
    pub spectral_centroid_hz: Option<f64>,
}

impl SetFigures {
    /// Returns the figures of what is heard of `guitar` before any sound and without arrangements.
    pub fn new<'g>(guitar: &'g Guitar, scope: impl Into<Scope<'g>>, baseline: &str) -> Self {
        let scope = scope.into();
        let own = scope.pickups(guitar).into_iter().flat_map(Pickup::assumed);
        Self {
            schema: SCHEMA,
            program: concat!("drywire ", env!("CARGO_PKG_VERSION")).to_owned(),
            honesty: super::HONESTY.to_owned(),
            guitar: guitar.name().to_owned(),
            pickup: scope.into(),
            baseline: baseline.to_owned(),
            source: None,
            amplifier: None,
            assumed: own.chain(guitar.assumed()).collect(),
            measured: scope.pickups(guitar).into_iter().flat_map(Pickup::measured).collect(),
            notes: guitar.notes().to_vec(),
            bands: None,
            arrangements: Vec::new(),
            files: Vec::new(),
        }
    }

    /// Returns what is heard, in words: a pickup by its name, or the whole guitar.
    pub fn heard(&self) -> String {
        match &self.pickup {
            ScopeName::Guitar => format!("the {}", self.pickup),
            ScopeName::Pickup(name) => format!("pickup {name}"),
        }
    }

    /// Returns the figures of the baseline.
    pub fn baseline(&self) -> Option<&ArrangementFigures> {
        self.arrangements.iter().find(|a| a.name == self.baseline)
    }
}

impl ArrangementFigures {
    /// Returns the figures of a voice called `name` before any sound.
    pub fn new(name: &str, figures: &Figures, second_order_off_db: Option<f64>) -> Self {
        Self {
            name: name.to_owned(),
            resonance_hz: figures.resonance.and_then(|r| finite(r.frequency.value())),
            q: figures.resonance.and_then(|r| finite(r.q)),
            peak_db: figures.peak.and_then(|p| finite(p.level.value())),
            peak_hz: figures.peak.and_then(|p| finite(p.frequency.value())),
            cutoff_hz: figures.cutoff.and_then(|c| finite(c.value())),
            gain_low_db: figures.gain_low.and_then(|g| finite(g.value())),
            dc_at_jack_ohm: figures.dc_at_jack.and_then(|r| finite(r.value())),
            hum_db: figures.hum.and_then(|h| finite(h.value())),
            hum_band_db: None,
            in_phase: figures.in_phase,
            second_order_off_db: second_order_off_db.and_then(finite),
            approximate: None,
            drop_rms_db: None,
            drop_loudness_lu: None,
            loudness_sone: None,
            drop_heard_percent: None,
            drop_heard_percent_60_to_85: None,
            noise_dbv: None,
            noise_dbv_a: None,
            matched: None,
            as_is: None,
            amplified: None,
            bands: None,
            impulse: None,
        }
    }

    /// Returns the figures with how far hum reaches.
    #[must_use]
    pub fn with_hum_band(self, band: &HumBand) -> Self {
        let level = |level: Db| finite(level.value());
        Self { hum_band_db: Some([band.least.and_then(level), level(band.most)]), ..self }
    }

    /// Returns the figures with those of the thermal noise.
    #[must_use]
    pub fn with_noise(self, noise: &ThermalNoise) -> Self {
        let [noise_dbv, noise_dbv_a] = [noise.plain, noise.a_weighted].map(|level| finite(level.value()));
        Self { noise_dbv, noise_dbv_a, ..self }
    }
}

/// Returns a figure as JSON can hold it, which has no numbers that are not finite.
pub(crate) fn finite(value: f64) -> Option<f64> {
    Some(value).filter(|v| v.is_finite())
}
