//! What is told of a survey.

use std::ops::RangeInclusive;

use serde::{Deserialize, Serialize};

use super::{Cover, DISTANCE, DistinctCircuit, Heard, Points, Proof, Space};
use crate::folder::ListedFile;
use crate::guitar::Pickup;
use crate::quantity::{Db, counted, signed};
use crate::report::{Column, HONESTY, SCHEMA, TextTable, finite};
use crate::wiring::Arrangement;
use crate::words;

/// The distances by which combinations are told apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radii {
    /// Up to this far from one another combinations are near-duplicates.
    pub alike: Db,
    /// Every combination is to lie within this of one that is kept.
    pub within: Db,
}

impl Radii {
    /// Combinations this near can just be told from one another side by side. A convention, no source.
    pub const ALIKE: Db = Db::new(1.0);
    /// Combinations this far apart are plainly different. A convention, no source.
    pub const WITHIN: Db = Db::new(3.0);
    /// The distances that may be asked for.
    pub const ALLOWED: RangeInclusive<Db> = Db::new(0.05)..=Db::new(40.0);
}

impl Default for Radii {
    fn default() -> Self {
        Self { alike: Self::ALIKE, within: Self::WITHIN }
    }
}

/// The figures of a survey, `survey.json`.
///
/// A field is `null` where there is no such figure, never a number that is not finite.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurveyFigures {
    /// The form of the data.
    pub schema: u32,
    /// The program and its version.
    pub program: String,
    /// What these figures are, in one sentence.
    pub honesty: String,
    /// The guitar's name.
    pub guitar: String,
    /// The pickups that are heard.
    pub pickups: Vec<String>,
    /// What levels are told against.
    pub baseline: String,
    /// What all was heard with, in words.
    pub source: String,
    /// How distances are measured, in words.
    pub distance: String,
    /// How many combinations there are.
    pub combinations: usize,
    /// The groups of near-duplicates: each combination lies near its group's.
    pub alike: CoverFigures,
    /// The smallest set of positions that was found near which all others lie.
    pub keep: CoverFigures,
    /// Values that were assumed, in words.
    pub assumed: Vec<String>,
    /// Coils' values that were measured, with their standard deviations, in words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<String>,
    /// Remarks, in words.
    pub notes: Vec<String>,
    /// One entry a circuit, in the order in which they first come up.
    pub circuits: Vec<CircuitFigures>,
    /// The files of the same folder.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<ListedFile>,
}

/// A set of positions near which all others lie.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoverFigures {
    /// How near, in dB.
    pub within_db: f64,
    /// The positions, by name.
    pub positions: Vec<String>,
    /// No set of fewer than this exists.
    pub at_least: usize,
    /// Whether no smaller set exists.
    pub is_fewest: bool,
    /// The distances between the positions, row by row; left out where they are many.
    pub distances_db: Vec<Vec<f64>>,
}

/// What is told of a circuit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CircuitFigures {
    /// What of it is heard, by name.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// The arrangement, where one pickup is heard in one that has a name.
    pub arrangement: Option<Arrangement>,
    /// The combinations that are this circuit, by name.
    pub combinations: Vec<String>,
    /// The resonance's frequency.
    pub resonance_hz: Option<f64>,
    /// Its quality factor.
    pub q: Option<f64>,
    /// The RMS level against the baseline.
    pub level_db: Option<f64>,
    /// The K-weighted level against the baseline.
    pub loudness_lu: Option<f64>,
    /// The hum at 100 Hz against one coil alone; null below −120 dB.
    pub hum_db: Option<f64>,
    /// Whether the strings sound in phase.
    pub in_phase: bool,
    /// The resistance at the jack with nothing plugged in.
    pub dc_at_jack_ohm: Option<f64>,
    /// The name of its group of near-duplicates; null where it is silent.
    pub group: Option<String>,
    /// The nearest of the positions that are kept, and how far it is.
    pub nearest: Option<String>,
    /// How far, in dB.
    pub nearest_db: Option<f64>,
    /// The levels in third octaves, 50 Hz to 10 kHz, in dB.
    pub third_octaves_db: Vec<f64>,
}

/// Larger distance matrices are left out.
const MOST_DISTANCES: usize = 60;

