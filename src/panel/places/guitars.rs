//! The guitars: opened, copied, renamed, removed.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use maud::html;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::reply::{failed, folder, on_to};
use super::sent::{Form, Path, Query};
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, card, path_segment};

/// A new name.
#[derive(Debug, Deserialize)]
pub(super) struct Named {
    name: String,
}

/// What has just happened.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Happened {
    /// What a guitar was called that is in the system's bin now.
    removed: String,
}

/// Shows the list.
pub(super) async fn list(State(panel): State<Arc<Panel>>, Query(happened): Query<Happened>) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let told = Some(panel.guitars.told());
        let listed = panel.guitars.list();
        let frame = Frame { base: &base, title: "Guitars", guitar: None, told, tab: Tab::Guitars };
        let main = html! {
            h1 { "Guitars" }
            p.about { "Each is a folder in " bdi { (panel.guitars.root().display()) } "." }
            @if !happened.removed.is_empty() {
                p.notice role="status" { bdi { (happened.removed) } " is in the system's bin. Restored there, it stands in this list again." }
            }
            p.row { a.button.strong href={ (base) "new" } { "New guitar" } a href={ (base) "leads/" } { "Which lead is which, of a pickup in no guitar" } }
            div data-part="list" {
                @if listed.is_empty() {
                    p { "There is none yet. A few questions make one; “don’t know” is an answer to each of them." }
                } @else {
                    ul.guitars { @for guitar in &listed { (card(&base, guitar)) } }
                }
            }
        };
        frame.page(&main).into_response()
    })
}

/// Copies a guitar and shows the copy beside it.
pub(super) async fn copy(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Form(Named { name }): Form<Named>,
) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let copied = folder(&given).and_then(|own| panel.guitars.copy(&own, name.trim()));
        match copied {
            Ok(copy) => {
                on_to(&format!("{base}g/{}/?beside={}", path_segment(copy.as_str()), path_segment(&given)))
            }
            Err(error) => failed(&base, &error),
        }
    })
}

/// Gives a guitar another name; its folder keeps its own, so that nothing that names it breaks.
pub(super) async fn rename(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Form(Named { name }): Form<Named>,
) -> Response {
    let set = |own| {
        let changed = panel.guitars.with(&own, |open| {
            open.change("name".to_owned(), Some("name"), |draft| draft.set("name", name.trim()))
        })?;
        Ok(changed.is_ok())
    };
    let base = panel.base();
    match folder(&given).and_then(set) {
        Ok(_) => on_to(&base),
        Err(error) => failed(&base, &error),
    }
}

/// Puts a guitar into the system's bin.
pub(super) async fn remove(State(panel): State<Arc<Panel>>, Path(given): Path<String>) -> Response {
    block_in_place(|| {
        let base = panel.base();
        match folder(&given).and_then(|own| panel.guitars.remove(&own)) {
            Ok(called) => on_to(&format!("{base}?removed={}", path_segment(&called))),
            Err(error) => failed(&base, &error),
        }
    })
}
