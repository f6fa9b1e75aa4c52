//! A band holds what it says: of guitars drawn apart from the program by the stated ranges, 88 to 92 % lie inside, for
//! resonance, Q, drop, and curves averaged pointwise, on all built-in pickups.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::collections::BTreeMap;

use crate::common::neutral::neutral;
use drywire::bands::{Band, BandsInput, bands};
use drywire::digest::Digest;
use drywire::guitar::{Guitar, pickup_presets};
use drywire::response::{Scope, Voice, VoiceResponse};
use drywire::wiring::Arrangement;

const DRAWS: usize = 4000;
const PROMISED: std::ops::RangeInclusive<f64> = 0.88..=0.92;
/// By how much the mean over all figures may be off nine in ten, which a law that the program does not draw by would move.
const BIAS: f64 = 0.003;
/// 16,000 guitars a pickup, drawn and solved by `tests/tools/draw_guitars.py`. The share that 4,000 of them have inside ends which
/// 4,000 draws told has a standard error of 0.67 % (0.47 % by the guitars, 0.47 % by the draws), so that of 58 figures one in
/// seven times some figure would lie outside though all is right; with 16,000 it is 0.53 %.
const DRAWN: &str = include_str!("../data/drawn_guitars.csv");

/// How a figure of the drawn guitars is spread: the shares below, and the figures.
struct Spread<'s> {
    shares: &'s [f64],
    figures: Vec<f64>,
}

impl Spread<'_> {
    /// The share of the drawn guitars below `figure`, which must lie in one of the two tails that are told.
    fn below(&self, figure: f64) -> f64 {
        let middle = self.figures.len() / 2;
        let tail =
            if figure <= self.figures[middle - 1] { 1..middle } else { middle + 1..self.figures.len() };
        for i in tail {
            let (low, high) = (self.figures[i - 1], self.figures[i]);
            if (low..=high).contains(&figure) {
                let between = if high > low { (figure - low) / (high - low) } else { 0.5 };
                return self.shares[i - 1] + (self.shares[i] - self.shares[i - 1]) * between;
            }
        }
        panic!("{figure} lies in neither tail: {:?}", self.figures);
    }

    fn held(&self, band: Band) -> f64 {
        self.below(band.high) - self.below(band.low)
    }
}

type Drawn<'s> = BTreeMap<[&'s str; 3], Spread<'s>>;

fn numbers(row: &str) -> Vec<f64> {
    row.split(',').skip(3).map(|number| number.parse().unwrap()).collect()
}

fn name_of(row: &'static str) -> [&'static str; 3] {
    let mut fields = row.split(',');
    std::array::from_fn(|_| fields.next().unwrap())
}

#[test]
fn nine_in_ten_guitars_that_were_drawn_apart_lie_inside_the_bands() {
    let mut rows = DRAWN.lines();
    let shares = numbers(rows.next().unwrap());
    let (digests, rows): (Vec<&str>, Vec<&str>) = rows.partition(|row| name_of(row)[2] == "sha256");
    let drawn: Drawn<'_> =
        rows.iter().map(|row| (name_of(row), Spread { shares: &shares, figures: numbers(row) })).collect();
    let mut shares_held = Vec::new();
    for preset in pickup_presets() {
        let digest = Digest::of(preset.text.as_bytes());
        assert!(
            digests.contains(&format!("{},,sha256,{digest}", preset.name).as_str()),
            "`{}` is not what was drawn from: run tests/tools/draw_guitars.py again",
            preset.name
        );
        let guitar = Guitar::with_built_in_pickup(preset.name).unwrap();
        let scope = Scope::from(&guitar.pickups()[0]);
        let names: &[Arrangement] = match guitar.pickups()[0].coil_b() {
            Some(_) => &[Arrangement::Series, Arrangement::Parallel, Arrangement::SplitA],
            None => &[Arrangement::Alone],
        };
        let voices: Vec<VoiceResponse> =
            names.iter().map(|name| Voice::of(*name).response(&guitar, scope).unwrap()).collect();
        let source = neutral();
        let input = BandsInput { guitar: &guitar, scope, voices: &voices, baseline: 0, source: &source };
        let told = bands(&input, DRAWS, 2).unwrap();
        for (voice, own) in names.iter().zip(&told.voices) {
            let held = |figure: &str, band: Band| drawn[&[preset.name, voice.name(), figure]].held(band);
            let figures = [("resonance_hz", own.resonance), ("q", own.q), ("drop_low_db", own.drop)];
            for (figure, band) in figures {
                let Some(band) = band else { continue };
                let share = held(figure, band);
                println!("{}, {}, {figure}: {:.1} %", preset.name, voice.name(), 100.0 * share);
                assert!(PROMISED.contains(&share), "{}, {}, {figure}: {share}", preset.name, voice.name());
                shares_held.push(share);
            }
            for (curve, at) in [("response", &own.response), ("difference", &own.difference)] {
                let held: Vec<f64> = at
                    .iter()
                    .enumerate()
                    .filter_map(|(i, at)| {
                        let figure = format!("{curve}_{i}");
                        drawn.get(&[preset.name, voice.name(), figure.as_str()]).map(|s| s.held(at.band))
                    })
                    .collect();
                if held.is_empty() {
                    assert!(curve == "difference" && *voice == names[0]);
                    continue;
                }
                let share = held.iter().sum::<f64>() / held.len() as f64;
                println!(
                    "{}, {}, {curve} at {} points: {:.1} %",
                    preset.name,
                    voice.name(),
                    held.len(),
                    100.0 * share
                );
                assert!(
                    held.len() >= 15 && PROMISED.contains(&share),
                    "{}, {}, {curve}: {share}",
                    preset.name,
                    voice.name()
                );
                shares_held.push(share);
            }
        }
    }
    // Four pickups of two coils: three resonances, three Q, two drops, three responses, two differences; two of one coil.
    assert_eq!(shares_held.len(), 4 * 13 + 2 * 3);
    let mean = shares_held.iter().sum::<f64>() / shares_held.len() as f64;
    assert!((mean - 0.9).abs() < BIAS, "{mean}");
}
