//! A guitar made of a few questions.

mod asked;
mod page;

use std::sync::Arc;

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use drywire::guitar::Draft;
use drywire::quantity::counted;
use tokio::task::block_in_place;

use self::asked::{Asked, Fault, answers, field_of, has_two_coils, in_words, places};
use self::page::page;
use super::guitar::Trouble;
use super::leads::{found, into_guitar, put_into};
use super::reply::{failed, on_to};
use super::sent::{Form, Query};
use crate::panel::guitars::FolderName;
use crate::panel::server::Panel;
use crate::panel::view::path_segment;

/// Asks; what was answered already stands in the fields.
pub(super) async fn ask(State(panel): State<Arc<Panel>>, Query(asked): Query<Asked>) -> Response {
    page(&panel, &asked, &[]).into_response()
}

/// Makes the guitar and shows it, or asks again what is not clear.
pub(super) async fn make(State(panel): State<Arc<Panel>>, Form(asked): Form<Asked>) -> Response {
    block_in_place(|| {
        let mut faults = Vec::new();
        let answers = answers(&asked, &mut faults);
        let base = panel.base();
        let mut fault = |field: String, message: String| {
            if !faults.iter().any(|own| own.field == field) {
                faults.push(Fault { field, message, readings: Vec::new() });
            }
        };
        let drafted = answers.draft().map_err(Trouble::from).and_then(|mut draft| {
            if let Some((pickup, at)) = asked.on_bench() {
                from_bench(&panel, &pickup, &mut draft, at)?;
            }
            Ok(draft)
        });
        let text = match drafted {
            Ok(draft) => {
                for told in draft.faults() {
                    let field = field_of(&draft, told.span.start);
                    let message = in_words(&field, asked.typed(&field), &told.message);
                    fault(field, message);
                }
                draft.text().to_owned()
            }
            Err(trouble) => {
                let field =
                    asked.on_bench().map_or_else(|| "name".to_owned(), |(_, at)| format!("kind_{}", at + 1));
                fault(field, trouble.words());
                String::new()
            }
        };
        if !faults.is_empty() {
            return page(&panel, &asked, &faults).into_response();
        }
        match panel.guitars.make(&answers.name, &text) {
            Ok(folder) => {
                if let Some((pickup, at)) = asked.on_bench() {
                    let laid = into_guitar(&panel.guitars, &pickup, &folder, places(asked.count())[at]);
                    if let Err(error) = laid {
                        return failed(&base, &error);
                    }
                }
                on_to(&format!("{base}g/{}/", path_segment(folder.as_str())))
            }
            Err(error) => failed(&base, &error),
        }
    })
}

/// Puts the leads that were found of a pickup on the bench into the pickup at this place of a draft.
fn from_bench(panel: &Panel, pickup: &FolderName, draft: &mut Draft, at: usize) -> Result<(), Trouble> {
    let found = found(&panel.guitars, pickup)?;
    let like = draft.get(&format!("pickup[{at}].like"))?.unwrap_or_default();
    let (has, kind_has) = (found.coils.len(), if has_two_coils(&like) { 2 } else { 1 });
    if has != kind_has {
        return Err(Trouble::new(
            format!("{pickup} has {}, and this kind {kind_has}", counted(has, "coil")),
            "choose another kind",
        ));
    }
    put_into(&found, draft, &draft.pickup_names()[at])
}
