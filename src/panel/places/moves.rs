//! How much each value of a guitar moves what is heard: worked out beside the pages, which show it when it is known.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::{Mutex, OnceLock, PoisonError};

use drywire::bands::{BandsInput, sensitivity};
use drywire::guitar::Guitar;
use drywire::guitar::keys::GUITAR;
use drywire::measure::CrossSpectrum;
use drywire::response::Selection;

/// What each place of a guitar moves, in dB.
pub(super) type Moves = BTreeMap<String, f64>;

/// The most guitars' files of which it is kept.
const MOST: usize = 64;

#[derive(Default)]
struct Known {
    moves: HashMap<String, Moves>,
    asked: HashSet<String>,
}

fn known() -> std::sync::MutexGuard<'static, Known> {
    static KNOWN: OnceLock<Mutex<Known>> = OnceLock::new();
    KNOWN.get_or_init(Mutex::default).lock().unwrap_or_else(PoisonError::into_inner)
}

/// Returns what is known of the guitar whose file says `text`; where nothing is, `then` is called once it is.
pub(super) fn of(text: &str, guitar: &Guitar, then: impl FnOnce() + Send + 'static) -> Option<Moves> {
    let mut all = known();
    if let Some(moves) = all.moves.get(text) {
        return Some(moves.clone());
    }
    if all.asked.insert(text.to_owned()) {
        let (text, guitar) = (text.to_owned(), guitar.clone());
        tokio::task::spawn_blocking(move || {
            let moves = worked_out(&guitar);
            let mut all = known();
            all.asked.remove(&text);
            if all.moves.len() >= MOST {
                all.moves.clear();
            }
            all.moves.insert(text, moves);
            drop(all);
            then();
        });
    }
    None
}

fn worked_out(guitar: &Guitar) -> Moves {
    let none: [&str; 0] = [];
    let Ok(selection) = Selection::of_names(guitar, None, &none, None) else { return Moves::new() };
    // No loudness is asked for, by which the source would count.
    let source = CrossSpectrum::of(48_000, &vec![vec![0.0; 8192]; selection.responses()[0].coils().len()]);
    let input = BandsInput {
        guitar,
        scope: selection.scope(),
        voices: selection.responses(),
        baseline: selection.baseline(),
        source: &source,
    };
    let all = sensitivity(&input).unwrap_or_default();
    all.into_iter()
        .flat_map(|own| places_of(guitar, &own.part).into_iter().map(move |place| (place, own.moves_db)))
        .collect()
}

/// Returns the places in the guitar's file of what is called so: `bridge, coil A, resistance`, or as one unknown `bridge,
/// both coils, inductance`.
fn places_of(guitar: &Guitar, part: &str) -> Vec<String> {
    let mut at = String::new();
    let mut rest = part;
    for (i, pickup) in guitar.pickups().iter().enumerate() {
        if let Some(own) = part.strip_prefix(pickup.name().as_str()).and_then(|own| own.strip_prefix(", ")) {
            (at, rest) = (format!("pickup[{i}]."), own);
        }
    }
    let own = match rest {
        "volume pot" => &["controls.volume.pot"][..],
        "tone pot" => &["controls.tone.pot"],
        "tone capacitor" => &["controls.tone.capacitor"],
        "treble bleed's capacitor" => &["controls.bleed.capacitor"],
        "treble bleed's resistor" => &["controls.bleed.resistor"],
        "bass cut's pot" => &["controls.bass_cut.pot"],
        "bass cut's capacitor" => &["controls.bass_cut.capacitor"],
        "fixed load" => &["controls.load"],
        "blend pot" => &["blend.pot"],
        "cable" => &["cable.length", "cable.total"],
        "coupling" => &["coupling"],
        _ => &[],
    };
    let mut places: Vec<String> = own.iter().map(|own| format!("{at}{own}")).collect();
    if let Some((coil, value)) = rest.split_once(", ") {
        let coils = match coil {
            "coil A" => &["coil_a"][..],
            "coil B" => &["coil_b"],
            "both coils" => &["coil_a", "coil_b"],
            _ => &[],
        };
        places.extend(coils.iter().map(|coil| format!("{at}{coil}.{}", value.replace(' ', "_"))));
    }
    places.retain(|place| place.parse().is_ok_and(|place| GUITAR.key_at(&place).is_some()));
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_one_unknown_is_told_at_each_of_its_places() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let moves = worked_out(&guitar);
        assert!(moves.len() > 10, "{moves:?}");
        let of = |place: &str| moves.get(place).copied().unwrap_or_default();
        let [a, b] = ["a", "b"].map(|coil| of(&format!("pickup[0].coil_{coil}.inductance")));
        assert!(a > 0.3 && (a - b).abs() < 1e-12, "both coils are off alike: {moves:?}");
        assert!(of("cable.length") > 0.3, "{moves:?}");
    }
}
