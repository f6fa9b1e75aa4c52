//! The place where what shall be sent is made: the page that plays, sheets, a survey's page, the folder as an archive.

mod made;
mod page;

use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::HeaderValue;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use serde::Deserialize;
use tokio::fs::File;
use tokio::io::AsyncReadExt;
use tokio::task::block_in_place;

use self::made::What;
use super::guitar::{OfGuitar, Trouble, work};
use super::reply::{failed, folder};
use super::sent::{Form, Path, Query};
use super::works::{self, Kind};
use crate::panel::guitars::GuitarsError;
use crate::panel::server::Panel;
use crate::panel::view::path_segment;

pub(super) use page::sending;

/// What is asked to be made.
#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    what: String,
}

/// Begins to make it.
pub(super) async fn make(of: OfGuitar, Form(Asked { what }): Form<Asked>) -> Response {
    let (_, State(panel), Path(given), Query(shown)) = &of;
    let trouble = match (What::of(&what), folder(given)) {
        (Some(what), Ok(own)) => {
            let (shown, guitar) = (shown.clone(), own.clone());
            let begun = works::begin(panel, &own, Kind::Send, &what.on_its_way(), move |panel, tell| {
                made::make(panel, &guitar, &what, &shown, tell)
            });
            (!begun).then(|| Trouble::new("something is being made already", "wait until it is there"))
        }
        (None, _) => {
            Some(Trouble::new(format!("`{what}` is nothing that can be made"), "choose one of the page"))
        }
        // The page says that there is no such guitar.
        (Some(_), Err(_)) => None,
    };
    work(&of, |_| trouble)
}

/// Answers with a file that was made, for the browser to keep.
pub(super) async fn download(
    State(panel): State<Arc<Panel>>,
    Path((given, name)): Path<(String, String)>,
) -> Response {
    /// The bytes of a piece.
    const PIECE: usize = 64 * 1024;
    let found = block_in_place(|| panel.guitars.sent(&folder(&given)?, &name));
    let opened = match found {
        Ok(path) => File::open(&path).await.map_err(|cause| GuitarsError::System {
            what: format!("`{}` could not be read", path.display()),
            cause,
        }),
        Err(error) => Err(error),
    };
    let file = match opened {
        Ok(file) => file,
        Err(error) => return failed(&panel.base(), &error),
    };
    let length = file.metadata().await.map(|file| file.len()).ok();
    let pieces = stream::try_unfold(file, |mut file| async move {
        let mut piece = vec![0; PIECE];
        let read = file.read(&mut piece).await?;
        piece.truncate(read);
        Ok::<_, std::io::Error>((read > 0).then(|| (Bytes::from(piece), file)))
    });
    let mut response = Body::from_stream(pieces).into_response();
    let headers = response.headers_mut();
    let is_page = std::path::Path::new(&name).extension().is_some_and(|ending| ending == "html");
    let kind = if is_page { "text/html; charset=utf-8" } else { "application/zip" };
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    // A name in any script, after RFC 8187.
    let disposition = format!("attachment; filename*=UTF-8''{}", path_segment(&name));
    if let Ok(disposition) = HeaderValue::from_str(&disposition) {
        headers.insert(CONTENT_DISPOSITION, disposition);
    }
    if let Some(length) = length {
        headers.insert(CONTENT_LENGTH, HeaderValue::from(length));
    }
    response
}
