//! The keys that each table of a guitar's file may have.

use crate::document::Form::{self, Table, Tables, Value};
use crate::document::Key;

const fn key(name: &'static str, form: Form) -> Key {
    Key { name, form }
}

const fn value(name: &'static str) -> Key {
    key(name, Value)
}

pub(super) const GUITAR: [Key; 13] = [
    value("format"),
    value("name"),
    value("scale"),
    key("pickup", Tables),
    key("switch", Tables),
    value("joints"),
    key("selector", Tables),
    key("blend", Table),
    key("controls", Table),
    key("buffer", Table),
    key("tolerances", Table),
    key("cable", Table),
    key("input", Table),
];

/// A guitar's pickup.
pub(super) const PICKUP: [Key; 11] = [
    value("name"),
    value("like"),
    value("from_bridge"),
    value("spacing"),
    value("coupling"),
    value("bypass"),
    value("bypass_resistor"),
    value("arrangement"),
    key("coil_a", Table),
    key("coil_b", Table),
    key("controls", Table),
];

/// A built-in pickup's file.
pub(super) const PRESET: [Key; 8] = [
    value("pot"),
    value("from_bridge"),
    value("spacing"),
    value("coupling"),
    value("bypass"),
    value("bypass_resistor"),
    key("coil_a", Table),
    key("coil_b", Table),
];

pub(super) const COIL: [Key; 11] = [
    value("resistance"),
    value("inductance"),
    value("capacitance"),
    value("loss"),
    value("eddy_share"),
    value("eddy_corner"),
    value("output"),
    value("turns"),
    value("winding"),
    value("top_pole"),
    key("leads", Table),
];

pub(super) const LEADS: [Key; 4] = [value("start"), value("finish"), value("plus"), value("minus")];

pub(super) const SWITCH: [Key; 4] = [value("name"), value("on"), value("table"), value("joints")];

pub(super) const SELECTOR: [Key; 4] = [value("name"), value("table"), value("joints"), value("stands")];

pub(super) const BLEND: [Key; 5] =
    [value("pot"), value("taper"), value("mid"), value("turned"), value("ends")];

/// The guitar's own controls, or those of one pickup.
pub(super) const CONTROLS: [Key; 5] =
    [key("volume", Table), key("tone", Table), key("bleed", Table), key("bass_cut", Table), value("load")];

pub(super) const VOLUME: [Key; 5] =
    [value("pot"), value("taper"), value("mid"), value("turned"), value("wired")];

pub(super) const TONE: [Key; 8] = [
    value("pot"),
    value("taper"),
    value("mid"),
    value("turned"),
    value("capacitor"),
    value("capacitors"),
    value("chosen"),
    value("joined"),
];

pub(super) const BLEED: [Key; 3] = [value("capacitor"), value("resistor"), value("joined")];

pub(super) const BASS_CUT: [Key; 5] =
    [value("pot"), value("taper"), value("mid"), value("turned"), value("capacitor")];

pub(super) const BUFFER: [Key; 2] = [value("input"), value("output")];

pub(super) const CABLE: [Key; 3] = [value("total"), value("length"), value("per_metre")];

pub(super) const INPUT: [Key; 2] = [value("resistance"), value("capacitance")];

pub(super) const TOLERANCES: [Key; 9] = [
    value("pots"),
    value("resistance"),
    value("inductance"),
    value("capacitance"),
    value("loss"),
    value("capacitors"),
    value("resistors"),
    value("cable"),
    value("coupling"),
];
