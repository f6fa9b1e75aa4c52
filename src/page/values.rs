//! The circuit's values as rows to read.

use crate::guitar::{
    BassCut, Bleed, BleedForm, Blend, Buffer, Cable, Coil, Coils, Controls, Cover, Eddy, Guitar, Input,
    Joined, Origin, Pickup, Point, Pot, Selector, Tone, ToneJoined, Value, VolumeWiring,
};
use crate::markup::escaped;
use crate::quantity::Quantity;
use crate::response::Scope;
use crate::wiring::Soldered;

/// A group of values under its heading.
struct Group {
    heading: String,
    rows: Vec<Row>,
}

/// A value with its name, and where it is from.
struct Row {
    name: &'static str,
    value: String,
    origin: Origin,
}

impl Row {
    /// Returns the row of what the guitar's file alone can state.
    fn stated(name: &'static str, value: impl Into<String>) -> Self {
        Self { name, value: value.into(), origin: Origin::Stated }
    }

    fn of(name: &'static str, value: &Value<impl ToString>) -> Self {
        Self { name, value: value.value.to_string(), origin: value.origin }
    }

    /// Returns the row of a pot, which is told as known as its track is.
    fn pot(name: &'static str, pot: &Pot) -> Self {
        Self { name, value: told(pot), origin: pot.track.origin }
    }
}

/// Returns the values of what is heard of `guitar` as definition lists.
pub(super) fn values(guitar: &Guitar, scope: Scope<'_>) -> String {
    groups(guitar, scope).iter().map(Group::html).collect()
}

fn groups(guitar: &Guitar, scope: Scope<'_>) -> Vec<Group> {
    // The name stands above, how far off its values may be below.
    let Guitar {
        name: _,
        scale,
        pickups: own,
        switches,
        joined,
        controls,
        buffer,
        tolerances: _,
        cable,
        input: Input { resistance: input, capacitance: input_capacitance },
        cavity: _,
        notes: _,
    } = guitar;
    let mut groups = Vec::new();
    let pickups = scope.pickups(guitar);
    for pickup in &pickups {
        pickup_groups(&mut groups, pickup, scope);
    }
    groups.push(Group { heading: "On the guitar".to_owned(), rows: vec![Row::of("scale", scale)] });
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
    let Cable { capacitance, by: _ } = cable;
    if let Some(Buffer { input, output }) = buffer {
        let origin = if input.origin.is_stated() { output.origin } else { input.origin };
        onward.push(Row { name: "buffer", value: format!("{input} in, {output} out"), origin });
    }
    onward.extend([
        Row { name: "cable", value: capacitance.to_string(), origin: cable.origin() },
        Row::of("input", input),
        Row {
            name: "input capacitance",
            value: or_none(input_capacitance.value),
            origin: input_capacitance.origin,
        },
    ]);
    groups.push(Group { heading: "To the amplifier".to_owned(), rows: onward });
    groups
}

fn switch_row(guitar: &Guitar, switch: &Soldered) -> Row {
    let on = guitar.switched_by(switch).name();
    Row::stated("switch", format!("{}: {} on {on}", switch.name().value, switch.switch().name()))
}

/// Returns how `pickups` are joined, one row a joint that is always there, a selector and the blend pot.
fn joined_rows(joined: &Joined, guitar: &Guitar, pickups: &[Pickup]) -> Vec<Row> {
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
        rows.push(Row::stated("joint", things.join(" – ")));
    }
    // What is soldered to its lugs is told by its positions; where it stands, by the one that is heard.
    for Selector { name, switch, joints: _, stands: _ } in selectors {
        rows.push(Row::stated("selector", format!("{name}: {}", switch.name())));
    }
    if let Some(Blend { pot: track, ends: [first, second] }) = blend {
        let value = format!("{}, from {} to {}", told(track), called(first), called(second));
        rows.push(Row { name: "blend", value, origin: track.track.origin });
    }
    rows
}

/// Adds the groups of a pickup, with its name in their headings where others are heard beside it.
fn pickup_groups(groups: &mut Vec<Group>, pickup: &Pickup, scope: Scope<'_>) {
    let Pickup { name, like: _, from_bridge, spacing, coils, cover, level, arrangement, controls, form: _ } =
        pickup;
    let mut about = vec![Row::of("to the bridge", from_bridge)];
    let of = match scope {
        // The arrangement is then what is chosen.
        Scope::Pickup(_) => String::new(),
        Scope::Guitar => {
            about.push(Row::stated("as soldered", arrangement.to_string()));
            about.push(Row::of("level", level));
            format!(" of {name}")
        }
    };
    match cover.value {
        Cover::None => {}
        Cover::NickelSilver | Cover::Brass => about.push(Row::of("cover", cover)),
    }
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
            both.rows.push(Row::of("coupling k", coupling));
            both.rows.push(Row::of("spacing", spacing));
            both.rows.extend(bypass.map(|bypass| Row::stated("bypass", bypass.to_string())));
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
        inductance,
        capacitance,
        loss,
        eddy,
        lead,
        output,
        turns: _,
        winding: _,
        top_pole,
        leads: _,
        measurement: _,
    } = coil;
    let mut rows = vec![
        Row::of("resistance", resistance),
        Row::of("inductance", inductance),
        Row::of("capacitance", capacitance),
        loss.map_or_else(|| Row::stated("eddy loss", "none"), |loss| Row::of("eddy loss", &loss)),
    ];
    if let Some(Eddy { share, corner }) = eddy {
        let value = format!("{share} from {corner}");
        rows.push(Row { name: "eddy section", value, origin: share.origin });
    }
    if lead.value.value() > 0.0 {
        rows.push(Row::of("lead to shield", lead));
    }
    rows.push(Row::of("output", output));
    rows.push(Row::of("top pole", top_pole));
    Group { heading, rows }
}

