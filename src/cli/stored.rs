//! The set that a command plays, and what is said where it cannot be.

use std::path::Path;

use drywire::job::PAGE;
use drywire::set::StoredSet;

use super::wrap::wrapped;
use super::{Console, Failure};

/// Returns the set in `folder`.
pub(crate) fn stored(folder: &Path) -> Result<StoredSet, Failure> {
    StoredSet::open(folder).map_err(|e| Failure::input(e.to_string(), e.hint()))
}

/// Says which amplifier a set is heard through, where there is one.
pub(crate) fn note_amplifier(set: &StoredSet, console: &mut Console) {
    if let Some(amplifier) = &set.figures().amplifier {
        console.note(wrapped(&format!("This set is heard through {}.", amplifier.words()), "", ""));
    }
}

/// Returns the place of the arrangement called `name` in `set`.
pub(crate) fn place_of(set: &StoredSet, name: &str) -> Result<usize, Failure> {
    set.position(name).ok_or_else(|| {
        let names: Vec<&str> = set.takes().iter().map(|take| take.name.as_str()).collect();
        let message = format!("the set in `{}` has no arrangement `{name}`", set.folder().display());
        Failure::input(message, format!("it has {}", names.join(", ")))
    })
}

/// Returns a failure that says why the set in `folder` cannot be heard through a sound card, and offers its page.
pub(crate) fn no_sound(folder: &Path, why: &str) -> Failure {
    let page = folder.join(PAGE);
    let hint = if page.is_file() {
        format!("open `{}` in a browser; it plays and compares the same set", page.display())
    } else {
        format!("render the set with `drywire hear`; its {PAGE} plays and compares it in a browser")
    };
    Failure::input(format!("the set cannot be played through a sound card: {why}"), hint)
}

/// Returns what is said where the program was built without the sound card.
#[cfg(not(feature = "sound-card"))]
pub(crate) fn without_card(folder: &Path) -> Failure {
    no_sound(folder, "this drywire was built without one (without the feature sound-card)")
}
