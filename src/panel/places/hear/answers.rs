//! What the player asks for: sounds and kernels as floats, figures as the files of a set have them.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use drywire::guitar::Guitar;
use drywire::job::{ASSUMED, Audition, JobError, RecordedRequest, Source};
use drywire::page::answer_of;
use drywire::render::Channels;
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::Selection;
use drywire::sound::Sound;
use serde::Deserialize;
use serde_json::{Value, json};
use tokio::task::block_in_place;

use super::super::guitar::{Shown, selected};
use super::super::reply::folder;
use super::sounds::{NoSound, Played};
use crate::panel::server::Panel;

/// Answers with the sound: a head, then its samples, channel after channel.
pub(in super::super) async fn sound(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    answer(&panel, &given, &shown, |about| {
        let Played { source, lead, frames, times, .. } = about.played;
        let planes = source.sound.planes().map_err(|error| in_words(&error.to_string(), error.hint()))?;
        let head = json!({
            "rate": source.sound.rate_hz(),
            "channels": planes.len(),
            "lead": lead,
            "frames": frames,
            "coils": about.played.coils(),
            "from": times[0].value(),
            "lasts": times[1].value(),
            "whole": times[2].value(),
        });
        #[expect(clippy::cast_possible_truncation, reason = "a sound card takes no more than 24 bits")]
        let planes: Vec<Vec<f32>> =
            planes.iter().map(|plane| plane.iter().map(|sample| *sample as f32).collect()).collect();
        Ok(floats(&head, &planes))
    })
}

/// Answers with the kernel of the voice in front: a head, then its taps, feed after feed.
pub(in super::super) async fn kernel(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    answer(&panel, &given, &shown, |about| {
        let (index, name) = about.voice(&shown);
        let kernel = about.audition()?.kernel(index).map_err(|error| of_job(&error))?;
        let head = json!({
            "number": about.number,
            "voice": name,
            "before": kernel.before,
            "feeds": kernel.feeds.len(),
        });
        Ok(floats(&head, &kernel.feeds))
    })
}

/// The rate of the device by which the guitar itself comes in, and how it is wired now.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Wired {
    rate: u32,
    wired: String,
}

/// Answers with the kernel that makes the guitar, wired as it is, sound as the voice in front does.
pub(in super::super) async fn live(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    wired: Query<Wired>,
) -> Response {
    /// What the kernel adds to what a browser and a sound card take.
    const LEAD_SECONDS: f64 = 1.5e-3;
    const LENGTH: usize = 2048;
    answer(&panel, &given, &shown, |about| {
        if !(8000..=192_000).contains(&wired.rate) {
            return Err(in_words(
                "the input’s rate is not between 8 and 192 kHz",
                "choose another in the system’s settings",
            ));
        }
        let silence = Sound::from_planes("live", wired.rate, vec![vec![0.0]]);
        let sound = silence.map_err(|error| in_words(&error.to_string(), error.hint()))?;
        let source = Source { sound, channels: Channels::Stereo, is_made: true };
        let recorded = RecordedRequest { through: &wired.wired, guitar: None };
        let audition =
            Audition::new(about.selection, &source, Some(&recorded)).map_err(|error| of_job(&error))?;
        let (index, name) = about.voice(&shown);
        let whole = audition.kernel(index).map_err(|error| of_job(&error))?;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred frames")]
        let before = (LEAD_SECONDS * f64::from(wired.rate)).round() as usize;
        let doublings = (wired.rate / 48_001).next_power_of_two() as usize;
        let kernel = whole.shortened(before, LENGTH * doublings.max(1));
        let head = json!({ "number": about.number, "voice": name, "before": kernel.before, "feeds": kernel.feeds.len() });
        Ok(floats(&head, &kernel.feeds))
    })
}

/// Answers with the gains and figures of a set of this sound.
pub(in super::super) async fn levels(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    answer(&panel, &given, &shown, |about| {
        let figures = about.audition()?.figures().map_err(|error| of_job(&error))?;
        let baseline = figures.baseline();
        let voices = figures.arrangements.iter().map(|own| voice(own, baseline));
        let told = json!({
            "number": about.number,
            "baseline": figures.baseline,
            "voices": voices.collect::<Vec<_>>(),
            "notes": notes(&figures),
        });
        Ok(([(CONTENT_TYPE, "application/json")], told.to_string()).into_response())
    })
}

