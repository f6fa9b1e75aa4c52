//! What is wrong with tone knobs: told by the swing of the trebles and of the basses with the knob, every volume loud.

use super::fault::{FaultKind, WiringFault};
use super::figures::{HIGH, LOW, Settings};
use super::judge::{Case, Heard};
use super::{Role, coils};

/// Trebles that fall to less than this share are a tone knob's effect.
const DARK: f64 = 0.7;
/// Basses that fall to less than this share are a volume's.
const QUIET: f64 = 0.3;
/// Basses that keep more than this share are no volume's.
const KEPT: f64 = 0.5;

/// Returns what is wrong with tone knobs in the states that sound.
pub(super) fn judge(case: &Case<'_>, sounding: &[Heard], settings: [&Settings; 2]) -> Vec<WiringFault> {
    let mut faults = Vec::new();
    for tone in case.tracks(Role::Tone) {
        let mut places: [Vec<usize>; 3] = Default::default();
        for heard in sounding {
            let Some(kind) = wrong(case, heard, tone, settings) else { continue };
            places[kind as usize].push(heard.place);
        }
        let (name, called) = (case.name_of(tone), case.called(tone));
        for ((kind, words), places) in [
            (FaultKind::ToneBackwards, "is backwards: dark at 10, bright at 0"),
            (FaultKind::ToneNoEffect, "does nothing"),
            (FaultKind::ToneAsVolume, "takes the level down: its capacitor is bypassed"),
        ]
        .into_iter()
        .zip(&places)
        {
            if !places.is_empty() {
                let words = format!("{called} {words}, {}", case.harness.at(places));
                faults.push(case.harness.fault(kind, name, places, words));
            }
        }
    }
    faults
}

/// What may be wrong with a tone knob.
#[derive(Clone, Copy)]
enum Wrong {
    Backwards,
    NoEffect,
    AsVolume,
}

fn wrong(case: &Case<'_>, heard: &Heard, tone: usize, settings: [&Settings; 2]) -> Option<Wrong> {
    let common = coils::heard_in_both(heard);
    let [[wanted_low, there_low], [wanted_high, there_high]] = [LOW, HIGH].map(|hertz| {
        let [zero, ten] = [0.0, 1.0].map(|fraction| {
            let [wanted, there] = settings.map(|own| own.with(tone, fraction));
            let heard = case.heard(heard.place, [&wanted, &there], hertz);
            [heard.wanted, heard.there].map(|own| common.iter().map(|coil| own[*coil].norm()).sum::<f64>())
        });
        [zero[0] / ten[0], zero[1] / ten[1]]
    });
    // Where a pickup is not heard, its own tone has nothing to act on.
    let branches = &case.harness.branches;
    let is_own =
        |coil: &usize| branches.tracks[tone].whose.is_none_or(|own| branches.coils[*coil].pickup == own);
    if !common.iter().any(is_own) {
        return None;
    }
    let acts = wanted_high < DARK;
    if there_low.min(1.0 / there_low) < QUIET && wanted_low > KEPT {
        Some(Wrong::AsVolume)
    } else if acts && there_high > 1.0 / DARK {
        Some(Wrong::Backwards)
    } else if acts && there_high >= DARK {
        Some(Wrong::NoEffect)
    } else {
        None
    }
}
