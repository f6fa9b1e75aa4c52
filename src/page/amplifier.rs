//! What the page's script amplifies by.

use serde::Serialize;

use super::PageData;
use crate::amp::{Cabinet, Setting, Stages, Tables};
use crate::markup::base64;
use crate::render::MatchBy;
use crate::report::AmplifierFigures;

/// The generic amplifier at the rate of a page's sound, and how hard it may be driven.
#[derive(Debug, Serialize)]
pub(super) struct AmplifierData {
    settings: Vec<SettingData>,
    /// The place of the setting that the files are heard through; null where they are at the jack.
    files: Option<usize>,
    /// What the files are matched by.
    match_by: &'static str,
    /// The loudest moment of the baseline at the jack, and where the stages clip, as amplitudes.
    loudest: f64,
    clip_point: f64,
    stages: StagesData,
    loudspeaker: KernelData,
}

/// How hard it is driven.
#[derive(Debug, Serialize)]
struct SettingData {
    name: String,
    /// The answer to whether it breaks up.
    answer: String,
    headroom_db: f64,
}

#[derive(Debug, Serialize)]
struct StagesData {
    curves: Vec<CurveData>,
    coupling: [f64; 2],
    half_bands: Vec<Vec<f64>>,
}

#[derive(Debug, Serialize)]
struct CurveData {
    from: f64,
    density: f64,
    /// Numbers of 64 bits.
    knots: String,
}

/// The loudspeaker's kernel, which also takes out by what the stages are late.
#[derive(Debug, Serialize)]
struct KernelData {
    before: usize,
    /// Numbers of 64 bits.
    taps: String,
}

impl AmplifierData {
    /// Returns the amplifier of a page; nothing where the baseline is silent, by which it would be driven.
    pub(super) fn of(data: &PageData<'_>) -> Option<Self> {
        let loudest = data.loudest.filter(|loudest| *loudest > 0.0)?;
        let own = data.figures.amplifier.as_ref();
        let rate_hz = data.configuration.rate_hz;
        let tables = Tables::generic(rate_hz);
        let loudspeaker = own.map_or(Cabinet::Closed, |own| own.loudspeaker).kernel(rate_hz, tables.delay);
        let (settings, files) = settings(own);
        Some(Self {
            settings,
            files,
            match_by: match data.files_matched_by {
                MatchBy::Loudness => "loudness",
                MatchBy::Rms => "rms",
            },
            loudest,
            clip_point: Stages::clip_point(),
            stages: StagesData {
                curves: tables
                    .curves
                    .iter()
                    .map(|curve| {
                        let [from, density] = curve.places();
                        CurveData { from, density, knots: numbers(curve.knots().flatten()) }
                    })
                    .collect(),
                coupling: tables.coupling,
                half_bands: tables.half_bands,
            },
            loudspeaker: KernelData {
                before: loudspeaker.before(),
                taps: numbers(loudspeaker.taps().iter().copied()),
            },
        })
    }
}

/// Returns the settings that are offered, that of the files among them, and its place.
fn settings(own: Option<&AmplifierFigures>) -> (Vec<SettingData>, Option<usize>) {
    let mut settings: Vec<SettingData> = Setting::ALL
        .iter()
        .map(|setting| SettingData {
            name: setting.name().to_owned(),
            answer: setting.answer().to_owned(),
            headroom_db: setting.headroom().level().value(),
        })
        .collect();
    let files = own.map(|own| {
        settings.iter().position(|setting| setting.name == own.setting).unwrap_or_else(|| {
            settings.push(SettingData {
                name: own.setting.clone(),
                answer: "as the files have it".to_owned(),
                headroom_db: own.headroom_db,
            });
            settings.len() - 1
        })
    });
    (settings, files)
}

/// Returns numbers as 64-bit floats, the lowest byte first, in base64.
fn numbers(values: impl Iterator<Item = f64>) -> String {
    base64(&values.flat_map(f64::to_le_bytes).collect::<Vec<u8>>())
}
