//! Which lead goes on which lug: plans with the fewest joints, and joints made by hand.
//!
//! What is soldered around a switch stands in the guitar's file, and what is done here changes it there.

mod joints;
mod page;
mod wish;

use axum::response::Response;
use drywire::guitar::{Draft, Guitar, Pickup};
use drywire::lugs::put_plan;
use drywire::wiring::Soldered;
use serde::Deserialize;

use super::guitar::{OfGuitar, Trouble, change_quickly, change_with, faultless};
use super::sent::{Form, Query};
use super::shown::Shown;
use crate::panel::guitars::Checked;

use joints::Joints;
use wish::Wish;

pub(super) use page::plan_views;

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
        let guitar = faultless(checked)?;
        let pickup = pickup_of(guitar, shown)?;
        let plan = Wish::of(guitar, pickup, shown)?.planned()?.plans.into_iter().nth(index);
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
