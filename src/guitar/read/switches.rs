//! The switches that a guitar's file says are soldered in.

use crate::document::{Fault, Name, Section};
use crate::guitar::Pickup;
use crate::wiring::Soldered;

/// More switches than anyone would drill for.
const MAX_SWITCHES: usize = 8;

/// Returns the switches that are soldered in; where the pickups could be read, each is checked to be on one of
/// them with two coils.
pub(super) fn switches(top: &mut Section<'_>, pickups: Option<&[Pickup]>) -> Option<Vec<Soldered>> {
    let read = top.tables("switch", MAX_SWITCHES, |section| (Soldered::read(section), section.span()));
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
            Some(on) => pickups.iter().find(|pickup| *pickup.name() == on.value),
            None => pickups.first().filter(|_| pickups.len() == 1),
        };
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
