//! Pickups that are in no guitar: their leads found on the bench, and then put into a guitar, one that is there or a new one.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{IntoResponse, Response};
use drywire::leads::{Report, identify};
use maud::{Markup, html};
use serde::Deserialize;
use tokio::task::block_in_place;

use super::super::guitar::{Trouble, change_draft, shell_quoted};
use super::super::reply::{failed, folder, on_to};
use super::super::sent::{Form, Path};
use super::page::{begin_form, known};
use super::record::{Begun, Read, Record};
use super::{Which, put_into};
use crate::panel::guitars::{FolderName, Guitars, GuitarsError, Shelf};
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab, path_segment};

/// What a pickup is called whose finder gives it no name.
const USUAL_NAME: &str = "pickup";

/// What is called so, and its leads.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Named {
    #[serde(default)]
    called: String,
    #[serde(flatten)]
    begun: Begun,
}

/// Which pickup of which guitar, as `guitar/pickup`.
#[derive(Debug, Deserialize)]
pub(in super::super) struct Into {
    into: String,
}

type OnBench = (State<Arc<Panel>>, Path<String>);

/// Shows the pickups on the bench, and asks for another.
pub(in super::super) async fn bench(State(panel): State<Arc<Panel>>) -> Response {
    block_in_place(|| list(&panel, None))
}

/// Names a pickup's leads and coils, and leads on to it.
pub(in super::super) async fn begin(
    State(panel): State<Arc<Panel>>,
    Form(Named { called, begun }): Form<Named>,
) -> Response {
    block_in_place(|| {
        let wanted =
            FolderName::for_guitar(if called.trim().is_empty() { USUAL_NAME } else { called.trim() });
        let taken = pickups(&panel.guitars);
        let numbered = (2..).map(|number| wanted.numbered(number));
        let free = std::iter::once(wanted.clone()).chain(numbered).find(|name| !taken.contains(name));
        let name = free.unwrap_or(wanted);
        match on_bench(&panel.guitars, &name).begin(&begun) {
            Ok(()) => on_to(&at(&panel.base(), &name)),
            Err(trouble) => list(&panel, Some(&trouble)),
        }
    })
}

/// Shows what is known of a pickup.
pub(in super::super) async fn show(of: OnBench) -> Response {
    with(of, |_, _| Ok(None))
}

/// Adds a reading.
pub(in super::super) async fn read(of: OnBench, Form(read): Form<Read>) -> Response {
    with(of, |_, record| record.add(&read).map(|()| None))
}

/// Takes a reading back.
pub(in super::super) async fn take_back(of: OnBench, Form(Which { index }): Form<Which>) -> Response {
    with(of, |_, record| record.take_back(index).map(|()| None))
}

/// Puts what was read into the system's bin.
pub(in super::super) async fn begin_anew(of: OnBench) -> Response {
    with(of, |panel, record| record.begin_anew().map(|()| Some(format!("{}leads/", panel.base()))))
}

/// Puts what was found into a pickup of a guitar that is there, and leads on to it.
pub(in super::super) async fn put(of: OnBench, Form(Into { into }): Form<Into>) -> Response {
    with(of, |panel, record| {
        let chosen =
            into.split_once('/').and_then(|(guitar, pickup)| Some((FolderName::new(guitar)?, pickup)));
        let (guitar, pickup) = chosen
            .ok_or_else(|| Trouble::new("no pickup is chosen", "choose one, or make a guitar with it"))?;
        let found = identify(&record.begun()?.1);
        let done = panel.guitars.with(&guitar, |open| {
            let mut draft = open.draft().clone();
            put_into(&found, &mut draft, pickup)?;
            change_draft(open, format!("the leads of {pickup}"), draft).map_or(Ok(()), Err)
        });
        done??;
        panel.guitars.record_into_guitar(&record.name(), &guitar, &format!("leads-{pickup}.toml"))?;
        let guitar = path_segment(guitar.as_str());
        Ok(Some(format!("{}g/{guitar}/leads/?heard={}", panel.base(), path_segment(pickup))))
    })
}

/// Returns what was found of the pickup called so.
pub(in super::super) fn found(guitars: &Guitars, pickup: &FolderName) -> Result<Report, Trouble> {
    Ok(identify(&on_bench(guitars, pickup).begun()?.1))
}

/// Lays a pickup's readings with the guitar that it is in now.
pub(in super::super) fn into_guitar(
    guitars: &Guitars,
    pickup: &FolderName,
    guitar: &FolderName,
    called: &str,
) -> Result<(), GuitarsError> {
    guitars.record_into_guitar(&on_bench(guitars, pickup).name(), guitar, &format!("leads-{called}.toml"))
}

