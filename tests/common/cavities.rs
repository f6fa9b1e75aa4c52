//! Guitars with their control cavities: the reference cases, others that are larger, and a cavity's wires written out for
//! the simulator.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use drywire::document::Document;
use drywire::guitar::{BleedForm, Bypass, Coil, Guitar, Pickup, Pot, Turns, guitar_presets};
use drywire::harness::{Harness, PartKind, Role, TwoLegs, Wire};
use drywire::wiring::CoilName;
use serde_json::Value;

/// A wiring with its answers.
pub struct Case {
    pub id: String,
    pub text: String,
    pub expected: Value,
    pub kinds_complete: bool,
}

/// Returns the reference cases, each guitar's file with its wires.
pub fn cases() -> Vec<Case> {
    let text = std::fs::read_to_string("tests/data/harness-cases.json").unwrap();
    let json: Value = serde_json::from_str(&text).unwrap();
    let case = |case: &Value| {
        let wires = serde_json::to_string(&case["wires"]).unwrap();
        Case {
            id: case["id"].as_str().unwrap().to_owned(),
            text: format!("{}\n[harness]\nwires = {wires}\n", case["guitar"].as_str().unwrap()),
            expected: case["expected"].clone(),
            kinds_complete: case["kinds_complete"].as_bool().unwrap(),
        }
    };
    json["cases"].as_array().unwrap().iter().map(case).collect()
}

pub fn read(text: &str) -> Guitar {
    Guitar::read(&Document::new("mine.toml", text)).unwrap_or_else(|refusal| panic!("{refusal}\n{text}"))
}

/// Four knobs with two push-pull switches, a guitar for the left hand.
pub const FOUR_KNOBS: &str = r#"format = 1
[[pickup]]
name = "bridge"
like = "vintage-full-size"
[pickup.controls]
volume = { pot = "500k", turned = 7 }
tone = { pot = "500k", capacitor = "22n", turned = 6, joined = "after-volume" }
bleed = { capacitor = "1n", resistor = "150k", joined = "parallel" }
[[pickup]]
name = "neck"
like = "vintage-full-size"
from_bridge = "150 mm"
[pickup.controls]
volume = { pot = "500k", turned = 9, wired = "independent" }
tone = { pot = "500k", capacitor = "15n", turned = 7 }
load = "470k"
[[switch]]
name = "split"
on = "bridge"
table = "on-on"
joints = [["a+", "hot"], ["a-", "b+", "L2"], ["b-", "ground", "L1"]]
[[switch]]
name = "mode"
on = "neck"
table = "on-on"
joints = [["a+", "hot", "L3"], ["a-", "L1", "R2"], ["b+", "L2"], ["b-", "ground", "R3", "shield"]]
[[selector]]
name = "selector"
table = "three-way-toggle"
joints = [["bridge", "1"], ["neck", "2"], ["out", "0"]]
[controls]
[harness]
turns = "counter-clockwise"
shield = "foil"
ground = "star"
under = { split = "bridge-tone", mode = "neck-tone" }
"#;

/// Three pickups, a five-way selector and three switches: 60 states.
pub const MANY_STATES: &str = include_str!("../data/many-states.toml");

/// A pickup in a braid, and one of two leads, both of two coils that are joined inside.
pub const BRAIDS: &str = r#"format = 1
[[pickup]]
name = "bridge"
like = "vintage-full-size"
form = "braid"
[[pickup]]
name = "neck"
like = "mini"
from_bridge = "150 mm"
form = "two"
arrangement = "parallel"
[[selector]]
name = "selector"
table = "three-way-toggle"
joints = [["bridge", "1"], ["neck", "2"], ["out", "0"]]
[controls]
volume = { pot = "500k", turned = 8, wired = "independent" }
tone = { pot = "500k", capacitor = "22n", turned = 5 }
"#;