fn controls_group(heading: String, controls: &Controls) -> Group {
    let Controls { volume, wiring, tone, bleed, bass_cut, load } = controls;
    let mut rows = Vec::new();
    rows.push(volume.map_or_else(|| Row::stated("volume", "none"), |volume| Row::pot("volume", &volume)));
    match wiring {
        VolumeWiring::Dependent => {}
        VolumeWiring::Independent => rows.push(Row::stated("volume wired", "independent")),
    }
    match tone {
        None => rows.push(Row::stated("tone", "none")),
        Some(Tone { pot: track, capacitor, joined }) => {
            rows.push(Row::pot("tone", track));
            rows.push(Row::of("tone capacitor", capacitor));
            match joined {
                ToneJoined::BeforeVolume => {}
                ToneJoined::AfterVolume => rows.push(Row::stated("tone joined", "after the volume")),
            }
        }
    }
    if let Some(Bleed { capacitor, form }) = bleed {
        let bleed = match &form.value {
            BleedForm::Capacitor => String::new(),
            BleedForm::Parallel(resistor) => format!(", {resistor} in parallel"),
            BleedForm::Series(resistor) => format!(", {resistor} in series"),
        };
        rows.push(Row { name: "treble bleed", value: format!("{capacitor}{bleed}"), origin: form.origin });
    }
    if let Some(BassCut { pot: track, capacitor }) = bass_cut {
        let value = format!("{capacitor}, {}", told(track));
        rows.push(Row { name: "bass cut", value, origin: track.track.origin });
    }
    rows.extend(load.map(|load| Row::stated("fixed load", load.to_string())));
    Group { heading, rows }
}

fn told(pot: &Pot) -> String {
    format!("{} {}, at {}", pot.track(), pot.taper(), pot.turned())
}

fn or_none(quantity: impl Quantity) -> String {
    if quantity.value() == 0.0 { "none".to_owned() } else { quantity.to_string() }
}

impl Group {
    fn html(&self) -> String {
        let row = |Row { name, value, origin }: &Row| {
            let mark = match origin {
                Origin::Stated => String::new(),
                Origin::Measured { .. } => origin.to_string(),
                Origin::Scaled { .. } => "built-in, scaled".to_owned(),
                Origin::Preset { .. } => "built-in".to_owned(),
                Origin::Default => "assumed".to_owned(),
            };
            let mark = if mark.is_empty() { mark } else { format!(" <span class=\"small\">{mark}</span>") };
            format!("<dt>{name}</dt><dd>{}{mark}</dd>", escaped(value))
        };
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
            rows.into_iter().map(move |Row { name, value, .. }| format!("{heading}: {name}: {value}"))
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
            "Coil A of bridge, nearer the bridge: lead to shield: 45.0 pF",
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

    #[test]
    fn what_the_file_does_not_state_and_what_was_measured_is_marked() {
        let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[pickup.coil_a]\nresistance = \"3.1k\"\n\
            [pickup.coil_b]\ninductance = \"1.5\"\nmeasured = { inductance = \"1.5 %\" }\n";
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let page = values(&guitar, Scope::Pickup(&guitar.pickups()[0]));
        let built_in = " <span class=\"small\">built-in</span></dd>";
        for row in [
            "<dt>resistance</dt><dd>3.10 kΩ</dd>".to_owned(),
            format!("<dt>top pole</dt><dd>north{built_in}"),
            "built-in, scaled</span></dd><dt>capacitance</dt>".to_owned(),
            "<dt>inductance</dt><dd>1.50 H <span class=\"small\">measured, ± 1.5 %</span></dd>".to_owned(),
            "<dt>scale</dt><dd>648 mm <span class=\"small\">assumed</span></dd>".to_owned(),
            "<dt>cable</dt><dd>360 pF <span class=\"small\">assumed</span></dd>".to_owned(),
        ] {
            assert!(page.contains(&row), "{row}\n---\n{page}");
        }
    }
}
