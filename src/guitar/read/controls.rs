//! Pots, treble bleed, bass cut, loads, buffer, cable and input read from their tables.

use super::keyed::Keyed;
use crate::document::Fault;
use crate::guitar::controls::{BleedJoined, TaperKind};
use crate::guitar::{
    BassCut, Bleed, BleedForm, Buffer, Cable, CableBy, Controls, Input, Pot, Taper, Tone, ToneJoined, Value,
    VolumeWiring, bounds, keys,
};
use crate::quantity::{Farads, Metres, Ohms};

/// The most capacitors that a tone control chooses among.
const MAX_CAPACITORS: usize = 12;

/// Returns the guitar's controls: those of the `[controls]` table, or where there is none and no pickup has its own
/// (`in_pickups`), the usual two pots.
pub(super) fn controls(top: &mut Keyed<'_, '_>, in_pickups: bool, default_pot: Ohms) -> Option<Controls> {
    if top.has("controls") {
        return top.table("controls", |section| table(section, default_pot))?;
    }
    if in_pickups {
        return Some(Controls::default());
    }
    let pot = Pot {
        track: Value::usual(default_pot),
        taper: Value::usual(Taper::Audio { mid: keys::VOLUME.usual_number("mid") }),
        turned: Value::usual(keys::VOLUME.usual_number("turned")),
    };
    let tone = Tone {
        pot,
        capacitor: Value::usual(keys::TONE.usual_quantity("capacitor")),
        joined: keys::TONE.usual_choice("joined"),
    };
    Some(Controls { volume: Some(pot), tone: Some(tone), ..Controls::default() })
}

/// Returns the controls of a table.
pub(super) fn table(section: &mut Keyed<'_, '_>, default_pot: Ohms) -> Option<Controls> {
    let volume = section.table("volume", |volume| {
        (pot(volume, Some(default_pot)), volume.choice_or_usual::<VolumeWiring>("wired").value)
    });
    let tone = match section.table("tone", |s| tone(s, default_pot)) {
        Some(read) => Some(read?),
        None => None,
    };
    let bleed = match section.table("bleed", bleed) {
        Some(read) => Some(read?),
        None => None,
    };
    let bass_cut = match section.table("bass_cut", bass_cut) {
        Some(read) => Some(read?),
        None => None,
    };
    let load = section.quantity("load");
    if bleed.is_some() && volume.is_none() {
        let message = "a treble bleed lies across the volume pot, and there is no `volume`";
        section.note(Fault::new(section.span(), message));
    }
    if volume.is_none() && tone.is_some_and(|tone| tone.joined == ToneJoined::AfterVolume) {
        let message = "the tone control is joined after the volume pot, and there is no `volume`";
        section.note(Fault::new(section.span(), message));
    }
    let (volume, wiring) = volume.unzip();
    Some(Controls { volume, wiring: wiring.unwrap_or_default(), tone, bleed, bass_cut, load })
}

fn tone(section: &mut Keyed<'_, '_>, default_pot: Ohms) -> Option<Tone> {
    let pot = pot(section, Some(default_pot));
    let joined = section.choice_or_usual("joined").value;
    if section.has("chosen") && !section.has("capacitors") {
        let message = "`chosen` says which of `capacitors` is used, and there are no `capacitors`";
        section.note(Fault::new(section.span(), message));
    }
    let capacitor = if section.has("capacitors") {
        Value::stated(chosen_capacitor(section)?)
    } else {
        section.quantity_or_usual("capacitor")
    };
    Some(Tone { pot, capacitor, joined })
}

/// Returns the capacitor that a rotary switch has chosen among `capacitors`.
fn chosen_capacitor(section: &mut Keyed<'_, '_>) -> Option<Farads> {
    if section.has("capacitor") {
        let message = "the tone control has `capacitors` to choose among as well as one `capacitor`";
        section.note(Fault::new(section.span(), message).hint("state one or the other"));
    }
    let all: Vec<Farads> = section.quantities("capacitors")?;
    if all.is_empty() || all.len() > MAX_CAPACITORS {
        let message = format!("{} capacitors to choose among; allowed are 1 to {MAX_CAPACITORS}", all.len());
        section.note(Fault::new(section.span(), message));
        return None;
    }
    let chosen = match section.any_number("chosen") {
        None => Some(0),
        Some(chosen) => {
            let place =
                (1u8..).zip(0..all.len()).find(|(n, _)| f64::from(*n).total_cmp(&chosen.value).is_eq());
            if place.is_none() {
                let message = format!(
                    "`chosen` is {}; allowed is a whole number from 1 to {}",
                    chosen.value,
                    all.len()
                );
                section.note(Fault::new(chosen.span, message));
            }
            place.map(|(_, index)| index)
        }
    };
    chosen.map(|index| all[index])
}

