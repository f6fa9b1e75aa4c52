//! The circuit's values as rows to read.

use super::html::escaped;
use crate::guitar::{BleedForm, Coil, Coils, Guitar, Pickup, Pole, Pot, Taper};
use crate::quantity::Quantity;

/// A group of values under its heading.
struct Group {
    heading: String,
    rows: Vec<(&'static str, String)>,
}

/// Returns the values of `pickup` on `guitar` as definition lists.
pub(super) fn values(guitar: &Guitar, pickup: &Pickup) -> String {
    let mut groups = Vec::new();
    match pickup.coils() {
        Coils::One(coil) => groups.push(coil_group("The coil".to_owned(), coil)),
        Coils::Two { a, b, coupling, bypass } => {
            groups.push(coil_group("Coil A, nearer the bridge".to_owned(), a));
            groups.push(coil_group("Coil B".to_owned(), b));
            let mut both = Group { heading: "Both coils".to_owned(), rows: Vec::new() };
            both.rows.push(("coupling k", format!("{coupling}")));
            both.rows.push(("spacing", pickup.spacing().to_string()));
            both.rows.extend(bypass.map(|c| ("bypass", c.to_string())));
            groups.push(both);
        }
    }
    groups.push(Group {
        heading: "On the guitar".to_owned(),
        rows: vec![
            ("scale", guitar.scale().to_string()),
            ("pickup to bridge", pickup.from_bridge().to_string()),
        ],
    });
    groups.push(controls_group(guitar));
    groups.push(Group {
        heading: "To the amplifier".to_owned(),
        rows: vec![
            ("cable", guitar.cable().capacitance().to_string()),
            ("input", guitar.input().resistance().to_string()),
            ("input capacitance", or_none(guitar.input().capacitance())),
        ],
    });
    groups.iter().map(Group::html).collect()
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

fn controls_group(guitar: &Guitar) -> Group {
    let controls = guitar.controls();
    let mut rows = Vec::new();
    let none = || "none".to_owned();
    rows.push(("volume", controls.volume().map_or_else(none, pot)));
    rows.push(("tone", controls.tone().map_or_else(none, |tone| pot(tone.pot()))));
    rows.extend(controls.tone().map(|tone| ("tone capacitor", tone.capacitor().to_string())));
    if let Some(bleed) = controls.bleed() {
        let form = match bleed.form() {
            BleedForm::Capacitor => String::new(),
            BleedForm::Parallel(resistor) => format!(", {resistor} in parallel"),
            BleedForm::Series(resistor) => format!(", {resistor} in series"),
        };
        rows.push(("treble bleed", format!("{}{form}", bleed.capacitor())));
    }
    Group { heading: "Controls".to_owned(), rows }
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