/// A phase switch before a toggle.
pub const PHASE_BEFORE_TOGGLE: &str = r#"format = 1
[[pickup]]
name = "bridge"
like = "single-coil"
[[pickup]]
name = "neck"
like = "mini"
from_bridge = "150 mm"
[[selector]]
name = "selector"
table = "three-way-toggle"
joints = [["bridge", "1"], ["out", "0"]]
[[switch]]
name = "phase"
on = "neck"
table = "on-on"
joints = [["a+", "L1", "R3"], ["a-", "b+"], ["b-", "L3", "R1"], ["selector.2", "L2"], ["ground", "R2"]]
[controls]
volume = { pot = "500k", turned = 8 }
tone = { pot = "500k", capacitor = "22n", turned = 5 }
"#;

/// A capacitor that bypasses the coils' joint.
pub const BYPASSED: &str = r#"format = 1
[[pickup]]
name = "bridge"
like = "vintage-full-size"
bypass = "4.7n"
arrangement = "series-bypassed"
[controls]
volume = { pot = "500k", turned = 8 }
"#;

/// Returns the files of all guitars that are planned: built in, of the cases, and larger ones.
pub fn guitars() -> Vec<(String, String)> {
    let built_in = guitar_presets().iter().filter(|preset| preset.name != "short-scale-blade");
    let mut all: Vec<(String, String)> =
        built_in.map(|own| (own.name.to_owned(), own.text.to_owned())).collect();
    for case in cases() {
        let name = case.id[2..].trim_end_matches(|c: char| c.is_ascii_digit() || c == '-').to_owned();
        if all.iter().all(|(own, _)| *own != name) {
            let (text, _) = case.text.split_once("[harness]").unwrap();
            all.push((name, text.to_owned()));
        }
    }
    for (name, text) in [
        ("four-knobs-left", FOUR_KNOBS),
        ("many-states", MANY_STATES),
        ("braids", BRAIDS),
        ("phase-before-toggle", PHASE_BEFORE_TOGGLE),
        ("bypassed", BYPASSED),
    ] {
        all.push((name.to_owned(), text.to_owned()));
    }
    all
}

