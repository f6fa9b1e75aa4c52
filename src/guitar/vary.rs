//! The same guitar with other parts of the same kind: what tolerances make of it.

use super::{
    BassCut, Bleed, BleedForm, Blend, Bypass, Cable, CableBy, Coil, Coils, Controls, Eddy, Guitar, Input,
    Joined, Measurement, Origin, PartKind, Pickup, Pot, Taper, Tone, Value,
};
use crate::quantity::Quantity;
use crate::wiring::CoilName;

/// A part whose value may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part<'p> {
    /// What kind of part it is.
    pub kind: PartKind,
    /// Whose it is: a pickup's name, or nothing for the guitar's own.
    pub of: &'p str,
    /// What it is called there, such as `coil A, inductance`.
    pub called: &'static str,
    /// The keys at which the file states it, or might, within that pickup's table or the whole file, such as
    /// `coil_a.inductance`.
    pub key: &'static str,
    /// Its value in SI base units.
    pub value: f64,
    /// Where that is from.
    pub origin: Origin,
    /// Which coil of its pickup it is of, where it is of one.
    pub coil: Option<CoilName>,
    /// How that coil was measured, where it was.
    pub measurement: Option<&'p Measurement>,
}

impl Part<'_> {
    /// Returns the place of the part, one of `guitar`, in the guitar's file.
    pub fn place(&self, guitar: &Guitar) -> String {
        let pickup = guitar.pickups.iter().position(|pickup| pickup.name.as_str() == self.of);
        pickup.map_or_else(|| self.key.to_owned(), |place| format!("pickup[{place}].{}", self.key))
    }
}

/// What a part is called, and the keys at which the file states it.
type Named = (&'static str, &'static str);

