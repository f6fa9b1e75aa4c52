//! A pickup read from its table.

use super::Remarks;
use super::coil::{CoilBase, coil};
use super::controls::table;
use crate::document::{Fault, Located, Name, Section};
use crate::guitar::presets::built_in_pickup;
use crate::guitar::{Bypass, Coils, Controls, Pickup, Pole, bounds, keys};
use crate::quantity::{Metres, Ohms};
use crate::wiring::{Arrangement, CoilName};

/// A pickup and the pots that are usual with it.
#[derive(Clone)]
pub(in crate::guitar) struct PickupBase {
    pub(in crate::guitar) pickup: Pickup,
    pub(in crate::guitar) pot: Ohms,
}

const DEFAULT_COUPLING: f64 = 0.13;
const DEFAULT_FROM_BRIDGE: Metres = Metres::new(0.045);
const DEFAULT_SPACING: Metres = Metres::new(0.0185);

/// Returns the name of the pickup that `section` describes, and that pickup on a guitar of that `scale`, as far as they
/// can be read.
pub(super) fn pickup(
    section: &mut Section<'_>,
    scale: Metres,
    remarks: &mut Remarks,
) -> (Option<Name>, Option<PickupBase>) {
    section.knows(keys::PICKUP.known());
    if !section.has("name") {
        section.note_missing("name", "call it by its place, such as name = \"bridge\"");
    }
    if section.has("leads") {
        let message = "`leads` is of a coil, since each coil has two leads of its own";
        let hint = "state them coil by coil, such as leads = { start = \"white\", finish = \"green\" } below \
                    [pickup.coil_a]; `drywire leads` finds which is which";
        section.note(Fault::new(section.span_of("leads"), message).hint(hint));
        section.pass_over("leads");
    }
    let name = section.name("name").map(|name| name.value);
    let read = named(section, name.as_ref(), scale, remarks);
    (name, read)
}

fn named(
    section: &mut Section<'_>,
    name: Option<&Name>,
    scale: Metres,
    remarks: &mut Remarks,
) -> Option<PickupBase> {
    let like = section.text("like").and_then(|like| match built_in_pickup(&like.value) {
        Ok(base) => Some((base, like.value)),
        Err(unknown) => {
            section.note(Fault::new(like.span, unknown.to_string()).hint("`drywire presets` lists them"));
            None
        }
    });
    // A wrong `like` is one fault, not one for each value that it would have given.
    let like_is_broken = like.is_none() && section.has("like");
    let called = name.map_or_else(|| "pickup".to_owned(), Name::to_string);
    let base = like.as_ref().map(|(base, name)| (base, name.as_str()));
    let read = parts(section, base, &called, remarks);
    let stated = section.text("arrangement");
    let usual_pot = read.as_ref().map_or(Ohms::new(500e3), |base| base.pot);
    let controls = section.table("controls", |s| table(s, &format!("{called}, "), usual_pot, remarks));
    if like_is_broken {
        return None;
    }
    let base = read?;
    let arrangement = match stated {
        Some(stated) => arrangement(section, &base.pickup, &stated)?,
        None => base.pickup.arrangement,
    };
    let controls = match controls {
        Some(read) => read?,
        None => Controls::default(),
    };
    let pickup = Pickup { name: name?.clone(), arrangement, controls, ..base.pickup };
    let half = pickup.spacing.value() / 2.0;
    let centre = pickup.from_bridge.value();
    if centre - half <= 0.0 || centre + half >= scale.value() {
        let message = format!(
            "coils {} apart, {} from the bridge, do not lie between bridge and nut ({scale})",
            pickup.spacing, pickup.from_bridge
        );
        section.note(Fault::new(section.span(), message));
        return None;
    }
    Some(PickupBase { pickup, pot: base.pot })
}

/// Returns the arrangement called `stated`, where `pickup` has it.
fn arrangement(section: &Section<'_>, pickup: &Pickup, stated: &Located<String>) -> Option<Arrangement> {
    let has = pickup.arrangements();
    let refused = |message: String| {
        let names: Vec<&str> = has.iter().map(|a| a.name()).collect();
        section.note(Fault::new(stated.span.clone(), message).hint(format!("it has {}", names.join(", "))));
        None
    };
    match stated.value.parse::<Arrangement>() {
        Ok(known) if has.contains(&known) => Some(known),
        Ok(known) => refused(format!("the pickup can not be connected in `{known}`")),
        Err(unknown) => refused(unknown.to_string()),
    }
}

/// Returns the arrangement that a pickup of these coils is usually soldered in.
fn usual(coils: &Coils) -> Arrangement {
    match coils {
        Coils::One(_) => Arrangement::Alone,
        Coils::Two { .. } => Arrangement::Series,
    }
}

