//! What is heard of single notes while they are recorded, counted by the program as they come in.

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use drywire::confirm::{FlipsHeard, Take};
use drywire::quantity::counted;
use drywire::sound::Sound;
use maud::{Markup, html};
use tokio::task::block_in_place;

use super::super::hear::{in_words, of_guitars, refused};
use super::super::incoming::{Incoming, Piece};
use super::super::reply::folder;
use super::super::sent::{Path, Query};
use super::NOTES;
use crate::panel::server::Panel;

/// The recordings of notes that come in, a plane of samples a channel.
pub(crate) type Notes = Incoming<Vec<Vec<f64>>>;

/// Takes a piece of a recording, and answers with how many notes are heard in all of it, and what to do next.
pub(in super::super) async fn heard(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(piece): Query<Piece>,
    bytes: Bytes,
) -> Response {
    let told = block_in_place(|| {
        let own = folder(&given).and_then(|own| panel.guitars.with(&own, |_| own.clone()));
        let own = own.map_err(|error| of_guitars(&error))?;
        let begin = || Ok(vec![Vec::new(); piece.channels]);
        panel.notes.add(&own, &piece, &bytes, begin, |all, planes| {
            for (own, plane) in all.iter_mut().zip(planes) {
                own.extend(plane);
            }
            let sound = Sound::from_planes("what comes in", piece.rate, all.clone());
            let take = take(&sound.map_err(|error| in_words(&error.to_string(), error.hint()))?)?;
            Ok(so_far(notes_in(&take)?, take.is_clipped()))
        })
    });
    told.map_or_else(refused, IntoResponse::into_response)
}

/// Reads a sound into what is heard in it.
pub(super) fn take(sound: &Sound) -> Result<Take, String> {
    Take::read(sound).map_err(|error| in_words(&error.to_string(), &error.hint()))
}

/// Returns what is heard of notes in a take.
pub(super) fn notes_in(take: &Take) -> Result<FlipsHeard, String> {
    let heard = take.flips_heard();
    heard.map_err(|error| in_words(&error.to_string(), "record at the sound card’s own rate, such as 48 kHz"))
}

/// Returns the counts and what to do next, each with the name of what it takes the place of.
fn so_far(heard: FlipsHeard, is_clipped: bool) -> Markup {
    html! {
        output #counted { (heard.notes) }
        output #thrown { (heard.throws) }
        p #stage { (next(heard, is_clipped)) }
    }
}

fn next(heard: FlipsHeard, is_clipped: bool) -> String {
    if is_clipped {
        return "The input reaches its end: stop, turn it down, and record again.".to_owned();
    }
    let chords = match heard.chords {
        0 => String::new(),
        chords => format!(" {} left out, since strings that sound together beat.", counted(chords, "chord")),
    };
    if heard.notes >= NOTES {
        return format!("That is enough: damp the strings and press Stop.{chords}");
    }
    format!(
        "Let one note ring for three seconds and throw the switch every half second; then the next note.{chords}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_to_do_next_follows_from_what_was_heard() {
        let heard = |notes: usize, chords: usize| FlipsHeard { notes, throws: 5 * notes, chords };
        for (heard, is_clipped, words) in [
            (heard(0, 0), false, "throw the switch every half second"),
            (heard(15, 2), false, "2 chords left out"),
            (heard(16, 0), false, "press Stop"),
            (heard(3, 0), true, "turn it down"),
        ] {
            let told = next(heard, is_clipped);
            assert!(told.contains(words), "{told}");
        }
    }
}
