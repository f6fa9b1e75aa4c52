//! The circuit's values as rows to read.

use crate::guitar::{
    BassCut, Bleed, BleedForm, Blend, Buffer, Cable, Coil, Coils, Controls, Eddy, Guitar, Input, Joined,
    Pickup, Point, Pole, Pot, Selector, Taper, Tone, ToneJoined, VolumeWiring,
};
use crate::markup::escaped;
use crate::quantity::Quantity;
use crate::response::Scope;
use crate::wiring::Soldered;

/// A group of values under its heading.
struct Group {
    heading: String,
    rows: Vec<(&'static str, String)>,
}

/// Returns the values of what is heard of `guitar` as definition lists.
pub(super) fn values(guitar: &Guitar, scope: Scope<'_>) -> String {
    groups(guitar, scope).iter().map(Group::html).collect()
}

fn groups(guitar: &Guitar, scope: Scope<'_>) -> Vec<Group> {
    // The name stands above, what was assumed and how far off it may be below.
    let Guitar {
        name: _,
        scale,
        pickups: own,
        switches,
        joined,
        controls,
        buffer,
        tolerances: _,
        cable: Cable { capacitance: cable },
        input: Input { resistance: input, capacitance: input_capacitance },
        assumed: _,
        notes: _,
    } = guitar;
    let mut groups = Vec::new();
    let pickups = scope.pickups(guitar);
    for pickup in &pickups {
        pickup_groups(&mut groups, pickup, scope);
    }
    groups.push(Group { heading: "On the guitar".to_owned(), rows: vec![("scale", scale.to_string())] });
    let on = |switch: &&Soldered| pickups.iter().any(|p| p.name() == guitar.switched_by(switch).name());
    let mut rows: Vec<_> = switches.iter().filter(on).map(|switch| switch_row(guitar, switch)).collect();
    match scope {
        Scope::Pickup(_) => {}
        Scope::Guitar => rows.extend(joined_rows(joined, guitar, own)),
    }
    if !rows.is_empty() {
        groups.push(Group { heading: "Switches and joints".to_owned(), rows });
    }
    groups.push(controls_group("Controls".to_owned(), controls));
    let mut onward = Vec::new();
    if let Some(Buffer { input, output }) = buffer {
        onward.push(("buffer", format!("{input} in, {output} out")));
    }
    onward.extend([
        ("cable", cable.to_string()),
        ("input", input.to_string()),
        ("input capacitance", or_none(*input_capacitance)),
    ]);
    groups.push(Group { heading: "To the amplifier".to_owned(), rows: onward });
    groups
}

fn switch_row(guitar: &Guitar, switch: &Soldered) -> (&'static str, String) {
    let on = guitar.switched_by(switch).name();
    ("switch", format!("{}: {} on {on}", switch.name().value, switch.switch().name()))
}

/// Returns how `pickups` are joined, one row a joint that is always there, a selector and the blend pot.
fn joined_rows(joined: &Joined, guitar: &Guitar, pickups: &[Pickup]) -> Vec<(&'static str, String)> {
    // What is soldered around a switch is told by its positions.
    let Joined { fixed, selectors, blend, linked: _ } = joined;
    let called = |point: &Point| match point {
        Point::Hot(place) => pickups[*place].name().to_string(),
        Point::Cold(place) => format!("{}, ground", pickups[*place].name()),
        Point::Out => "the controls".to_owned(),
        Point::Ground => "ground".to_owned(),
        Point::LugOf(lever, lug) => {
            format!("{}, lug {}", lever.name(guitar), lever.table(guitar).name_of(*lug))
        }
        // Neither what is always joined nor a blend pot is around a switch.
        Point::Lug(_) | Point::Terminal(..) => "a lug".to_owned(),
    };
    let mut rows = Vec::new();
    for group in fixed {
        let things: Vec<String> = group.iter().map(called).collect();
        rows.push(("joint", things.join(" – ")));
    }
    // What is soldered to its lugs is told by its positions; where it stands, by the one that is heard.
    for Selector { name, switch, joints: _, stands: _ } in selectors {
        rows.push(("selector", format!("{name}: {}", switch.name())));
    }
    if let Some(Blend { pot: track, ends: [first, second] }) = blend {
        rows.push(("blend", format!("{}, from {} to {}", pot(*track), called(first), called(second))));
    }
    rows
}

/// Adds the groups of a pickup, with its name in their headings where others are heard beside it.
fn pickup_groups(groups: &mut Vec<Group>, pickup: &Pickup, scope: Scope<'_>) {
    let Pickup { name, from_bridge, spacing, coils, arrangement, controls, assumed: _ } = pickup;
    let mut about = vec![("to the bridge", from_bridge.to_string())];
    let of = match scope {
        // The arrangement is then what is chosen.
        Scope::Pickup(_) => String::new(),
        Scope::Guitar => {
            about.push(("as soldered", arrangement.to_string()));
            format!(" of {name}")
        }
    };
    match coils {
        Coils::One(coil) => {
            let mut group = coil_group(format!("The coil{of}"), coil);
            group.rows.extend(about);
            groups.push(group);
        }
        Coils::Two { a, b, coupling, bypass } => {
            groups.push(coil_group(format!("Coil A{of}, nearer the bridge"), a));
            groups.push(coil_group(format!("Coil B{of}"), b));
            let mut both = Group { heading: format!("Both coils{of}"), rows: about };
            both.rows.push(("coupling k", format!("{coupling}")));
            both.rows.push(("spacing", spacing.to_string()));
            both.rows.extend(bypass.map(|bypass| ("bypass", bypass.to_string())));
            groups.push(both);
        }
    }
    if *controls != Controls::default() {
        groups.push(controls_group(format!("Controls{of}"), controls));
    }
}

fn coil_group(heading: String, coil: &Coil) -> Group {
    // Turns and winding are for hum, which the page has none of, and leads for the iron.
    let Coil {
        resistance,
        resistance_is_stated: _,
        inductance,
        capacitance,
        loss,
        eddy,
        output,
        turns: _,
        winding: _,
        top_pole,
        leads: _,
    } = coil;
    let mut rows = vec![
        ("resistance", resistance.to_string()),
        ("inductance", inductance.to_string()),
        ("capacitance", capacitance.to_string()),
        ("eddy loss", loss.map_or_else(|| "none".to_owned(), |loss| loss.to_string())),
    ];
    if let Some(Eddy { share, corner }) = eddy {
        rows.push(("eddy section", format!("{share} from {corner}")));
    }
    rows.push(("output", format!("{output}")));
    rows.push((
        "top pole",
        match top_pole {
            Pole::North => "north",
            Pole::South => "south",
        }
        .to_owned(),
    ));
    Group { heading, rows }
}

fn controls_group(heading: String, controls: &Controls) -> Group {
    let Controls { volume, wiring, tone, bleed, bass_cut, load } = controls;
    let mut rows = Vec::new();
    let none = || "none".to_owned();
    rows.push(("volume", volume.map_or_else(none, pot)));
    match wiring {
        VolumeWiring::Dependent => {}
        VolumeWiring::Independent => rows.push(("volume wired", "independent".to_owned())),
    }
    match tone {
        None => rows.push(("tone", none())),
        Some(Tone { pot: track, capacitor, joined }) => {
            rows.push(("tone", pot(*track)));
            rows.push(("tone capacitor", capacitor.to_string()));
            match joined {
                ToneJoined::BeforeVolume => {}
                ToneJoined::AfterVolume => rows.push(("tone joined", "after the volume".to_owned())),
            }
        }
    }
    if let Some(Bleed { capacitor, form }) = bleed {
        let form = match form {
            BleedForm::Capacitor => String::new(),
            BleedForm::Parallel(resistor) => format!(", {resistor} in parallel"),
            BleedForm::Series(resistor) => format!(", {resistor} in series"),
        };
        rows.push(("treble bleed", format!("{capacitor}{form}")));
    }
    if let Some(BassCut { pot: track, capacitor }) = bass_cut {
        rows.push(("bass cut", format!("{capacitor}, {}", pot(*track))));
    }
    rows.extend(load.map(|load| ("fixed load", load.to_string())));
    Group { heading, rows }
}

fn pot(pot: Pot) -> String {
    let taper = match pot.taper() {
        Taper::Linear => "linear",
        Taper::Audio { .. } => "audio",
    };
    format!("{} {taper}, at {}", pot.track(), pot.turned())
}

fn or_none(quantity: impl Quantity) -> String {
    if quantity.value() == 0.0 { "none".to_owned() } else { quantity.to_string() }
}

impl Group {
    fn html(&self) -> String {
        let row = |(name, value): &(&str, String)| format!("<dt>{name}</dt><dd>{}</dd>", escaped(value));
        let rows = self.rows.iter().map(row).collect::<Vec<String>>().concat();
        format!("<div><h3>{}</h3><dl>{rows}</dl></div>\n", escaped(&self.heading))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::EVERY_PART;

    fn rows(guitar: &Guitar, scope: Scope<'_>) -> Vec<String> {
        let of = |group: Group| {
            let Group { heading, rows } = group;
            rows.into_iter().map(move |(name, value)| format!("{heading}: {name}: {value}"))
        };
        groups(guitar, scope).into_iter().flat_map(of).collect()
    }

    #[test]
    fn every_part_of_a_whole_guitar_has_its_row() {
        let guitar = Guitar::read(&Document::new("every.toml", EVERY_PART)).unwrap();
        let rows = rows(&guitar, Scope::Guitar);
        for row in [
            "Coil A of bridge, nearer the bridge: resistance: 4.10 kΩ",
            "Coil A of bridge, nearer the bridge: inductance: 2.05 H",
            "Coil A of bridge, nearer the bridge: eddy loss: 230 kΩ",
            "Coil A of bridge, nearer the bridge: eddy section: 0.25 from 5.00 kHz",
            "Coil A of bridge, nearer the bridge: output: 1.07",
            "Coil A of bridge, nearer the bridge: top pole: north",
            "Coil B of bridge: top pole: south",
            "Both coils of bridge: to the bridge: 45.0 mm",
            "Both coils of bridge: as soldered: series",
            "Both coils of bridge: bypass: 4.70 nF",
            "Controls of bridge: volume: 250 kΩ audio, at 8",
            "Controls of bridge: volume wired: independent",
            "The coil of neck: to the bridge: 150 mm",
            "The coil of neck: as soldered: alone",
            "Switches and joints: switch: mode: on-on on bridge",
            "Switches and joints: joint: bridge, ground – ground",
            "Switches and joints: selector: phase: on-off",
            "Switches and joints: blend: 510 kΩ linear, at 4, from bridge to neck",
            "Controls: volume: 490 kΩ audio, at 7",
            "Controls: tone: 240 kΩ linear, at 6",
            "Controls: tone capacitor: 33.0 nF",
            "Controls: tone joined: after the volume",
            "Controls: treble bleed: 1.20 nF, 130 kΩ in series",
            "Controls: bass cut: 1.50 nF, 1.00 MΩ audio, at 3",
            "Controls: fixed load: 470 kΩ",
            "To the amplifier: buffer: 2.20 MΩ in, 1.80 kΩ out",
            "To the amplifier: cable: 410 pF",
            "To the amplifier: input: 910 kΩ",
            "To the amplifier: input capacitance: 39.0 pF",
        ] {
            assert!(rows.iter().any(|r| r == row), "{row}\n---\n{}", rows.join("\n"));
        }
    }

    #[test]
    fn of_one_pickup_only_what_is_in_its_circuit_has_a_row() {
        let guitar = Guitar::read(&Document::new("every.toml", EVERY_PART)).unwrap();
        let rows = rows(&guitar, Scope::Pickup(&guitar.pickups()[1])).join("\n");
        assert!(rows.contains("Controls: volume: 490 kΩ"), "{rows}");
        for other in ["blend", "selector", "switch", "joint", "Coil A", "as soldered", "250 kΩ"] {
            assert!(!rows.contains(other), "{other}\n---\n{rows}");
        }
    }
}