fn bass_cut(section: &mut Keyed<'_, '_>) -> Option<BassCut> {
    let pot = pot(section, None);
    let capacitor = section.quantity("capacitor");
    if !section.has("capacitor") {
        section.note_missing("capacitor", "a bass cut is a capacitor in the signal's way, such as \"2.2n\"");
    }
    Some(BassCut { pot, capacitor: capacitor? })
}

/// Returns the buffer in the guitar, where there is one.
pub(super) fn buffer(top: &mut Keyed<'_, '_>) -> Option<Buffer> {
    top.table("buffer", |section| Buffer {
        input: section.quantity_or_usual("input"),
        output: section.quantity_or_usual("output"),
    })
}

/// Returns the pot of a table that has one's keys; where the file does not state its track, it is as `usual`, or by itself
/// what the key says.
pub(super) fn pot(section: &mut Keyed<'_, '_>, usual: Option<Ohms>) -> Pot {
    let track = section.quantity("pot");
    let track = Value::or_usual(track, usual.unwrap_or_else(|| section.usual_quantity("pot")));
    let Value { value: kind, origin } = section.choice_or_usual("taper");
    let mid = section.number_or_usual("mid").value;
    let taper = match kind {
        TaperKind::Audio => Taper::Audio { mid },
        TaperKind::Linear => Taper::Linear,
    };
    if taper == Taper::Linear && section.has("mid") {
        section.note(Fault::new(section.span(), "`mid` belongs to an audio taper, and this one is linear"));
    }
    Pot { track, taper: Value { value: taper, origin }, turned: section.number_or_usual("turned") }
}

fn bleed(section: &mut Keyed<'_, '_>) -> Option<Bleed> {
    let capacitor = section.quantity("capacitor");
    if !section.has("capacitor") {
        section
            .note_missing("capacitor", "a treble bleed is at least a capacitor, such as capacitor = \"1n\"");
    }
    let resistor = section.quantity("resistor");
    let Value { value: joined, origin } = section.choice_or_usual("joined");
    if section.has("joined") && !section.has("resistor") {
        let message = "`joined` says how a resistor is joined, and there is no `resistor`";
        section.note(Fault::new(section.span(), message));
    }
    let form = match (resistor, joined) {
        (None, _) => Value::stated(BleedForm::Capacitor),
        (Some(resistor), BleedJoined::Parallel) => Value { value: BleedForm::Parallel(resistor), origin },
        (Some(resistor), BleedJoined::Series) => Value { value: BleedForm::Series(resistor), origin },
    };
    Some(Bleed { capacitor: capacitor?, form })
}

/// Returns the cable: that of the `[cable]` table, or three metres of an ordinary one.
pub(super) fn cable(top: &mut Keyed<'_, '_>) -> Option<Cable> {
    let of_length = |length: Value<Metres>, per_metre: Value<Farads>| Cable {
        capacitance: Farads::new(length.value.value() * per_metre.value.value()),
        by: CableBy::Length { length, per_metre },
    };
    if !top.has("cable") {
        let length = Value::usual(keys::CABLE.usual_quantity("length"));
        return Some(of_length(length, Value::usual(keys::CABLE.usual_quantity("per_metre"))));
    }
    top.table("cable", |section| {
        let total = section.quantity("total");
        let length = section.quantity_or_usual("length");
        let per_metre = section.quantity_or_usual("per_metre");
        if !section.has("total") {
            let cable = of_length(length, per_metre);
            if cable.capacitance.value() > bounds::CABLE_TOTAL.most() {
                let most = Farads::new(bounds::CABLE_TOTAL.most());
                let message = format!(
                    "{length} at {per_metre} a metre are {}; allowed is up to {most}",
                    cable.capacitance
                );
                section.note(
                    Fault::new(section.span(), message).hint("shorten the cable, or state its `total`"),
                );
                return None;
            }
            return Some(cable);
        }
        if section.has("length") || section.has("per_metre") {
            let message = "the cable has a `total` as well as `length` or `per_metre`";
            section.note(Fault::new(section.span(), message).hint("state one or the other"));
        }
        Some(Cable { capacitance: total?, by: CableBy::Total })
    })?
}

/// Returns the amplifier's input: that of the `[input]` table, or what is usual.
pub(super) fn input(top: &mut Keyed<'_, '_>) -> Input {
    let read = top.table("input", |section| Input {
        resistance: section.quantity_or_usual("resistance"),
        capacitance: section.quantity_or_usual("capacitance"),
    });
    read.unwrap_or_else(|| Input {
        resistance: Value::usual(keys::INPUT.usual_quantity("resistance")),
        capacitance: Value::usual(keys::INPUT.usual_quantity("capacitance")),
    })
}