fn bypass(section: &mut Section<'_>, remarks: &mut Remarks) -> Option<Bypass> {
    let capacitor = bounds::BYPASS.quantity(section, "bypass", &mut remarks.notes).map(Bypass::Capacitor);
    let resistor = bounds::BYPASS_RESISTOR.quantity(section, "bypass_resistor", &mut remarks.notes);
    if capacitor.is_some() && resistor.is_some() {
        let message = "the coils' joint has a `bypass` capacitor as well as a `bypass_resistor`";
        section.note(Fault::new(section.span(), message).hint("state one or the other"));
    }
    capacitor.or(resistor.map(Bypass::Resistor))
}

/// Returns the pickup that a built-in pickup's file describes.
pub(in crate::guitar) fn built_in(top: &mut Section<'_>) -> Option<PickupBase> {
    top.knows(keys::PRESET.known());
    let mut remarks = Remarks::default();
    let pot = bounds::POT.quantity(top, "pot", &mut remarks.notes);
    let mut base = parts(top, None, "pickup", &mut remarks)?;
    // To the guitar that takes them over, a built-in pickup's values are not its own.
    base.pickup.for_each_coil(|coil| coil.resistance_is_stated = false);
    Some(PickupBase { pot: pot.unwrap_or(base.pot), ..base })
}

/// Returns what a built-in pickup's file and a guitar's pickup have in common: coils, place, coupling.
fn parts(
    section: &mut Section<'_>,
    base: Option<(&PickupBase, &str)>,
    called: &str,
    remarks: &mut Remarks,
) -> Option<PickupBase> {
    let from_bridge = bounds::FROM_BRIDGE.quantity(section, "from_bridge", &mut remarks.notes);
    let spacing: Option<Metres> = bounds::SPACING.quantity(section, "spacing", &mut remarks.notes);
    let coupling = bounds::number(section, "coupling", &(0.0..=1.0), true);
    let bypass = bypass(section, remarks);

    let [base_a, base_b] = CoilName::BOTH.map(|which| {
        let (coil, top_pole) = match which {
            CoilName::A => (base.map(|(base, _)| base.pickup.coil_a()), Pole::North),
            CoilName::B => (base.and_then(|(base, _)| base.pickup.coil_b()), Pole::South),
        };
        let like = coil.zip(base.map(|(_, name)| name));
        CoilBase { which, like, top_pole, called: format!("{called}, {which}") }
    });
    let a = section.table("coil_a", |s| coil(s, &base_a, remarks));
    let b = section.table("coil_b", |s| coil(s, &base_b, remarks));
    let a = match (a, base) {
        (Some(read), _) => read,
        (None, Some((base, name))) => {
            remarks.assumed.push(format!("{}: all values from `{name}`", base_a.called));
            Some(base.pickup.coil_a().clone())
        }
        (None, None) => {
            section.note_missing("coil_a", "add a table [pickup.coil_a], or like = a built-in pickup");
            None
        }
    };
    let b = match (b, base.and_then(|(base, name)| base.pickup.coil_b().map(|coil| (coil, name)))) {
        (Some(read), _) => Some(read?),
        (None, Some((coil, name))) => {
            remarks.assumed.push(format!("{}: all values from `{name}`", base_b.called));
            Some(coil.clone())
        }
        (None, None) => None,
    };
    let from_bridge = remarks.or_assume(
        from_bridge,
        &format!("{called}, distance to the bridge"),
        DEFAULT_FROM_BRIDGE,
        DEFAULT_FROM_BRIDGE,
    );
    let unnamed = Name::new("pickup").ok()?;
    let (coils, spacing) = match (a?, b) {
        (a, Some(b)) => {
            let (spacing_default, coupling_default) = match base.map(|(b, _)| &b.pickup) {
                Some(Pickup { spacing, coils: Coils::Two { coupling, .. }, .. }) => (*spacing, *coupling),
                _ => (DEFAULT_SPACING, DEFAULT_COUPLING),
            };
            let spacing = remarks.or_assume(
                spacing,
                &format!("{called}, coil spacing"),
                spacing_default,
                spacing_default,
            );
            let coupling = remarks.or_assume(
                coupling,
                &format!("{called}, coupling"),
                coupling_default,
                coupling_default,
            );
            (Coils::Two { a, b, coupling, bypass }, spacing)
        }
        (a, None) => {
            for key in ["spacing", "coupling", "bypass", "bypass_resistor"] {
                if section.has(key) {
                    let message = format!("`{key}` belongs to two coils, and this pickup has one");
                    section.note(Fault::new(section.span(), message).hint("add a table [pickup.coil_b]"));
                }
            }
            (Coils::One(a), Metres::new(0.0))
        }
    };
    let pot = base
        .map_or(Ohms::new(if matches!(coils, Coils::Two { .. }) { 500e3 } else { 250e3 }), |(base, _)| {
            base.pot
        });
    Some(PickupBase {
        pickup: Pickup {
            name: unnamed,
            from_bridge,
            spacing,
            arrangement: usual(&coils),
            coils,
            controls: Controls::default(),
            assumed: Vec::new(),
        },
        pot,
    })
}
