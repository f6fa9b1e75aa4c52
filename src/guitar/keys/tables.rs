//! The tables of a guitar's file.

use super::{Key, Kind, Table, Unit, Worded};
use crate::guitar::Pickup;
use crate::guitar::bounds::{self, Bounds};
use crate::guitar::controls::{BleedJoined, TaperKind};
use crate::guitar::{
    Cover, Grounding, Jack, MeasuredWith, PickupForm, Pole, Shielding, Strings, ToneJoined, Turns,
    VolumeWiring, Winding,
};

const fn key(name: &'static str, kind: Kind, doc: &'static str) -> Key {
    Key { name, kind, default: None, doc }
}

impl Key {
    /// Returns the key with what is taken where it is left out.
    const fn or(self, default: &'static str) -> Self {
        Self { default: Some(default), ..self }
    }
}

const fn ohms(bounds: &'static Bounds) -> Kind {
    Kind::Quantity(Unit::Ohms, bounds)
}

const fn henries(bounds: &'static Bounds) -> Kind {
    Kind::Quantity(Unit::Henries, bounds)
}

const fn farads(bounds: &'static Bounds) -> Kind {
    Kind::Quantity(Unit::Farads, bounds)
}

const fn hertz(bounds: &'static Bounds) -> Kind {
    Kind::Quantity(Unit::Hertz, bounds)
}

const fn metres(bounds: &'static Bounds) -> Kind {
    Kind::Quantity(Unit::Metres, bounds)
}

const fn number(from: f64, to: f64) -> Kind {
    Kind::Number { from, to, end_is_allowed: true }
}

const fn ohms_of(bounds: &'static Bounds) -> Kind {
    Kind::Quantities(Unit::Ohms, bounds)
}

const fn henries_of(bounds: &'static Bounds) -> Kind {
    Kind::Quantities(Unit::Henries, bounds)
}

const fn farads_of(bounds: &'static Bounds) -> Kind {
    Kind::Quantities(Unit::Farads, bounds)
}

const fn hertz_of(bounds: &'static Bounds) -> Kind {
    Kind::Quantities(Unit::Hertz, bounds)
}

/// Returns the keys of `first` and then of `second`, `N` in all.
const fn joined<const F: usize, const S: usize, const N: usize>(
    first: &[Key; F],
    second: &[Key; S],
) -> [Key; N] {
    assert!(F + S == N, "all keys of both");
    let mut keys = [first[0]; N];
    let mut i = 0;
    while i < N {
        keys[i] = if i < F { first[i] } else { second[i - F] };
        i += 1;
    }
    keys
}

/// Returns the choice among the `N` words of `T`.
const fn choice<T: Worded, const N: usize>() -> Kind {
    Kind::Choice(
        const {
            let mut words = [""; N];
            assert!(T::WORDS.len() == N, "all words of it are to choose among");
            let mut i = 0;
            while i < N {
                words[i] = T::WORDS[i].0;
                i += 1;
            }
            &{ words }
        },
    )
}

/// From nothing to below all.
const SHARE: Kind = Kind::Number { from: 0.0, to: 1.0, end_is_allowed: false };

// Keys that more than one table has.
const POT: Key = key(
    "pot",
    ohms(&bounds::POT),
    "The resistance of the whole track; as is usual with the pickup where it is left out.",
);
const TAPER: Key =
    key("taper", choice::<TaperKind, 2>(), "How the wiper moves along the track as the knob turns.")
        .or("audio");
const MID: Key =
    key("mid", number(0.01, 0.99), "The fraction of an audio taper's track at mid-travel.").or("0.13");
const TURNED: Key = key("turned", number(0.0, 10.0), "Where the knob stands.").or("10");
const FROM_BRIDGE: Key =
    key("from_bridge", metres(&bounds::FROM_BRIDGE), "From the pickup's centre to the bridge saddle.")
        .or("45 mm");
