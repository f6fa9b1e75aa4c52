//! A take that is sent here: written to the guitar's folder as it comes, and kept where it is a sound.

use std::fs;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::super::reply::folder;
use super::answers::{in_words, of_guitars, refused};
use super::sounds::heard_of;
use crate::panel::guitars::GuitarsError;
use crate::panel::server::{MOST_OF_A_TAKE, Panel};

/// What its owner calls a take.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Called {
    #[serde(default)]
    name: String,
}

/// Keeps a take and answers with the name that it has in the guitar's folder.
pub(in super::super) async fn keep_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Called { name }): Query<Called>,
    body: Body,
) -> Response {
    let of = |error: &GuitarsError| refused(of_guitars(error));
    let begun = folder(&given).and_then(|own| panel.guitars.begin_take(&own, &name));
    let mut take = match begun {
        Ok(take) => take,
        Err(error) => return of(&error),
    };
    let mut length = 0;
    let mut stream = body.into_data_stream();
    while let Some(piece) = stream.next().await {
        let Ok(piece) = piece else {
            return refused(in_words("the take broke off on its way", "send it again"));
        };
        length += piece.len() as u64;
        if length > MOST_OF_A_TAKE {
            return refused(in_words(
                "the take is larger than 2 GiB",
                "cut out the part that you want to hear",
            ));
        }
        if let Err(error) = block_in_place(|| take.add(&piece)) {
            return of(&error);
        }
    }
    block_in_place(|| {
        let path = match take.commit() {
            Ok(path) => path,
            Err(error) => return of(&error),
        };
        match heard_of(&path) {
            Ok(()) => path.file_name().unwrap_or_default().to_string_lossy().into_owned().into_response(),
            Err(error) => {
                // What is no sound is not kept.
                let _ = fs::remove_file(&path);
                refused(in_words(&format!("`{name}` cannot be played: {error}"), &error.hint()))
            }
        }
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
    let renamed = block_in_place(|| panel.guitars.rename_take(&folder(&given)?, &name, &called));
    renamed.map_or_else(|error| refused(of_guitars(&error)), IntoResponse::into_response)
}

/// Puts a take into the system's bin.
pub(in super::super) async fn remove_take(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(Called { name }): Query<Called>,
) -> Response {
    let removed = block_in_place(|| panel.guitars.remove_take(&folder(&given)?, &name));
    removed.map_or_else(|error| refused(of_guitars(&error)), IntoResponse::into_response)
}
