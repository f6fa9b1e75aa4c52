//! What a guitar's file may say: every table, every key of it, what may stand there and what it means.
//!
//! The reader knows the keys from here, an editor which there are to change, and a form what to ask for.

use super::bounds::{self, Bounds};
use crate::document::{self, KeyForm, Place};

/// A table and the keys that it may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// What the table is of, in one sentence.
    pub doc: &'static str,
    /// Its keys, in the order in which a person would be asked for them.
    pub keys: &'static [Key],
}

/// A key of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// The key.
    pub name: &'static str,
    /// What may stand at it.
    pub kind: Kind,
    /// What is taken where it is left out, as a file would state it; nothing where it is needed, where nothing is there
    /// without it, or where it depends on other values.
    pub default: Option<&'static str>,
    /// What it means, in one sentence.
    pub doc: &'static str,
}

/// What may stand at a key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A quantity of this unit within these bounds.
    Quantity(Unit, &'static Bounds),
    /// A list of such quantities.
    Quantities(Unit, &'static Bounds),
    /// A plain number.
    Number {
        /// The least.
        from: f64,
        /// The most.
        to: f64,
        /// Whether the most is allowed itself.
        end_is_allowed: bool,
    },
    /// A share in percent, 0 % to 90 %.
    Percent,
    /// The least and the most of a plain number.
    Range,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A text of one line, 1 to 80 characters.
    Label,
    /// A name: 1 to 32 of a-z, 0-9 and -.
    Name,
    /// The name of a built-in pickup.
    Preset,
    /// The name of one of the guitar's pickups.
    PickupName,
    /// An arrangement that the pickup has.
    Arrangement,
    /// The name of a built-in switch.
    Switch,
    /// The name of a built-in selector or switch.
    Selector,
    /// A list of texts.
    Texts,
    /// A list of joints, each the list of what meets at one point.
    Joints,
    /// A list of correlations, each of two values' names and a number above -1 and below 1.
    Correlations,
    /// A table.
    Table(&'static Table),
    /// So many tables at most.
    Tables(&'static Table, usize),
}

/// The unit of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Ohms.
    Ohms,
    /// Henries.
    Henries,
    /// Farads.
    Farads,
    /// Hertz.
    Hertz,
    /// Metres, which are always written with a unit.
    Metres,
}

impl Unit {
    /// Returns the unit's symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Ohms => "Ω",
            Self::Henries => "H",
            Self::Farads => "F",
            Self::Hertz => "Hz",
            Self::Metres => "m",
        }
    }
}

impl Table {
    /// Returns the key called `name`.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Returns the key of a guitar's file at `place`.
    pub fn key_at(&self, place: &Place) -> Option<&'static Key> {
        let mut table = Some(self);
        let mut found = None;
        for step in place.steps() {
            let key = table?.key(&step.key)?;
            table = match (key.kind, step.entry) {
                (Kind::Table(below), None) | (Kind::Tables(below, _), Some(_)) => Some(below),
                (_, Some(_)) => return None,
                (_, None) => None,
            };
            found = Some(key);
        }
        found
    }

    /// Returns the keys with the form in which each is written.
    pub(super) fn known(&self) -> impl Iterator<Item = document::KnownKey> {
        self.keys.iter().map(|key| {
            let (form, within) = match key.kind {
                Kind::Table(table) => (KeyForm::Table, table.keys),
                Kind::Tables(table, _) => (KeyForm::Tables, table.keys),
                _ => (KeyForm::Value, &[][..]),
            };
            document::KnownKey { name: key.name, form, within: within.iter().map(|key| key.name).collect() }
        })
    }
}

const fn key(name: &'static str, kind: Kind, default: Option<&'static str>, doc: &'static str) -> Key {
    Key { name, kind, default, doc }
}

