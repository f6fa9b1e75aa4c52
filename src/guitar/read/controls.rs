//! Pots, treble bleed, bass cut, loads, buffer, cable and input read from their tables.

use super::Remarks;
use crate::document::{Fault, Section};
use crate::guitar::bounds::{self, Bounds};
use crate::guitar::{
    BassCut, Bleed, BleedForm, Buffer, Cable, CableBy, Controls, Input, Pot, Taper, Tone, ToneJoined, Value,
    VolumeWiring, keys,
};
use crate::quantity::{Farads, Metres, Ohms};

const DEFAULT_MID: f64 = 0.13;
const DEFAULT_CAPACITOR: Farads = Farads::new(22e-9);
const DEFAULT_LENGTH: Metres = Metres::new(3.0);
const DEFAULT_PER_METRE: Farads = Farads::new(120e-12);
const DEFAULT_INPUT: Ohms = Ohms::new(1e6);

const TAPERS: [(&str, bool); 2] = [("audio", true), ("linear", false)];

/// The most capacitors that a tone control chooses among.
const MAX_CAPACITORS: usize = 12;

/// Returns the guitar's controls: those of the `[controls]` table, or where there is none and no pickup has its own
/// (`in_pickups`), the usual two pots.
pub(super) fn controls(
    top: &mut Section<'_>,
    in_pickups: bool,
    default_pot: Ohms,
    remarks: &mut Remarks,
) -> Option<Controls> {
    if top.has("controls") {
        return top.table("controls", |section| table(section, default_pot, remarks))?;
    }
    if in_pickups {
        return Some(Controls::default());
    }
    let pot = Pot {
        track: Value::usual(default_pot),
        taper: Value::usual(Taper::Audio { mid: DEFAULT_MID }),
        turned: Value::usual(Pot::FULL),
    };
    let tone = Tone { pot, capacitor: Value::usual(DEFAULT_CAPACITOR), joined: ToneJoined::BeforeVolume };
    Some(Controls { volume: Some(pot), tone: Some(tone), ..Controls::default() })
}

