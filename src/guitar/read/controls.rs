//! Pots, treble bleed, bass cut, loads, buffer, cable and input read from their tables.

use super::Remarks;
use crate::document::{Fault, Section};
use crate::guitar::bounds::{self, Bounds};
use crate::guitar::{
    BassCut, Bleed, BleedForm, Buffer, Cable, Controls, Input, Pot, Taper, Tone, ToneJoined, VolumeWiring,
    keys,
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
        return top.table("controls", |section| table(section, "", default_pot, remarks))?;
    }
    if in_pickups {
        remarks.assumed.push("controls: only those of the pickups".to_owned());
        return Some(Controls::default());
    }
    let pot = Pot { track: default_pot, taper: Taper::Audio { mid: DEFAULT_MID }, turned: 10.0 };
    remarks.assumed.push(format!(
        "controls: volume and tone pots of {default_pot}, audio taper, full, with {DEFAULT_CAPACITOR} on the tone pot"
    ));
    let tone = Tone { pot, capacitor: DEFAULT_CAPACITOR, joined: ToneJoined::BeforeVolume };
    Some(Controls { volume: Some(pot), tone: Some(tone), ..Controls::default() })
}

/// Returns the controls of a table; `whose` stands before each one's name in remarks.
pub(super) fn table(
    section: &mut Section<'_>,
    whose: &str,
    default_pot: Ohms,
    remarks: &mut Remarks,
) -> Option<Controls> {
    const WIRED: [(&str, VolumeWiring); 2] =
        [("dependent", VolumeWiring::Dependent), ("independent", VolumeWiring::Independent)];
    section.knows(keys::CONTROLS.known());
    let volume = section.table("volume", |s| {
        s.knows(keys::VOLUME.known());
        let wiring = s.choice("wired", &WIRED).map_or(VolumeWiring::Dependent, |w| w.value);
        (pot(s, &format!("{whose}volume"), (&bounds::POT, default_pot), remarks), wiring)
    });
    let tone = match section.table("tone", |s| tone(s, whose, default_pot, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let bleed = match section.table("bleed", |s| bleed(s, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let bass_cut = match section.table("bass_cut", |s| bass_cut(s, whose, remarks)) {
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

fn tone(section: &mut Section<'_>, whose: &str, default_pot: Ohms, remarks: &mut Remarks) -> Option<Tone> {
    const JOINED: [(&str, ToneJoined); 2] =
        [("before-volume", ToneJoined::BeforeVolume), ("after-volume", ToneJoined::AfterVolume)];
    section.knows(keys::TONE.known());
    let pot = pot(section, &format!("{whose}tone"), (&bounds::POT, default_pot), remarks);
    let joined = section.choice("joined", &JOINED).map_or(ToneJoined::BeforeVolume, |j| j.value);
    if section.has("chosen") && !section.has("capacitors") {
        let message = "`chosen` says which of `capacitors` is used, and there are no `capacitors`";
        section.note(Fault::new(section.span(), message));
    }
    let capacitor = if section.has("capacitors") {
        chosen_capacitor(section, &mut remarks.notes)?
    } else {
        let stated = bounds::TONE_CAPACITOR.quantity(section, "capacitor", &mut remarks.notes);
        remarks.or_assume(stated, &format!("{whose}tone, capacitor"), DEFAULT_CAPACITOR, DEFAULT_CAPACITOR)
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

fn bass_cut(section: &mut Section<'_>, whose: &str, remarks: &mut Remarks) -> Option<BassCut> {
    section.knows(keys::BASS_CUT.known());
    let called = format!("{whose}bass cut");
    let pot = pot(section, &called, (&bounds::BASS_CUT_POT, Ohms::new(1e6)), remarks);
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
        Buffer {
            input: remarks.or_assume(input, "buffer, input", usual_input, usual_input),
            output: remarks.or_assume(output, "buffer, output", usual_output, usual_output),
        }
    })
}

pub(super) fn pot(
    section: &mut Section<'_>,
    called: &str,
    (allowed, default_track): (&Bounds, Ohms),
    remarks: &mut Remarks,
) -> Pot {
    let track = allowed.quantity(section, "pot", &mut remarks.notes);
    let track = remarks.or_assume(track, &format!("{called}, pot"), default_track, default_track);
    let audio = section.choice("taper", &TAPERS).map(|t| t.value);
    let mid = bounds::number(section, "mid", &(0.01..=0.99), false);
    if audio == Some(false) && section.has("mid") {
        section.note(Fault::new(section.span(), "`mid` belongs to an audio taper, and this one is linear"));
    }
    let turned = bounds::number(section, "turned", &(0.0..=10.0), false);
    let taper = if remarks.or_assume(audio, &format!("{called}, taper"), true, "audio") {
        Taper::Audio { mid: mid.unwrap_or(DEFAULT_MID) }
    } else {
        Taper::Linear
    };
    Pot { track, taper, turned: remarks.or_assume(turned, &format!("{called}, turned"), 10.0, 10) }
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
    let form = match resistor {
        None => BleedForm::Capacitor,
        Some(resistor) if remarks.or_assume(parallel, "bleed, joined", true, "parallel") => {
            BleedForm::Parallel(resistor)
        }
        Some(resistor) => BleedForm::Series(resistor),
    };
    Some(Bleed { capacitor: capacitor?, form })
}

/// Returns the cable: that of the `[cable]` table, or three metres of an ordinary one.
pub(super) fn cable(top: &mut Section<'_>, remarks: &mut Remarks) -> Option<Cable> {
    let of_length = |length: Metres, per_metre: Farads| Cable {
        capacitance: Farads::new(length.value() * per_metre.value()),
    };
    if !top.has("cable") {
        remarks.assumed.push(format!("cable: {DEFAULT_LENGTH} at {DEFAULT_PER_METRE} a metre"));
        return Some(of_length(DEFAULT_LENGTH, DEFAULT_PER_METRE));
    }
    top.table("cable", |section| {
        section.knows(keys::CABLE.known());
        let total = bounds::CABLE_TOTAL.quantity(section, "total", &mut remarks.notes);
        let length = bounds::CABLE_LENGTH.quantity(section, "length", &mut remarks.notes);
        let per_metre = bounds::CABLE_PER_METRE.quantity(section, "per_metre", &mut remarks.notes);
        if !section.has("total") {
            let length = remarks.or_assume(length, "cable, length", DEFAULT_LENGTH, DEFAULT_LENGTH);
            let per_metre =
                remarks.or_assume(per_metre, "cable, per metre", DEFAULT_PER_METRE, DEFAULT_PER_METRE);
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
        Some(Cable { capacitance: total? })
    })?
}

/// Returns the amplifier's input: that of the `[input]` table, or 1 MΩ without capacitance.
pub(super) fn input(top: &mut Section<'_>, remarks: &mut Remarks) -> Input {
    let default = Input { resistance: DEFAULT_INPUT, capacitance: Farads::new(0.0) };
    if !top.has("input") {
        remarks.assumed.push(format!("amplifier input: {DEFAULT_INPUT}, no capacitance"));
        return default;
    }
    let read = top.table("input", |section| {
        section.knows(keys::INPUT.known());
        let resistance = bounds::INPUT_RESISTANCE.quantity(section, "resistance", &mut remarks.notes);
        let capacitance = bounds::INPUT_CAPACITANCE.quantity(section, "capacitance", &mut remarks.notes);
        Input {
            resistance: remarks.or_assume(resistance, "input, resistance", DEFAULT_INPUT, DEFAULT_INPUT),
            capacitance: remarks.or_assume(capacitance, "input, capacitance", default.capacitance, "none"),
        }
    });
    read.unwrap_or(default)
}