/// A guitar's file.
pub static GUITAR: Table = Table {
    doc: "A guitar's file.",
    keys: &[
        key(
            "format",
            Kind::Number { from: 1.0, to: 1.0, end_is_allowed: true },
            Some("1"),
            "The format of the file, which is 1.",
        ),
        key("name", Kind::Label, Some("unnamed guitar"), "What its owner calls it."),
        key(
            "scale",
            Kind::Quantity(Unit::Metres, &bounds::SCALE),
            Some("648 mm"),
            "The open strings' length between nut and saddle.",
        ),
        key("pickup", Kind::Tables(&PICKUP, 4), None, "A pickup."),
        key("switch", Kind::Tables(&SWITCH, 8), None, "A switch around one pickup's leads."),
        key("joints", Kind::Joints, None, "What is soldered together without a selector."),
        key("selector", Kind::Tables(&SELECTOR, 8), None, "A switch that chooses among pickups."),
        key("blend", Kind::Table(&BLEND), None, "A pot between two pickups."),
        key("controls", Kind::Table(&CONTROLS), None, "The guitar's own pots and what hangs on them."),
        key("buffer", Kind::Table(&BUFFER), None, "A unity-gain buffer before the jack."),
        key("tolerances", Kind::Table(&TOLERANCES), None, "How far parts may be off."),
        key("cable", Kind::Table(&CABLE), None, "The cable from the jack to the amplifier."),
        key("input", Kind::Table(&INPUT), None, "The amplifier's input."),
    ],
};

/// A pickup of a guitar.
pub static PICKUP: Table = Table {
    doc: "A pickup of a guitar.",
    keys: &[
        key("name", Kind::Name, None, "What joints and options call it, mostly its place."),
        key("like", Kind::Preset, None, "The built-in pickup from which its missing values come."),
        key(
            "from_bridge",
            Kind::Quantity(Unit::Metres, &bounds::FROM_BRIDGE),
            Some("45 mm"),
            "From the pickup's centre to the bridge saddle.",
        ),
        key(
            "spacing",
            Kind::Quantity(Unit::Metres, &bounds::SPACING),
            Some("18.5 mm"),
            "Between the coils' centres.",
        ),
        key(
            "coupling",
            Kind::Number { from: 0.0, to: 1.0, end_is_allowed: false },
            Some("0.13"),
            "How far the coils are coupled.",
        ),
        key(
            "bypass",
            Kind::Quantity(Unit::Farads, &bounds::BYPASS),
            None,
            "A capacitor from the coils' joint to ground.",
        ),
        key(
            "bypass_resistor",
            Kind::Quantity(Unit::Ohms, &bounds::BYPASS_RESISTOR),
            None,
            "A resistor from the coils' joint to ground.",
        ),
        key(
            "arrangement",
            Kind::Arrangement,
            Some("series"),
            "How its leads are soldered where no switch decides.",
        ),
        key("coil_a", Kind::Table(&COIL), None, "The coil nearer the bridge, or the only one."),
        key("coil_b", Kind::Table(&COIL), None, "The other coil."),
        key("controls", Kind::Table(&CONTROLS), None, "Its own pots, before it is joined with others."),
    ],
};

/// A built-in pickup's file.
pub static PRESET: Table = Table {
    doc: "A built-in pickup's file.",
    keys: &[
        key(
            "pot",
            Kind::Quantity(Unit::Ohms, &bounds::POT),
            Some("500k"),
            "The pots that are usual with it.",
        ),
        key(
            "from_bridge",
            Kind::Quantity(Unit::Metres, &bounds::FROM_BRIDGE),
            Some("45 mm"),
            "From the pickup's centre to the bridge saddle.",
        ),
        key(
            "spacing",
            Kind::Quantity(Unit::Metres, &bounds::SPACING),
            Some("18.5 mm"),
            "Between the coils' centres.",
        ),
        key(
            "coupling",
            Kind::Number { from: 0.0, to: 1.0, end_is_allowed: false },
            Some("0.13"),
            "How far the coils are coupled.",
        ),
        key(
            "bypass",
            Kind::Quantity(Unit::Farads, &bounds::BYPASS),
            None,
            "A capacitor from the coils' joint to ground.",
        ),
        key(
            "bypass_resistor",
            Kind::Quantity(Unit::Ohms, &bounds::BYPASS_RESISTOR),
            None,
            "A resistor from the coils' joint to ground.",
        ),
        key("coil_a", Kind::Table(&COIL), None, "The coil nearer the bridge, or the only one."),
        key("coil_b", Kind::Table(&COIL), None, "The other coil."),
    ],
};

