//! A set of the take that is heard, written into the guitar's folder by the same work that the command does.

use std::path::PathBuf;
use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use drywire::folder::Existing;
use drywire::guitar::Guitar;
use drywire::job::{RecordedRequest, SetRequest};
use drywire::render::Channels;
use tokio::task::block_in_place;

use super::super::guitar::{Shown, selected};
use super::super::reply::folder;
use super::answers::refused;
use super::sounds::COILS;
use crate::panel::guitars::FILE;
use crate::panel::server::Panel;

/// Writes the set and answers with its folder.
pub(in super::super) async fn write(
    panel: State<Arc<Panel>>,
    given: Path<String>,
    shown: Query<Shown>,
) -> Response {
    block_in_place(|| match set(&panel, &given, &shown) {
        Ok(place) => place.display().to_string().into_response(),
        Err(words) => refused(words),
    })
}

fn set(panel: &Panel, given: &str, shown: &Shown) -> Result<PathBuf, String> {
    let told = |error: &crate::panel::guitars::GuitarsError| format!("{error}: {}", error.hint());
    let own = folder(given).map_err(|error| told(&error))?;
    let checked =
        panel.guitars.with(&own, |open| Arc::clone(open.checked())).map_err(|error| told(&error))?;
    let Ok(guitar): &Result<Guitar, _> = &*checked else {
        return Err("the guitar’s file has faults: mend them first".to_owned());
    };
    let selection = selected(guitar, shown)?;
    let home = panel.guitars.home(&own).map_err(|error| told(&error))?;
    let take = match shown.take.strip_prefix("own/") {
        Some(name) => Some(panel.guitars.take(&own, name).map_err(|error| told(&error))?),
        None => Some(PathBuf::from(&shown.take)).filter(|name| !name.as_os_str().is_empty()),
    };
    let stem = take
        .as_ref()
        .and_then(|take| take.file_stem())
        .map_or("plucked".into(), |stem| stem.to_string_lossy());
    let whose = if shown.heard.is_empty() { selection.scope().to_string() } else { shown.heard.clone() };
    let out = home.join("sets").join(format!("{stem}-{whose}"));
    std::fs::create_dir_all(home.join("sets"))
        .map_err(|error| format!("the folder `sets` could not be made: {error}"))?;
    let source_channels = (shown.through == COILS).then_some(Channels::Coils);
    let recorded = (!shown.through.is_empty() && source_channels.is_none())
        .then_some(RecordedRequest { through: &shown.through, guitar: None });
    let request = SetRequest {
        source: take,
        source_channels,
        recorded,
        existing: Existing::ReplaceOwn,
        inputs: vec![home.join(FILE)],
        ..SetRequest::new(guitar, &out)
    };
    let job = request
        .check_with(selection)
        .map_err(|error| format!("{error}: {}", error.hint("in another place")))?;
    let elsewhere = "by `drywire hear` with another folder";
    job.make(&|_| ()).map_err(|error| format!("{error}: {}", error.hint(elsewhere)))?;
    Ok(out)
}
