//! A take that is sent here: written to the guitar's folder as it comes, and kept where it is a sound.

use std::fs;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::super::reply::folder;
use super::super::sent::{Path, Query};
use super::answers::{in_words, of_guitars, refused};
use super::sounds::heard_of;
use crate::panel::guitars::{GuitarsError, NewTake, TakesFor};
use crate::panel::server::{MOST_OF_A_TAKE, Panel};

/// What its owner calls a take.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Called {
    #[serde(default)]
    pub(in super::super) name: String,
}

/// Keeps a take and answers with the name that it has in the guitar's folder.
pub(in super::super) async fn keep_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Called { name }): Query<Called>,
    body: Body,
) -> Response {
    let begun = folder(&given).and_then(|own| panel.guitars.begin_take(&own, TakesFor::Hearing, &name));
    let is_heard = |path: &std::path::Path| {
        heard_of(path)
            .map_err(|error| in_words(&format!("`{name}` cannot be played: {error}"), &error.hint()))
    };
    kept(begun, body, is_heard).await.map_or_else(refused, IntoResponse::into_response)
}

/// Keeps what is sent as the take that was begun, where it is one, and returns its name.
pub(in super::super) async fn kept(
    begun: Result<NewTake, GuitarsError>,
    body: Body,
    is_one: impl FnOnce(&std::path::Path) -> Result<(), String>,
) -> Result<String, String> {
    let of = |error: GuitarsError| of_guitars(&error);
    let mut take = begun.map_err(of)?;
    let mut length = 0;
    let mut stream = body.into_data_stream();
    while let Some(piece) = stream.next().await {
        let piece = piece.map_err(|_| in_words("the take broke off on its way", "send it again"))?;
        length += piece.len() as u64;
        if length > MOST_OF_A_TAKE {
            return Err(in_words("the take is larger than 2 GiB", "cut out the part that you want to hear"));
        }
        block_in_place(|| take.add(&piece)).map_err(of)?;
    }
    block_in_place(|| {
        let path = take.commit().map_err(of)?;
        // What is none is not kept.
        is_one(&path).inspect_err(|_| drop(fs::remove_file(&path)))?;
        Ok(path.file_name().unwrap_or_default().to_string_lossy().into_owned())
    })
}

/// What a take shall be called.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Renamed {
    name: String,
    called: String,
}

/// Renames a take and answers with its name.
pub(in super::super) async fn rename_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Renamed { name, called }): Query<Renamed>,
) -> Response {
    let renamed =
        block_in_place(|| panel.guitars.rename_take(&folder(&given)?, TakesFor::Hearing, &name, &called));
    renamed.map_or_else(|error| refused(of_guitars(&error)), IntoResponse::into_response)
}

/// Puts a take into the system's bin.
pub(in super::super) async fn remove_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Called { name }): Query<Called>,
) -> Response {
    let removed = block_in_place(|| panel.guitars.remove_take(&folder(&given)?, TakesFor::Hearing, &name));
    removed.map_or_else(|error| refused(of_guitars(&error)), IntoResponse::into_response)
}