/// A coil.
pub static COIL: Table = Table {
    doc: "A coil.",
    keys: &[
        key(
            "resistance",
            Kind::Quantity(Unit::Ohms, &bounds::COIL_RESISTANCE),
            None,
            "The wire's direct-current resistance.",
        ),
        key(
            "inductance",
            Kind::Quantity(Unit::Henries, &bounds::COIL_INDUCTANCE),
            None,
            "The inductance, at 1 kHz.",
        ),
        key(
            "capacitance",
            Kind::Quantity(Unit::Farads, &bounds::COIL_CAPACITANCE),
            None,
            "The winding's capacitance across its ends.",
        ),
        key(
            "loss",
            Kind::Quantity(Unit::Ohms, &bounds::LOSS),
            None,
            "The parallel eddy-loss resistance; none where it is left out.",
        ),
        key(
            "eddy_share",
            Kind::Number { from: 0.0, to: 1.0, end_is_allowed: false },
            None,
            "The share of the inductance that an eddy section shunts.",
        ),
        key(
            "eddy_corner",
            Kind::Quantity(Unit::Hertz, &bounds::EDDY_CORNER),
            None,
            "The eddy section's corner frequency.",
        ),
        key(
            "output",
            Kind::Number { from: 0.0, to: 1000.0, end_is_allowed: true },
            Some("1"),
            "The string's voltage relative to a coil of 1.",
        ),
        key(
            "turns",
            Kind::Number { from: 0.0, to: 1000.0, end_is_allowed: true },
            None,
            "The number of turns relative to a coil of 1; as the output where it is left out.",
        ),
        key(
            "winding",
            Kind::Choice(&["clockwise", "counter-clockwise"]),
            Some("clockwise"),
            "The sense from start to finish, seen from the strings.",
        ),
        key(
            "top_pole",
            Kind::Choice(&["north", "south"]),
            None,
            "The pole that faces the strings; coil A north, coil B south where it is left out.",
        ),
        key("leads", Kind::Table(&LEADS), None, "What its two leads are called."),
        key("measured", Kind::Table(&MEASURED), None, "How sure its values are that were measured."),
    ],
};

/// The standard deviations of a coil's measured values.
pub static MEASURED: Table = Table {
    doc: "The standard deviations of a coil's measured values.",
    keys: &[
        key("resistance", Kind::Percent, None, "Of the wire's resistance."),
        key("inductance", Kind::Percent, None, "Of the inductance."),
        key("capacitance", Kind::Percent, None, "Of the winding's capacitance."),
        key("loss", Kind::Percent, None, "Of the parallel loss."),
        key("eddy_share", Kind::Percent, None, "Of the eddy section's share."),
        key("eddy_corner", Kind::Percent, None, "Of the eddy section's corner frequency."),
        key(
            "with",
            Kind::Choice(&["alone", "pair"]),
            Some("alone"),
            "Whether the coil was measured by itself, or both coils as one.",
        ),
        key("correlation", Kind::Correlations, None, "How the errors of two values go together."),
    ],
};

/// The names of a coil's two leads: by a chart or by the tap test.
pub static LEADS: Table = Table {
    doc: "The names of a coil's two leads: by a chart or by the tap test.",
    keys: &[
        key("start", Kind::Label, None, "The lead at which the winder began, by a chart."),
        key("finish", Kind::Label, None, "The lead at which the winder ended, by a chart."),
        key("plus", Kind::Label, None, "The lead that goes positive while steel approaches."),
        key("minus", Kind::Label, None, "The other lead by the tap test."),
    ],
};

/// A switch around one pickup's leads.
pub static SWITCH: Table = Table {
    doc: "A switch around one pickup's leads.",
    keys: &[
        key("name", Kind::Name, None, "What options and reports call it."),
        key("on", Kind::PickupName, None, "The pickup whose leads it joins; needed where there are several."),
        key("table", Kind::Switch, None, "What kind of switch it is."),
        key("joints", Kind::Joints, None, "What is soldered together at each point."),
    ],
};

/// A switch that chooses among pickups.
pub static SELECTOR: Table = Table {
    doc: "A switch that chooses among pickups.",
    keys: &[
        key("name", Kind::Name, None, "What options and reports call it."),
        key("table", Kind::Selector, None, "What kind of switch it is."),
        key("joints", Kind::Joints, None, "What is soldered together at each point."),
        key(
            "stands",
            Kind::Number { from: 1.0, to: 12.0, end_is_allowed: true },
            None,
            "The throw in which it stands; its first where that is left out.",
        ),
    ],
};

