//! What takes tell, worked out beside the pages.

use std::fs;
use std::path::PathBuf;
use std::sync::Arc;
use std::thread::available_parallelism;

use drywire::confirm::{Confirmation as Told, Session, Take};
use drywire::guitar::Guitar;
use drywire::plot::{Confirmed, Theme, svg};
use drywire::sound::Sound;

use super::super::hear::{in_words, of_guitars};
use super::super::known::Known;
use super::super::works::{self, Kind, Stage};
use crate::panel::guitars::{Checked, Confirmation, FolderName, GuitarsError, TakeOf, TakesFor};
use crate::panel::server::Panel;

/// What takes tell.
#[derive(Debug)]
pub(super) struct Answer {
    pub(super) told: Told,
    /// One of each difference.
    pub(super) pictures: Vec<String>,
}

/// What the last takes told, or why they told nothing, by what that was worked out from.
#[derive(Debug, Default)]
pub(crate) struct KnownConfirmed(Known<String, Result<Answer, String>>);

/// How it stands.
pub(super) enum Standing {
    /// Nothing was recorded yet.
    Nothing,
    /// It is worked out.
    Works(String),
    Done(Arc<Result<Answer, String>>),
}

/// A voice and the recording of it.
type OfVoice = (String, PathBuf);

/// Returns where the takes of each voice lie, in the order in which they were played.
fn takes(panel: &Panel, own: &FolderName, recorded: &Confirmation) -> Result<Vec<OfVoice>, GuitarsError> {
    let take = |take: &TakeOf| {
        let path = panel.guitars.take(own, TakesFor::Confirming, &take.file)?;
        Ok((take.voice.clone(), path))
    };
    recorded.takes.iter().map(take).collect()
}

/// Returns what is worked out from these takes and the guitar's file, whose text this is.
fn key(own: &FolderName, text: &str, takes: &[OfVoice]) -> String {
    let files = takes.iter().map(|(_, path)| {
        let there = fs::metadata(path).ok();
        there.map(|there| (there.modified().ok(), there.len()))
    });
    format!("{own} {takes:?} {:?} {text}", files.collect::<Vec<_>>())
}

/// Returns what is known of these takes.
pub(super) fn known(
    panel: &Panel,
    own: &FolderName,
    text: &str,
    recorded: &Confirmation,
) -> Option<Arc<Result<Answer, String>>> {
    let key = key(own, text, &takes(panel, own, recorded).ok()?);
    panel.confirmed.0.find(|own, _| *own == key)
}

/// Returns how it stands; what is not known yet begins to be worked out, and the guitar's windows are told once it is.
pub(super) fn standing(
    panel: &Arc<Panel>,
    own: &FolderName,
    text: &str,
    checked: &Checked,
    recorded: &Confirmation,
) -> Standing {
    if recorded.takes.is_empty() {
        return Standing::Nothing;
    }
    let takes = match takes(panel, own, recorded) {
        Ok(takes) => takes,
        Err(error) => return Standing::Done(Arc::new(Err(of_guitars(&error)))),
    };
    if let Some(Stage::Works(words)) = panel.works.stage(own, Kind::Confirm) {
        return Standing::Works(words);
    }
    let key = key(own, text, &takes);
    if let Some(known) = panel.confirmed.0.find(|own, _| *own == key) {
        return Standing::Done(known);
    }
    // Work that breaks off leaves that behind, and is not begun anew.
    panel.confirmed.0.keep(key.clone(), Err("this broke off by a fault of the program".to_owned()));
    let words = "The strums are being weighed …";
    let (checked, guitar) = (Arc::clone(checked), own.clone());
    works::begin(panel, own, Kind::Confirm, words, move |panel, _| {
        let answer = match &*checked {
            Ok(own) => answered(own, &takes),
            Err(_) => Err("the guitar’s file has faults: mend them first".to_owned()),
        };
        let kept = answer.as_ref().map_or(Ok(()), |answer| panel.guitars.keep_answer(&guitar, &answer.told));
        panel.confirmed.0.keep(key, answer);
        kept.map(|()| String::new()).map_err(|error| of_guitars(&error))
    });
    Standing::Works(words.to_owned())
}

fn answered(guitar: &Guitar, takes: &[OfVoice]) -> Result<Answer, String> {
    let told = |error: drywire::confirm::ConfirmError| in_words(&error.to_string(), &error.hint());
    let names: Vec<&str> = takes.iter().map(|(name, _)| name.as_str()).collect();
    let session = Session::new(guitar, None, &names).map_err(told)?;
    let mut read = Vec::new();
    for (name, path) in takes {
        let sound = Sound::open(path).map_err(|error| in_words(&error.to_string(), error.hint()))?;
        read.push((name.clone(), Take::read(&sound).map_err(told)?));
    }
    let workers = available_parallelism().map_or(1, usize::from);
    let blocks = session.blocks(&read).map_err(told)?;
    let told = session.confirm(blocks, &session.forecast(workers).map_err(told)?);
    let pictures = Confirmed::all(guitar.name(), &told);
    Ok(Answer { pictures: pictures.iter().map(|own| svg(own, Theme::Adaptive)).collect(), told })
}
