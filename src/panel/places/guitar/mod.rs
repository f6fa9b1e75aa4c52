//! A guitar: every value of its file to be changed, its circuit and its responses as they stand.

mod change;
mod page;
mod views;

use std::sync::Arc;

use axum::Form;
use axum::extract::{FromRequestParts, Path, Query, State};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use drywire::guitar::Draft;
use serde::Deserialize;
use tokio::task::block_in_place;

use self::change::{change_part, set_value, take_out, trouble};
use super::reply::{failed, folder};
use super::starters;
use crate::panel::guitars::{Checked, OpenGuitar, Way};
use crate::panel::server::Panel;
use crate::panel::view::Asked;

pub(super) use views::{selected, voices_of};

/// At which of a guitar's places something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bench {
    Guitar,
    Hear,
}

impl<S: Sync> FromRequestParts<S> for Bench {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Self::Rejection> {
        // The first two segments are the panel's own and `g`, the third is the guitar's folder.
        let place = parts.uri.path().split('/').nth(4);
        Ok(if place == Some("hear") { Self::Hear } else { Self::Guitar })
    }
}

/// What of a guitar is shown.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Shown {
    /// A pickup's name, or `positions` of the whole guitar.
    pub(super) heard: String,
    /// The name of the voice in front.
    pub(super) voice: String,
    /// The folder of a guitar to be shown beside it.
    pub(super) beside: String,
    /// What is played: a file among the guitar's takes, a built-in source, or nothing for a chord plucked for the guitar.
    pub(super) take: String,
    /// The voice that the take was recorded through.
    pub(super) through: String,
    /// Where a part of a long take begins, in seconds.
    pub(super) from: String,
}

/// A value to be changed, or a part to be added or taken out.
#[derive(Debug, Deserialize)]
pub(super) struct Change {
    place: String,
    #[serde(default)]
    value: String,
}

/// Which of two texts is kept.
#[derive(Debug, Deserialize)]
pub(super) struct Kept {
    keep: String,
}

/// What went otherwise than was asked for.
enum Trouble {
    Value(Asked),
    Other { message: String, hint: String },
}

/// Shows the guitar.
pub(super) async fn show(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    work(bench, &panel, &given, &shown, |_| None)
}

/// Changes one value.
pub(super) async fn set(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(change): Form<Change>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| set_value(open, &change))
}

/// Adds a part.
pub(super) async fn add(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Change { place, .. }): Form<Change>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| change_part(open, &place, starters::add))
}

/// Takes a part out.
pub(super) async fn remove(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Change { place, .. }): Form<Change>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| change_part(open, &place, take_out))
}

/// Takes the last change back.
pub(super) async fn undo(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| trouble(open.go(Way::Undo).map(drop), None))
}

/// Does again what was taken back.
pub(super) async fn redo(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| trouble(open.go(Way::Redo).map(drop), None))
}

/// Keeps one of two texts that clash.
pub(super) async fn settle(
    bench: Bench,
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
    Form(Kept { keep }): Form<Kept>,
) -> Response {
    work(bench, &panel, &given, &shown, |open| {
        open.settle(keep == "own");
        None
    })
}

/// Does some `work` on the guitar in the folder `given` and answers with its page.
fn work(
    bench: Bench,
    panel: &Arc<Panel>,
    given: &str,
    shown: &Shown,
    work: impl FnOnce(&mut OpenGuitar) -> Option<Trouble>,
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
                page::page(bench, panel, &own, shown, &state, trouble.as_ref()).into_response()
            }
            Err(error) => failed(&panel.base(), &error),
        }
    })
}

/// A guitar as its page needs it.
struct OpenState {
    draft: Draft,
    checked: Checked,
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
            trouble: open.trouble.clone(),
        }
    }
}