/// A pot between two pickups whose wiper leads out.
pub static BLEND: Table = Table {
    doc: "A pot between two pickups whose wiper leads out.",
    keys: &[
        key(
            "pot",
            Kind::Quantity(Unit::Ohms, &bounds::POT),
            Some("500k"),
            "The resistance of the whole track.",
        ),
        key(
            "taper",
            Kind::Choice(&["audio", "linear"]),
            Some("audio"),
            "How the wiper moves along the track as the knob turns.",
        ),
        key(
            "mid",
            Kind::Number { from: 0.01, to: 0.99, end_is_allowed: true },
            Some("0.13"),
            "The fraction of an audio taper's track at mid-travel.",
        ),
        key(
            "turned",
            Kind::Number { from: 0.0, to: 10.0, end_is_allowed: true },
            Some("10"),
            "Where the knob stands.",
        ),
        key("ends", Kind::Texts, None, "What its track lies between."),
    ],
};

/// The guitar's own controls, or those of one pickup.
pub static CONTROLS: Table = Table {
    doc: "The guitar's own controls, or those of one pickup.",
    keys: &[
        key("volume", Kind::Table(&VOLUME), None, "The volume pot."),
        key("tone", Kind::Table(&TONE), None, "The tone pot and its capacitor."),
        key("bleed", Kind::Table(&BLEED), None, "A treble bleed round the volume pot."),
        key(
            "bass_cut",
            Kind::Table(&BASS_CUT),
            None,
            "A capacitor in the signal's way with a pot across it.",
        ),
        key("load", Kind::Quantity(Unit::Ohms, &bounds::LOAD), None, "A fixed resistor from hot to ground."),
    ],
};

/// The volume pot.
pub static VOLUME: Table = Table {
    doc: "The volume pot.",
    keys: &[
        key(
            "pot",
            Kind::Quantity(Unit::Ohms, &bounds::POT),
            Some("500k"),
            "The resistance of the whole track.",
        ),
        key(
            "taper",
            Kind::Choice(&["audio", "linear"]),
            Some("audio"),
            "How the wiper moves along the track as the knob turns.",
        ),
        key(
            "mid",
            Kind::Number { from: 0.01, to: 0.99, end_is_allowed: true },
            Some("0.13"),
            "The fraction of an audio taper's track at mid-travel.",
        ),
        key(
            "turned",
            Kind::Number { from: 0.0, to: 10.0, end_is_allowed: true },
            Some("10"),
            "Where the knob stands.",
        ),
        key(
            "wired",
            Kind::Choice(&["dependent", "independent"]),
            Some("dependent"),
            "Whether the track or the wiper is the input.",
        ),
    ],
};

/// The tone pot and its capacitor.
pub static TONE: Table = Table {
    doc: "The tone pot and its capacitor.",
    keys: &[
        key(
            "pot",
            Kind::Quantity(Unit::Ohms, &bounds::POT),
            Some("500k"),
            "The resistance of the whole track.",
        ),
        key(
            "taper",
            Kind::Choice(&["audio", "linear"]),
            Some("audio"),
            "How the wiper moves along the track as the knob turns.",
        ),
        key(
            "mid",
            Kind::Number { from: 0.01, to: 0.99, end_is_allowed: true },
            Some("0.13"),
            "The fraction of an audio taper's track at mid-travel.",
        ),
        key(
            "turned",
            Kind::Number { from: 0.0, to: 10.0, end_is_allowed: true },
            Some("10"),
            "Where the knob stands.",
        ),
        key(
            "capacitor",
            Kind::Quantity(Unit::Farads, &bounds::TONE_CAPACITOR),
            Some("22n"),
            "The capacitor to ground.",
        ),
        key(
            "capacitors",
            Kind::Quantities(Unit::Farads, &bounds::TONE_CAPACITOR),
            None,
            "The capacitors that a rotary switch chooses among.",
        ),
        key(
            "chosen",
            Kind::Number { from: 1.0, to: 12.0, end_is_allowed: true },
            Some("1"),
            "Which of the capacitors is chosen, from 1.",
        ),
        key(
            "joined",
            Kind::Choice(&["before-volume", "after-volume"]),
            Some("before-volume"),
            "Where the tone control hangs.",
        ),
    ],
};

