//! What every place answers with.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;

use crate::panel::guitars::{FolderName, GuitarsError};
use crate::panel::view::{Frame, Tab, notice};

/// Returns the name of the folder in a request's path.
pub(super) fn folder(given: &str) -> Result<FolderName, GuitarsError> {
    FolderName::new(given).ok_or_else(|| GuitarsError::Missing(given.to_owned()))
}

/// Returns the page that says what could not be done.
pub(super) fn failed(base: &str, error: &GuitarsError) -> Response {
    let status = match error {
        GuitarsError::Missing(_)
        | GuitarsError::NoTake(_)
        | GuitarsError::NotMade(_)
        | GuitarsError::NoPickup(_) => StatusCode::NOT_FOUND,
        GuitarsError::Link(_) => StatusCode::FORBIDDEN,
        GuitarsError::Open(_)
        | GuitarsError::Folder(_)
        | GuitarsError::Readings(_)
        | GuitarsError::System { .. }
        | GuitarsError::NoBin(_) => StatusCode::INTERNAL_SERVER_ERROR,
    };
    not_done(base, status, &error.to_string(), &error.hint())
}

/// Returns the page that says why something was not done, and what to do.
pub(super) fn not_done(base: &str, status: StatusCode, message: &str, hint: &str) -> Response {
    let frame = Frame { base, title: "Not done", guitar: None, told: None, tab: Tab::Guitars };
    let main = html! {
        h1 { "This could not be done" }
        (notice(message, hint))
        p { a href=(base) { "All guitars" } }
    };
    (status, frame.page(&main)).into_response()
}

/// Leads on to the page at `path`.
pub(super) fn on_to(path: &str) -> Response {
    Redirect::to(path).into_response()
}