impl Guitar {
    /// Returns the guitar with the value of each part as `other` says, which is asked for every part in an order that
    /// depends on nothing but which parts there are.
    ///
    /// What `other` says is above zero (a coupling also zero) and finite: nothing is checked against what a file may
    /// state.
    #[must_use]
    pub fn with_parts(&self, mut other: impl FnMut(Part<'_>) -> f64) -> Self {
        let mut guitar = self.clone();
        // A buffer is known by its data sheet.
        let Self {
            name: _,
            scale: _,
            pickups,
            switches: _,
            joined: Joined { fixed: _, selectors: _, blend, linked: _ },
            controls,
            buffer: _,
            tolerances: _,
            cable,
            input: Input { resistance, capacitance: input_capacitance },
            cavity: _,
            notes: _,
        } = &mut guitar;
        for pickup in pickups {
            each_pickup_part(pickup, &mut other);
        }
        each_control(controls, "", &mut other);
        if let Some(Blend { pot, ends: _ }) = blend {
            set_pot(pot, "", [("blend pot", "blend.pot"), ("blend pot's taper", "blend.mid")], &mut other);
        }
        let origin = cable.origin();
        // What it follows from is told as the file has it.
        let Cable { capacitance, by } = cable;
        let key = match by {
            CableBy::Total => "cable.total",
            CableBy::Length { .. } => "cable.length",
        };
        let mut value = Value { value: *capacitance, origin };
        set(&mut value, PartKind::Cable, "", ("cable", key), &mut other);
        *capacitance = value.value;
        set(
            resistance,
            PartKind::InputResistance,
            "",
            ("amplifier input, resistance", "input.resistance"),
            &mut other,
        );
        set(
            input_capacitance,
            PartKind::InputCapacitance,
            "",
            ("amplifier input, capacitance", "input.capacitance"),
            &mut other,
        );
        guitar
    }

    /// Returns the guitar with `factor` times as many turns of the same wire on one coil of the pickup called `pickup`, where it
    /// has both.
    #[must_use]
    pub fn with_turns(&self, pickup: &str, coil: CoilName, factor: f64) -> Self {
        let mut guitar = self.clone();
        let own = guitar.pickups.iter_mut().find(|own| own.name.as_str() == pickup);
        let coil = own.and_then(|own| match (&mut own.coils, coil) {
            (Coils::One(only) | Coils::Two { a: only, .. }, CoilName::A) => Some(only),
            (Coils::Two { b, .. }, CoilName::B) => Some(b),
            (Coils::One(_), CoilName::B) => None,
        });
        if let Some(coil) = coil {
            *coil = coil.with_turns(factor);
        }
        guitar
    }
}

/// Gives `quantity` the value that `other` says; one of zero is no part.
fn set<Q: Quantity>(
    Value { value: quantity, origin }: &mut Value<Q>,
    kind: PartKind,
    of: &str,
    named: Named,
    other: &mut impl FnMut(Part<'_>) -> f64,
) {
    let value = quantity.value();
    if value > 0.0 {
        *quantity = Q::new(other(Part {
            kind,
            of,
            called: named.0,
            key: named.1,
            value,
            origin: *origin,
            coil: None,
            measurement: None,
        }));
    }
}

/// Does the same with a part that a guitar has only where its file states it.
fn set_stated<Q: Quantity>(
    quantity: &mut Q,
    kind: PartKind,
    of: &str,
    named: Named,
    other: &mut impl FnMut(Part<'_>) -> f64,
) {
    let mut value = Value::stated(*quantity);
    set(&mut value, kind, of, named, other);
    *quantity = value.value;
}

/// Does the same with a plain number.
fn set_number(
    Value { value, origin }: &mut Value<f64>,
    kind: PartKind,
    of: &str,
    named: Named,
    other: &mut impl FnMut(Part<'_>) -> f64,
) {
    if *value > 0.0 || kind == PartKind::Coupling {
        let part = Part {
            kind,
            of,
            called: named.0,
            key: named.1,
            value: *value,
            origin: *origin,
            coil: None,
            measurement: None,
        };
        *value = other(part);
    }
}

/// Does the same with a pot's track and the taper along it.
fn set_pot(
    Pot { track, taper: Value { value: taper, origin }, turned: _ }: &mut Pot,
    of: &str,
    [of_track, of_taper]: [Named; 2],
    other: &mut impl FnMut(Part<'_>) -> f64,
) {
    set(track, PartKind::Pot, of, of_track, other);
    match taper {
        Taper::Linear => {}
        Taper::Audio { mid } => {
            let mut value = Value { value: *mid, origin: *origin };
            set_number(&mut value, PartKind::Taper, of, of_taper, other);
            *mid = value.value;
        }
    }
}

fn each_control(controls: &mut Controls, of: &str, other: &mut impl FnMut(Part<'_>) -> f64) {
    let Controls { volume, wiring: _, tone, bleed, bass_cut, load } = controls;
    if let Some(volume) = volume {
        set_pot(
            volume,
            of,
            [("volume pot", "controls.volume.pot"), ("volume pot's taper", "controls.volume.mid")],
            other,
        );
    }
    if let Some(Tone { pot, capacitor, joined: _ }) = tone {
        set_pot(
            pot,
            of,
            [("tone pot", "controls.tone.pot"), ("tone pot's taper", "controls.tone.mid")],
            other,
        );
        set(capacitor, PartKind::Capacitor, of, ("tone capacitor", "controls.tone.capacitor"), other);
    }
    if let Some(Bleed { capacitor, form }) = bleed {
        set_stated(
            capacitor,
            PartKind::Capacitor,
            of,
            ("treble bleed's capacitor", "controls.bleed.capacitor"),
            other,
        );
        match &mut form.value {
            BleedForm::Capacitor => {}
            BleedForm::Parallel(resistor) | BleedForm::Series(resistor) => {
                set_stated(
                    resistor,
                    PartKind::Resistor,
                    of,
                    ("treble bleed's resistor", "controls.bleed.resistor"),
                    other,
                );
            }
        }
    }
    if let Some(BassCut { pot, capacitor }) = bass_cut {
        set_pot(
            pot,
            of,
            [("bass cut's pot", "controls.bass_cut.pot"), ("bass cut's taper", "controls.bass_cut.mid")],
            other,
        );
        set_stated(
            capacitor,
            PartKind::Capacitor,
            of,
            ("bass cut's capacitor", "controls.bass_cut.capacitor"),
            other,
        );
    }
    if let Some(load) = load {
        set_stated(load, PartKind::Resistor, of, ("fixed load", "controls.load"), other);
    }
}

/// What a coil's values are called: resistance, inductance, capacitance, loss, eddy section's share and corner, lead, output,
/// turns.
const CALLED: [[Named; 9]; 2] = [
    [
        ("coil A, resistance", "coil_a.resistance"),
        ("coil A, inductance", "coil_a.inductance"),
        ("coil A, capacitance", "coil_a.capacitance"),
        ("coil A, loss", "coil_a.loss"),
        ("coil A, eddy share", "coil_a.eddy_share"),
        ("coil A, eddy corner", "coil_a.eddy_corner"),
        ("coil A, lead's capacitance", "lead_capacitance"),
        ("coil A, output", "coil_a.output"),
        ("coil A, turns", "coil_a.turns"),
    ],
    [
        ("coil B, resistance", "coil_b.resistance"),
        ("coil B, inductance", "coil_b.inductance"),
        ("coil B, capacitance", "coil_b.capacitance"),
        ("coil B, loss", "coil_b.loss"),
        ("coil B, eddy share", "coil_b.eddy_share"),
        ("coil B, eddy corner", "coil_b.eddy_corner"),
        ("coil B, lead's capacitance", "lead_capacitance"),
        ("coil B, output", "coil_b.output"),
        ("coil B, turns", "coil_b.turns"),
    ],
];

fn each_coil_part(coil: &mut Coil, of: &str, name: CoilName, other: &mut impl FnMut(Part<'_>) -> f64) {
    let Coil {
        resistance,
        inductance,
        capacitance,
        loss,
        eddy,
        lead,
        output,
        turns,
        winding: _,
        top_pole: _,
        leads: _,
        measurement,
    } = coil;
    let measurement = measurement.as_ref();
    let called = CALLED[name.index()];
    let mut other = |part: Part<'_>| other(Part { coil: Some(name), measurement, ..part });
    set(resistance, PartKind::Resistance, of, called[0], &mut other);
    set(inductance, PartKind::Inductance, of, called[1], &mut other);
    set(capacitance, PartKind::Capacitance, of, called[2], &mut other);
    if let Some(loss) = loss {
        set(loss, PartKind::Loss, of, called[3], &mut other);
    }
    // An eddy section that is stated is a share of the inductance and is off with it.
    if let Some(Eddy { share, corner }) = eddy {
        if share.origin != Origin::Stated {
            set_number(share, PartKind::EddyShare, of, called[4], &mut other);
        }
        if corner.origin != Origin::Stated {
            set(corner, PartKind::EddyCorner, of, called[5], &mut other);
        }
    }
    set(lead, PartKind::Lead, of, called[6], &mut other);
    set_number(output, PartKind::Output, of, called[7], &mut other);
    set_number(turns, PartKind::Turns, of, called[8], &mut other);
}

fn each_pickup_part(pickup: &mut Pickup, other: &mut impl FnMut(Part<'_>) -> f64) {
    let Pickup {
        name,
        like: _,
        from_bridge: _,
        spacing: _,
        coils,
        cover: _,
        level: _,
        arrangement: _,
        controls,
        form: _,
    } = pickup;
    let of = name.as_str();
    match coils {
        Coils::One(coil) => each_coil_part(coil, of, CoilName::A, other),
        Coils::Two { a, b, coupling, bypass } => {
            each_coil_part(a, of, CoilName::A, other);
            each_coil_part(b, of, CoilName::B, other);
            set_number(coupling, PartKind::Coupling, of, ("coupling", "coupling"), other);
            match bypass {
                None => {}
                Some(Bypass::Capacitor(c)) => {
                    set_stated(c, PartKind::Capacitor, of, ("bypass capacitor", "bypass"), other);
                }
                Some(Bypass::Resistor(r)) => {
                    set_stated(r, PartKind::Resistor, of, ("bypass resistor", "bypass_resistor"), other);
                }
            }
        }
    }
    each_control(controls, of, other);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::EVERY_PART;

    fn parts(guitar: &Guitar) -> Vec<(String, PartKind, f64)> {
        let mut all = Vec::new();
        let _ = guitar.with_parts(|part| {
            all.push((format!("{}: {}", part.of, part.called), part.kind, part.value));
            part.value
        });
        all
    }

    #[test]
    fn every_part_of_a_guitar_can_be_another() {
        let guitar = Guitar::read(&Document::new("every.toml", EVERY_PART)).unwrap();
        let named = parts(&guitar);
        let of: Vec<(&str, PartKind)> = named.iter().map(|(name, kind, _)| (name.as_str(), *kind)).collect();
        assert_eq!(
            of,
            [
                ("bridge: coil A, resistance", PartKind::Resistance),
                ("bridge: coil A, inductance", PartKind::Inductance),
                ("bridge: coil A, capacitance", PartKind::Capacitance),
                ("bridge: coil A, loss", PartKind::Loss),
                ("bridge: coil A, lead's capacitance", PartKind::Lead),
                ("bridge: coil A, output", PartKind::Output),
                ("bridge: coil A, turns", PartKind::Turns),
                ("bridge: coil B, resistance", PartKind::Resistance),
                ("bridge: coil B, inductance", PartKind::Inductance),
                ("bridge: coil B, capacitance", PartKind::Capacitance),
                ("bridge: coil B, loss", PartKind::Loss),
                ("bridge: coil B, eddy share", PartKind::EddyShare),
                ("bridge: coil B, eddy corner", PartKind::EddyCorner),
                ("bridge: coil B, lead's capacitance", PartKind::Lead),
                ("bridge: coil B, output", PartKind::Output),
                ("bridge: coil B, turns", PartKind::Turns),
                ("bridge: coupling", PartKind::Coupling),
                ("bridge: bypass capacitor", PartKind::Capacitor),
                ("bridge: volume pot", PartKind::Pot),
                ("bridge: volume pot's taper", PartKind::Taper),
                ("neck: coil A, resistance", PartKind::Resistance),
                ("neck: coil A, inductance", PartKind::Inductance),
                ("neck: coil A, capacitance", PartKind::Capacitance),
                ("neck: coil A, loss", PartKind::Loss),
                ("neck: coil A, eddy share", PartKind::EddyShare),
                ("neck: coil A, eddy corner", PartKind::EddyCorner),
                ("neck: coil A, lead's capacitance", PartKind::Lead),
                ("neck: coil A, output", PartKind::Output),
                ("neck: coil A, turns", PartKind::Turns),
                (": volume pot", PartKind::Pot),
                (": volume pot's taper", PartKind::Taper),
                (": tone pot", PartKind::Pot),
                (": tone capacitor", PartKind::Capacitor),
                (": treble bleed's capacitor", PartKind::Capacitor),
                (": treble bleed's resistor", PartKind::Resistor),
                (": bass cut's pot", PartKind::Pot),
                (": bass cut's taper", PartKind::Taper),
                (": bass cut's capacitor", PartKind::Capacitor),
                (": fixed load", PartKind::Resistor),
                (": blend pot", PartKind::Pot),
                (": cable", PartKind::Cable),
                (": amplifier input, resistance", PartKind::InputResistance),
                (": amplifier input, capacitance", PartKind::InputCapacitance),
            ]
        );
        let value = |name: &str| named.iter().find(|(own, ..)| own == name).unwrap().2;
        for (name, stated) in [
            ("bridge: coil A, loss", 230e3),
            ("bridge: bypass capacitor", 4.7e-9),
            (": tone capacitor", 33e-9),
            (": treble bleed's capacitor", 1.2e-9),
            (": treble bleed's resistor", 130e3),
            (": bass cut's capacitor", 1.5e-9),
            (": fixed load", 470e3),
            (": blend pot", 510e3),
            (": cable", 410e-12),
        ] {
            assert!((value(name) / stated - 1.0).abs() < 1e-12, "{name}: {}", value(name));
        }
        let larger = guitar.with_parts(|part| 1.25 * part.value);
        for ((name, _, larger), (_, _, own)) in parts(&larger).iter().zip(&named) {
            assert!((larger / own - 1.25).abs() < 1e-12, "{name}: {larger} for {own}");
        }
        assert_eq!(guitar.with_parts(|part| part.value), guitar);
    }

    #[test]
    fn a_resistance_is_stated_only_where_the_guitars_own_file_states_it() {
        let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[pickup.coil_a]\nresistance = \"3.1k\"\n\
            [pickup.coil_b]\nturns = 1.1\n[[pickup]]\nname = \"q\"\nlike = \"mini\"\n";
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let stated = |i: usize| {
            let pickup = &guitar.pickups()[i];
            [pickup.coil_a(), pickup.coil_b().unwrap()].map(Coil::resistance_is_stated)
        };
        assert_eq!(stated(0), [true, false]);
        assert_eq!(stated(1), [false, false]);
    }
}