fn notes(figures: &SetFigures) -> Vec<String> {
    // What is assumed of the guitar stands beside its values.
    let assumed = figures
        .assumed
        .iter()
        .filter(|assumed| *assumed == ASSUMED)
        .map(|assumed| format!("assumed: {assumed}"));
    assumed.chain(figures.notes.iter().cloned()).collect()
}

fn voice(own: &ArrangementFigures, baseline: Option<&ArrangementFigures>) -> Value {
    let centroid = |of: &ArrangementFigures| of.as_is.as_ref().and_then(|file| file.spectral_centroid_hz);
    let plain = baseline.map(|baseline| answer_of(own, baseline).to_string());
    json!({
        "name": own.name,
        "true_db": own.as_is.as_ref().map(|file| file.gain_db),
        "matched_db": own.matched.as_ref().map(|file| file.gain_db),
        "rms_dbfs": own.as_is.as_ref().and_then(|file| file.rms_dbfs),
        "rms_db": own.drop_rms_db,
        "loudness_lu": own.drop_loudness_lu,
        "centroid_hz": centroid(own),
        "approximate": own.approximate,
        "plain": plain.unwrap_or_default(),
    })
}

/// What is asked about.
pub(super) struct About<'a, 'g> {
    selection: &'a Selection<'g>,
    played: &'a Played,
    through: &'a str,
    number: u64,
}

impl<'a, 'g> About<'a, 'g> {
    /// Returns the place of the voice in front, and its name.
    fn voice(&self, shown: &Shown) -> (usize, &'a str) {
        let responses = self.selection.responses();
        let index = responses.iter().position(|own| own.voice().name() == shown.voice);
        let index = index.unwrap_or(self.selection.baseline());
        (index, responses[index].voice().name())
    }

    fn audition(&self) -> Result<Audition<'a, 'g>, String> {
        let recorded = (!self.through.is_empty() && self.played.coils() == 0)
            .then_some(RecordedRequest { through: self.through, guitar: None });
        Audition::new(self.selection, &self.played.source, recorded.as_ref()).map_err(|error| of_job(&error))
    }
}

/// Answers by `work` what is asked about the guitar in the folder `given`, or says why not.
fn answer(
    panel: &Panel,
    given: &str,
    shown: &Shown,
    work: impl FnOnce(&About<'_, '_>) -> Result<Response, String>,
) -> Response {
    let answered = block_in_place(|| {
        let of = |error: &NoSound| in_words(&error.to_string(), &error.hint());
        let own = folder(given).map_err(|error| of(&error.into()))?;
        let read = panel.guitars.with(&own, |open| (Arc::clone(open.checked()), open.number()));
        let (checked, number) = read.map_err(|error| of(&error.into()))?;
        let Ok(guitar): &Result<Guitar, _> = &*checked else {
            return Err(in_words("the guitar’s file has faults", "mend them first"));
        };
        let selection = selected(guitar, shown)?;
        let played = panel
            .sounds
            .of(&panel.guitars, &own, guitar, selection.scope(), shown)
            .map_err(|error| of(&error))?;
        work(&About { selection: &selection, played: &played, through: &shown.through, number })
    });
    answered.unwrap_or_else(refused)
}

fn of_job(error: &JobError) -> String {
    in_words(&error.to_string(), &error.hint("in another place"))
}

/// Returns why there is no answer, and what to do.
pub(super) fn in_words(message: &str, hint: &str) -> String {
    if hint.is_empty() { message.to_owned() } else { format!("{message}: {hint}") }
}

/// Says in words why there is no answer.
pub(super) fn refused(words: String) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, [(CONTENT_TYPE, "text/plain; charset=utf-8")], words).into_response()
}

/// Returns a head with floats behind it: four bytes with the head's length, the head as JSON with blanks up to a whole number
/// of floats, the floats, all little-endian.
fn floats(head: &Value, lists: &[Vec<f32>]) -> Response {
    let mut head = head.clone();
    head["lengths"] = lists.iter().map(Vec::len).collect();
    let mut text = head.to_string();
    while !text.len().is_multiple_of(4) {
        text.push(' ');
    }
    let floats: usize = lists.iter().map(Vec::len).sum();
    let mut bytes = Vec::with_capacity(4 + text.len() + 4 * floats);
    bytes.extend(u32::try_from(text.len()).unwrap_or(0).to_le_bytes());
    bytes.extend(text.as_bytes());
    for list in lists {
        bytes.extend(list.iter().flat_map(|float| float.to_le_bytes()));
    }
    ([(CONTENT_TYPE, "application/octet-stream")], bytes).into_response()
}
