//! What takes tell, worked out beside the pages.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::available_parallelism;

use drywire::confirm::{ConfirmError, Confirmation as Told, Session, Take};
use drywire::guitar::Guitar;
use drywire::plot::{Confirmed, Theme, svg};
use drywire::sound::Sound;

use super::super::hear::{in_words, of_guitars};
use super::super::known::Known;
use super::super::works::{self, Kind, Stage};
use crate::panel::guitars::{Checked, Confirmation, FolderName, GuitarsError, Played, TakesFor};
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

/// A recording, or several, each with what it is of.
#[derive(Debug)]
enum Recorded {
    /// A voice each, in the order in which they were played.
    Strums(Vec<(String, PathBuf)>),
    /// Single notes, and between which voices the switch was thrown.
    Flips([String; 2], PathBuf),
}

impl Recorded {
    /// Returns what was recorded in the way that is chosen, where anything was.
    fn of(panel: &Panel, own: &FolderName, kept: &Confirmation) -> Result<Option<Self>, GuitarsError> {
        let path = |file: &str| panel.guitars.take(own, TakesFor::Confirming, file);
        Ok(match kept.played {
            Played::Strums => {
                let takes: Result<Vec<_>, GuitarsError> =
                    kept.takes.iter().map(|take| Ok((take.voice.clone(), path(&take.file)?))).collect();
                Some(takes?).filter(|takes| !takes.is_empty()).map(Self::Strums)
            }
            Played::Flips => match &kept.flips {
                Some(take) => Some(Self::Flips(take.between.clone(), path(&take.file)?)),
                None => None,
            },
        })
    }

    fn files(&self) -> Vec<&Path> {
        match self {
            Self::Strums(takes) => takes.iter().map(|(_, path)| path.as_path()).collect(),
            Self::Flips(_, path) => vec![path],
        }
    }

    /// Returns what is worked out from this and the guitar's file, whose text this is.
    fn key(&self, own: &FolderName, text: &str) -> String {
        let files = self.files().into_iter().map(|path| {
            let there = fs::metadata(path).ok();
            there.map(|there| (there.modified().ok(), there.len()))
        });
        format!("{own} {self:?} {:?} {text}", files.collect::<Vec<_>>())
    }

    /// Returns what is said while it is worked out.
    fn works(&self) -> &'static str {
        match self {
            Self::Strums(_) => "The strums are being weighed …",
            Self::Flips(..) => "The notes are being weighed …",
        }
    }

    fn told(&self, guitar: &Guitar) -> Result<Told, String> {
        let in_own = |error: ConfirmError| in_words(&error.to_string(), &error.hint());
        let read = |path: &Path| {
            let sound = Sound::open(path).map_err(|error| in_words(&error.to_string(), error.hint()))?;
            Take::read(&sound).map_err(in_own)
        };
        let workers = available_parallelism().map_or(1, usize::from);
        match self {
            Self::Strums(takes) => {
                let names: Vec<&str> = takes.iter().map(|(name, _)| name.as_str()).collect();
                let session = Session::new(guitar, None, &names).map_err(in_own)?;
                let read: Result<Vec<_>, String> =
                    takes.iter().map(|(name, path)| Ok((name.clone(), read(path)?))).collect();
                let blocks = session.blocks(&read?).map_err(in_own)?;
                Ok(session.confirm(blocks, &session.forecast(workers).map_err(in_own)?))
            }
            Self::Flips(between, path) => {
                let session = Session::new(guitar, None, between).map_err(in_own)?;
                session.confirm_flips(&read(path)?, workers).map_err(in_own)
            }
        }
    }
}

/// Returns what is known of these takes.
pub(super) fn known(
    panel: &Panel,
    own: &FolderName,
    text: &str,
    recorded: &Confirmation,
) -> Option<Arc<Result<Answer, String>>> {
    let key = Recorded::of(panel, own, recorded).ok()??.key(own, text);
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
    let played = recorded.played;
    let recorded = match Recorded::of(panel, own, recorded) {
        Ok(Some(recorded)) => recorded,
        Ok(None) => return Standing::Nothing,
        Err(error) => return Standing::Done(Arc::new(Err(of_guitars(&error)))),
    };
    if let Some(Stage::Works(words)) = panel.works.stage(own, Kind::Confirm) {
        return Standing::Works(words);
    }
    let key = recorded.key(own, text);
    if let Some(known) = panel.confirmed.0.find(|own, _| *own == key) {
        return Standing::Done(known);
    }
    // Work that breaks off leaves that behind, and is not begun anew.
    panel.confirmed.0.keep(key.clone(), Err("this broke off by a fault of the program".to_owned()));
    let words = recorded.works();
    let (checked, guitar) = (Arc::clone(checked), own.clone());
    works::begin(panel, own, Kind::Confirm, words, move |panel, _| {
        let answer = match &*checked {
            Ok(own) => answered(own, &recorded),
            Err(_) => Err("the guitar’s file has faults: mend them first".to_owned()),
        };
        let kept =
            answer.as_ref().map_or(Ok(()), |answer| panel.guitars.keep_answer(&guitar, played, &answer.told));
        panel.confirmed.0.keep(key, answer);
        kept.map(|()| String::new()).map_err(|error| of_guitars(&error))
    });
    Standing::Works(words.to_owned())
}

fn answered(guitar: &Guitar, recorded: &Recorded) -> Result<Answer, String> {
    let told = recorded.told(guitar)?;
    let pictures = Confirmed::all(guitar.name(), &told);
    Ok(Answer { pictures: pictures.iter().map(|own| svg(own, Theme::Adaptive)).collect(), told })
}
