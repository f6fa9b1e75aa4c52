//! The circuit's values as rows to read.

use super::html::escaped;
use crate::guitar::{
    BleedForm, Coil, Coils, Controls, Guitar, Pickup, Pole, Pot, Taper, ToneJoined, VolumeWiring,
};
use crate::quantity::Quantity;
use crate::response::Scope;

/// A group of values under its heading.
struct Group {
    heading: String,
    rows: Vec<(&'static str, String)>,
}

/// Returns the values of what is heard of `guitar` as definition lists.
pub(super) fn values(guitar: &Guitar, scope: Scope<'_>) -> String {
    let mut groups = Vec::new();
    for pickup in scope.pickups(guitar) {
        let of = match scope {
            Scope::Pickup(_) => String::new(),
            Scope::Guitar => format!(" of {}", pickup.name()),
        };
        pickup_groups(&mut groups, pickup, &of);
    }
    groups.push(Group {
        heading: "On the guitar".to_owned(),
        rows: vec![("scale", guitar.scale().to_string())],
    });
    groups.push(controls_group("Controls".to_owned(), guitar.controls()));
    let mut onward = Vec::new();
    if let Some(buffer) = guitar.buffer() {
        onward.push(("buffer", format!("{} in, {} out", buffer.input(), buffer.output())));
    }
    onward.extend([
        ("cable", guitar.cable().capacitance().to_string()),
        ("input", guitar.input().resistance().to_string()),
        ("input capacitance", or_none(guitar.input().capacitance())),
    ]);
    groups.push(Group { heading: "To the amplifier".to_owned(), rows: onward });
    groups.iter().map(Group::html).collect()
}

/// Adds the groups of a pickup, whose headings end with `of`.
fn pickup_groups(groups: &mut Vec<Group>, pickup: &Pickup, of: &str) {
    let place = ("to the bridge", pickup.from_bridge().to_string());
    match pickup.coils() {
        Coils::One(coil) => {
            let mut group = coil_group(format!("The coil{of}"), coil);
            group.rows.push(place);
            groups.push(group);
        }
        Coils::Two { a, b, coupling, bypass } => {
            groups.push(coil_group(format!("Coil A{of}, nearer the bridge"), a));
            groups.push(coil_group(format!("Coil B{of}"), b));
            let mut both = Group { heading: format!("Both coils{of}"), rows: vec![place] };
            both.rows.push(("coupling k", format!("{coupling}")));
            both.rows.push(("spacing", pickup.spacing().to_string()));
            both.rows.extend(bypass.map(|bypass| ("bypass", bypass.to_string())));
            groups.push(both);
        }
    }
    if *pickup.controls() != Controls::default() {
        groups.push(controls_group(format!("Controls{of}"), pickup.controls()));
    }
}

fn coil_group(heading: String, coil: &Coil) -> Group {
    let mut rows = vec![
        ("resistance", coil.resistance().to_string()),
        ("inductance", coil.inductance().to_string()),
        ("capacitance", coil.capacitance().to_string()),
        ("eddy loss", coil.loss().map_or_else(|| "none".to_owned(), |loss| loss.to_string())),
    ];
    if let Some(eddy) = coil.eddy() {
        rows.push(("eddy section", format!("{} from {}", eddy.share, eddy.corner)));
    }
    rows.push(("output", format!("{}", coil.output())));
    rows.push((
        "top pole",
        match coil.top_pole() {
            Pole::North => "north",
            Pole::South => "south",
        }
        .to_owned(),
    ));
    Group { heading, rows }
}

fn controls_group(heading: String, controls: &Controls) -> Group {
    let mut rows = Vec::new();
    let none = || "none".to_owned();
    rows.push(("volume", controls.volume().map_or_else(none, pot)));
    if controls.wiring() == VolumeWiring::Independent {
        rows.push(("volume wired", "independent".to_owned()));
    }
    rows.push(("tone", controls.tone().map_or_else(none, |tone| pot(tone.pot()))));
    rows.extend(controls.tone().map(|tone| ("tone capacitor", tone.capacitor().to_string())));
    if controls.tone().is_some_and(|tone| tone.joined() == ToneJoined::AfterVolume) {
        rows.push(("tone joined", "after the volume".to_owned()));
    }
    if let Some(bleed) = controls.bleed() {
        let form = match bleed.form() {
            BleedForm::Capacitor => String::new(),
            BleedForm::Parallel(resistor) => format!(", {resistor} in parallel"),
            BleedForm::Series(resistor) => format!(", {resistor} in series"),
        };
        rows.push(("treble bleed", format!("{}{form}", bleed.capacitor())));
    }
    rows.extend(
        controls.bass_cut().map(|cut| ("bass cut", format!("{}, {}", cut.capacitor(), pot(cut.pot())))),
    );
    rows.extend(controls.load().map(|load| ("fixed load", load.to_string())));
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