fn on_bench<'r>(guitars: &'r Guitars, pickup: &'r FolderName) -> Record<'r> {
    Record { guitars, shelf: Shelf::Drawer, pickup: pickup.as_str() }
}

/// Returns the pickups that are on the bench.
fn pickups(guitars: &Guitars) -> Vec<FolderName> {
    let names = guitars.records_in_drawer();
    let own = |name: &String| FolderName::new(name.strip_prefix("leads-")?.strip_suffix(".toml")?);
    names.iter().filter_map(own).collect()
}

fn at(base: &str, pickup: &FolderName) -> String {
    format!("{base}leads/{}/", path_segment(pickup.as_str()))
}

/// Does something with a pickup's readings and answers with its page, or with where it leads on to.
fn with(
    (State(panel), Path(given)): OnBench,
    work: impl FnOnce(&Panel, &Record<'_>) -> Result<Option<String>, Trouble>,
) -> Response {
    block_in_place(|| {
        let base = panel.base();
        let Ok(name) = folder(&given) else { return failed(&base, &GuitarsError::NoPickup(given)) };
        let record = on_bench(&panel.guitars, &name);
        match panel.guitars.record_path(record.shelf, &record.name()) {
            Ok(path) if !path.is_file() => return failed(&base, &GuitarsError::NoPickup(given)),
            Ok(_) => {}
            Err(error) => return failed(&base, &error),
        }
        match work(&panel, &record) {
            Ok(Some(address)) => on_to(&address),
            Ok(None) => one(&panel, &record, &name, None),
            Err(trouble) => one(&panel, &record, &name, Some(&trouble)),
        }
    })
}

fn list(panel: &Panel, trouble: Option<&Trouble>) -> Response {
    let base = panel.base();
    let told = Some(panel.guitars.told());
    let frame = Frame { base: &base, title: "Leads", guitar: None, told, tab: Tab::Leads };
    let on_it = pickups(&panel.guitars);
    let main = html! {
        h1 { "Leads" }
        div #summary data-part="summary" { @if let Some(trouble) = trouble { (trouble.notice()) } }
        div data-part="list" {
            @if !on_it.is_empty() {
                h2 { "On the bench" }
                ul { @for pickup in &on_it { li { a href=(at(&base, pickup)) { (pickup) } } } }
                h2 { "Another pickup" }
            }
        }
        (begin_form(&format!("{base}leads/"), true))
    };
    frame.page(&main).into_response()
}

fn one(panel: &Panel, record: &Record<'_>, name: &FolderName, trouble: Option<&Trouble>) -> Response {
    let base = panel.base();
    let told = Some(panel.guitars.told());
    let frame = Frame { base: &base, title: name.as_str(), guitar: None, told, tab: Tab::Leads };
    let at = at(&base, name);
    let doubted = match trouble {
        Some(Trouble::Reading(doubted)) => Some(&**doubted),
        Some(Trouble::Value(_) | Trouble::Other { .. }) | None => None,
    };
    let main = html! {
        h1 { "Leads of the pickup " (name) }
        div #summary data-part="summary" { @if let Some(trouble) = trouble { (trouble.notice()) } }
        @match record.begun() {
            Err(trouble) => div data-part="begin" { (trouble.notice()) },
            Ok((_, readings)) => {
                @let command = format!("drywire leads {}", shell_quoted(&record.shown_path()));
                (known(&at, &readings, &command, doubted, &|| into(panel, &base, &at, name)))
            }
        }
    };
    frame.page(&main).into_response()
}

/// Returns what puts a pickup whose leads are known into a guitar.
fn into(panel: &Panel, base: &str, at: &str, name: &FolderName) -> Markup {
    let guitars = panel.guitars.list();
    let faultless = guitars.iter().filter_map(|own| Some((own, own.guitar.as_ref().ok()?)));
    let all: Vec<(String, String)> = faultless
        .flat_map(|(own, guitar)| {
            guitar.pickups().iter().map(move |pickup| {
                let pickup = pickup.name();
                (format!("{}/{pickup}", own.folder), format!("{}: {pickup}", own.called))
            })
        })
        .collect();
    html! {
        p { a.button.strong #make-guitar href={ (base) "new?bench=" (path_segment(name.as_str())) } { "Make a guitar with it" } }
        @if !all.is_empty() {
            form.asks method="post" action={ (at) "put" } {
                label { "or it goes into " select #into name="into" { @for (value, shown) in &all { option value=(value) { (shown) } } } }
                button #put { "Put it there" }
            }
        }
        p.small { "Its leads, ohms, poles and windings go with it, as far as they are known." }
    }
}
