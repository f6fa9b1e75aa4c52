//! Pots, treble bleed, cable and input read from their tables.

use super::Remarks;
use crate::document::{Fault, Section};
use crate::guitar::{Bleed, BleedForm, Cable, Controls, Input, Pot, Taper, Tone, bounds};
use crate::quantity::{Farads, Metres, Ohms};

const DEFAULT_MID: f64 = 0.13;
const DEFAULT_CAPACITOR: Farads = Farads::new(22e-9);
const DEFAULT_LENGTH: Metres = Metres::new(3.0);
const DEFAULT_PER_METRE: Farads = Farads::new(120e-12);
const DEFAULT_INPUT: Ohms = Ohms::new(1e6);

const TAPERS: [(&str, bool); 2] = [("audio", true), ("linear", false)];

/// Returns the controls: those of the `[controls]` table, or the usual two pots where there is none.
pub(super) fn controls(top: &mut Section<'_>, default_pot: Ohms, remarks: &mut Remarks) -> Option<Controls> {
    if !top.has("controls") {
        let pot = Pot { track: default_pot, taper: Taper::Audio { mid: DEFAULT_MID }, turned: 10.0 };
        remarks.assumed.push(format!(
            "controls: volume and tone pots of {default_pot}, audio taper, full, with {DEFAULT_CAPACITOR} on the tone pot"
        ));
        let tone = Tone { pot, capacitor: DEFAULT_CAPACITOR };
        return Some(Controls { volume: Some(pot), tone: Some(tone), bleed: None });
    }
    top.table("controls", |section| {
        let volume = section.table("volume", |s| pot(s, "volume", default_pot, remarks));
        let tone = section.table("tone", |s| {
            let pot = pot(s, "tone", default_pot, remarks);
            let capacitor = bounds::TONE_CAPACITOR.quantity(s, "capacitor", &mut remarks.notes);
            let capacitor =
                remarks.or_assume(capacitor, "tone, capacitor", DEFAULT_CAPACITOR, DEFAULT_CAPACITOR);
            Tone { pot, capacitor }
        });
        let bleed = match section.table("bleed", |s| bleed(s, remarks)) {
            Some(read) => Some(read?),
            None => None,
        };
        if bleed.is_some() && volume.is_none() {
            let message = "a treble bleed lies across the volume pot, and there is no `volume`";
            section.note(Fault::new(section.span(), message));
        }
        Some(Controls { volume, tone, bleed })
    })?
}

fn pot(section: &mut Section<'_>, called: &str, default_track: Ohms, remarks: &mut Remarks) -> Pot {
    let track = bounds::POT.quantity(section, "pot", &mut remarks.notes);
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
        let resistance = bounds::INPUT_RESISTANCE.quantity(section, "resistance", &mut remarks.notes);
        let capacitance = bounds::INPUT_CAPACITANCE.quantity(section, "capacitance", &mut remarks.notes);
        Input {
            resistance: remarks.or_assume(resistance, "input, resistance", DEFAULT_INPUT, DEFAULT_INPUT),
            capacitance: remarks.or_assume(capacitance, "input, capacitance", default.capacitance, "none"),
        }
    });
    read.unwrap_or(default)
}
