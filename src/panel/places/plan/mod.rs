//! Which lead goes on which lug: plans with the fewest joints, and joints made by hand.
//!
//! What is soldered around a switch stands in the guitar's file, and what is done here changes it there.

mod joints;
mod page;

use std::sync::Arc;

use axum::response::Response;
use drywire::guitar::{Draft, Guitar, Pickup};
use drywire::lugs::{Asked, Found, Wanted, put_plan, ranked};
use drywire::wiring::{Plan, Soldered, Switch};
use serde::Deserialize;

use super::guitar::{OfGuitar, Trouble, change_quickly, change_with, faultless};
use super::sent::{Form, Query};
use super::shown::Shown;
use crate::panel::guitars::Checked;

use joints::Joints;

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

/// What is put down: the thing that was picked up, and where it goes, or nothing where it is taken off.
#[derive(Debug, Deserialize)]
pub(super) struct PutDown {
    fixed: String,
    to: String,
}

/// Puts a plan into the guitar's file.
pub(super) async fn put(of: OfGuitar, Form(Which { index }): Form<Which>) -> Response {
    let (.., Query(shown)) = &of;
    change_with(&of, |checked, mut draft| {
        let pickup = pickup_of(faultless(checked)?, shown)?;
        let plan = planned(shown)?.1.into_iter().nth(index);
        let plan = plan.ok_or_else(|| Trouble::new("there is no such plan", "choose one that is shown"))?;
        let put = put_plan(&plan, &mut draft, pickup.name().as_str())?;
        Ok((format!("the plan of switch {}", put.name), draft))
    })
}

/// Puts down what was picked up; answers with the switch alone.
pub(super) async fn put_down(of: OfGuitar, Form(PutDown { fixed, to }): Form<PutDown>) -> Response {
    let (.., Query(shown)) = &of;
    let change = |checked: &Checked, mut draft: Draft| {
        let guitar = faultless(checked)?;
        let pickup = pickup_of(guitar, shown)?;
        let (place, switch) = switch_of(guitar, pickup).ok_or_else(|| {
            Trouble::new("this pickup has no switch yet", "put a plan into the guitar first")
        })?;
        let mut joints = Joints::of(&draft, place, pickup, switch)?;
        let called = if to.is_empty() { joints.unsolder(&fixed)? } else { joints.put(&fixed, &to)? };
        draft.set(&format!("switch[{place}].joints"), joints.literal())?;
        Ok((called, draft))
    };
    change_quickly(&of, change, &|at, state| page::soldered_part(at, state, shown))
}

/// Returns the pickup of two coils that is meant: the one that is shown, or the first.
fn pickup_of<'g>(guitar: &'g Guitar, shown: &Shown) -> Result<&'g Pickup, Trouble> {
    let two = || guitar.pickups().iter().filter(|pickup| pickup.coil_b().is_some());
    let meant = two().find(|pickup| pickup.name().as_str() == shown.heard).or_else(|| two().next());
    meant.ok_or_else(|| {
        Trouble::new("no pickup of this guitar has two coils", "one coil leaves nothing to switch")
    })
}

/// Returns the first switch on a pickup, with its place in the file.
fn switch_of<'g>(guitar: &'g Guitar, pickup: &Pickup) -> Option<(usize, &'g Soldered)> {
    let all = guitar.switches().iter().enumerate();
    all.into_iter().find(|(_, switch)| guitar.switched_by(switch).name() == pickup.name())
}

/// Returns the kind of switch that is planned.
fn kind_of(shown: &Shown) -> Result<Arc<Switch>, Trouble> {
    let kind = if shown.kind.is_empty() { USUAL } else { &shown.kind };
    Switch::named(kind).map_err(|error| Trouble::new(error.to_string(), error.hint()))
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
    let wanted = Wanted::new(switch, asked).map_err(|error| Trouble::new(error.to_string(), ""))?;
    let found = wanted.fewest();
    let plans = ranked(found.plans.clone()).into_iter().map(|(_, plan)| plan).collect();
    Ok((wanted, plans, found))
}