const SPACING: Key = key("spacing", metres(&bounds::SPACING), "Between the coils' centres.").or("18.5 mm");
const COUPLING: Key = key("coupling", SHARE, "How far the coils are coupled.").or("0.13");
const BYPASS: Key = key("bypass", farads(&bounds::BYPASS), "A capacitor from the coils' joint to ground.");
const BYPASS_RESISTOR: Key =
    key("bypass_resistor", ohms(&bounds::BYPASS_RESISTOR), "A resistor from the coils' joint to ground.");
const LEAD_CAPACITANCE: Key = key(
    "lead_capacitance",
    farads(&bounds::LEAD_CAPACITANCE),
    "Of the pickup's lead, from each conductor to the shield; none where it is left out.",
);
const COIL_A: Key = key("coil_a", Kind::Table(&COIL), "The coil nearer the bridge, or the only one.");
const COIL_B: Key = key("coil_b", Kind::Table(&COIL), "The other coil.");
const JOINTS: Key = key("joints", Kind::Joints, "What is soldered together at each point.");

/// A guitar's file.
pub static GUITAR: Table = Table {
    doc: "A guitar's file.",
    keys: &[
        key("format", number(1.0, 1.0), "The format of the file, which is 1.").or("1"),
        key("name", Kind::Label, "What its owner calls it.").or("unnamed guitar"),
        key("scale", metres(&bounds::SCALE), "The open strings' length between nut and saddle.").or("648 mm"),
        key("pickup", Kind::Tables(&PICKUP, 4), "A pickup."),
        key("switch", Kind::Tables(&SWITCH, 8), "A switch around one pickup's leads."),
        key("joints", Kind::Joints, "What is soldered together without a selector."),
        key("selector", Kind::Tables(&SELECTOR, 8), "A switch that chooses among pickups."),
        key("blend", Kind::Table(&BLEND), "A pot between two pickups."),
        key("controls", Kind::Table(&CONTROLS), "The guitar's own pots and what hangs on them."),
        key("buffer", Kind::Table(&BUFFER), "A unity-gain buffer before the jack."),
        key("tolerances", Kind::Table(&TOLERANCES), "How far parts may be off."),
        key("cable", Kind::Table(&CABLE), "The cable from the jack to the amplifier."),
        key("input", Kind::Table(&INPUT), "The amplifier's input."),
        key("harness", Kind::Table(&HARNESS), "The control cavity and the wires in it."),
    ],
};

/// A pickup of a guitar.
pub static PICKUP: Table = Table {
    doc: "A pickup of a guitar.",
    keys: &[
        key("name", Kind::Name, "What joints and options call it, mostly its place."),
        key("like", Kind::Preset, "The built-in pickup from which its missing values come."),
        FROM_BRIDGE,
        SPACING,
        COUPLING,
        BYPASS,
        BYPASS_RESISTOR,
        LEAD_CAPACITANCE,
        key("cover", choice::<Cover, 3>(), "What lies over the coils of a built-in pickup.").or("none"),
        key(
            "level",
            Kind::Level { from: Pickup::LEVELS[0], to: Pickup::LEVELS[1] },
            "How much louder than the guitar's other pickups it hears the strings, beyond what its place and its coils' values \
             make: mostly by its height.",
        )
        .or("0 dB"),
        key("arrangement", Kind::Arrangement, "How its leads are soldered where no switch decides.")
            .or("series"),
        COIL_A,
        COIL_B,
        key("controls", Kind::Table(&CONTROLS), "Its own pots, before it is joined with others."),
        key(
            "form",
            choice::<PickupForm, 3>(),
            "What leaves it: every coil's ends and a shield, two leads, or one lead in a braid; four with two coils and two \
             with one where it is left out.",
        ),
    ],
};

/// A built-in pickup's file.
pub static PRESET: Table = Table {
    doc: "A built-in pickup's file.",
    keys: &[
        key(
            "pot",
            ohms(&bounds::POT),
            "The pots that are usual with it; 500k, or 250k with one coil, where it is left out.",
        ),
        FROM_BRIDGE,
        SPACING,
        COUPLING,
        key("coupling_range", Kind::Range, "The least and the most coupling among samples of the type."),
        BYPASS,
        BYPASS_RESISTOR,
        LEAD_CAPACITANCE,
        key(
            "lead_capacitance_range",
            farads_of(&bounds::LEAD_CAPACITANCE),
            "The least and the most capacitance of the lead of the type.",
        ),
        key("coil_a", Kind::Table(&PRESET_COIL), "The coil nearer the bridge, or the only one."),
        key("coil_b", Kind::Table(&PRESET_COIL), "The other coil."),
    ],
};

