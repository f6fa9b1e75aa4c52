//! The place where every combination of a guitar is gone through, and the few are found that stand for all.

mod page;
mod ways;

use std::fs;
use std::path::Path as FilePath;

use axum::extract::State;
use axum::response::Response;
use drywire::folder::Existing;
use drywire::guitar::Guitar;
use drywire::job::{SurveyProgress, SurveyRequest};
use drywire::quantity::Db;
use drywire::survey::{Radii, SurveyFigures};
use serde::Deserialize;

use super::guitar::{OfGuitar, Trouble, work};
use super::reply::folder;
use super::sent::{Form, Path, Query};
use super::works::{self, Kind};
use crate::panel::guitars::{FILE, FolderName};
use crate::panel::server::Panel;

pub(super) use page::surveyed;
use ways::Ways;

/// The folder of a survey of all pickups.
const ALL: &str = "all";
/// The file that tells of a survey.
const LIST: &str = "survey.json";
/// The most bytes of it that are read.
const MOST: u64 = 64 << 20;

/// How a survey is asked for.
#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    /// A pickup's name, or nothing for all of them.
    heard: String,
    /// Which ways to join the coils, by [`Ways::name`].
    #[serde(default)]
    ways: String,
    /// How near to one that is kept all others are to lie, in dB.
    within: String,
}

/// Begins a survey.
pub(super) async fn make(of: OfGuitar, Form(asked): Form<Asked>) -> Response {
    let (_, State(panel), Path(given), Query(_)) = &of;
    let trouble = match (folder(given), within(&asked.within)) {
        (Ok(own), Some(within)) => {
            let guitar = own.clone();
            let begun =
                works::begin(panel, &own, Kind::Survey, "The circuits are found …", move |panel, tell| {
                    survey(panel, &guitar, &asked, within, tell)
                });
            (!begun).then(|| Trouble::new("a survey is being made already", "wait until it is there"))
        }
        (Ok(_), None) => Some(Trouble::new(
            format!("`{}` is no distance in dB", asked.within),
            format!("write one from {} to {}", Radii::ALLOWED.start(), Radii::ALLOWED.end()),
        )),
        // The page says that there is no such guitar.
        (Err(_), _) => None,
    };
    work(&of, |_| trouble)
}

fn within(text: &str) -> Option<Db> {
    if text.is_empty() {
        return Some(Radii::WITHIN);
    }
    let within = Db::new(text.replace(',', ".").parse().ok()?);
    Radii::ALLOWED.contains(&within).then_some(within)
}

/// Makes the survey that is asked for and returns what is said of it.
fn survey(
    panel: &Panel,
    own: &FolderName,
    Asked { heard, ways, .. }: &Asked,
    within: Db,
    tell: &(dyn Fn(String) + Sync),
) -> Result<String, String> {
    let told = |error: crate::panel::guitars::GuitarsError| format!("{error}: {}", error.hint());
    let draft = panel.guitars.with(own, |open| open.draft().clone()).map_err(told)?;
    let guitar = draft.check().map_err(|_| "the guitar’s file has faults: mend them first".to_owned())?;
    let ways = Ways::of(&guitar, heard, ways);
    let out = panel.guitars.survey(own, &whose(heard, ways)).map_err(told)?;
    let home = panel.guitars.home(own).map_err(told)?;
    let request = SurveyRequest {
        pickup: (!heard.is_empty()).then(|| heard.clone()),
        arrangements: ways.arrangements(&guitar),
        radii: Radii { within, ..Radii::default() },
        existing: Existing::ReplaceOwn,
        inputs: vec![home.join(FILE)],
        ..SurveyRequest::new(&guitar, &out)
    };
    let made = request.check().and_then(|job| {
        job.make(&|progress| match progress {
            SurveyProgress::Heard { done, of } => tell(format!("{done} of {of} circuits are heard …")),
            SurveyProgress::GoesOn { .. } | SurveyProgress::Replaces { .. } | SurveyProgress::Renders(_) => {}
        })
    });
    let made =
        made.map_err(|error| format!("{error}: {}", error.hint("by `drywire survey` with another folder")))?;
    Ok(format!("{}.", made.figures.count()))
}

/// Returns the name of the folder of a survey. No pickup's name has a blank in it.
fn whose(heard: &str, ways: Ways) -> String {
    let name = if heard.is_empty() { ALL.to_owned() } else { FolderName::for_guitar(heard).to_string() };
    match ways {
        Ways::Only | Ways::AsSwitched => name,
        Ways::Every => format!("{name} every way"),
    }
}

/// Returns the survey in a folder, and whether the guitar's file was changed since.
fn known(home: &FilePath, folder: &FilePath) -> Option<(SurveyFigures, bool)> {
    let list = folder.join(LIST);
    let there = fs::symlink_metadata(&list).ok().filter(|there| there.is_file() && there.len() <= MOST)?;
    let figures = serde_json::from_str(&fs::read_to_string(&list).ok()?).ok()?;
    let changed = fs::metadata(home.join(FILE)).and_then(|file| file.modified()).ok();
    let is_old = changed.zip(there.modified().ok()).is_some_and(|(changed, made)| changed > made);
    Some((figures, is_old))
}

/// Returns what is heard at *Hear* where a circuit of a survey is: a pickup's name, or all positions.
fn heard_at(guitar: &Guitar, heard: &str) -> String {
    let first = || guitar.pickups().first().map(|pickup| pickup.name().to_string()).unwrap_or_default();
    match (heard, guitar.joined().is_empty()) {
        ("", false) => super::shown::POSITIONS.to_owned(),
        ("", true) => first(),
        (pickup, _) => pickup.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_distance_is_typed_as_people_write_it() {
        for (text, taken) in
            [("", Some(3.0)), ("1,5", Some(1.5)), ("6", Some(6.0)), ("0", None), ("far", None), ("NaN", None)]
        {
            assert_eq!(within(text), taken.map(Db::new), "{text}");
        }
    }
}