impl SurveyFigures {
    /// Returns the figures of `circuits`, each with what was `heard` of it, told against `baseline`.
    pub fn new(
        space: &Space<'_>,
        circuits: &[DistinctCircuit<'_>],
        heard: &[Heard],
        (baseline, reference): (&str, &Heard),
        radii: Radii,
    ) -> Self {
        let guitar = space.guitar();
        let sounding: Vec<usize> = (0..heard.len()).filter(|i| heard[*i].rms_dbfs.is_some()).collect();
        let points = Points::of(sounding.iter().map(|i| &*heard[*i].third_octaves_db));
        let name = |point: usize| circuits[sounding[point]].first.voice.name().to_owned();
        let alike = Cover::greedy(&points, radii.alike.value());
        // Positions that sound out of phase stand after the others, wherever they are listed.
        let keep =
            Cover::of(&points, radii.within.value()).sorted_by_key(|point| !heard[sounding[point]].in_phase);
        let difference = |own: Option<f64>, base: Option<f64>| own.zip(base).map(|(own, base)| own - base);
        let figures = circuits.iter().zip(heard).enumerate().map(|(i, (circuit, heard))| {
            let point = sounding.binary_search(&i).ok();
            let nearest = point.map(|point| keep.chosen[keep.nearest[point]]);
            CircuitFigures {
                name: circuit.first.voice.name().to_owned(),
                title: heard.title.clone(),
                arrangement: circuit.first.voice.arrangement(),
                combinations: circuit
                    .combinations
                    .iter()
                    .map(|place| space.combination(*place).voice.name().to_owned())
                    .collect(),
                resonance_hz: heard.resonance_hz,
                q: heard.q,
                level_db: difference(heard.rms_dbfs, reference.rms_dbfs),
                loudness_lu: difference(heard.k_weighted_lufs, reference.k_weighted_lufs),
                hum_db: heard.hum_db,
                in_phase: heard.in_phase,
                dc_at_jack_ohm: heard.dc_at_jack_ohm,
                group: point.map(|point| name(alike.chosen[alike.nearest[point]])),
                nearest: nearest.map(name),
                nearest_db: point.zip(nearest).and_then(|(a, b)| finite(points.distance(a, b))),
                third_octaves_db: heard.third_octaves_db.clone(),
            }
        });
        let own = space.pickups().into_iter().flat_map(Pickup::assumed);
        let silent = heard.len() - sounding.len();
        let notes = (silent > 0).then(|| format!("{silent} of the circuits are silent and have no distance"));
        Self {
            schema: SCHEMA,
            program: concat!("drywire ", env!("CARGO_PKG_VERSION")).to_owned(),
            honesty: HONESTY.to_owned(),
            guitar: guitar.name().to_owned(),
            pickups: space.pickups().iter().map(|pickup| pickup.name().to_string()).collect(),
            baseline: baseline.to_owned(),
            source: "an open chord, plucked for this guitar, with a channel for each coil".to_owned(),
            distance: DISTANCE.to_owned(),
            combinations: space.len(),
            alike: CoverFigures::new(radii.alike.value(), &alike, &points, name),
            keep: CoverFigures::new(radii.within.value(), &keep, &points, name),
            assumed: own.chain(guitar.assumed()).collect(),
            measured: space.pickups().into_iter().flat_map(Pickup::measured).collect(),
            notes: guitar.notes().iter().cloned().chain(notes).collect(),
            circuits: figures.collect(),
            files: Vec::new(),
        }
    }

    /// Returns in words how many combinations, circuits and groups there are.
    pub fn count(&self) -> String {
        format!(
            "{}, {}, {} of near-duplicates (within {} dB)",
            counted(self.combinations, "combination"),
            counted(self.circuits.len(), "different circuit"),
            counted(self.alike.positions.len(), "group"),
            self.alike.within_db
        )
    }

    /// Returns in words how many positions are enough.
    pub fn verdict(&self) -> String {
        let count = self.keep.positions.len();
        let is_one = count == 1;
        let proof = if self.keep.is_fewest {
            "no smaller set will do".to_owned()
        } else {
            format!("found step by step; no set of fewer than {} will do", self.keep.at_least)
        };
        format!(
            "{} of tone: once all are equally loud, each combination sounds within {} dB of {} ({proof}).",
            if is_one {
                "1 position keeps the variety".to_owned()
            } else {
                format!("{count} positions keep the variety")
            },
            self.keep.within_db,
            if is_one { "it" } else { "one of them" }
        )
    }

    /// Returns those of the positions that are kept whose strings sound in phase, or out of phase, as a table: each by
    /// what it is, with its name below. There is none where there are none.
    pub fn kept_table(&self, in_phase: bool) -> Option<TextTable> {
        let mut table = TextTable::new([
            Column::numbers(["", "no."]),
            Column::words(["", "position"]),
            Column::numbers(["reson.", "kHz"]),
            Column::numbers(["", "Q"]),
            Column::numbers(["level", "dB"]),
            Column::words(["", "hum"]),
            Column::numbers(["stands", "for"]),
        ]);
        let figure = |value: Option<f64>, digits| value.map_or_else(|| "–".to_owned(), |v| signed(v, digits));
        for (number, kept) in (1..).zip(self.kept()).filter(|(_, kept)| kept.in_phase == in_phase) {
            table.row([
                number.to_string(),
                kept.title.clone(),
                figure(kept.resonance_hz.map(|f| f / 1000.0), 2),
                figure(kept.q, 2),
                figure(kept.level_db, 1),
                words::hum(kept.hum_db),
                self.stands_for(kept).to_string(),
            ]);
            let mut below = vec![String::new(); table.columns().len()];
            below[1].clone_from(&kept.name);
            table.row(below);
        }
        (!table.rows().is_empty()).then_some(table)
    }

    /// Returns how many combinations are nearest to a position that is kept.
    pub fn stands_for(&self, kept: &CircuitFigures) -> usize {
        let near = |other: &&CircuitFigures| other.nearest.as_ref() == Some(&kept.name);
        self.circuits.iter().filter(near).map(|c| c.combinations.len()).sum()
    }

    /// Returns the circuits that are kept, those whose strings sound out of phase after the others.
    pub fn kept(&self) -> impl Iterator<Item = &CircuitFigures> {
        let called = |name: &String| self.circuits.iter().find(|circuit| circuit.name == *name);
        self.keep.positions.iter().filter_map(called)
    }
}

impl CoverFigures {
    fn new(within: f64, cover: &Cover, points: &Points, name: impl Fn(usize) -> String) -> Self {
        let count = cover.chosen.len();
        let row = |i: &usize| cover.chosen.iter().map(|j| points.distance(*i, *j)).collect();
        Self {
            within_db: within,
            positions: cover.chosen.iter().map(|point| name(*point)).collect(),
            at_least: match cover.proof {
                Proof::Fewest => count,
                Proof::AtLeast(bound) => bound,
            },
            is_fewest: cover.proof == Proof::Fewest,
            distances_db: if count > MOST_DISTANCES {
                Vec::new()
            } else {
                cover.chosen.iter().map(row).collect()
            },
        }
    }
}