/// A coil of a built-in pickup.
pub static PRESET_COIL: Table =
    Table { doc: "A coil of a built-in pickup.", keys: &joined::<12, 7, 19>(&COIL_KEYS, &COIL_RANGES) };

const COIL_RANGES: [Key; 7] = [
    key(
        "resistance_range",
        ohms_of(&bounds::COIL_RESISTANCE),
        "The least and the most resistance of the type.",
    ),
    key(
        "inductance_range",
        henries_of(&bounds::COIL_INDUCTANCE),
        "The least and the most inductance of the type.",
    ),
    key(
        "capacitance_range",
        farads_of(&bounds::COIL_CAPACITANCE),
        "The least and the most winding capacitance of the type.",
    ),
    key("loss_range", ohms_of(&bounds::LOSS), "The least and the most parallel loss of the type."),
    key("eddy_share_range", Kind::Range, "The least and the most share of the eddy section."),
    key(
        "eddy_corner_range",
        hertz_of(&bounds::EDDY_CORNER),
        "The least and the most corner frequency of the eddy section.",
    ),
    key("output_range", Kind::Range, "The least and the most output of the type, and of its turns."),
];

/// A coil.
pub static COIL: Table = Table { doc: "A coil.", keys: &COIL_KEYS };

const COIL_KEYS: [Key; 12] = [
    key("resistance", ohms(&bounds::COIL_RESISTANCE), "The wire's direct-current resistance."),
    key(
        "inductance",
        henries(&bounds::COIL_INDUCTANCE),
        "The inductance at low frequency, eddy section included; a steel core's is up to 5 % less at 1 kHz.",
    ),
    key("capacitance", farads(&bounds::COIL_CAPACITANCE), "The winding's capacitance across its ends."),
    key("loss", ohms(&bounds::LOSS), "The parallel eddy-loss resistance; none where it is left out."),
    key("eddy_share", SHARE, "The share of the inductance that an eddy section shunts."),
    key("eddy_corner", hertz(&bounds::EDDY_CORNER), "The eddy section's corner frequency."),
    key("output", number(0.0, 1000.0), "The string's voltage relative to a coil of 1.").or("1"),
    key(
        "turns",
        number(0.0, 1000.0),
        "The number of turns relative to a coil of 1; as the output where it is left out.",
    ),
    key("winding", choice::<Winding, 2>(), "The sense from start to finish, seen from the strings.")
        .or("clockwise"),
    key(
        "top_pole",
        choice::<Pole, 2>(),
        "The pole that faces the strings; coil A north, coil B south where it is left out.",
    ),
    key("leads", Kind::Table(&LEADS), "What its two leads are called."),
    key("measured", Kind::Table(&MEASURED), "How sure its values are that were measured."),
];

/// The standard deviations of a coil's measured values.
pub static MEASURED: Table = Table {
    doc: "The standard deviations of a coil's measured values.",
    keys: &[
        key("resistance", Kind::Percent, "Of the wire's resistance."),
        key("inductance", Kind::Percent, "Of the inductance."),
        key("capacitance", Kind::Percent, "Of the winding's capacitance."),
        key("loss", Kind::Percent, "Of the parallel loss."),
        key("eddy_share", Kind::Percent, "Of the eddy section's share."),
        key("eddy_corner", Kind::Percent, "Of the eddy section's corner frequency."),
        key(
            "with",
            choice::<MeasuredWith, 2>(),
            "Whether the coil was measured by itself, or both coils as one.",
        )
        .or("alone"),
        key("correlation", Kind::Correlations, "How the errors of two values go together."),
    ],
};

