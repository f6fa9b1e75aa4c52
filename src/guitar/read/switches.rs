//! The switches that a guitar's file says are soldered in.

use super::keyed::Keyed;
use super::leads::{NamedLead, by_sign, refuse_lugs};
use crate::document::{Fault, Name};
use crate::guitar::Pickup;
use crate::wiring::{Leads, Soldered};

/// What is known of a pickup whether it could be read as a whole or not.
pub(super) struct Sketch {
    pub(super) name: Option<Name>,
    pub(super) leads: Vec<NamedLead>,
}

/// Returns the switches that are soldered in; where the pickups could be read, each is checked to be on one of
/// them with two coils.
pub(super) fn switches(
    top: &mut Keyed<'_, '_>,
    sketches: &[Sketch],
    pickups: Option<&[Pickup]>,
) -> Option<Vec<Soldered>> {
    let signed: Vec<_> = (0..sketches.len())
        .map(|i| {
            let finish_is_plus = pickups.map_or([true; 2], |pickups| pickups[i].finish_is_plus());
            (by_sign(&sketches[i].leads, finish_is_plus), finish_is_plus)
        })
        .collect();
    let leads_of = |on: Option<&Name>| {
        let place = match on {
            Some(on) => sketches.iter().position(|sketch| sketch.name.as_ref() == Some(on)),
            None => (sketches.len() == 1).then_some(0),
        };
        let leads = place.map(|i| &signed[i]);
        leads.map_or(Leads::NONE, |(named, finish_is_plus)| Leads { named, finish_is_plus: *finish_is_plus })
    };
    let read = top.tables("switch", |section| (Soldered::read(section, leads_of), section.span()));
    let mut taken: Vec<&Name> = Vec::new();
    for (switch, span) in &read {
        let Some(switch) = switch else { continue };
        let name = switch.name();
        if taken.contains(&&name.value) {
            top.note(Fault::new(name.span.clone(), format!("a second switch is named `{}`", name.value)));
        }
        taken.push(&name.value);
        let Some(pickups) = pickups else { continue };
        let known = || pickups.iter().map(|p| p.name().as_str()).collect::<Vec<_>>().join(", ");
        let on = match switch.on() {
            Some(on) => pickups.iter().position(|pickup| *pickup.name() == on.value),
            None => (pickups.len() == 1).then_some(0),
        };
        if let Some(i) = on {
            refuse_lugs(top, &sketches[i].leads, &pickups[i], switch);
        }
        let on = on.map(|i| &pickups[i]);
        let place = switch.on().map_or_else(|| span.clone(), |on| on.span.clone());
        match (on, switch.on()) {
            (Some(pickup), _) if pickup.coil_b().is_none() => {
                let message =
                    format!("pickup `{}` has one coil, which leaves nothing to switch", pickup.name());
                top.note(Fault::new(place, message));
            }
            (Some(_), _) => {}
            (None, Some(on)) => {
                let message = format!("the guitar has no pickup `{}`", on.value);
                top.note(Fault::new(place, message).hint(format!("it has {}", known())));
            }
            (None, None) => {
                let message = format!("switch `{}` does not say which pickup it is on", name.value);
                top.note(Fault::new(place, message).hint(format!("add on = one of {}", known())));
            }
        }
    }
    read.into_iter().map(|(switch, _)| switch).collect()
}
