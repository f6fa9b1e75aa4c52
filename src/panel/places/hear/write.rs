//! A set of the take that is heard, written into the guitar's folder by the same work that the command does.

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use axum::response::{IntoResponse, Response};
use drywire::folder::Existing;
use drywire::job::{SetProgress, SetRequest};
use drywire::response::Selection;

use super::super::guitar::OfGuitar;
use super::super::sent::Query;
use super::super::shown::Shown;
use super::answers::{answer, in_words, of_guitars};
use crate::panel::guitars::{FILE, FolderName, Guitars, TakesFor};

/// Writes the set and answers with its folder.
pub(in super::super) async fn write(of: OfGuitar) -> Response {
    let (_, panel, _, Query(shown)) = &of;
    answer(&of, |own, selection, _| {
        let place = write_set(&panel.guitars, own, selection.clone(), shown, &|_| ())?;
        Ok(place.display().to_string().into_response())
    })
}

/// Writes a set of what is shown and returns its folder; `tell` is told how far it is.
pub(in super::super) fn write_set(
    guitars: &Guitars,
    own: &FolderName,
    selection: Selection<'_>,
    shown: &Shown,
    tell: &(dyn Fn(String) + Sync),
) -> Result<PathBuf, String> {
    let home = guitars.home(own).map_err(|error| of_guitars(&error))?;
    let source = match shown.own_take() {
        Some(name) => Some(guitars.take(own, TakesFor::Hearing, name).map_err(|error| of_guitars(&error))?),
        None => Some(PathBuf::from(&shown.take)).filter(|name| !name.as_os_str().is_empty()),
    };
    let stem = source
        .as_ref()
        .and_then(|take| take.file_stem())
        .map_or("plucked".into(), |stem| stem.to_string_lossy());
    let whose = if shown.heard.is_empty() { selection.scope().to_string() } else { shown.heard.clone() };
    let sets = home.join("sets");
    let driven = shown.setting().map_or_else(String::new, |setting| format!("-{}", setting.name()));
    let out = sets.join(format!("{stem}-{whose}{driven}"));
    fs::create_dir_all(&sets).map_err(|error| format!("the folder `sets` could not be made: {error}"))?;
    let request = SetRequest {
        source,
        source_channels: shown.channels(),
        recorded: shown.recorded(),
        amplification: shown.amplification(),
        existing: Existing::ReplaceOwn,
        inputs: vec![home.join(FILE)],
        ..SetRequest::new(selection.guitar(), &out)
    };
    let job = request.check_with(selection);
    let made = job.and_then(|job| {
        let read = AtomicU64::new(0);
        job.make(&|SetProgress { frames, of }| {
            let done = read.fetch_add(frames, Ordering::Relaxed) + frames;
            tell(format!("{} of 100 parts are done …", (100 * done).checked_div(of).unwrap_or(0).min(100)));
        })
    });
    made.map_err(|error| in_words(&error.to_string(), &error.hint("by `drywire hear` with another folder")))?;
    Ok(out)
}
