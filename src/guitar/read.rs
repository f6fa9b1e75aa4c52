//! A guitar read from its file.

mod cavity;
mod coil;
mod controls;
mod joined;
mod keyed;
mod leads;
mod measured;
mod pickup;
mod switches;
#[cfg(test)]
mod tests;
mod tolerances;

pub(super) use pickup::{PickupBase, built_in};

use self::keyed::Keyed;
use self::pickup::TWO_COIL_POT;
use self::switches::Sketch;
use super::{Controls, Guitar, Joined, Pickup, PickupForm, Point, keys};
use crate::document::{Document, Fault, FileKind, Refusal, Section};
use crate::wiring::{Arrangement, Soldered};

/// The one format of guitar files there is.
const FORMAT: f64 = 1.0;

/// What is told beside the values: those that are not typical, and a pickup's leads.
#[derive(Default)]
struct Remarks {
    notes: Vec<String>,
    leads: Vec<leads::NamedLead>,
}

impl Guitar {
    /// Returns the guitar that `document` describes.
    ///
    /// # Errors
    /// [`Refusal`] with every fault of the document: unknown keys, values that are no quantities, out of range
    /// or missing, names taken twice.
    pub fn read(document: &Document) -> Result<Self, Refusal> {
        document.interpret(guitar)
    }
}

fn guitar(top: &mut Section<'_>) -> Option<Guitar> {
    if top.is_of_another_kind(FileKind::Guitar) {
        return None;
    }
    let mut remarks = Remarks::default();
    let top = &mut Keyed::new(top, &keys::GUITAR, &mut remarks);
    format_of(top);
    let name = top.label("name").map_or_else(|| keys::GUITAR.usual("name").to_owned(), |name| name.value);
    let scale = top.quantity_or_usual("scale");
    let mut sketches = Vec::new();
    let read = top.tables("pickup", |section| {
        let from = section.span();
        let (name, read) = pickup::pickup(section, scale.value);
        sketches.push(Sketch { name, leads: std::mem::take(&mut section.remarks.leads) });
        (read, from)
    });
    if !top.has("pickup") && !top.has_like("pickup") {
        top.note_missing(
            "pickup",
            "add a table headed [[pickup]] with name = \"bridge\" and like = a built-in pickup",
        );
    }
    let first = read.first().and_then(|(base, _)| base.as_ref());
    let default_pot = first.map_or(TWO_COIL_POT, |base| base.pot);
    let pickups: Option<Vec<Pickup>> =
        read.iter().map(|(p, _)| p.as_ref().map(|p| p.pickup.clone())).collect();
    for (i, pickup) in pickups.iter().flatten().enumerate() {
        if pickups.iter().flatten().take(i).any(|earlier| earlier.name == pickup.name) {
            top.note(Fault::new(read[i].1.clone(), format!("a second pickup is named `{}`", pickup.name)));
        }
    }
    let switches = switches::switches(top, &sketches, pickups.as_deref());
    let joined = match &pickups {
        Some(pickups) => {
            let switches = switches.as_deref().unwrap_or_default();
            joined::joined(top, pickups, switches, default_pot)
        }
        None => joined::passed_over(top),
    };
    // A state such as `selector:2+mode:1` names both kinds alike.
    for selector in joined.iter().flat_map(|joined: &Joined| joined.selectors()) {
        let same = switches.iter().flatten().find(|switch| switch.name().value == *selector.name());
        if let Some(switch) = same {
            let message = format!("a selector and a switch are both named `{}`", selector.name());
            top.note(Fault::new(switch.name().span.clone(), message));
        }
    }
    if let (Some(pickups), Some(switches), Some(joined)) = (&pickups, &switches, &joined) {
        refuse_what_is_joined_inside(top, pickups, switches, joined);
    }
    let own = pickups.iter().flatten().any(|p| p.controls != Controls::default());
    let controls = controls::controls(top, own, default_pot);
    let buffer = controls::buffer(top);
    let tolerances = tolerances::tolerances(top);
    let cable = controls::cable(top);
    let input = controls::input(top);
    let cavity = cavity::cavity(top, buffer.is_some());
    Some(Guitar {
        name,
        scale,
        pickups: pickups.filter(|p| !p.is_empty())?,
        switches: switches?,
        joined: joined?,
        controls: controls?,
        buffer,
        tolerances,
        cable: cable?,
        input,
        cavity,
        notes: remarks.notes,
    })
}

/// Notes what would have to be joined at ends that do not leave their pickup.
fn refuse_what_is_joined_inside(
    top: &Section<'_>,
    pickups: &[Pickup],
    switches: &[Soldered],
    joined: &Joined,
) {
    for switch in switches {
        let on = pickups.iter().find(|pickup| switch.on().is_none_or(|on| *pickup.name() == on.value));
        if let Some(pickup) = on.filter(|pickup| pickup.is_joined_inside()) {
            let name = &switch.name().value;
            let message = format!(
                "switch `{name}` joins the coils of pickup `{}`, whose form says that they are joined inside",
                pickup.name()
            );
            let hint = "say form = \"four\" where every coil's leads come out";
            top.note(Fault::new(switch.name().span.clone(), message).hint(hint));
        }
    }
    for pickup in pickups.iter().filter(|pickup| pickup.is_joined_inside()) {
        if pickup.arrangement() == Arrangement::SeriesBypassed {
            let message = format!(
                "the coils of pickup `{}` are joined inside, where nothing bypasses them",
                pickup.name()
            );
            top.note(
                Fault::new(top.span(), message).hint("say form = \"four\" where every coil's leads come out"),
            );
        }
    }
    for (place, pickup) in pickups.iter().enumerate() {
        if pickup.form() == PickupForm::Braid && joined.names(Point::Cold(place)) {
            let message = format!(
                "`{0}.ground` is joined, and the braid of pickup `{0}` is on ground as all metal is",
                pickup.name()
            );
            let hint = "a ground conductor that is switched must be a lead of its own: say form = \"two\" or \"four\"";
            top.note(Fault::new(top.span(), message).hint(hint));
        }
    }
}

fn format_of(top: &mut Keyed<'_, '_>) {
    if let Some(format) = top.any_number("format") {
        if format.value.total_cmp(&FORMAT).is_ne() {
            let message = format!("format {} is not known; this program reads format {FORMAT}", format.value);
            top.note(Fault::new(format.span, message));
        }
    } else if !top.has("format") {
        top.note_missing("format", "begin the file with format = 1");
    }
}
