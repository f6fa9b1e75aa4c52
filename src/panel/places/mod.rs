//! The places of the panel: a file each, the way from a request through the library to a page.

mod cavity;
mod confirm;
mod events;
mod file;
mod guitar;
mod guitars;
mod hear;
mod incoming;
mod known;
mod leads;
mod measure;
mod moves;
mod new;
mod plan;
mod prove;
mod reply;
mod send;
mod sent;
mod shown;
mod starters;
mod survey;
mod works;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use drywire::markup::{COLOURS, COMPONENTS};
use drywire::page::WAVE_STYLE;
use drywire::plot::hue_style;
use drywire::{harness, lugs};
use maud::{DOCTYPE, Markup, html};

pub(crate) use confirm::{KnownConfirmed, Notes};
pub(crate) use hear::KnownSounds;
pub(crate) use measure::{KnownMeasured, Previews};
pub(crate) use moves::KnownMoves;
pub(crate) use prove::KnownUnseen;
pub(crate) use sent::{is_of_a_page, too_large};
pub(crate) use works::Works;

use super::server::{MOST_OF_A_FORM, MOST_OF_A_PIECE, MOST_OF_A_TAKE, Panel};
use super::view::{GuitarPlace, HAND_SCRIPTS, SCRIPT, SOUND_SCRIPTS, STYLE};

const ICON: &str = include_str!("../desktop/drywire.svg");

/// Returns the routes of all places, below `base`.
pub(crate) fn routes(base: &str) -> Router<Arc<Panel>> {
    let of = |path: &str| format!("{base}{path}");
    let own = |path: &str| format!("{base}g/{{folder}}/{path}");
    let scripts = SOUND_SCRIPTS
        .iter()
        .chain(&HAND_SCRIPTS)
        .fold(Router::new(), |router, (name, text)| router.route(&of(name), get(|| async { script(text) })));
    let of_guitars = GuitarPlace::ALL.iter().fold(scripts, |router, place| {
        let own = |path: &str| own(&format!("{}{path}", place.path()));
        let set = match place {
            GuitarPlace::Guitar
            | GuitarPlace::Leads
            | GuitarPlace::Hear
            | GuitarPlace::Plan
            | GuitarPlace::Cavity
            | GuitarPlace::Survey
            | GuitarPlace::Send => post(guitar::set),
            // What is entered there are readings, not values of the file.
            GuitarPlace::Prove => post(prove::set),
            GuitarPlace::Measure => post(measure::set),
            GuitarPlace::Confirm => post(confirm::set),
        };
        router
            .route(&own(""), get(guitar::show))
            .route(&own("set"), set)
            .route(&own("add-part"), post(guitar::add))
            .route(&own("remove-part"), post(guitar::remove))
            .route(&own("undo"), post(guitar::undo))
            .route(&own("redo"), post(guitar::redo))
            .route(&own("settle"), post(guitar::settle))
    });
    of_guitars
        .route(base, get(guitars::list))
        .route(&of("style.css"), get(style))
        .route(&of("panel.js"), get(|| async { script(SCRIPT) }))
        .route(&of("icon.svg"), get(icon))
        .route(&of("events"), get(events::events))
        .route(&of("new"), get(new::ask).post(new::make))
        .route(&of("leads/"), get(leads::bench))
        .route(&of("leads/begin"), post(leads::begin_on_bench))
        .route(&of("leads/{pickup}/"), get(leads::show_on_bench))
        .route(&of("leads/{pickup}/read"), post(leads::read_on_bench))
        .route(&of("leads/{pickup}/take-back"), post(leads::take_back_on_bench))
        .route(&of("leads/{pickup}/begin-anew"), post(leads::begin_anew_on_bench))
        .route(&of("leads/{pickup}/put"), post(leads::put_from_bench))
        .route(&own("leads/begin"), post(leads::begin))
        .route(&own("leads/read"), post(leads::read))
        .route(&own("leads/take-back"), post(leads::take_back))
        .route(&own("leads/begin-anew"), post(leads::begin_anew))
        .route(&own("leads/put"), post(leads::put))
        .route(&own("measure/signal"), get(measure::signal))
        .route(&own("measure/sweep.wav"), get(measure::signal_file))
        .route(&own("measure/take"), post(measure::keep_take).layer(DefaultBodyLimit::disable()))
        .route(&own("measure/heard"), post(measure::heard).layer(DefaultBodyLimit::max(MOST_OF_A_PIECE)))
        .route(&own("measure/remove-take"), post(measure::remove_take))
        .route(&own("measure/picture"), get(measure::picture))
        .route(&own("measure/put"), post(measure::put))
        .route(&own("cavity/take-plan"), post(cavity::take_plan))
        .route(&own("cavity/add"), post(cavity::add))
        .route(&own("cavity/put-down"), post(cavity::put_down))
        .route(&own("cavity/move-part"), post(cavity::move_part))
        .route(&own("cavity/take-off"), post(cavity::take_off))
        .route(&own("cavity/mend"), post(cavity::mend))
        .route(&own("plan/put"), post(plan::put))
        .route(&own("plan/put-down"), post(plan::put_down))
        .route(&own("hear/sound"), get(hear::sound))
        .route(&own("hear/kernel"), get(hear::kernel))
        .route(&own("hear/amplified"), get(hear::amplified))
        .route(&own("hear/live"), get(hear::live))
        .route(&own("hear/levels"), get(hear::levels))
        .route(&own("hear/take"), post(hear::keep_take).layer(DefaultBodyLimit::disable()))
        .route(&own("hear/rename-take"), post(hear::rename_take))
        .route(&own("hear/remove-take"), post(hear::remove_take))
        .route(&own("hear/write"), post(hear::write))
        .route(&own("prove/anew"), post(prove::begin_anew))
        .route(&own("confirm/take"), post(confirm::keep_take).layer(DefaultBodyLimit::disable()))
        .route(&own("confirm/heard"), post(confirm::heard).layer(DefaultBodyLimit::max(MOST_OF_A_PIECE)))
        .route(&own("confirm/take-out"), post(confirm::take_out))
        .route(&own("confirm/take-out-flips"), post(confirm::take_out_flips))
        .route(&own("confirm/anew"), post(confirm::begin_anew))
        .route(&own("confirm/picture"), get(confirm::picture))
        .route(&own("survey/make"), post(survey::make))
        .route(&own("send/make"), post(send::make))
        .route(&own("send/file/{name}"), get(send::download))
        .route(&own("file"), get(file::show).post(file::write))
        .route(&own("copy"), post(guitars::copy))
        .route(&own("rename"), post(guitars::rename))
        .route(&own("remove"), post(guitars::remove))
        .fallback(sent::nowhere)
        .method_not_allowed_fallback(sent::otherwise)
}