/// The names of a coil's two leads: by a chart or by the tap test.
pub static LEADS: Table = Table {
    doc: "The names of a coil's two leads: by a chart or by the tap test.",
    keys: &[
        key("start", Kind::Label, "The lead at which the winder began, by a chart."),
        key("finish", Kind::Label, "The lead at which the winder ended, by a chart."),
        key("plus", Kind::Label, "The lead that goes positive while steel approaches."),
        key("minus", Kind::Label, "The other lead by the tap test."),
    ],
};

/// A switch around one pickup's leads.
pub static SWITCH: Table = Table {
    doc: "A switch around one pickup's leads.",
    keys: &[
        key("name", Kind::Name, "What options and reports call it."),
        key("on", Kind::PickupName, "The pickup whose leads it joins; needed where there are several."),
        key("table", Kind::Switch, "What kind of switch it is."),
        JOINTS,
    ],
};

/// A switch that chooses among pickups.
pub static SELECTOR: Table = Table {
    doc: "A switch that chooses among pickups.",
    keys: &[
        key("name", Kind::Name, "What options and reports call it."),
        key("table", Kind::Selector, "What kind of switch it is."),
        JOINTS,
        key("stands", number(1.0, 12.0), "The throw in which it stands; its first where that is left out."),
    ],
};

/// A pot between two pickups whose wiper leads out.
pub static BLEND: Table = Table {
    doc: "A pot between two pickups whose wiper leads out.",
    keys: &[POT, TAPER, MID, TURNED, key("ends", Kind::Texts, "What its track lies between.")],
};

/// The guitar's own controls, or those of one pickup.
pub static CONTROLS: Table = Table {
    doc: "The guitar's own controls, or those of one pickup.",
    keys: &[
        key("volume", Kind::Table(&VOLUME), "The volume pot."),
        key("tone", Kind::Table(&TONE), "The tone pot and its capacitor."),
        key("bleed", Kind::Table(&BLEED), "A treble bleed round the volume pot."),
        key("bass_cut", Kind::Table(&BASS_CUT), "A capacitor in the signal's way with a pot across it."),
        key("load", ohms(&bounds::LOAD), "A fixed resistor from hot to ground."),
    ],
};

/// The volume pot.
pub static VOLUME: Table = Table {
    doc: "The volume pot.",
    keys: &[
        POT,
        TAPER,
        MID,
        TURNED,
        key("wired", choice::<VolumeWiring, 2>(), "Whether the track or the wiper is the input.")
            .or("dependent"),
    ],
};

/// The tone pot and its capacitor.
pub static TONE: Table = Table {
    doc: "The tone pot and its capacitor.",
    keys: &[
        POT,
        TAPER,
        MID,
        TURNED,
        key("capacitor", farads(&bounds::TONE_CAPACITOR), "The capacitor to ground.").or("22n"),
        key(
            "capacitors",
            Kind::Quantities(Unit::Farads, &bounds::TONE_CAPACITOR),
            "The capacitors that a rotary switch chooses among.",
        ),
        key("chosen", number(1.0, 12.0), "Which of the capacitors is chosen, from 1.").or("1"),
        key("joined", choice::<ToneJoined, 2>(), "Where the tone control hangs.").or("before-volume"),
    ],
};

/// A treble bleed.
pub static BLEED: Table = Table {
    doc: "A treble bleed.",
    keys: &[
        key("capacitor", farads(&bounds::BLEED_CAPACITOR), "The capacitor."),
        key("resistor", ohms(&bounds::BLEED_RESISTOR), "The resistor; none where it is left out."),
        key("joined", choice::<BleedJoined, 2>(), "How the resistor is joined to the capacitor.")
            .or("parallel"),
    ],
};

/// A bass cut.
pub static BASS_CUT: Table = Table {
    doc: "A bass cut.",
    keys: &[
        key("pot", ohms(&bounds::BASS_CUT_POT), "The resistance of the whole track.").or("1M"),
        TAPER,
        MID,
        TURNED,
        key("capacitor", farads(&bounds::BASS_CUT_CAPACITOR), "The capacitor in the signal's way."),
    ],
};

