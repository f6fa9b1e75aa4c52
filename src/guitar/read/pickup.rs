//! A pickup read from its table.

use super::Remarks;
use super::coil::{CoilBase, coil, spread};
use super::controls::table;
use super::keyed::Keyed;
use crate::document::{Fault, Located, Name, Section};
use crate::guitar::presets::built_in_pickup;
use crate::guitar::{
    Bypass, Coil, Coils, Controls, Cover, KIND_UNKNOWN, MeasuredWith, Pickup, PickupForm, Pole, Value, keys,
    pickup_presets,
};
use crate::quantity::{Db, Farads, Metres, Ohms};
use crate::wiring::{Arrangement, CoilName};

/// A pickup and the pots that are usual with it.
#[derive(Clone)]
pub(in crate::guitar) struct PickupBase {
    pub(in crate::guitar) pickup: Pickup,
    pub(in crate::guitar) pot: Ohms,
}

impl PickupBase {
    /// Returns the built-in pickup as it is under a cover.
    fn under(&self, cover: Cover) -> Self {
        let coils = match &self.pickup.coils {
            Coils::One(coil) => Coils::One(coil.under(cover)),
            Coils::Two { a, b, coupling, bypass } => {
                Coils::Two { a: a.under(cover), b: b.under(cover), coupling: *coupling, bypass: *bypass }
            }
        };
        Self { pickup: Pickup { coils, ..self.pickup.clone() }, pot: self.pot }
    }
}

/// The pots that are usual with two coils, and with one. Common practice, no source.
pub(super) const TWO_COIL_POT: Ohms = Ohms::new(500e3);
const ONE_COIL_POT: Ohms = Ohms::new(250e3);

/// Returns the name of the pickup that `section` describes, and that pickup on a guitar of that `scale`, as far as they
/// can be read.
pub(super) fn pickup(section: &mut Keyed<'_, '_>, scale: Metres) -> (Option<Name>, Option<PickupBase>) {
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
    let read = named(section, name.as_ref(), scale);
    (name, read)
}

