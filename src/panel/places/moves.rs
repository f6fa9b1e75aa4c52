//! How much each value of a guitar moves what is heard, and how it is measured: worked out beside the pages, which show it
//! when it is known.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::sleep;
use std::time::Duration;

use drywire::bands::sensitivity;
use drywire::guitar::Guitar;
use drywire::response::Selection;

use crate::panel::guitars::{Checked, FolderName, Told};
use crate::panel::server::Panel;
use crate::panel::view::Moves;

/// So long a guitar rests before it is worked out.
const REST: Duration = Duration::from_millis(400);
/// The most guitars' files of which it is kept.
const MOST: usize = 64;

/// What is known by the texts of guitars' files, and what is asked for.
#[derive(Debug, Default)]
pub(crate) struct KnownMoves(Mutex<Known>);

#[derive(Debug, Default)]
struct Known {
    moves: HashMap<String, Arc<Moves>>,
    /// Of each guitar the last text that was asked for: while a knob is turned, those before it do not count any more.
    wanted: BTreeMap<FolderName, Wish>,
    is_working: bool,
}

#[derive(Debug)]
struct Wish {
    text: String,
    guitar: Checked,
    number: u64,
}

impl KnownMoves {
    fn known(&self) -> MutexGuard<'_, Known> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn next(&self) -> Option<(FolderName, Wish)> {
        let mut known = self.known();
        let next = known.wanted.pop_first();
        known.is_working = next.is_some();
        next
    }

    fn keep(&self, text: String, moves: Moves) {
        let mut known = self.known();
        if known.moves.len() >= MOST {
            known.moves.clear();
        }
        known.moves.insert(text, Arc::new(moves));
    }
}

/// Returns what is known of the guitar in `folder`, whose file says `text` at its change of this `number`; where nothing is,
/// its windows are told once it is.
pub(super) fn of(
    panel: &Arc<Panel>,
    folder: &FolderName,
    text: &str,
    guitar: &Checked,
    number: u64,
) -> Option<Arc<Moves>> {
    let mut known = panel.moves.known();
    if let Some(moves) = known.moves.get(text) {
        return Some(Arc::clone(moves));
    }
    let wish = Wish { text: text.to_owned(), guitar: Arc::clone(guitar), number };
    known.wanted.insert(folder.clone(), wish);
    if !known.is_working {
        known.is_working = true;
        let panel = Arc::clone(panel);
        tokio::task::spawn_blocking(move || work_out_all(&panel));
    }
    None
}

fn work_out_all(panel: &Panel) {
    loop {
        // While a knob is turned the processor is the curve's.
        sleep(REST);
        let Some((folder, Wish { text, guitar, number })) = panel.moves.next() else { return };
        let moves = (*guitar).as_ref().map_or_else(|_| Moves::new(), worked_out);
        panel.moves.keep(text, moves);
        panel.guitars.tell(Told::Changed(folder, number));
    }
}

fn worked_out(guitar: &Guitar) -> Moves {
    let Ok(selection) = Selection::usual(guitar) else { return Moves::new() };
    let all = sensitivity(&selection).unwrap_or_default();
    let each = all
        .into_iter()
        .flat_map(|own| own.places.into_iter().map(move |place| (place, (own.moves_db, own.measure_by))));
    each.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use drywire::guitar::keys::GUITAR;

    #[test]
    fn what_is_one_unknown_is_told_at_each_of_its_places() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let moves = worked_out(&guitar);
        assert!(moves.len() > 10, "{moves:?}");
        for place in moves.keys() {
            assert!(GUITAR.key_at(&place.parse().unwrap()).is_some(), "{place}");
        }
        let of = |place: &str| moves.get(place).map(|(db, _)| *db).unwrap_or_default();
        let [a, b] = ["a", "b"].map(|coil| of(&format!("pickup[0].coil_{coil}.inductance")));
        assert!(a > 0.3 && (a - b).abs() < 1e-12, "both coils are off alike: {moves:?}");
        assert!(of("cable.length") > 0.3, "{moves:?}");
    }
}
