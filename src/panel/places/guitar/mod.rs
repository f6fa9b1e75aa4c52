//! A guitar: every value of its file to be changed, its circuit and its responses as they stand.

mod change;
mod page;
mod views;

use std::sync::Arc;

use axum::extract::{FromRequestParts, State};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use drywire::guitar::{Draft, DraftError, Guitar};
use maud::Markup;
use serde::Deserialize;
use tokio::task::block_in_place;

use self::change::{change_part, set_value, take_out, trouble};
use super::reply::{failed, folder};
use super::sent::{Form, Path, Query};
use super::shown::Shown;
use super::starters;
use crate::panel::guitars::{Checked, GuitarsError, OpenGuitar, Way};
use crate::panel::server::Panel;
use crate::panel::view::{Asked, Doubted, GuitarPlace, notice};

pub(super) use views::{option_of, shell_quoted, voices_of};

/// Where something is done, and what of which guitar is shown there.
pub(super) type OfGuitar = (At, State<Arc<Panel>>, Path<String>, Query<Shown>);

/// At which of a guitar's places something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct At(pub(super) GuitarPlace);

impl<S: Sync> FromRequestParts<S> for At {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        // The first two segments are the panel's own and `g`, the third is the guitar's folder.
        let segment = parts.uri.path().split('/').nth(4).unwrap_or_default();
        let place = GuitarPlace::ALL.into_iter().find(|place| place.path().trim_end_matches('/') == segment);
        Ok(Self(place.unwrap_or(GuitarPlace::Guitar)))
    }
}

/// A value to be changed, or a part to be added or taken out.
#[derive(Debug, Deserialize)]
pub(super) struct Change {
    pub(super) place: String,
    #[serde(default)]
    pub(super) value: String,
}

/// Which of two texts is kept.
#[derive(Debug, Deserialize)]
pub(super) struct Kept {
    keep: String,
}

/// What went otherwise than was asked for.
pub(super) enum Trouble {
    Value(Asked),
    Reading(Box<Doubted>),
    Other { message: String, hint: String },
}

impl Trouble {
    /// Returns why something was not done, and what to do.
    pub(super) fn new(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Other { message: message.into(), hint: hint.into() }
    }

    /// Returns the same in words.
    pub(super) fn words(&self) -> String {
        match self {
            Self::Value(asked) => asked.message.clone(),
            Self::Reading(doubted) => doubted.asked.message.clone(),
            Self::Other { message, hint } if hint.is_empty() => message.clone(),
            Self::Other { message, hint } => format!("{message}: {hint}"),
        }
    }

    /// Returns the notice that says so.
    pub(super) fn notice(&self) -> Markup {
        match self {
            Self::Value(asked) => notice(&asked.message, ""),
            Self::Reading(doubted) => notice(&doubted.asked.message, ""),
            Self::Other { message, hint } => notice(message, hint),
        }
    }
}

impl From<GuitarsError> for Trouble {
    fn from(error: GuitarsError) -> Self {
        Self::new(error.to_string(), error.hint())
    }
}

impl From<DraftError> for Trouble {
    fn from(error: DraftError) -> Self {
        Self::new(error.to_string(), error.hint())
    }
}

/// Returns the guitar whose file has no fault.
pub(super) fn faultless(checked: &Checked) -> Result<&Guitar, Trouble> {
    (**checked).as_ref().map_err(|_| Trouble::new("the guitar’s file has faults", "mend them first"))
}

/// Shows the guitar.
pub(super) async fn show(of: OfGuitar) -> Response {
    work(&of, |_| None)
}

/// Changes one value.
pub(super) async fn set(of: OfGuitar, Form(change): Form<Change>) -> Response {
    work(&of, |open| set_value(open, &change))
}

/// Adds a part.
pub(super) async fn add(of: OfGuitar, Form(Change { place, .. }): Form<Change>) -> Response {
    work(&of, |open| change_part(open, &place, starters::add))
}

/// Takes a part out.
pub(super) async fn remove(of: OfGuitar, Form(Change { place, .. }): Form<Change>) -> Response {
    work(&of, |open| change_part(open, &place, take_out))
}

