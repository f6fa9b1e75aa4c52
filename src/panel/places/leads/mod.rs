//! Which lead of a pickup is which, one reading after the other.
//!
//! The readings stand in the guitar's folder as a readings file, one a pickup, which `drywire leads` reads as well: what is
//! added goes to its end, what is taken back is taken out of it, and all else in it stays as it is. Those of a pickup that is in
//! no guitar stand in the folder of all guitars until it is in one.

mod drawer;
mod page;
mod record;

use axum::extract::State;
use axum::response::Response;
use drywire::guitar::Draft;
use drywire::leads::{Report, SaveError, identify};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::guitar::{OfGuitar, Trouble, change_with, work};
use super::reply::folder;
use super::sent::{Form, Path, Query};
use super::shown::Shown;
use crate::panel::guitars::{FolderName, Guitars, Shelf};

pub(super) use drawer::{
    begin as begin_on_bench, begin_anew as begin_anew_on_bench, bench, found, into_guitar,
    put as put_from_bench, read as read_on_bench, show as show_on_bench, take_back as take_back_on_bench,
};
pub(super) use page::{leads_views, told_by_leads};
use record::{Begun, Read, Record};

/// Which reading.
#[derive(Debug, Deserialize)]
pub(super) struct Which {
    index: usize,
}

/// Names a pickup's leads and coils.
pub(super) async fn begin(of: OfGuitar, Form(begun): Form<Begun>) -> Response {
    at_record(&of, |record| record.begin(&begun))
}

/// Adds a reading.
pub(super) async fn read(of: OfGuitar, Form(read): Form<Read>) -> Response {
    at_record(&of, |record| record.add(&read))
}

/// Takes a reading back.
pub(super) async fn take_back(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    at_record(&of, |record| record.take_back(index))
}

/// Begins a pickup anew; what was read goes into the system's bin.
pub(super) async fn begin_anew(of: OfGuitar) -> Response {
    at_record(&of, |record| {
        record.begin_anew()?;
        Ok(())
    })
}

/// Puts what was found into the guitar's file.
pub(super) async fn put(of: OfGuitar) -> Response {
    let (_, State(panel), Path(given), Query(shown)) = &of;
    change_with(&of, |_, mut draft| {
        let pickup = pickup_of(&draft, shown);
        let guitar = folder(given)?;
        let record = of_guitar(&panel.guitars, &guitar, &pickup);
        put_into(&identify(&record.begun()?.1), &mut draft, &pickup)?;
        Ok((format!("the leads of {pickup}"), draft))
    })
}

/// Puts what was found into the pickup called so of a guitar's file.
pub(super) fn put_into(found: &Report, draft: &mut Draft, pickup: &str) -> Result<(), Trouble> {
    let put = found.put_into(draft, Some(pickup));
    put.map(drop).map_err(|error| {
        let hint = match &error {
            SaveError::Uncertain => "take the readings that are asked for first".to_owned(),
            SaveError::NoPickup { .. } | SaveError::WhichPickup { .. } => {
                "choose the pickup that was measured".to_owned()
            }
            SaveError::Draft(error) => error.hint(),
        };
        Trouble::new(error.to_string(), hint)
    })
}

/// Does something with a pickup's readings and answers with the page.
fn at_record(of: &OfGuitar, change: impl FnOnce(&Record<'_>) -> Result<(), Trouble>) -> Response {
    let (_, State(panel), Path(given), Query(shown)) = of;
    let done = block_in_place(|| {
        let guitar = folder(given)?;
        let pickup = panel.guitars.with(&guitar, |open| pickup_of(open.draft(), shown))?;
        change(&of_guitar(&panel.guitars, &guitar, &pickup))
    });
    work(of, |_| done.err())
}

/// Returns where the readings of a pickup of a guitar stand.
fn of_guitar<'r>(guitars: &'r Guitars, guitar: &'r FolderName, pickup: &'r str) -> Record<'r> {
    Record { guitars, shelf: Shelf::Guitar(guitar), pickup }
}

/// Returns the pickup that is meant: the one that is shown, or the first.
fn pickup_of(draft: &Draft, shown: &Shown) -> String {
    let mut names = draft.pickup_names();
    let at = names.iter().position(|name| *name == shown.heard).unwrap_or(0);
    if names.is_empty() { String::new() } else { names.swap_remove(at) }
}
