//! What the player asks for: sounds and kernels as floats, figures as the files of a set have them.

use std::iter;
use std::sync::Arc;

use axum::extract::State;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use drywire::filter::{base_length, most_before};
use drywire::job::{ASSUMED, Audition, JobError, RecordedRequest, Source, VoiceKernel};
use drywire::page::answer_of;
use drywire::render::{Amplifier, Channels};
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::Selection;
use drywire::sound::Sound;
use serde::Deserialize;
use serde_json::{Value, json};
use tokio::task::block_in_place;

use super::super::guitar::OfGuitar;
use super::super::reply::folder;
use super::super::sent::{Path, Query};
use super::super::shown::Shown;
use super::sounds::Played;
use crate::panel::guitars::{FolderName, GuitarsError};

/// Answers with the sound: a head, then its samples, channel after channel.
pub(in super::super) async fn sound(of: OfGuitar) -> Response {
    heard(&of, |about| {
        let Played { source, lead, frames, times, .. } = &*about.played;
        let planes = source.sound.planes().map_err(|error| in_words(&error.to_string(), error.hint()))?;
        let head = json!({
            "rate": source.sound.rate_hz(),
            "channels": planes.len(),
            "lead": lead,
            "frames": frames,
            "coils": about.played.coils(),
            "ahead": most_before(source.sound.rate_hz()),
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
pub(in super::super) async fn kernel(of: OfGuitar) -> Response {
    heard(&of, |about| {
        let voice = about.shown.asked(about.selection)?;
        let kernel = about.audition()?.kernel(voice).map_err(|error| of_job(&error))?;
        Ok(floats(&kernel_head(about.selection, voice, about.number, &kernel), &kernel.feeds))
    })
}

fn kernel_head(selection: &Selection<'_>, voice: usize, number: u64, kernel: &VoiceKernel) -> Value {
    json!({
        "number": number,
        "voice": selection.responses()[voice].voice().name(),
        "before": kernel.before,
        "feeds": kernel.feeds.len(),
    })
}

/// What of a voice is wanted behind the amplifier: so many frames from a frame of what is played on, before which there may be more.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Wanted {
    first: i64,
    count: u64,
    /// The gain before the stages, as it was told with another part of the same; none where it is to be worked out.
    drive: Option<f64>,
}

/// Answers with a part of the voice in front behind the amplifier, before any gain: a head, then its samples, channel after channel.
pub(in super::super) async fn amplified(of: OfGuitar, Query(wanted): Query<Wanted>) -> Response {
    /// The longest part: what is played at once.
    const MOST_SECONDS: u64 = 61;
    heard(&of, |about| {
        let rate_hz = about.played.source.sound.rate_hz();
        let asked = about
            .shown
            .amplification()
            .ok_or("it is heard without an amplifier: choose how hard it is driven")?;
        if wanted.count > MOST_SECONDS * u64::from(rate_hz)
            || wanted.drive.is_some_and(|gain| !(gain.is_finite() && gain > 0.0))
        {
            return Err(in_words("a part is longer than what is played", "load the page again"));
        }
        let audition = about.audition()?;
        let amplifier = match wanted.drive {
            Some(gain) => Some(Amplifier { rate_hz, gain, cabinet: asked.cabinet }),
            None => audition.amplifier(asked).map_err(|error| of_job(&error))?,
        };
        let amplifier = amplifier.ok_or_else(|| {
            in_words("the first arrangement is silent", "it would drive the amplifier: turn the volume up")
        })?;
        let first = about.played.lead.saturating_add_signed(wanted.first);
        let frames = first..first.saturating_add(wanted.count);
        let planes = audition.amplified(about.shown.asked(about.selection)?, amplifier, &frames);
        let planes = planes.map_err(|error| of_job(&error))?;
        let head = json!({ "number": about.number, "drive": amplifier.gain, "first": wanted.first });
        Ok(floats(&head, &planes))
    })
}

/// The rate of the device by which the guitar itself comes in, and how it is wired now.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Wired {
    rate: u32,
    wired: String,
}

/// Answers with the kernel that makes the guitar, wired as it is, sound as the voice in front does.
pub(in super::super) async fn live(of: OfGuitar, Query(Wired { rate, wired }): Query<Wired>) -> Response {
    /// What the kernel adds to what a browser and a sound card take.
    const LEAD_SECONDS: f64 = 1.5e-3;
    /// What of a kernel's usual length is enough.
    const SHARE: usize = 4;
    let (_, _, _, Query(shown)) = &of;
    answer(&of, |_, selection, number| {
        if !(8000..=192_000).contains(&rate) {
            return Err(in_words(
                "the input’s rate is not between 8 and 192 kHz",
                "choose another in the system’s settings",
            ));
        }
        let silence = Sound::from_planes("live", rate, vec![vec![0.0]]);
        let sound = silence.map_err(|error| in_words(&error.to_string(), error.hint()))?;
        let source = Source { sound, channels: Channels::Stereo, is_made: true };
        let recorded = RecordedRequest { through: &wired, guitar: None };
        let audition = Audition::new(selection, &source, Some(&recorded)).map_err(|error| of_job(&error))?;
        let voice = shown.asked(selection)?;
        let whole = audition.kernel(voice).map_err(|error| of_job(&error))?;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred frames")]
        let before = (LEAD_SECONDS * f64::from(rate)).round() as usize;
        let kernel = whole.shortened(before, base_length(rate) / SHARE);
        Ok(floats(&kernel_head(selection, voice, number, &kernel), &kernel.feeds))
    })
}

/// Answers with the gains and figures of a set of this sound.
pub(in super::super) async fn levels(of: OfGuitar) -> Response {
    heard(&of, |about| {
        let audition = about.audition()?;
        let told = match about.shown.amplification() {
            None => audition.figures().map(|figures| (figures, None)),
            Some(asked) => audition.figures_behind(asked).map(|told| (told.behind, Some(told.at_jack))),
        };
        let (figures, at_jack) = told.map_err(|error| of_job(&error))?;
        let voices =
            voices(&figures).zip(at_jack.iter().flat_map(voices).map(Some).chain(iter::repeat(None)));
        let voices: Vec<Value> = voices
            .map(|(mut own, at_jack)| {
                own["at_jack"] = at_jack.into();
                own
            })
            .collect();
        let told = json!({
            "number": about.number,
            "baseline": figures.baseline,
            "voices": voices,
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

fn voices(figures: &SetFigures) -> impl Iterator<Item = Value> {
    figures.arrangements.iter().map(|own| voice(own, figures.baseline()))
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

/// What is heard of a guitar.
struct Heard<'a, 'g> {
    selection: &'a Selection<'g>,
    shown: &'a Shown,
    played: Arc<Played>,
    number: u64,
}

impl<'g> Heard<'_, 'g> {
    fn audition(&self) -> Result<Audition<'_, 'g>, String> {
        let recorded = self.shown.recorded();
        Audition::new(self.selection, &self.played.source, recorded.as_ref()).map_err(|error| of_job(&error))
    }
}

/// Answers by `work` what is asked about the sound that is heard through a guitar, or says why not.
fn heard(of: &OfGuitar, work: impl FnOnce(&Heard<'_, '_>) -> Result<Response, String>) -> Response {
    let (_, panel, _, Query(shown)) = of;
    answer(of, |own, selection, number| {
        let played = panel.sounds.of(&panel.guitars, own, selection, shown);
        let played = played.map_err(|error| in_words(&error.to_string(), &error.hint()))?;
        work(&Heard { selection, shown, played, number })
    })
}

/// Answers by `work` what is asked about a guitar without faults, the voices shown of it and the number of its last change, or
/// says why not.
pub(super) fn answer(
    (_, State(panel), Path(given), Query(shown)): &OfGuitar,
    work: impl FnOnce(&FolderName, &Selection<'_>, u64) -> Result<Response, String>,
) -> Response {
    let answered = block_in_place(|| {
        let own = folder(given).map_err(|error| of_guitars(&error))?;
        let read = panel.guitars.with(&own, |open| (Arc::clone(open.checked()), open.number()));
        let (checked, number) = read.map_err(|error| of_guitars(&error))?;
        let Ok(guitar) = &*checked else {
            return Err(in_words("the guitar’s file has faults", "mend them first"));
        };
        work(&own, &shown.selection(guitar)?, number)
    });
    answered.unwrap_or_else(refused)
}

/// Returns why nothing can be done with a guitar or its takes, and what to do.
pub(in super::super) fn of_guitars(error: &GuitarsError) -> String {
    in_words(&error.to_string(), &error.hint())
}

fn of_job(error: &JobError) -> String {
    in_words(&error.to_string(), &error.hint("in another place"))
}

/// Returns why there is no answer, and what to do.
pub(in super::super) fn in_words(message: &str, hint: &str) -> String {
    if hint.is_empty() { message.to_owned() } else { format!("{message}: {hint}") }
}

/// Says in words why there is no answer.
pub(in super::super) fn refused(words: String) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, [(CONTENT_TYPE, "text/plain; charset=utf-8")], words).into_response()
}

/// Returns a head with floats behind it: four bytes with the head's length, the head as JSON with blanks up to a whole number
/// of floats, the floats, all little-endian.
pub(in super::super) fn floats(head: &Value, lists: &[Vec<f32>]) -> Response {
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
