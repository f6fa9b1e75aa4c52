//! What has come in so far of a recording of the sweeps, as it is looked at while they are played.

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use drywire::impedance::Preview;
use drywire::quantity::Seconds;
use serde::Deserialize;
use tokio::task::block_in_place;

use super::super::hear::{in_words, of_guitars, refused};
use super::super::incoming::{Incoming, Piece};
use super::super::reply::folder;
use super::super::sent::{Path, Query};
use super::wanted::known;
use crate::panel::server::Panel;
use crate::panel::view::incoming;

/// How long the recording will last, in seconds.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Lasts {
    lasts: f64,
}

/// Takes a piece of a recording, and answers with what all of it looks like.
pub(in super::super) async fn heard(
    State(panel): State<Arc<Panel>>,
    Path(given): Path<String>,
    Query(piece): Query<Piece>,
    Query(Lasts { lasts }): Query<Lasts>,
    bytes: Bytes,
) -> Response {
    let told = block_in_place(|| {
        let own = folder(&given).and_then(|own| panel.guitars.with(&own, |_| own.clone()));
        let own = own.map_err(|error| of_guitars(&error))?;
        let known = known(&panel.guitars.measurement(&own).map_err(|error| of_guitars(&error))?)?;
        let begin = || {
            Preview::new(piece.rate, piece.channels)
                .map_err(|error| in_words(&error.to_string(), error.hint()))
        };
        panel.previews.add(&own, &piece, &bytes, begin, |preview, planes| {
            preview.take(&planes);
            Ok(incoming(preview, known, Seconds::new(lasts.clamp(1.0, 600.0))))
        })
    });
    told.map_or_else(refused, IntoResponse::into_response)
}

/// The recordings of sweeps that come in.
pub(crate) type Previews = Incoming<Preview>;
