//! The place where recordings tell whether a guitar that was soldered sounds as it was foretold.
//!
//! What was recorded, of which voice and in which order, is a record in the guitar's folder; nothing here changes the guitar's
//! file. What the takes tell is worked out beside the pages, and kept beside the record with its day.

mod answered;
mod heard;
mod page;
mod record;
mod voices;

use std::path::Path as FilePath;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use drywire::quantity::counted;
use drywire::sound::Sound;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::guitar::{Change, OfGuitar, Trouble, work};
use super::hear::{in_words, kept, of_guitars, refused};
use super::reply::folder;
use super::sent::{Form, Path, Query};
use crate::panel::guitars::{Confirmation, FolderName, Guitars, GuitarsError, Played, TakeOfFlips, TakesFor};
use crate::panel::server::Panel;

pub(crate) use answered::KnownConfirmed;
pub(crate) use heard::Notes;
pub(super) use heard::heard;
pub(super) use page::confirming;

/// So many single notes tell something.
const NOTES: usize = 16;

/// Keeps in which way it is recorded, or which two voices are set against each other.
pub(super) async fn set(of: OfGuitar, Form(change): Form<Change>) -> Response {
    if change.place == "way" {
        if let Some(way) = Played::ALL.into_iter().find(|way| way.kept() == change.value) {
            return at_record(&of, |guitars, own| guitars.keep_way(own, way));
        }
        let words = format!("`{}` is no way to record", change.value);
        return work(&of, |_| Some(Trouble::new(words, "choose one of the page")));
    }
    if !Confirmation::BETWEEN.contains(&change.place.as_str()) {
        let words = format!("what is recorded has no `{}`", change.place);
        return work(&of, |_| Some(Trouble::new(words, "choose a field of the page")));
    }
    at_record(&of, |guitars, own| guitars.keep_voice(own, &change.place, change.value.trim()))
}

/// Which take.
#[derive(Debug, Deserialize)]
pub(super) struct Which {
    number: usize,
}

/// Takes a take out of the record.
pub(super) async fn take_out(of: OfGuitar, Form(Which { number }): Form<Which>) -> Response {
    at_record(&of, |guitars, own| guitars.take_out_take(own, number))
}

/// Takes the take of single notes out of the record.
pub(super) async fn take_out_flips(of: OfGuitar) -> Response {
    at_record(&of, Guitars::take_out_flips)
}

/// Lays what was recorded aside and begins anew.
pub(super) async fn begin_anew(of: OfGuitar) -> Response {
    at_record(&of, Guitars::begin_confirmation_anew)
}

/// Does something with what was recorded and answers with the page.
fn at_record(
    of: &OfGuitar,
    change: impl FnOnce(&Guitars, &FolderName) -> Result<(), GuitarsError>,
) -> Response {
    let (_, State(panel), Path(given), Query(_)) = of;
    let done = block_in_place(|| folder(given).and_then(|own| change(&panel.guitars, &own)));
    work(of, |_| done.err().map(Trouble::from))
}

/// What its owner calls a take, and of which voice it is; or, of single notes, between which voices the switch was thrown.
#[derive(Debug, Deserialize)]
pub(super) struct OfVoice {
    #[serde(default)]
    name: String,
    #[serde(default)]
    voice: String,
    #[serde(default)]
    first: String,
    #[serde(default)]
    later: String,
}

/// Keeps a take of a voice, and answers with how many strums were heard in it; or one of single notes, and answers with what was heard.
pub(super) async fn keep_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(OfVoice { name, voice, first, later }): Query<OfVoice>,
    body: Body,
) -> Response {
    if !later.is_empty() {
        return keep_flips(&panel, &given, &name, [first, later], body).await;
    }
    if voice.is_empty() {
        return refused(in_words("it is not said in which throw this was recorded", "choose one above"));
    }
    let begun = folder(&given).and_then(|own| panel.guitars.begin_take(&own, TakesFor::Confirming, &name));
    let mut strums = 0;
    let kept = kept(begun, body, |path| {
        strums = heard_in(path).map_err(|why| format!("`{name}` tells nothing: {why}"))?;
        Ok(())
    });
    let told = kept.await.and_then(|file| {
        let added = block_in_place(|| panel.guitars.add_take_of(&folder(&given)?, &voice, &file, strums));
        added.map_err(|error| of_guitars(&error))?;
        Ok(strums.to_string())
    });
    told.map_or_else(refused, IntoResponse::into_response)
}

/// Keeps a take of single notes, the first of which begins in the first voice.
async fn keep_flips(panel: &Panel, given: &str, name: &str, between: [String; 2], body: Body) -> Response {
    if between[0] == between[1] || between[0].is_empty() {
        return refused(in_words("the switch is thrown between two voices", "choose two that differ above"));
    }
    let begun = folder(given).and_then(|own| panel.guitars.begin_take(&own, TakesFor::Confirming, name));
    let mut heard = [0; 2];
    let kept = kept(begun, body, |path| {
        heard = flips_in(path).map_err(|why| format!("`{name}` tells nothing: {why}"))?;
        Ok(())
    });
    let told = kept.await.and_then(|file| {
        let take = TakeOfFlips { between, file, heard: Some(heard) };
        let added = block_in_place(|| {
            let own = folder(given)?;
            panel.notes.end(&own);
            panel.guitars.keep_flips(&own, &take)
        });
        added.map_err(|error| of_guitars(&error))?;
        Ok(format!("{}, the switch thrown {}", counted(heard[0], "note"), counted(heard[1], "time")))
    });
    told.map_or_else(refused, IntoResponse::into_response)
}

/// Returns how many single notes are heard in a take, and how often a switch is thrown in them.
fn flips_in(path: &FilePath) -> Result<[usize; 2], String> {
    let sound = Sound::open(path).map_err(|error| in_words(&error.to_string(), error.hint()))?;
    let heard = heard::notes_in(&heard::take(&sound)?)?;
    match heard.notes {
        0 => Err(in_words(
            "no single note is heard in it that rings while the switch is thrown",
            "let one note ring for three seconds, throw the switch every half second, then the next note",
        )),
        notes => Ok([notes, heard.throws]),
    }
}

/// Returns how many strums are heard in a take.
fn heard_in(path: &FilePath) -> Result<usize, String> {
    let sound = Sound::open(path).map_err(|error| in_words(&error.to_string(), error.hint()))?;
    match heard::take(&sound)?.onsets().len() {
        0 => Err(in_words("no strum is heard in it", "look which input is recorded, and play the chord")),
        strums => Ok(strums),
    }
}

/// Answers with the picture of this number of what was foretold and measured.
pub(super) async fn picture(of: OfGuitar, Query(Which { number }): Query<Which>) -> Response {
    block_in_place(|| {
        let (_, State(panel), Path(given), Query(_)) = &of;
        let known = || {
            let own = folder(given).ok()?;
            let draft = panel.guitars.with(&own, |open| open.draft().clone()).ok()?;
            answered::known(panel, &own, draft.text(), &panel.guitars.confirmation(&own).ok()?)
        };
        let known = known();
        let answer = known.as_deref().and_then(|known| known.as_ref().ok());
        match answer.and_then(|answer| answer.pictures.get(number)) {
            Some(picture) => ([(CONTENT_TYPE, "image/svg+xml")], picture.clone()).into_response(),
            None => refused(in_words("there is no picture", "record first")),
        }
    })
}
