//! What no ohmmeter at the jack can see, whatever is soldered.

use super::report::Test;
use crate::guitar::{Guitar, Pickup};

/// Returns what may be wrong on any guitar like this one while every reading is right.
pub(super) fn on_any(guitar: &Guitar) -> Vec<Test> {
    let test = |what: &str, settle_by: &str| Test { what: what.to_owned(), settle_by: settle_by.to_owned() };
    let mut all = vec![
        test(
            "the shield, the bridge or a cover is not on ground",
            "continuity between each of them and the jack's sleeve: a beep; plugged in at low volume, hum must \
             not rise when a hand touches the strings (common practice)",
        ),
        test(
            "a few turns of a coil are shorted: within the band of the ohms",
            "compare the two coils' ohms at the same warmth, and their swings by the same tool",
        ),
        test(
            "a coil's winding sense or top pole is not what the file says: hum is then not as told",
            "a compass over each coil's poles; plugged in at low volume, compare the hum of the throws",
        ),
        test(
            "a joint is cold and opens when it is moved",
            "read again while a wooden stick moves each lead in turn: the digits must rest",
        ),
    ];
    let mut controls =
        std::iter::once(guitar.controls()).chain(guitar.pickups().iter().map(Pickup::controls));
    if controls.clone().any(|own| own.tone().is_some()) {
        all.push(test(
            "the tone capacitor is missing, broken or of another value: no direct current flows in it",
            "read at the jack with the tone at 0: if the reading changes, the capacitor leaks or is shorted; \
             plugged in, turn the tone down: the sound must darken",
        ));
    }
    if controls.any(|own| own.bleed().is_some()) {
        all.push(test(
            "the treble bleed is missing or broken: with the volume full it is bridged",
            "plugged in, turn the volume down: the treble must stay",
        ));
    }
    all
}
