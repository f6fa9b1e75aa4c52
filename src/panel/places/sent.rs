//! What a request says: in its form, behind its address and in its path. One that says it otherwise than the panel's pages do is
//! answered in words.

use std::sync::Arc;

use axum::extract::{FromRequest, FromRequestParts, Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;

use super::hear::{in_words, refused};
use super::reply::not_done;
use crate::panel::server::Panel;

/// What a form says.
#[derive(Debug)]
pub(super) struct Form<T>(pub(super) T);

/// What an address says behind its path.
#[derive(Debug)]
pub(super) struct Query<T>(pub(super) T);

/// What a path names.
#[derive(Debug)]
pub(super) struct Path<T>(pub(super) T);

impl<T: DeserializeOwned> FromRequest<Arc<Panel>> for Form<T> {
    type Rejection = Response;

    async fn from_request(request: Request, panel: &Arc<Panel>) -> Result<Self, Response> {
        match axum::Form::<T>::from_request(request, panel).await {
            Ok(axum::Form(told)) => Ok(Self(told)),
            Err(rejection) => Err(match rejection.status() {
                StatusCode::PAYLOAD_TOO_LARGE => too_large(panel, true),
                status => not_understood(panel, true, status),
            }),
        }
    }
}

impl<T: DeserializeOwned> FromRequestParts<Arc<Panel>> for Query<T> {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, panel: &Arc<Panel>) -> Result<Self, Response> {
        let told = axum::extract::Query::<T>::from_request_parts(parts, panel).await;
        let is_of_a_page = is_of_a_page(&parts.method, &parts.uri, &parts.headers);
        told.map(|axum::extract::Query(told)| Self(told))
            .map_err(|rejection| not_understood(panel, is_of_a_page, rejection.status()))
    }
}

impl<T: DeserializeOwned + Send> FromRequestParts<Arc<Panel>> for Path<T> {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, panel: &Arc<Panel>) -> Result<Self, Response> {
        let named = axum::extract::Path::<T>::from_request_parts(parts, panel).await;
        let is_of_a_page = is_of_a_page(&parts.method, &parts.uri, &parts.headers);
        named.map(|axum::extract::Path(named)| Self(named)).map_err(|_| no_such_page(panel, is_of_a_page))
    }
}

/// Returns whether what is asked for is a page, and not what a page's script reads.
pub(crate) fn is_of_a_page(method: &Method, uri: &Uri, headers: &HeaderMap) -> bool {
    if *method == Method::GET {
        return ["/", "/new", "/file"].iter().any(|end| uri.path().ends_with(end));
    }
    let form = b"application/x-www-form-urlencoded";
    headers.get(CONTENT_TYPE).is_some_and(|kind| kind.as_bytes().starts_with(form))
}

fn not_understood(panel: &Panel, is_of_a_page: bool, status: StatusCode) -> Response {
    let message = "what was sent is not what this page sends";
    let hint = "load the page again, and do it once more; nothing was changed";
    if is_of_a_page {
        not_done(&panel.base(), status, message, hint)
    } else {
        refused(in_words(message, hint))
    }
}

/// Answers who sends more than is taken.
pub(crate) fn too_large(panel: &Panel, is_of_a_page: bool) -> Response {
    let message = "more was sent than is taken; allowed are 256 KiB of a form, and 2 GiB of a take";
    said(
        panel,
        is_of_a_page,
        StatusCode::PAYLOAD_TOO_LARGE,
        message,
        "send less at once; nothing was changed",
    )
}

/// Answers who asks for what there is not.
pub(super) async fn nowhere(
    State(panel): State<Arc<Panel>>,
    method: Method,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    no_such_page(&panel, is_of_a_page(&method, &uri, &headers))
}

fn no_such_page(panel: &Panel, is_of_a_page: bool) -> Response {
    let hint = "follow the links of the pages";
    said(panel, is_of_a_page, StatusCode::NOT_FOUND, "the panel has no such page", hint)
}

/// Answers who looks at what is only done, or would do what is only looked at.
pub(super) async fn otherwise(
    State(panel): State<Arc<Panel>>,
    method: Method,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    let message = "this is no page to look at, or none that takes anything";
    let hint = "go back, and press the button of the page";
    said(&panel, is_of_a_page(&method, &uri, &headers), StatusCode::METHOD_NOT_ALLOWED, message, hint)
}

fn said(panel: &Panel, is_of_a_page: bool, status: StatusCode, message: &str, hint: &str) -> Response {
    if is_of_a_page {
        not_done(&panel.base(), status, message, hint)
    } else {
        (status, refused(in_words(message, hint))).into_response()
    }
}