/// Returns the cavity with these wires in this state, with a plug in the jack, as parts for the simulator; its output is
/// the node `jack`, its EMFs `vemf1` and so on, coil by coil.
pub fn deck(harness: &Harness, wires: &[Wire], state: usize) -> String {
    let (parts, guitar) = (harness.parts(), harness.parts().guitar());
    let mut text = String::new();
    let mut joined: Vec<[String; 2]> = Vec::new();
    let mut count = 0;
    let mut part = |text: &mut String, kind: char, a: &str, b: &str, value: f64| {
        count += 1;
        writeln!(text, "{kind}{count} {a} {b} {value:e}").unwrap();
    };
    let mut coil_number = 0;
    for own in parts.all() {
        let at = |lug: &str| {
            format!("{}_{}", own.name().replace('-', "_"), lug.replace('+', "p").replace('-', "m"))
        };
        for lug in own.lugs() {
            part(&mut text, 'r', &at(lug), "0", TIE);
        }
        let controls = |whose: Option<usize>| {
            *whose.map_or(guitar.controls(), |place| guitar.pickups()[place].controls())
        };
        match own.kind() {
            PartKind::Pot(role, whose) => {
                let controls = controls(whose);
                let pot: Pot = match role {
                    Role::Volume => controls.volume().unwrap(),
                    Role::Tone => controls.tone().unwrap().pot(),
                    Role::BassCut => controls.bass_cut().unwrap().pot(),
                    Role::Blend => guitar.joined().blend().unwrap().pot(),
                };
                let (f, track) = (pot.fraction(), pot.track().value());
                let [low, high] = match guitar.cavity().turns() {
                    Turns::Clockwise => ["1", "3"],
                    Turns::CounterClockwise => ["3", "1"],
                };
                part(&mut text, 'r', &at(low), &at("2"), (f * track).max(LEAST));
                part(&mut text, 'r', &at("2"), &at(high), ((1.0 - f) * track).max(LEAST));
            }
            PartKind::TwoLegs(what, whose) => {
                let controls = controls(whose);
                let bypass = || match guitar.pickups()[whose.unwrap()].coils() {
                    drywire::guitar::Coils::Two { bypass, .. } => bypass.unwrap(),
                    drywire::guitar::Coils::One(_) => panic!("one coil"),
                };
                let (kind, value) = match what {
                    TwoLegs::ToneCapacitor => ('c', controls.tone().unwrap().capacitor().value()),
                    TwoLegs::BleedCapacitor => ('c', controls.bleed().unwrap().capacitor().value()),
                    TwoLegs::BleedResistor => match controls.bleed().unwrap().form() {
                        BleedForm::Capacitor => panic!("no resistor"),
                        BleedForm::Parallel(ohms) | BleedForm::Series(ohms) => ('r', ohms.value()),
                    },
                    TwoLegs::BassCapacitor => ('c', controls.bass_cut().unwrap().capacitor().value()),
                    TwoLegs::Load => ('r', controls.load().unwrap().value()),
                    TwoLegs::BypassCapacitor | TwoLegs::BypassResistor => match bypass() {
                        Bypass::Capacitor(farads) => ('c', farads.value()),
                        Bypass::Resistor(ohms) => ('r', ohms.value()),
                    },
                };
                part(&mut text, kind, &at("1"), &at("2"), value);
            }
            PartKind::Pickup(place) => {
                pickup(&mut text, &mut joined, &mut coil_number, &guitar.pickups()[place], at);
            }
            PartKind::Buffer => {
                let buffer = guitar.buffer().unwrap();
                part(&mut text, 'r', &at("in"), &at("ground"), buffer.input().value());
                writeln!(text, "ebuffer followed {} {} {} 1", at("ground"), at("in"), at("ground")).unwrap();
                part(&mut text, 'r', "followed", &at("out"), buffer.output().value());
            }
            PartKind::Jack => {
                let load = guitar.cable().capacitance().value() + guitar.input().capacitance().value();
                part(&mut text, 'c', &at("tip"), &at("sleeve"), load);
                part(&mut text, 'r', &at("tip"), &at("sleeve"), guitar.input().resistance().value());
                joined.push([at("sleeve"), "0".to_owned()]);
                writeln!(text, "ejack jack 0 {} {} 1", at("tip"), at("sleeve")).unwrap();
                if own.lugs().iter().any(|lug| lug == "ring") {
                    joined.push([at("ring"), at("sleeve")]);
                }
            }
            PartKind::Lever(lever) => {
                let name = &harness.throws().names()[state];
                let asked = name.split('+').find_map(|throw| throw.strip_prefix(&format!("{}:", own.name())));
                let number: u8 = asked.unwrap().parse().unwrap();
                let table = lever.table(guitar);
                let throw = table.throws().iter().find(|throw| throw.number() == number).unwrap();
                for [one, other] in throw.contacts() {
                    joined.push([*one, *other].map(|lug| at(table.name_of(lug))));
                }
            }
            PartKind::Strings | PartKind::Cavity | PartKind::Battery => {}
        }
    }
    for [one, other] in wires {
        let of = |terminal: drywire::harness::Terminal| {
            let lug = parts.lug_of(terminal).replace('+', "p").replace('-', "m");
            format!("{}_{lug}", parts.part_of(terminal).name().replace('-', "_"))
        };
        joined.push([*one, *other].map(of));
    }
    merged(&text, &joined)
}

/// Returns a deck in which all nodes that are joined have one name.
fn merged(text: &str, joined: &[[String; 2]]) -> String {
    let mut names: BTreeMap<&str, &str> = BTreeMap::new();
    for [one, other] in joined {
        let of = |name: &'_ str| names.get(name).copied();
        let (one, other) = (of(one).unwrap_or(one), of(other).unwrap_or(other));
        // Node 0 keeps its name.
        let (keep, drop) = if other == "0" { (other, one) } else { (one, other) };
        names.values_mut().filter(|name| **name == drop).for_each(|name| *name = keep);
        names.insert(drop, keep);
        names.insert(keep, keep);
    }
    let line = |line: &str| {
        let words: Vec<&str> = line.split(' ').map(|word| names.get(word).copied().unwrap_or(word)).collect();
        words.join(" ") + "\n"
    };
    text.lines().map(line).collect()
}

