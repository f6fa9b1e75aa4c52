//! How sure a set's figures are, as data and in words.

use serde::{Deserialize, Serialize};

use super::{Column, SetFigures, TextTable};
use crate::bands::{Band, Bands, Sensitivity};
use crate::quantity::signed;

/// How many of the parts that matter are told.
const MOST_TOLD: usize = 5;

/// How the bands of a set were worked out, and what moves it most.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BandsFigures {
    /// How many guitars were drawn within the part tolerances.
    pub draws: usize,
    /// Two voices are called different where in 19 draws of 20 their level-matched responses differ by this, in dB RMS
    /// from 80 Hz to 6 kHz.
    pub told_apart_db: f64,
    /// The parts that move the responses most, the most first.
    #[serde(rename = "matters")]
    pub sensitivity: Vec<SensitivityFigures>,
}

/// A part, and how much depends on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SensitivityFigures {
    /// The part, or what is one unknown of both coils of a pickup.
    pub part: String,
    /// By how much it alone moves the response of one voice from end to end of its tolerance, in dB RMS.
    pub moves_db: f64,
    /// How it is measured, with the guitar unplugged; empty in sets that were written before this was told.
    #[serde(default)]
    pub measure_by: String,
}

/// The bands of one arrangement, from the 5 % to the 95 % quantile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArrangementBands {
    /// Of the resonance, told by its poles.
    pub resonance_hz: Option<Band>,
    /// Of where the response is highest; absent where fewer than half of the guitars have a peak.
    #[serde(default)]
    pub peak_hz: Option<Band>,
    /// Of Q.
    pub q: Option<Band>,
    /// Of the level at 100 Hz against the baseline's; absent for the baseline.
    pub drop_low_db: Option<Band>,
    /// Of the loudness with a neutral source, without gates, against the baseline's; absent for the baseline.
    pub drop_loudness_lu: Option<Band>,
    /// The arrangements that it can not be told from for sure.
    pub alike: Vec<String>,
}

impl SetFigures {
    /// Takes in how sure the figures are; `bands` has the voices in the order of the arrangements.
    pub fn take_bands(&mut self, bands: &Bands, sensitivity: &[Sensitivity]) {
        let names: Vec<String> = self.arrangements.iter().map(|a| a.name.clone()).collect();
        for (arrangement, own) in self.arrangements.iter_mut().zip(&bands.voices) {
            arrangement.bands = Some(ArrangementBands {
                resonance_hz: own.resonance,
                peak_hz: own.peak,
                q: own.q,
                drop_low_db: own.drop,
                drop_loudness_lu: own.drop_loudness,
                alike: own.alike.iter().map(|other| names[*other].clone()).collect(),
            });
        }
        self.bands = Some(BandsFigures {
            draws: bands.draws,
            told_apart_db: Bands::TOLD_APART.value(),
            sensitivity: sensitivity
                .iter()
                .take(MOST_TOLD)
                .map(|m| SensitivityFigures {
                    part: m.part.clone(),
                    moves_db: m.moves_db,
                    measure_by: m.measure_by.to_owned(),
                })
                .collect(),
        });
    }

    /// Returns how sure the figures are as a table, where that was worked out.
    pub fn bands_table(&self) -> Option<TextTable> {
        self.bands.as_ref()?;
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["peak", "kHz"]),
            Column::numbers(["", "Q"]),
            Column::numbers(["100 Hz", "dB"]),
            Column::numbers(["loudness", "LU"]),
        ]);
        for a in &self.arrangements {
            let Some(own) = &a.bands else { continue };
            table.row([
                a.name.clone(),
                shown(own.peak_hz, 1e-3, 2),
                shown(own.q, 1.0, 2),
                shown(own.drop_low_db, 1.0, 1),
                shown(own.drop_loudness_lu, 1.0, 1),
            ]);
        }
        Some(table)
    }

    /// Returns what the bands are and what to measure first, in sentences.
    pub fn bands_told(&self) -> Option<String> {
        let bands = self.bands.as_ref()?;
        let mut told = format!(
            "Bands: nine in ten of {} guitars with every part somewhere within its tolerance, and every pickup within the \
             range of its type. Told apart are voices of \
             the same coils whose level-matched responses differ by {} dB RMS in 19 of 20 of them.",
            bands.draws,
            signed(bands.told_apart_db, 1)
        );
        let alike = self.arrangements.iter().filter_map(|a| {
            let own = a.bands.as_ref().filter(|own| !own.alike.is_empty())?;
            Some(format!("{} from {}", a.name, own.alike.join(", ")))
        });
        let alike: Vec<String> = alike.collect();
        if !alike.is_empty() {
            told += &format!(" Not told apart for sure: {}.", alike.join("; "));
        }
        if let [first, rest @ ..] = bands.sensitivity.as_slice() {
            let next: Vec<String> =
                rest.iter().map(|m| format!("{} ({} dB)", m.part, signed(m.moves_db, 1))).collect();
            told += &format!(
                " Measure first: {}, which alone moves a response by {} dB RMS",
                first.part,
                signed(first.moves_db, 1)
            );
            told += &if next.is_empty() { ".".to_owned() } else { format!("; then {}.", next.join("; ")) };
            if !first.measure_by.is_empty() {
                told += &format!(" How: with the guitar unplugged, by {}.", first.measure_by);
            }
        }
        Some(told)
    }
}

fn shown(band: Option<Band>, unit: f64, digits: usize) -> String {
    band.map_or_else(
        || "–".to_owned(),
        |band| format!("{} to {}", signed(band.low * unit, digits), signed(band.high * unit, digits)),
    )
}
