//! What happens to guitars, told to every window; and by that, which windows are open.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::State;
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive};
use futures_util::{Stream, StreamExt};
use serde_json::json;
use tokio_stream::wrappers::BroadcastStream;

use crate::panel::guitars::Told;
use crate::panel::server::Panel;

/// Tells what happens as long as the window is open.
pub(super) async fn events(
    State(panel): State<Arc<Panel>>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let window = panel.windows.opened();
    let listened = panel.guitars.listen();
    let before = json!({ "told": panel.guitars.told() });
    let before = tokio_stream::once(Ok(Event::default().data(before.to_string())));
    let events = BroadcastStream::new(listened).map(move |told| {
        let _is_open = &window;
        let data = match told {
            Ok(Told::Changed(folder, number)) => json!({ "guitar": folder, "number": number }),
            Ok(Told::Saved(folder, number)) => json!({ "saved": folder, "number": number }),
            Ok(Told::Listed) => json!({ "listed": true }),
            // So much happened that some of it was not told.
            Err(_) => json!({ "all": true }),
        };
        Ok(Event::default().data(data.to_string()))
    });
    Sse::new(before.chain(events)).keep_alive(KeepAlive::default())
}
