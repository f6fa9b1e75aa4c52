//! The guitar's file as text, for those who like to write it, and for what cannot be mended otherwise.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use maud::html;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::reply::{failed, folder, on_to};
use super::sent::{Form, Path};
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, path_segment};

/// A whole text.
#[derive(Debug, Deserialize)]
pub(super) struct Text {
    text: String,
}

/// Shows the text, its faults above it.
pub(super) async fn show(State(panel): State<Arc<Panel>>, Path(given): Path<String>) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let read = |own| panel.guitars.with(&own, |open| (open.draft().clone(), open.number()));
        let (draft, number) = match folder(&given).and_then(read) {
            Ok(read) => read,
            Err(error) => return failed(&base, &error),
        };
        let refusal = draft.check().err();
        let frame =
            Frame { base: &base, title: "File", guitar: Some((&given, number)), told: None, tab: Tab::File };
        let main = html! {
            h1 { "The guitar’s file" }
            p.about { "Every place and every command reads and writes this one file. What is saved here can be taken back on the guitar’s page." }
            @if let Some(refusal) = &refusal {
                div.notice role="alert" {
                    p { "It has faults:" }
                    pre { (refusal.shown(false)) }
                }
            }
            form method="post" action={ (base) "g/" (path_segment(&given)) "/file" } {
                label for="text" { "Its text" }
                textarea #text.whole name="text" rows=(draft.text().lines().count().clamp(12, 60)) spellcheck="false" { "\n" (draft.text()) }
                p { button.strong { "Save" } }
            }
        };
        frame.page(&main).into_response()
    })
}

/// Puts a whole text in the file's place, right or wrong.
pub(super) async fn write(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Form(Text { text }): Form<Text>,
) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let written = folder(&given).and_then(|own| {
            panel.guitars.with(&own, |open| {
                // Forms send line ends as CR LF, whatever the text has.
                let has_cr = open.text().contains("\r\n");
                let text = if has_cr { text.clone() } else { text.replace("\r\n", "\n") };
                open.write(&text);
            })
        });
        match written {
            Ok(()) => on_to(&format!("{base}g/{}/file", path_segment(&given))),
            Err(error) => failed(&base, &error),
        }
    })
}