/// Returns the controls of a table.
pub(super) fn table(section: &mut Section<'_>, default_pot: Ohms, remarks: &mut Remarks) -> Option<Controls> {
    const WIRED: [(&str, VolumeWiring); 2] =
        [("dependent", VolumeWiring::Dependent), ("independent", VolumeWiring::Independent)];
    section.knows(keys::CONTROLS.known());
    let volume = section.table("volume", |s| {
        s.knows(keys::VOLUME.known());
        let wiring = s.choice("wired", &WIRED).map_or(VolumeWiring::Dependent, |w| w.value);
        (pot(s, (&bounds::POT, default_pot), remarks), wiring)
    });
    let tone = match section.table("tone", |s| tone(s, default_pot, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let bleed = match section.table("bleed", |s| bleed(s, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let bass_cut = match section.table("bass_cut", |s| bass_cut(s, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let load = bounds::LOAD.quantity(section, "load", &mut remarks.notes);
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

fn tone(section: &mut Section<'_>, default_pot: Ohms, remarks: &mut Remarks) -> Option<Tone> {
    const JOINED: [(&str, ToneJoined); 2] =
        [("before-volume", ToneJoined::BeforeVolume), ("after-volume", ToneJoined::AfterVolume)];
    section.knows(keys::TONE.known());
    let pot = pot(section, (&bounds::POT, default_pot), remarks);
    let joined = section.choice("joined", &JOINED).map_or(ToneJoined::BeforeVolume, |j| j.value);
    if section.has("chosen") && !section.has("capacitors") {
        let message = "`chosen` says which of `capacitors` is used, and there are no `capacitors`";
        section.note(Fault::new(section.span(), message));
    }
    let capacitor = if section.has("capacitors") {
        Value::stated(chosen_capacitor(section, &mut remarks.notes)?)
    } else {
        let stated = bounds::TONE_CAPACITOR.quantity(section, "capacitor", &mut remarks.notes);
        Value::or_usual(stated, DEFAULT_CAPACITOR)
    };
    Some(Tone { pot, capacitor, joined })
}

/// Returns the capacitor that a rotary switch has chosen among `capacitors`.
fn chosen_capacitor(section: &mut Section<'_>, notes: &mut Vec<String>) -> Option<Farads> {
    if section.has("capacitor") {
        let message = "the tone control has `capacitors` to choose among as well as one `capacitor`";
        section.note(Fault::new(section.span(), message).hint("state one or the other"));
    }
    let all = bounds::TONE_CAPACITOR.quantities::<Farads>(section, "capacitors", notes)?;
    if all.is_empty() || all.len() > MAX_CAPACITORS {
        let message = format!("{} capacitors to choose among; allowed are 1 to {MAX_CAPACITORS}", all.len());
        section.note(Fault::new(section.span(), message));
        return None;
    }
    let chosen = match section.number("chosen") {
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

fn bass_cut(section: &mut Section<'_>, remarks: &mut Remarks) -> Option<BassCut> {
    section.knows(keys::BASS_CUT.known());
    let pot = pot(section, (&bounds::BASS_CUT_POT, Ohms::new(1e6)), remarks);
    let capacitor = bounds::BASS_CUT_CAPACITOR.quantity(section, "capacitor", &mut remarks.notes);
    if !section.has("capacitor") {
        section.note_missing("capacitor", "a bass cut is a capacitor in the signal's way, such as \"2.2n\"");
    }
    Some(BassCut { pot, capacitor: capacitor? })
}

/// Returns the buffer in the guitar, where there is one.
pub(super) fn buffer(top: &mut Section<'_>, remarks: &mut Remarks) -> Option<Buffer> {
    let (usual_input, usual_output) = (Ohms::new(1e6), Ohms::new(1e3));
    top.table("buffer", |section| {
        section.knows(keys::BUFFER.known());
        let input = bounds::BUFFER_INPUT.quantity(section, "input", &mut remarks.notes);
        let output = bounds::BUFFER_OUTPUT.quantity(section, "output", &mut remarks.notes);
        Buffer { input: Value::or_usual(input, usual_input), output: Value::or_usual(output, usual_output) }
    })
}

pub(super) fn pot(
    section: &mut Section<'_>,
    (allowed, default_track): (&Bounds, Ohms),
    remarks: &mut Remarks,
) -> Pot {
    let track = allowed.quantity(section, "pot", &mut remarks.notes);
    let audio = section.choice("taper", &TAPERS).map(|t| t.value);
    let mid = bounds::number(section, "mid", &(0.01..=0.99), false);
    if audio == Some(false) && section.has("mid") {
        section.note(Fault::new(section.span(), "`mid` belongs to an audio taper, and this one is linear"));
    }
    let turned = bounds::number(section, "turned", &(0.0..=10.0), false);
    let of_audio = Taper::Audio { mid: mid.unwrap_or(DEFAULT_MID) };
    let taper = audio.map(|audio| if audio { of_audio } else { Taper::Linear });
    Pot {
        track: Value::or_usual(track, default_track),
        taper: Value::or_usual(taper, of_audio),
        turned: Value::or_usual(turned, Pot::FULL),
    }
}

fn bleed(section: &mut Section<'_>, remarks: &mut Remarks) -> Option<Bleed> {
    const JOINED: [(&str, bool); 2] = [("parallel", true), ("series", false)];
    section.knows(keys::BLEED.known());
    let capacitor = bounds::BLEED_CAPACITOR.quantity(section, "capacitor", &mut remarks.notes);
    if !section.has("capacitor") {
        section
            .note_missing("capacitor", "a treble bleed is at least a capacitor, such as capacitor = \"1n\"");
    }
    let resistor: Option<Ohms> = bounds::BLEED_RESISTOR.quantity(section, "resistor", &mut remarks.notes);
    let parallel = section.choice("joined", &JOINED).map(|j| j.value);
    if section.has("joined") && !section.has("resistor") {
        let message = "`joined` says how a resistor is joined, and there is no `resistor`";
        section.note(Fault::new(section.span(), message));
    }
    let form = match (resistor, parallel) {
        (None, _) => Value::stated(BleedForm::Capacitor),
        (Some(resistor), None) => Value::usual(BleedForm::Parallel(resistor)),
        (Some(resistor), Some(true)) => Value::stated(BleedForm::Parallel(resistor)),
        (Some(resistor), Some(false)) => Value::stated(BleedForm::Series(resistor)),
    };
    Some(Bleed { capacitor: capacitor?, form })
}

/// Returns the cable: that of the `[cable]` table, or three metres of an ordinary one.
pub(super) fn cable(top: &mut Section<'_>, remarks: &mut Remarks) -> Option<Cable> {
    let of_length = |length: Value<Metres>, per_metre: Value<Farads>| Cable {
        capacitance: Farads::new(length.value.value() * per_metre.value.value()),
        by: CableBy::Length { length, per_metre },
    };
    if !top.has("cable") {
        return Some(of_length(Value::usual(DEFAULT_LENGTH), Value::usual(DEFAULT_PER_METRE)));
    }
    top.table("cable", |section| {
        section.knows(keys::CABLE.known());
        let total = bounds::CABLE_TOTAL.quantity(section, "total", &mut remarks.notes);
        let length = bounds::CABLE_LENGTH.quantity(section, "length", &mut remarks.notes);
        let per_metre = bounds::CABLE_PER_METRE.quantity(section, "per_metre", &mut remarks.notes);
        if !section.has("total") {
            let length = Value::or_usual(length, DEFAULT_LENGTH);
            let per_metre = Value::or_usual(per_metre, DEFAULT_PER_METRE);
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

/// Returns the amplifier's input: that of the `[input]` table, or 1 MΩ without capacitance.
pub(super) fn input(top: &mut Section<'_>, remarks: &mut Remarks) -> Input {
    let no_capacitance = Farads::new(0.0);
    let read = top.table("input", |section| {
        section.knows(keys::INPUT.known());
        let resistance = bounds::INPUT_RESISTANCE.quantity(section, "resistance", &mut remarks.notes);
        let capacitance = bounds::INPUT_CAPACITANCE.quantity(section, "capacitance", &mut remarks.notes);
        Input {
            resistance: Value::or_usual(resistance, DEFAULT_INPUT),
            capacitance: Value::or_usual(capacitance, no_capacitance),
        }
    });
    read.unwrap_or(Input {
        resistance: Value::usual(DEFAULT_INPUT),
        capacitance: Value::usual(no_capacitance),
    })
}
