//! The place where the guitar's own coils are measured: by a recording of the sound card's input, by another instrument's table, or
//! by single readings.
//!
//! What is told beside the recording is a record in the guitar's folder, and no value of its file: that is changed by one press,
//! as `drywire measure --save` changes it.

mod heard;
mod page;
mod wanted;
mod worked;

use std::fs;
use std::path::Path as FilePath;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::http::HeaderValue;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use drywire::folder::Existing;
use drywire::impedance::{Known, Reading, Signal, curve};
use drywire::job::SignalRequest;
use drywire::sound::Sound;
use serde::Deserialize;
use serde_json::json;
use tokio::task::block_in_place;

use self::worked::{Bench, Outcome};
use super::guitar::{Change, OfGuitar, Trouble, change_with, work};
use super::hear::{Called, floats, in_words, kept, of_guitars, refused};
use super::prove::asked_of_ohms;
use super::reply::folder;
use super::sent::{Form, Path, Query};
use crate::panel::guitars::{Measurement, TakesFor};
use crate::panel::server::Panel;
use crate::panel::view::Asked;

pub(crate) use heard::Previews;
pub(super) use heard::heard;
pub(super) use page::measuring;
pub(crate) use worked::KnownMeasured;

/// What is a recording's own: it is of one pickup.
const OF_A_PICKUP: [&str; 4] = ["take", "ohms", "volume_reads", "state"];

/// Keeps what is told of the measurement.
pub(super) async fn set(of: OfGuitar, Form(change): Form<Change>) -> Response {
    let trouble = block_in_place(|| {
        let (_, State(panel), Path(given), Query(_)) = &of;
        let (place, told) = (change.place.as_str(), change.value.trim());
        if !Measurement::KEYS.contains(&place) {
            return Some(Trouble::new(
                format!("a measurement has no `{place}`"),
                "choose a field of the page",
            ));
        }
        if let Some(asked) = asked(place, told) {
            return Some(Trouble::Value(asked));
        }
        let kept = folder(given).and_then(|own| {
            panel.guitars.keep_measurement(&own, place, told)?;
            if place == "pickup" {
                OF_A_PICKUP.iter().try_for_each(|key| panel.guitars.keep_measurement(&own, key, ""))?;
            }
            Ok(())
        });
        kept.err().map(Trouble::from)
    });
    work(&of, |_| trouble)
}

/// Returns what is asked about a text that is not clearly what belongs at `place`.
fn asked(place: &str, told: &str) -> Option<Asked> {
    if told.is_empty() {
        return None;
    }
    let refused = |message: String| {
        Some(Asked { place: place.to_owned(), text: told.to_owned(), message, readings: Vec::new() })
    };
    let with_hint = |error: &dyn std::fmt::Display, hint: &str| refused(format!("{error}: {hint}"));
    match place {
        "ohms" | "volume_reads" => asked_of_ohms(place, told),
        "known" => told.parse::<Known>().err().and_then(|error| with_hint(&error, error.hint())),
        "series" => wanted::series(told).err().and_then(refused),
        "lcr" => Reading::inductance(told).err().and_then(|error| with_hint(&error, error.hint())),
        "resonance" => Reading::peaks(told).err().and_then(|error| with_hint(&error, error.hint())),
        _ => None,
    }
}

/// Keeps a recording, or another instrument's table, and has it told from.
pub(super) async fn keep_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Called { name }): Query<Called>,
    body: Body,
) -> Response {
    let begun = folder(&given).and_then(|own| panel.guitars.begin_take(&own, TakesFor::Measuring, &name));
    let kept =
        kept(begun, body, |path| is_evidence(path).map_err(|why| format!("`{name}` tells nothing: {why}")));
    let chosen = kept.await.and_then(|take| {
        block_in_place(|| {
            let own = folder(&given)?;
            panel.guitars.keep_measurement(&own, "from", "")?;
            panel.guitars.keep_measurement(&own, "take", &take)
        })
        .map_err(|error| of_guitars(&error))?;
        Ok(take)
    });
    chosen.map_or_else(refused, IntoResponse::into_response)
}

/// Says why the file at `path` is neither a sound nor a table.
fn is_evidence(path: &FilePath) -> Result<(), String> {
    if wanted::is_table(path) {
        let table = fs::read(path).map_err(|error| error.to_string())?;
        return curve(&table).map(drop).map_err(|error| in_words(&error.to_string(), error.hint()));
    }
    Sound::open(path).map(drop).map_err(|error| in_words(&error.to_string(), error.hint()))
}

/// Puts a recording into the system's bin.
pub(super) async fn remove_take(of: OfGuitar, Form(Called { name }): Form<Called>) -> Response {
    let (_, State(panel), Path(given), Query(_)) = &of;
    let removed = block_in_place(|| {
        let own = folder(given)?;
        panel.guitars.remove_take(&own, TakesFor::Measuring, &name)?;
        // Another may have been chosen meanwhile.
        let is_chosen = panel.guitars.measurement(&own)?.at("take") == name;
        if is_chosen { panel.guitars.keep_measurement(&own, "take", "") } else { Ok(()) }
    });
    work(&of, |_| removed.err().map(Trouble::from))
}