/// Returns the most bytes that are sent to `path`: of a take, of a piece of one that comes in, or of a form.
pub(crate) fn most_bytes(path: &str) -> u64 {
    let is = |own: &[&str]| own.iter().any(|own| path.ends_with(own));
    if is(&["/hear/take", "/measure/take", "/confirm/take"]) {
        MOST_OF_A_TAKE
    } else if is(&["/measure/heard", "/confirm/heard"]) {
        MOST_OF_A_PIECE as u64
    } else {
        MOST_OF_A_FORM as u64
    }
}

async fn style() -> impl IntoResponse {
    (
        [(CONTENT_TYPE, "text/css; charset=utf-8")],
        [COLOURS, &hue_style(), COMPONENTS, WAVE_STYLE, lugs::PICTURE_STYLE, harness::PICTURE_STYLE, STYLE]
            .concat(),
    )
}

fn script(text: &'static str) -> impl IntoResponse {
    ([(CONTENT_TYPE, "text/javascript; charset=utf-8")], text)
}

async fn icon() -> impl IntoResponse {
    ([(CONTENT_TYPE, "image/svg+xml")], ICON)
}

/// Returns the page that leads into the panel.
pub(crate) fn lead_on(base: &str) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="refresh" content={ "0; url=" (base) };
                title { "drywire" }
                link rel="icon" href={ (base) "icon.svg" } type="image/svg+xml";
            }
            body { p { a href=(base) { "Go on to your guitars" } } }
        }
    }
}

/// Returns the page of an address that was used already, or too late.
pub(crate) fn spent() -> (axum::http::StatusCode, Markup) {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; meta name="viewport" content="width=device-width"; title { "drywire" } }
            body {
                h1 { "This address was used already, or too late" }
                p { "It works once and for a short while. Start the panel again, from the menu or by `drywire panel`." }
            }
        }
    };
    (axum::http::StatusCode::FORBIDDEN, page)
}