/// A treble bleed.
pub static BLEED: Table = Table {
    doc: "A treble bleed.",
    keys: &[
        key("capacitor", Kind::Quantity(Unit::Farads, &bounds::BLEED_CAPACITOR), None, "The capacitor."),
        key(
            "resistor",
            Kind::Quantity(Unit::Ohms, &bounds::BLEED_RESISTOR),
            None,
            "The resistor; none where it is left out.",
        ),
        key(
            "joined",
            Kind::Choice(&["parallel", "series"]),
            Some("parallel"),
            "How the resistor is joined to the capacitor.",
        ),
    ],
};

/// A bass cut.
pub static BASS_CUT: Table = Table {
    doc: "A bass cut.",
    keys: &[
        key(
            "pot",
            Kind::Quantity(Unit::Ohms, &bounds::BASS_CUT_POT),
            Some("1M"),
            "The resistance of the whole track.",
        ),
        key(
            "taper",
            Kind::Choice(&["audio", "linear"]),
            Some("audio"),
            "How the wiper moves along the track as the knob turns.",
        ),
        key(
            "mid",
            Kind::Number { from: 0.01, to: 0.99, end_is_allowed: true },
            Some("0.13"),
            "The fraction of an audio taper's track at mid-travel.",
        ),
        key(
            "turned",
            Kind::Number { from: 0.0, to: 10.0, end_is_allowed: true },
            Some("10"),
            "Where the knob stands.",
        ),
        key(
            "capacitor",
            Kind::Quantity(Unit::Farads, &bounds::BASS_CUT_CAPACITOR),
            None,
            "The capacitor in the signal's way.",
        ),
    ],
};

/// A unity-gain buffer.
pub static BUFFER: Table = Table {
    doc: "A unity-gain buffer.",
    keys: &[
        key("input", Kind::Quantity(Unit::Ohms, &bounds::BUFFER_INPUT), Some("1M"), "Its input resistance."),
        key(
            "output",
            Kind::Quantity(Unit::Ohms, &bounds::BUFFER_OUTPUT),
            Some("1k"),
            "Its output resistance.",
        ),
    ],
};

/// The cable, by its length or as a whole.
pub static CABLE: Table = Table {
    doc: "The cable, by its length or as a whole.",
    keys: &[
        key(
            "total",
            Kind::Quantity(Unit::Farads, &bounds::CABLE_TOTAL),
            None,
            "The whole cable's capacitance.",
        ),
        key("length", Kind::Quantity(Unit::Metres, &bounds::CABLE_LENGTH), Some("3 m"), "Its length."),
        key(
            "per_metre",
            Kind::Quantity(Unit::Farads, &bounds::CABLE_PER_METRE),
            Some("120p"),
            "Its capacitance a metre.",
        ),
    ],
};

/// The amplifier's input.
pub static INPUT: Table = Table {
    doc: "The amplifier's input.",
    keys: &[
        key(
            "resistance",
            Kind::Quantity(Unit::Ohms, &bounds::INPUT_RESISTANCE),
            Some("1M"),
            "Its resistance to ground.",
        ),
        key(
            "capacitance",
            Kind::Quantity(Unit::Farads, &bounds::INPUT_CAPACITANCE),
            Some("0"),
            "Its capacitance to ground.",
        ),
    ],
};

/// How far each kind of part may be off.
pub static TOLERANCES: Table = Table {
    doc: "How far each kind of part may be off.",
    keys: &[
        key("pots", Kind::Percent, Some("20 %"), "Pots."),
        key("resistance", Kind::Percent, Some("10 %"), "Coils' resistances that were not measured."),
        key("inductance", Kind::Percent, Some("10 %"), "Coils' inductances."),
        key("capacitance", Kind::Percent, Some("20 %"), "Coils' capacitances."),
        key("loss", Kind::Percent, Some("30 %"), "Coils' losses."),
        key("capacitors", Kind::Percent, Some("10 %"), "Capacitors that are soldered in."),
        key("resistors", Kind::Percent, Some("5 %"), "Resistors that are soldered in."),
        key("cable", Kind::Percent, Some("20 %"), "The cable's capacitance."),
        key("coupling", Kind::Range, Some("[0, 0.2]"), "The least and the most coupling of two coils."),
    ],
};