/// A unity-gain buffer.
pub static BUFFER: Table = Table {
    doc: "A unity-gain buffer.",
    keys: &[
        key("input", ohms(&bounds::BUFFER_INPUT), "Its input resistance.").or("1M"),
        key("output", ohms(&bounds::BUFFER_OUTPUT), "Its output resistance.").or("1k"),
    ],
};

/// The cable, by its length or as a whole.
pub static CABLE: Table = Table {
    doc: "The cable, by its length or as a whole.",
    keys: &[
        key("total", farads(&bounds::CABLE_TOTAL), "The whole cable's capacitance."),
        key("length", metres(&bounds::CABLE_LENGTH), "Its length.").or("3 m"),
        key("per_metre", farads(&bounds::CABLE_PER_METRE), "Its capacitance a metre.").or("120p"),
    ],
};

/// The amplifier's input.
pub static INPUT: Table = Table {
    doc: "The amplifier's input.",
    keys: &[
        key("resistance", ohms(&bounds::INPUT_RESISTANCE), "Its resistance to ground.").or("1M"),
        key("capacitance", farads(&bounds::INPUT_CAPACITANCE), "Its capacitance to ground.").or("100p"),
    ],
};

/// How far each kind of part may be off.
pub static TOLERANCES: Table = Table {
    doc: "How far each kind of part may be off.",
    keys: &[
        key("pots", Kind::Percent, "Pots.").or("20 %"),
        key("taper", Kind::Range, "The least and the most of an audio taper's fraction at mid-travel.")
            .or("[0.1, 0.17]"),
        key(
            "resistance",
            Kind::Percent,
            "Coils' resistances that were not measured; as its type where a coil is a built-in pickup's.",
        )
        .or("10 %"),
        key(
            "inductance",
            Kind::Percent,
            "Coils' inductances; as its type where a coil is a built-in pickup's.",
        )
        .or("10 %"),
        key(
            "capacitance",
            Kind::Percent,
            "Coils' capacitances; as its type where a coil is a built-in pickup's.",
        )
        .or("20 %"),
        key("loss", Kind::Percent, "Coils' losses; as its type where a coil is a built-in pickup's.")
            .or("30 %"),
        key("capacitors", Kind::Percent, "Capacitors that are soldered in.").or("10 %"),
        key("resistors", Kind::Percent, "Resistors that are soldered in.").or("5 %"),
        key("cable", Kind::Percent, "The cable's capacitance.").or("20 %"),
        key("input_resistance", Kind::Percent, "The amplifier's input resistance.").or("20 %"),
        key("input_capacitance", Kind::Percent, "The amplifier's input capacitance.").or("50 %"),
        key(
            "coupling",
            Kind::Range,
            "The least and the most coupling of two coils; as its type where it is a built-in pickup's.",
        )
        .or("[0, 0.2]"),
    ],
};

/// The control cavity and the wires in it.
pub static HARNESS: Table = Table {
    doc: "The control cavity and the wires in it.",
    keys: &[
        key("turns", choice::<Turns, 2>(), "Which way a knob turns up, seen from the front.").or("clockwise"),
        key(
            "jack",
            choice::<Jack, 2>(),
            "Whether the jack has a ring beside tip and sleeve; stereo with a buffer and mono without where it is left out.",
        ),
        key("strings", choice::<Strings, 2>(), "Whether a wire grounds the strings.").or("wire"),
        key("shield", choice::<Shielding, 3>(), "What shields the cavity.").or("none"),
        key("ground", choice::<Grounding, 2>(), "Whether ground leads from case to case or to one case.")
            .or("bus"),
        key("under", Kind::TextsByName, "The pot that each switch of a push-pull pot lies under."),
        key(
            "places",
            Kind::NumbersByName,
            "Where parts lie, in mm to the right and down from the cavity's top left corner, seen from behind.",
        ),
        key("wires", Kind::Wires, "Every wire, lead and leg that is soldered in, by its two terminals."),
    ],
};