/// The rate at which the signal is played.
#[derive(Debug, Deserialize)]
pub(super) struct Rate {
    rate: u32,
}

/// Answers with the signal: a head that says what is connected when, then its samples.
pub(super) async fn signal(Query(Rate { rate }): Query<Rate>) -> Response {
    block_in_place(|| match Signal::new(rate) {
        Ok(signal) => {
            let sections = Signal::sections().map(|section| {
                json!({ "from": section.from_s, "to": section.to_s, "words": section.device.words() })
            });
            let head = json!({ "rate": rate, "lasts": Signal::seconds(), "sections": sections });
            #[expect(clippy::cast_possible_truncation, reason = "a sound card takes no more than 24 bits")]
            let samples = signal.samples().iter().map(|sample| *sample as f32).collect();
            floats(&head, &[samples])
        }
        Err(error) => refused(in_words(&error.to_string(), error.hint())),
    })
}

/// Answers with the signal as a file, to be played by another program.
pub(super) async fn signal_file(Query(Rate { rate }): Query<Rate>) -> Response {
    let made = block_in_place(|| {
        let folder = tempfile::tempdir().map_err(|error| error.to_string())?;
        let out = folder.path().join("sweep.wav");
        let request = SignalRequest { rate_hz: rate, out: out.clone(), existing: Existing::Keep };
        request.make().map_err(|error| in_words(&error.to_string(), &error.hint("in another place")))?;
        fs::read(out).map_err(|error| error.to_string())
    });
    match made {
        Ok(bytes) => {
            let mut response = Body::from(bytes).into_response();
            let headers = response.headers_mut();
            headers.insert(CONTENT_TYPE, HeaderValue::from_static("audio/wav"));
            headers
                .insert(CONTENT_DISPOSITION, HeaderValue::from_static("attachment; filename=\"sweep.wav\""));
            response
        }
        Err(words) => refused(words),
    }
}

/// Returns what is known of the measurement of a guitar as its file stands.
fn known(of: &OfGuitar, draft: &drywire::guitar::Draft) -> Result<Option<Arc<Outcome>>, Trouble> {
    let (_, State(panel), Path(given), Query(_)) = of;
    let own = folder(given)?;
    let measurement = panel.guitars.measurement(&own)?;
    Ok(Bench { own: &own, draft, measurement: &measurement }.known(panel))
}

/// Answers with the picture of what was measured.
pub(super) async fn picture(of: OfGuitar) -> Response {
    block_in_place(|| {
        let (_, State(panel), Path(given), Query(_)) = &of;
        let draft = folder(given).and_then(|own| panel.guitars.with(&own, |open| open.draft().clone()));
        let outcome = draft.map_err(Trouble::from).and_then(|draft| known(&of, &draft));
        let picture = match outcome.ok().flatten().as_deref() {
            Some(Outcome::Values(values)) => values.picture.clone(),
            Some(Outcome::Refused(_) | Outcome::Failed(_)) | None => None,
        };
        match picture {
            Some(picture) => ([(CONTENT_TYPE, "image/svg+xml")], picture).into_response(),
            None => refused(in_words("there is no picture", "measure first")),
        }
    })
}

/// Puts what was measured into the guitar's file.
pub(super) async fn put(of: OfGuitar) -> Response {
    change_with(&of, |_, draft| match known(&of, &draft)?.as_deref() {
        Some(Outcome::Values(values)) if values.are_of(draft.text()) => {
            Ok((format!("what was measured of {}", values.pickup), values.after.clone()))
        }
        Some(Outcome::Values(_)) => Err(Trouble::new("the values are in the guitar’s file already", "")),
        Some(Outcome::Refused(_) | Outcome::Failed(_)) | None => {
            Err(Trouble::new("no values are known yet", "wait until they are worked out, or measure first"))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::asked;

    #[test]
    fn what_cannot_serve_is_refused_at_its_field_with_what_can() {
        for (place, told) in [
            ("known", "9.98k"),
            ("known", ""),
            ("ohms", "7.7k"),
            ("series", "100k"),
            ("series", "1M"),
            ("lcr", "1,9 H @ 1 kHz"),
            ("resonance", "3.1k with 470p, 2.4k with 1n"),
            ("at", "a"),
        ] {
            assert!(asked(place, told).is_none(), "{place}: {told}");
        }
        for (place, told, words) in [
            ("known", "ten", "10k 1%"),
            ("known", "10", "500 Ω to 200 kΩ"),
            ("ohms", "7.7", "what does the meter say"),
            ("series", "much", "such as 100k"),
            ("series", "47", "kΩ to 10"),
            ("lcr", "much", "1.9H@1kHz"),
            ("resonance", "3k", "with 470p"),
        ] {
            let asked = asked(place, told).unwrap();
            assert!(asked.message.contains(words), "{}", asked.message);
        }
    }
}
