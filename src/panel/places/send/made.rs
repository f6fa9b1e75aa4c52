//! What can be sent, made by the same work that the commands do.

use std::fs;

use drywire::guitar::{Draft, Guitar};
use drywire::harness::{Harness, read_wires};
use drywire::job::{PAGE, SURVEY_PAGE};
use drywire::lugs::{Described, is_linked};
use drywire::response::Selection;

use super::super::hear::write_set;
use super::super::shown::Shown;
use crate::panel::guitars::{FolderName, GuitarsError};
use crate::panel::server::Panel;

/// What can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum What {
    /// The page that plays.
    Listen,
    /// The sheet of the whole cavity.
    Cavity,
    /// The sheet of the switch of this name.
    Switch(String),
    /// The page of the survey of this folder.
    Survey(String),
    /// All of the guitar's folder in one file.
    Archive,
}

impl What {
    /// Returns what a form asks for.
    pub(super) fn of(text: &str) -> Option<Self> {
        match text.split_once(':') {
            None => match text {
                "listen" => Some(Self::Listen),
                "cavity" => Some(Self::Cavity),
                "archive" => Some(Self::Archive),
                _ => None,
            },
            Some(("switch", name)) => Some(Self::Switch(name.to_owned())),
            Some(("survey", folder)) => Some(Self::Survey(folder.to_owned())),
            Some(_) => None,
        }
    }

    /// Returns what is said while it is made.
    pub(super) fn on_its_way(&self) -> String {
        let what = match self {
            Self::Listen => "The page that plays",
            Self::Cavity | Self::Switch(_) => "The sheet",
            Self::Survey(_) => "The survey’s page",
            Self::Archive => "The archive",
        };
        format!("{what} is being made …")
    }
}

/// Makes `what` and returns what is said of it.
pub(super) fn make(
    panel: &Panel,
    own: &FolderName,
    what: &What,
    shown: &Shown,
    tell: &(dyn Fn(String) + Sync),
) -> Result<String, String> {
    let told = |error: GuitarsError| format!("{error}: {}", error.hint());
    let name = match what {
        What::Archive => panel.guitars.send_folder(own).map_err(told)?,
        What::Survey(whose) => {
            let page = panel.guitars.survey_page(own, whose).map_err(told)?;
            panel.guitars.send_page(own, &format!("survey {whose}"), &page).map_err(told)?
        }
        What::Listen | What::Cavity | What::Switch(_) => {
            let draft = panel.guitars.with(own, |open| open.draft().clone()).map_err(told)?;
            let guitar =
                draft.check().map_err(|_| "the guitar’s file has faults: mend them first".to_owned())?;
            let (called, page) = match what {
                What::Cavity => ("cavity".to_owned(), cavity(&draft, &guitar)?),
                What::Switch(name) => (format!("switch {name}"), switch(&guitar, name)?),
                What::Listen | What::Survey(_) | What::Archive => listen(panel, own, &guitar, shown, tell)?,
            };
            panel.guitars.send_page(own, &called, &page).map_err(told)?
        }
    };
    Ok(format!("{name} is there."))
}

/// Returns the page that plays, and what it is called; its set lies among the guitar's own.
fn listen(
    panel: &Panel,
    own: &FolderName,
    guitar: &Guitar,
    shown: &Shown,
    tell: &(dyn Fn(String) + Sync),
) -> Result<(String, String), String> {
    let selection: Selection<'_> = shown.selection(guitar)?;
    let set = write_set(&panel.guitars, own, selection, shown, tell)?;
    let called = set.file_name().map_or("listen".into(), |name| name.to_string_lossy()).into_owned();
    let page =
        fs::read_to_string(set.join(PAGE)).map_err(|error| format!("the page could not be read: {error}"))?;
    Ok((called, page))
}

/// Returns the sheet of the whole cavity, beside the wires that the file states.
fn cavity(draft: &Draft, guitar: &Guitar) -> Result<String, String> {
    let harness = Harness::of(guitar).map_err(|error| format!("{error}: {}", error.hint()))?;
    let named = guitar.cavity().wires();
    let as_is = named.map(|named| read_wires(draft.document(), harness.parts(), named)).transpose();
    let as_is = as_is.map_err(|refusal| refusal.to_string())?;
    let none = "no plan exists: more has to meet at some lug than it has room for";
    let plan = harness.plan().ok_or(none)?;
    drywire::harness::sheet(&harness, &plan, as_is.as_deref()).map_err(|error| error.to_string())
}

/// Returns the sheet of the switch called `name`.
fn switch(guitar: &Guitar, name: &str) -> Result<String, String> {
    let switch = guitar.switches().iter().find(|switch| switch.name().value.as_str() == name);
    let switch = switch.ok_or_else(|| format!("the guitar has no switch `{name}`"))?;
    if is_linked(guitar, switch) {
        return Err(format!("switch `{name}` is joined with other switches: the sheet of the cavity has it"));
    }
    let described = Described::soldered(guitar, switch, None).map_err(|error| error.to_string())?;
    Ok(drywire::lugs::sheet(&described, guitar, guitar.switched_by(switch), Some(name)))
}

/// Returns the folders of the guitar's surveys that have a page.
pub(super) fn surveys(panel: &Panel, own: &FolderName) -> Vec<String> {
    let folders = panel.guitars.surveys(own);
    folders.into_iter().filter(|(_, path)| path.join(SURVEY_PAGE).is_file()).map(|(name, _)| name).collect()
}

#[cfg(test)]
mod tests {
    use super::What;

    #[test]
    fn what_a_form_asks_for_is_one_of_what_can_be_made() {
        assert_eq!(What::of("switch:mode"), Some(What::Switch("mode".to_owned())));
        assert_eq!(What::of("archive"), Some(What::Archive));
        for other in ["", "switch", "folder:/etc", "Listen"] {
            assert_eq!(What::of(other), None, "{other}");
        }
    }
}