/// Takes the last change back.
pub(super) async fn undo(of: OfGuitar) -> Response {
    work(&of, |open| trouble(open.go(Way::Undo).map(drop), None))
}

/// Does again what was taken back.
pub(super) async fn redo(of: OfGuitar) -> Response {
    work(&of, |open| trouble(open.go(Way::Redo).map(drop), None))
}

/// Keeps one of two texts that clash.
pub(super) async fn settle(of: OfGuitar, Form(Kept { keep }): Form<Kept>) -> Response {
    work(&of, |open| {
        open.settle(keep == "own");
        None
    })
}

/// A part of a guitar's page, of the address of the place and how the guitar stands.
pub(super) type PartOfPage<'p> = &'p dyn Fn(&str, &OpenState) -> Markup;

/// Does some `work` on a guitar and answers with its page.
pub(super) fn work(of: &OfGuitar, work: impl FnOnce(&mut OpenGuitar) -> Option<Trouble>) -> Response {
    answered(of, work, None)
}

/// Does some `work` on a guitar and answers with its page, or with `part` of it alone.
fn answered(
    (At(place), State(panel), Path(given), Query(shown)): &OfGuitar,
    work: impl FnOnce(&mut OpenGuitar) -> Option<Trouble>,
    part: Option<PartOfPage<'_>>,
) -> Response {
    block_in_place(|| {
        let told = panel.guitars.told();
        let made = folder(given).and_then(|own| {
            let (trouble, state) =
                panel.guitars.with(&own, |open| (work(open), OpenState::of(open, told)))?;
            Ok((own, trouble, state))
        });
        match made {
            Ok((own, trouble, state)) => {
                page::page(*place, panel, &own, shown, &state, trouble.as_ref(), part).into_response()
            }
            Err(error) => failed(&panel.base(), &error),
        }
    })
}

/// Changes a guitar's file as another place does: `change` is given the guitar, or its faults, and the draft, and returns what the
/// change is called, and the draft with it.
pub(super) fn change_with(
    of: &OfGuitar,
    change: impl FnOnce(&Checked, Draft) -> Result<(String, Draft), Trouble>,
) -> Response {
    work(of, |open| changed(open, change))
}

/// Does the same and answers with `part` of the page alone: the windows are told of the change, and ask for all of it.
pub(super) fn change_quickly(
    of: &OfGuitar,
    change: impl FnOnce(&Checked, Draft) -> Result<(String, Draft), Trouble>,
    part: PartOfPage<'_>,
) -> Response {
    answered(of, |open| changed(open, change), Some(part))
}

fn changed(
    open: &mut OpenGuitar,
    change: impl FnOnce(&Checked, Draft) -> Result<(String, Draft), Trouble>,
) -> Option<Trouble> {
    let checked = Arc::clone(open.checked());
    let (called, changed) = match change(&checked, open.draft().clone()) {
        Ok(changed) => changed,
        Err(trouble) => return Some(trouble),
    };
    change_draft(open, called, changed)
}

/// Puts a `changed` draft in the place of a guitar's, and returns why not where it was not taken.
pub(super) fn change_draft(open: &mut OpenGuitar, called: String, changed: Draft) -> Option<Trouble> {
    let taken = open.change(called, None, |draft| {
        *draft = changed;
        Ok(())
    });
    trouble(taken, None)
}

/// A guitar as its page needs it.
pub(super) struct OpenState {
    pub(super) draft: Draft,
    pub(super) checked: Checked,
    number: u64,
    told: u64,
    undo: Option<String>,
    redo: Option<String>,
    is_saved: bool,
    clashes: bool,
    trouble: Option<String>,
}

impl OpenState {
    fn of(open: &OpenGuitar, told: u64) -> Self {
        Self {
            draft: open.draft().clone(),
            checked: Arc::clone(open.checked()),
            number: open.number(),
            told,
            undo: open.next(Way::Undo).map(str::to_owned),
            redo: open.next(Way::Redo).map(str::to_owned),
            is_saved: open.is_saved(),
            clashes: open.clash().is_some(),
            trouble: open.trouble.clone().filter(|_| !open.is_saved()),
        }
    }
}