fn named(section: &mut Keyed<'_, '_>, name: Option<&Name>, scale: Metres) -> Option<PickupBase> {
    let kind = section.text("like").and_then(|like| kind(section, &like));
    // A wrong `like` is one fault, not one for each value that it would have given.
    let like_is_broken = kind.is_none() && section.has("like");
    let read = parts(section, kind.as_ref().map(|(_, base)| base), None);
    let stated = section.text("arrangement");
    let usual_pot = read.as_ref().map_or(TWO_COIL_POT, |base| base.pot);
    let controls = section.table("controls", |s| table(s, usual_pot));
    let form = section.choice("form");
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
    let form = form.unwrap_or(base.pickup.form);
    let like = kind.map(|(name, _)| name);
    let pickup = Pickup { name: name?.clone(), like, arrangement, controls, form, ..base.pickup };
    let half = pickup.spacing().value() / 2.0;
    let centre = pickup.from_bridge().value();
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

/// Returns the built-in pickup that a pickup is said to be like, with its name; where the kind is not known that is assumed.
fn kind(section: &Section<'_>, like: &Located<String>) -> Option<(Value<&'static str>, PickupBase)> {
    let usual = pickup_presets()[0].name;
    let (name, is_known) =
        if like.value == KIND_UNKNOWN { (usual, false) } else { (like.value.as_str(), true) };
    match built_in_pickup(name) {
        Ok((name, base)) => Some((if is_known { Value::stated(name) } else { Value::usual(name) }, base)),
        Err(unknown) => {
            let hint =
                format!("`drywire presets` lists them; where you do not know, write \"{KIND_UNKNOWN}\"");
            section.note(Fault::new(like.span.clone(), unknown.to_string()).hint(hint));
            None
        }
    }
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

fn bypass(section: &mut Keyed<'_, '_>) -> Option<Bypass> {
    let capacitor = section.quantity("bypass").map(Bypass::Capacitor);
    let resistor = section.quantity("bypass_resistor");
    if capacitor.is_some() && resistor.is_some() {
        let message = "the coils' joint has a `bypass` capacitor as well as a `bypass_resistor`";
        section.note(Fault::new(section.span(), message).hint("state one or the other"));
    }
    capacitor.or(resistor.map(Bypass::Resistor))
}

/// Returns the pickup that the file of the built-in pickup `preset` describes, as a guitar takes it over.
pub(in crate::guitar) fn built_in(top: &mut Section<'_>, preset: &'static str) -> Option<PickupBase> {
    let mut remarks = Remarks::default();
    let top = &mut Keyed::new(top, &keys::PRESET, &mut remarks);
    let pot = top.quantity("pot");
    let base = parts(top, None, Some(preset))?;
    let Pickup { name, like, from_bridge, spacing, coils, cover, level, arrangement, controls, form } =
        base.pickup;
    let leads = top.quantity_range::<Farads>("lead_capacitance_range");
    let led = |mut coil: Coil| {
        coil.lead = coil.lead.of(preset);
        let Value { value, origin } = &mut coil.lead;
        spread(top, "lead_capacitance_range", leads, value.value(), origin);
        coil
    };
    let coils = match coils {
        Coils::One(coil) => Coils::One(led(coil)),
        Coils::Two { a, b, coupling, bypass } => {
            let (a, b) = (led(a), led(b));
            let mut coupling = coupling.of(preset);
            let range = top.number_range("coupling_range");
            spread(top, "coupling_range", range, coupling.value, &mut coupling.origin);
            Coils::Two { a, b, coupling, bypass }
        }
    };
    let pickup = Pickup {
        name,
        like,
        from_bridge: from_bridge.of(preset),
        spacing: spacing.of(preset),
        coils,
        cover,
        level,
        arrangement,
        controls,
        form,
    };
    Some(PickupBase { pickup, pot: pot.unwrap_or(base.pot) })
}

/// Returns whether some of the coil's values were measured with the other coil's as one.
fn is_of_a_pair(coil: &Coil) -> bool {
    coil.measurement().is_some_and(|measurement| measurement.with() == MeasuredWith::Pair)
}

/// Returns what a built-in pickup's file, that of `preset`, and a guitar's pickup have in common: coils, place, coupling.
fn parts(
    section: &mut Keyed<'_, '_>,
    base: Option<&PickupBase>,
    preset: Option<&'static str>,
) -> Option<PickupBase> {
    let from_bridge = section.quantity_or_usual("from_bridge");
    let spacing = section.quantity("spacing");
    let coupling = section.number("coupling");
    let bypass = bypass(section);
    let lead = section.quantity("lead_capacitance").map(Value::stated);
    // A built-in pickup's file is of one without a cover.
    let cover = if preset.is_none() { section.choice_or_usual("cover") } else { Value::usual(Cover::None) };
    // Nor has it others beside it.
    let level = if preset.is_none() { section.level_or_usual("level") } else { Value::usual(Db::new(0.0)) };
    if cover.value != Cover::None && base.is_none() {
        let place = section.path_to("cover");
        let told = format!(
            "{place} is {cover} and does nothing: it is for coils of a built-in pickup, and these state their own values"
        );
        section.remarks.notes.push(told);
    }
    let covered = base.map(|base| base.under(cover.value));
    let base = covered.as_ref();

    let [base_a, base_b] = CoilName::BOTH.map(|which| {
        let (coil, top_pole) = match which {
            CoilName::A => (base.map(|base| base.pickup.coil_a()), Pole::North),
            CoilName::B => (base.and_then(|base| base.pickup.coil_b()), Pole::South),
        };
        CoilBase { which, like: coil, top_pole, of: preset }
    });
    let a = section.table("coil_a", |s| coil(s, &base_a));
    let b = section.table("coil_b", |s| coil(s, &base_b));
    let a = match (a, base) {
        (Some(read), _) => read,
        (None, Some(base)) => Some(base.pickup.coil_a().clone()),
        (None, None) => {
            section.note_missing("coil_a", "add a table [pickup.coil_a], or like = a built-in pickup");
            None
        }
    };
    let b = match (b, base.and_then(|base| base.pickup.coil_b())) {
        (Some(read), _) => Some(read?),
        (None, Some(coil)) => Some(coil.clone()),
        (None, None) => None,
    };
    let unnamed = Name::new("pickup").ok()?;
    let led = |coil: Coil| Coil { lead: lead.unwrap_or(coil.lead), ..coil };
    let (coils, spacing) = match (led(a?), b.map(led)) {
        (a, Some(b)) => {
            let (usual_spacing, usual_coupling) = match base.map(|base| &base.pickup) {
                Some(Pickup { spacing, coils: Coils::Two { coupling, .. }, .. }) => (*spacing, *coupling),
                _ => (
                    Value::usual(section.usual_quantity("spacing")),
                    Value::usual(section.usual_number("coupling")),
                ),
            };
            let spacing = spacing.map_or(usual_spacing, Value::stated);
            let coupling = coupling.map_or(usual_coupling, Value::stated);
            if [&a, &b].map(is_of_a_pair) != [is_of_a_pair(&a); 2] {
                let message = "one coil was `measured` as a pair with the other, which does not say so";
                section.note(
                    Fault::new(section.span(), message).hint("a pair's values stand in both coils' tables"),
                );
            }
            (Coils::Two { a, b, coupling, bypass }, spacing)
        }
        (a, None) => {
            for key in ["spacing", "coupling", "bypass", "bypass_resistor"] {
                if section.has(key) {
                    let message = format!("`{key}` belongs to two coils, and this pickup has one");
                    section.note(Fault::new(section.span(), message).hint("add a table [pickup.coil_b]"));
                }
            }
            if is_of_a_pair(&a) {
                let message = "`measured` tells of a pair of coils, and this pickup has one";
                section.note(
                    Fault::new(section.span(), message)
                        .hint("with = \"alone\", or add a table [pickup.coil_b]"),
                );
            }
            (Coils::One(a), Value::usual(Metres::new(0.0)))
        }
    };
    let pot = base
        .map_or(if matches!(coils, Coils::Two { .. }) { TWO_COIL_POT } else { ONE_COIL_POT }, |base| {
            base.pot
        });
    Some(PickupBase {
        pickup: Pickup {
            name: unnamed,
            like: None,
            from_bridge,
            spacing,
            arrangement: usual(&coils),
            form: PickupForm::usual(&coils),
            coils,
            cover,
            level,
            controls: Controls::default(),
        },
        pot,
    })
}