/// A resistor that gives every node a potential.
const TIE: f64 = 1e12;
/// What is left of a track at its end.
const LEAST: f64 = 1e-2;

fn pickup(
    text: &mut String,
    joined: &mut Vec<[String; 2]>,
    number: &mut usize,
    pickup: &Pickup,
    at: impl Fn(&str) -> String,
) {
    let inside = pickup.is_joined_inside();
    let ends = |coil: CoilName| -> [String; 2] {
        let letter = match coil {
            CoilName::A => "a",
            CoilName::B => "b",
        };
        [format!("{letter}+"), format!("{letter}-")]
            .map(|end| if inside { format!("x{}", at(&end)) } else { at(&end) })
    };
    let first = *number + 1;
    for coil in pickup.coil_names() {
        *number += 1;
        let own = match coil {
            CoilName::A => pickup.coil_a(),
            CoilName::B => pickup.coil_b().unwrap(),
        };
        one_coil(text, *number, own, ends(coil));
    }
    if *number > first {
        let [a, b] = [pickup.coil_a(), pickup.coil_b().unwrap()];
        let scale = |coil: &Coil| 1.0 - coil.eddy().map_or(0.0, |eddy| eddy.share.value);
        let together = (scale(a) * a.inductance().value() * scale(b) * b.inductance().value()).sqrt();
        let k = pickup.mutual_inductance().value() / together;
        if k != 0.0 {
            writeln!(text, "k{first} l{first} l{} {k:e}", first + 1).unwrap();
        }
    }
    if inside {
        let hot = at("hot");
        let cold = if pickup.form() == drywire::guitar::PickupForm::Braid { at("braid") } else { at("cold") };
        for group in pickup.arrangement().joints() {
            let nodes: Vec<String> = group
                .iter()
                .map(|terminal| match terminal.name() {
                    "hot" => hot.clone(),
                    "ground" => cold.clone(),
                    end => format!("x{}", at(end)),
                })
                .collect();
            joined.extend(nodes.windows(2).map(|pair| [pair[0].clone(), pair[1].clone()]));
        }
    }
}

fn one_coil(text: &mut String, n: usize, coil: &Coil, [plus, minus]: [String; 2]) {
    let share = coil.eddy().map_or(0.0, |eddy| eddy.share.value);
    let henries = coil.inductance().value();
    writeln!(text, "ra{n} {plus} inner{n} {:e}", coil.resistance().value()).unwrap();
    writeln!(text, "ca{n} {plus} {minus} {:e}", coil.capacitance().value().max(1e-18)).unwrap();
    let lead = coil.lead().value();
    if lead > 0.0 {
        writeln!(text, "cp{n} {plus} 0 {lead:e}\ncm{n} {minus} 0 {lead:e}").unwrap();
    }
    writeln!(text, "rt{n} {plus} 0 {TIE:e}").unwrap();
    writeln!(text, "rm{n} {minus} 0 {TIE:e}").unwrap();
    if let Some(loss) = coil.loss() {
        writeln!(text, "rl{n} inner{n} {minus} {:e}", loss.value()).unwrap();
    }
    let mut foot = minus.clone();
    if let Some(eddy) = coil.eddy().filter(|_| share > 0.0) {
        foot = format!("core{n}");
        writeln!(text, "ec{n} {foot} corex{n} emf{n} 0 {share:e}").unwrap();
        writeln!(text, "lc{n} corex{n} {minus} {:e}", share * henries).unwrap();
        let shunt = std::f64::consts::TAU * eddy.corner.value.value() * share * henries;
        writeln!(text, "re{n} {foot} {minus} {shunt:e}").unwrap();
    }
    writeln!(text, "e{n} inner{n} x{n} emf{n} 0 {:e}", 1.0 - share).unwrap();
    writeln!(text, "vemf{n} emf{n} 0 dc 0 ac 0").unwrap();
    writeln!(text, "l{n} x{n} {foot} {:e}", (1.0 - share) * henries).unwrap();
}
