//! What is wrong with volume knobs: told by the level of each coil with the knob at 0 and at 10, the other volumes half way.

use super::fault::{FaultKind, WiringFault};
use super::figures::{LOW, Settings};
use super::judge::Case;
use super::{Role, coils};

/// A level below this share of another is a knob's silence: the track's end leaves far less, and beside pickups that load it
/// a coil keeps more.
const TAKEN_DOWN: f64 = 1e-3;
/// A coil is heard from this share of its voltage on.
const HEARD: f64 = 0.01;
/// A level that changes by less than this ratio does not change.
const SAME: f64 = 2.0;

/// What a knob does to a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Swing {
    /// The coil is heard at neither end.
    NotHeard,
    DownAtZero,
    DownAtTen,
    Same,
    Otherwise,
}

impl Swing {
    fn of(at_zero: f64, at_ten: f64) -> Self {
        if at_zero.max(at_ten) < HEARD {
            Self::NotHeard
        } else if at_zero < TAKEN_DOWN * at_ten {
            Self::DownAtZero
        } else if at_ten < TAKEN_DOWN * at_zero {
            Self::DownAtTen
        } else if (1.0 / SAME..SAME).contains(&(at_zero / at_ten)) {
            Self::Same
        } else {
            Self::Otherwise
        }
    }
}

/// Returns what is wrong with volumes, and those that are backwards by the places of their tracks.
pub(super) fn judge(case: &Case<'_>, full: &Settings) -> (Vec<WiringFault>, Vec<usize>) {
    let volumes = case.tracks(Role::Volume);
    let half = volumes.iter().fold(full.clone(), |settings, volume| settings.with(*volume, 0.5));
    let (mut faults, mut backwards) = (Vec::new(), Vec::new());
    for volume in volumes {
        let mut places: [Vec<usize>; 4] = Default::default();
        for place in case.differing {
            let swings = swings(case, *place, volume, [full, &half]);
            let [back, none, dependent, independent] = kinds(case, volume, &swings);
            for (found, places) in [back, none, dependent, independent].into_iter().zip(&mut places) {
                if found {
                    places.push(*place);
                }
            }
        }
        let (name, called) = (case.name_of(volume), case.called(volume));
        if !places[0].is_empty() {
            backwards.push(volume);
        }
        let own = match case.harness.branches.tracks[volume].whose {
            Some(place) => format!("the {} pickup", case.harness.parts.guitar().pickups()[place].name()),
            None => "all".to_owned(),
        };
        let words = [
            format!("{called} is backwards: loud at 0, silent at 10"),
            format!("{called} does nothing"),
            format!("{called} at 0 takes others down with {own}"),
            format!("{called} at 0 silences {own} alone, and should take the others down too"),
        ];
        let kinds = [
            FaultKind::VolumeBackwards,
            FaultKind::VolumeNoEffect,
            FaultKind::VolumeDependent,
            FaultKind::VolumeIndependent,
        ];
        for ((kind, places), words) in kinds.into_iter().zip(&places).zip(words) {
            if !places.is_empty() {
                faults.push(case.harness.fault(
                    kind,
                    name,
                    places,
                    format!("{words}, {}", case.harness.at(places)),
                ));
            }
        }
    }
    (faults, backwards)
}

/// Returns what the knob of the track `volume` does to each coil that should be heard with every knob full, wanted and there.
fn swings(case: &Case<'_>, place: usize, volume: usize, [full, half]: [&Settings; 2]) -> Vec<[Swing; 2]> {
    let [zero, ten] = [0.0, 1.0].map(|fraction| {
        let settings = half.with(volume, fraction);
        case.heard(place, [&settings, &settings], LOW)
    });
    let wanted = zero.wanted.iter().zip(&ten.wanted).map(|(zero, ten)| Swing::of(zero.norm(), ten.norm()));
    let there = zero.there.iter().zip(&ten.there).map(|(zero, ten)| Swing::of(zero.norm(), ten.norm()));
    let is_wanted = coils::are_heard(&case.harness.heard(&case.harness.as_wanted, place, full, LOW));
    let swing = |((wanted, there), is_wanted)| if is_wanted { [wanted, there] } else { [Swing::NotHeard; 2] };
    wanted.zip(there).zip(is_wanted).map(swing).collect()
}

/// Returns whether the knob is backwards, does nothing, takes others down or leaves them, unlike what is wanted.
fn kinds(case: &Case<'_>, volume: usize, swings: &[[Swing; 2]]) -> [bool; 4] {
    let branches = &case.harness.branches;
    let whose = branches.tracks[volume].whose;
    let is_others = |coil: usize| whose.is_some_and(|own| branches.coils[coil].pickup != own);
    // Another pickup is quieter at 10 where that pickup loads it.
    let own = || swings.iter().enumerate().filter(|(coil, _)| !is_others(*coil)).map(|(_, swing)| swing);
    let is_backwards = own().any(|swing| *swing == [Swing::DownAtZero, Swing::DownAtTen]);
    let down = if is_backwards { Swing::DownAtTen } else { Swing::DownAtZero };
    let taken: Vec<&[Swing; 2]> = swings
        .iter()
        .filter(|[wanted, there]| *wanted == Swing::DownAtZero && *there != Swing::NotHeard)
        .collect();
    let has_none = !taken.is_empty() && taken.iter().all(|[_, there]| *there == Swing::Same);
    let others = || swings.iter().enumerate().filter(|(coil, _)| is_others(*coil)).map(|(_, swing)| swing);
    let own_down = own().any(|[_, there]| *there == down);
    let is_heard = |swing: Swing| matches!(swing, Swing::Same | Swing::Otherwise);
    let is_dependent = others().any(|[wanted, there]| is_heard(*wanted) && *there == down);
    let is_independent =
        own_down && others().any(|[wanted, there]| *wanted == Swing::DownAtZero && is_heard(*there));
    [is_backwards, has_none, is_dependent, is_independent]
}
