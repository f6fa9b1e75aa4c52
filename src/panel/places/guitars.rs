//! The guitars: opened, copied, renamed, removed.

use std::sync::Arc;

use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use maud::html;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::reply::{failed, folder, on_to};
use crate::panel::guitars::GuitarsError;
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, card, path_segment};

/// A new name.
#[derive(Debug, Deserialize)]
pub(super) struct Named {
    name: String,
}

/// Shows the list.
pub(super) async fn list(State(panel): State<Arc<Panel>>) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let listed = panel.guitars.list();
        let frame = Frame { base: &base, title: "Guitars", guitar: None, tab: Tab::Guitars };
        let main = html! {
            h1 { "Guitars" }
            p.about { "Each is a folder in " bdi { (panel.guitars.root().display()) } "." }
            p { a.button.strong href={ (base) "new" } { "New guitar" } }
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
    done(&panel, folder(&given).and_then(set).map(drop))
}

/// Puts a guitar into the system's bin.
pub(super) async fn remove(State(panel): State<Arc<Panel>>, Path(given): Path<String>) -> Response {
    done(&panel, block_in_place(|| folder(&given).and_then(|own| panel.guitars.remove(&own))))
}

fn done(panel: &Panel, done: Result<(), GuitarsError>) -> Response {
    match done {
        Ok(()) => on_to(&panel.base()),
        Err(error) => failed(&panel.base(), &error),
    }
}
