//! Which lead goes on which lug: plans with the fewest joints, and joints made by hand.
//!
//! What is soldered around a switch stands in the guitar's file, and what is done here changes it there.

mod joints;
mod page;

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use drywire::guitar::{Guitar, Pickup};
use drywire::lugs::{Asked, Found, Wanted, put_plan, ranked};
use drywire::wiring::{Plan, Soldered, Switch};
use serde::Deserialize;
use std::sync::Arc;

use super::guitar::{OfGuitar, Trouble, take_over, work};
use super::shown::Shown;

pub(super) use page::plan_views;

/// The kind of switch that is planned unless another is chosen.
const USUAL: &str = "on-on";
/// What its throws do then.
const USUAL_THROWS: [&str; 2] = ["series", "parallel"];

/// Which of the plans that are shown.
#[derive(Debug, Deserialize)]
pub(super) struct Which {
    index: usize,
}

/// A wire and the lug that it goes to.
#[derive(Debug, Deserialize)]
pub(super) struct Joint {
    #[serde(default)]
    wire: String,
    lug: String,
}

/// What is taken off where it is soldered.
#[derive(Debug, Deserialize)]
pub(super) struct Off {
    thing: String,
}

/// Puts a plan into the guitar's file.
pub(super) async fn put(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    let (.., Query(shown)) = &of;
    work(&of, |open| {
        let checked = Arc::clone(open.checked());
        let guitar = match faultless(&checked) {
            Ok(guitar) => guitar,
            Err(trouble) => return Some(trouble),
        };
        let planned = pickup_of(guitar, shown).and_then(|pickup| {
            let plan = planned(shown)?.1.into_iter().nth(index);
            Ok((pickup, plan.ok_or_else(|| refused("there is no such plan", "choose one that is shown"))?))
        });
        let (pickup, plan) = match planned {
            Ok(planned) => planned,
            Err(trouble) => return Some(trouble),
        };
        let mut draft = open.draft().clone();
        match put_plan(&plan, &mut draft, pickup.name().as_str()) {
            Ok(put) => take_over(open, format!("the plan of switch {}", put.name), draft),
            Err(error) => Some(refused(error.to_string(), error.hint())),
        }
    })
}

/// Solders a wire to a lug.
pub(super) async fn solder(of: OfGuitar, Form(Joint { wire, lug }): Form<Joint>) -> Response {
    joined(&of, |joints| joints.solder(&wire, &lug))
}

/// Takes off what is soldered.
pub(super) async fn unsolder(of: OfGuitar, Form(Off { thing }): Form<Off>) -> Response {
    joined(&of, |joints| joints.unsolder(&thing))
}

/// Changes the joints around the switch of the pickup that is shown.
fn joined(
    of: &OfGuitar,
    change: impl FnOnce(&mut joints::Joints<'_>) -> Result<String, Trouble>,
) -> Response {
    let (_, State(_), Path(_), Query(shown)) = of;
    work(of, |open| {
        let checked = Arc::clone(open.checked());
        let changed = faultless(&checked).and_then(|guitar| {
            let pickup = pickup_of(guitar, shown)?;
            let (place, switch) = switch_of(guitar, pickup).ok_or_else(|| {
                refused("this pickup has no switch yet", "put a plan into the guitar first")
            })?;
            let mut draft = open.draft().clone();
            let mut joints = joints::Joints::of(&draft, place, pickup, switch)?;
            let called = change(&mut joints)?;
            let literal = joints.literal();
            draft
                .set(&format!("switch[{place}].joints"), literal)
                .map_err(|error| refused(error.to_string(), error.hint()))?;
            Ok((called, draft))
        });
        match changed {
            Ok((called, draft)) => take_over(open, called, draft),
            Err(trouble) => Some(trouble),
        }
    })
}

fn refused(message: impl Into<String>, hint: impl Into<String>) -> Trouble {
    Trouble::Other { message: message.into(), hint: hint.into() }
}

fn faultless(checked: &Result<Guitar, drywire::document::Refusal>) -> Result<&Guitar, Trouble> {
    checked.as_ref().map_err(|_| refused("the guitar’s file has faults", "mend them first"))
}

/// Returns the pickup of two coils that is meant: the one that is shown, or the first.
fn pickup_of<'g>(guitar: &'g Guitar, shown: &Shown) -> Result<&'g Pickup, Trouble> {
    let two = || guitar.pickups().iter().filter(|pickup| pickup.coil_b().is_some());
    let meant = two().find(|pickup| pickup.name().as_str() == shown.heard).or_else(|| two().next());
    meant
        .ok_or_else(|| refused("no pickup of this guitar has two coils", "one coil leaves nothing to switch"))
}

/// Returns the first switch on a pickup, with its place in the file.
fn switch_of<'g>(guitar: &'g Guitar, pickup: &Pickup) -> Option<(usize, &'g Soldered)> {
    let all = guitar.switches().iter().enumerate();
    all.into_iter().find(|(_, switch)| guitar.switched_by(switch).name() == pickup.name())
}

/// Returns the kind of switch that is planned.
fn kind_of(shown: &Shown) -> Result<Arc<Switch>, Trouble> {
    let kind = if shown.kind.is_empty() { USUAL } else { &shown.kind };
    Switch::named(kind).map_err(|error| refused(error.to_string(), error.hint()))
}

/// Returns what each throw of a switch is to do: what is chosen, or something usual.
fn asked(shown: &Shown, switch: &Switch) -> Vec<Asked> {
    let chosen = [&shown.throw1, &shown.throw2, &shown.throw3, &shown.throw4];
    let usual = USUAL_THROWS.iter().copied().chain(std::iter::repeat("any"));
    let throws = chosen.into_iter().zip(usual).take(switch.throws().len());
    throws.map(|(chosen, usual)| chosen.parse().or_else(|_| usual.parse()).unwrap_or(Asked::Any)).collect()
}

/// Returns what is wanted, the plans that do it with the fewest joints, the most preferred first, and what the search found.
fn planned(shown: &Shown) -> Result<(Wanted, Vec<Plan>, Found), Trouble> {
    let switch = kind_of(shown)?;
    let asked = asked(shown, &switch);
    let wanted = Wanted::new(switch, asked).map_err(|error| refused(error.to_string(), ""))?;
    let found = wanted.fewest();
    let plans = ranked(found.plans.clone()).into_iter().map(|(_, plan)| plan).collect();
    Ok((wanted, plans, found))
}
