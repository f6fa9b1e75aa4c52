//! A coil read from its table, on top of a built-in one or from nothing.

use std::ops::RangeInclusive;

use super::keyed::Keyed;
use super::leads::lead_names;
use super::measured::measured;
use crate::document::{Fault, Section};
use crate::guitar::presets::built_in_pickup;
use crate::guitar::{Coil, Eddy, Measurand, Origin, Pole, Spread, Value, bounds, pickup_presets};
use crate::quantity::{Farads, Henries, Hertz, Ohms};
use crate::wiring::CoilName;

/// Where a coil's missing values come from.
pub(super) struct CoilBase<'b> {
    /// Which coil it is.
    pub(super) which: CoilName,
    /// The built-in pickup's coil.
    pub(super) like: Option<&'b Coil>,
    /// The pole assumed where nothing says otherwise: coil A north, coil B south.
    pub(super) top_pole: Pole,
    /// The built-in pickup whose own file is read, where it is one's.
    pub(super) of: Option<&'static str>,
}

/// Returns the coil that `section` describes.
pub(super) fn coil(section: &mut Keyed<'_, '_>, base: &CoilBase<'_>) -> Option<Coil> {
    let measured = measured(section);
    let resistance = section.quantity("resistance").map(|v| measured.stated(Measurand::Resistance, v));
    let inductance = section.quantity("inductance").map(|v| measured.stated(Measurand::Inductance, v));
    let capacitance = section.quantity("capacitance").map(|v| measured.stated(Measurand::Capacitance, v));
    let loss = section.quantity("loss").map(|v| measured.stated(Measurand::Loss, v));
    let share = section.number("eddy_share");
    let corner = section.quantity("eddy_corner");
    let output = section.number("output").map(Value::stated);
    let turns = section.number("turns").map(Value::stated);
    let winding = section.choice("winding").map(Value::stated);
    let top_pole = section.choice("top_pole").map(Value::stated);
    let leads = lead_names(section, base.which);
    if section.has("eddy_share") != section.has("eddy_corner") {
        let message = "an eddy section needs both `eddy_share` and `eddy_corner`";
        section.note(Fault::new(section.span(), message));
    }
    let own_eddy = share.zip(corner).map(|(share, corner)| Eddy {
        share: measured.stated(Measurand::EddyShare, share),
        corner: measured.stated(Measurand::EddyCorner, corner),
    });

    let Some(like) = base.like else {
        for key in ["resistance", "inductance", "capacitance"] {
            if !section.has(key) {
                section.note_missing(key, "state it, or start from a built-in pickup with like = \"…\"");
            }
        }
        let output = output.unwrap_or(Value::usual(section.usual_number("output")));
        let coil = Coil {
            resistance: resistance?,
            inductance: inductance?,
            capacitance: capacitance?,
            loss,
            eddy: own_eddy,
            lead: Value::usual(Farads::new(0.0)),
            output,
            turns: turns.unwrap_or(output),
            winding: winding.unwrap_or_else(|| Value::usual(section.usual_choice("winding"))),
            top_pole: top_pole.unwrap_or(Value::usual(base.top_pole)),
            leads,
            measurement: measured.measurement,
        };
        return Some(match base.of {
            Some(preset) => with_ranges(section, coil.of(preset)),
            None => coil,
        });
    };

    // Who states these has told what the core does, and a coil whose values are all stated is those and nothing else.
    let told = ["inductance", "loss"].iter().any(|key| section.has(key));
    let like = if told { &like.told_by_its_loss() } else { like };
    let like = match resistance {
        Some(measured) if !section.has("inductance") => scaled(section, like, measured.value)?,
        Some(_) | None => like.clone(),
    };
    let output = output.unwrap_or(like.output);
    Some(Coil {
        resistance: resistance.unwrap_or(like.resistance),
        inductance: inductance.unwrap_or(like.inductance),
        capacitance: capacitance.unwrap_or(like.capacitance),
        loss: loss.or(like.loss),
        eddy: own_eddy.or(like.eddy),
        lead: like.lead,
        output,
        turns: turns.unwrap_or(output),
        winding: winding.unwrap_or(like.winding),
        top_pole: top_pole.unwrap_or(like.top_pole),
        leads,
        measurement: measured.measurement,
    })
}

/// Returns the coil of a built-in pickup with the ranges that its file states beside its values.
fn with_ranges(section: &mut Keyed<'_, '_>, mut coil: Coil) -> Coil {
    let Coil {
        resistance,
        inductance,
        capacitance,
        loss,
        eddy,
        lead: _,
        output,
        turns,
        winding: _,
        top_pole: _,
        leads: _,
        measurement: _,
    } = &mut coil;
    let range = section.quantity_range::<Ohms>("resistance_range");
    spread(section, "resistance_range", range, resistance.value.value(), &mut resistance.origin);
    let range = section.quantity_range::<Henries>("inductance_range");
    spread(section, "inductance_range", range, inductance.value.value(), &mut inductance.origin);
    let range = section.quantity_range::<Farads>("capacitance_range");
    spread(section, "capacitance_range", range, capacitance.value.value(), &mut capacitance.origin);
    if let Some(loss) = loss {
        let range = section.quantity_range::<Ohms>("loss_range");
        spread(section, "loss_range", range, loss.value.value(), &mut loss.origin);
    }
    if let Some(Eddy { share, corner }) = eddy {
        let range = section.number_range("eddy_share_range");
        spread(section, "eddy_share_range", range, share.value, &mut share.origin);
        let range = section.quantity_range::<Hertz>("eddy_corner_range");
        spread(section, "eddy_corner_range", range, corner.value.value(), &mut corner.origin);
    }
    let range = section.number_range("output_range");
    spread(section, "output_range", range, output.value, &mut output.origin);
    // As many turns more or less make as much more or less output.
    turns.origin = turns.origin.within(output.origin.spread());
    coil
}

/// Has `origin` tell that a value varies within the `range` that stands at `key`; notes where that does not hold the value.
pub(super) fn spread(
    section: &Section<'_>,
    key: &str,
    range: Option<[f64; 2]>,
    value: f64,
    origin: &mut Origin,
) {
    let Some(range) = range else { return };
    let spread = Spread::around(value, range);
    if spread.is_none() {
        let message = format!("`{key}` does not hold the value that it is of");
        section.note(Fault::new(section.span_of(key), message).hint("state the least first, then the most"));
    }
    *origin = origin.within(spread);
}

/// By how many times the ohms of a metre differ between wires of neighbouring gauges: 92 to the power of 2/39.
///
/// # Source
/// ASTM B258, the American wire gauge: a ratio of diameters of 92 over 39 gauges.
const OHMS_OF_A_GAUGE: f64 = 1.261;

/// Within these shares of a built-in coil's resistance another is taken for one of the same wire with more or fewer turns.
const SAME_WIRE: RangeInclusive<f64> = 0.85..=1.2;

/// Returns the built-in coil `like` as it would be with that `resistance`; notes where it would have values that no file
/// may state, and remarks on one that is hardly of the same wire.
///
/// A measured resistance is taken for another number of turns, which moves all other values.
fn scaled(section: &mut Keyed<'_, '_>, like: &Coil, resistance: Ohms) -> Option<Coil> {
    // A coil that a guitar takes over is a built-in pickup's.
    let Origin::Preset { preset, .. } = like.resistance.origin else { return Some(like.clone()) };
    let scaled = |origin: Origin| Origin::Scaled { preset, spread: origin.spread() };
    let ratio = resistance.value() / like.resistance().value();
    let other = like.with_turns(ratio);
    let (inductance, capacitance) = (other.inductance(), other.capacitance());
    let loss = other.loss.map(|loss| loss.value);
    let is_allowed = bounds::COIL_INDUCTANCE.allows(inductance.value())
        && bounds::COIL_CAPACITANCE.allows(capacitance.value())
        && loss.is_none_or(|loss| bounds::LOSS.allows(loss.value()));
    if !is_allowed {
        let loss = loss.map(|loss| format!(" and its loss to {loss}")).unwrap_or_default();
        let message = format!(
            "the stated `resistance` would scale the inductance of `{preset}` to {inductance}, its capacitance to \
             {capacitance}{loss}, which is beyond what is allowed"
        );
        let fault = Fault::new(section.span_of("resistance"), message);
        section.note(fault.hint("state `inductance` and `capacitance` as well"));
        return None;
    }
    let mut inductance = other.inductance;
    inductance.origin = scaled(inductance.origin);
    if !SAME_WIRE.contains(&ratio) {
        // More ohms than usual may be those of thinner wire, fewer those of thicker: one gauge, and as many turns less or
        // more at equal ohms.
        let of_gauge = OHMS_OF_A_GAUGE.powi(2);
        let stretch = if ratio > 1.0 { [1.0 / of_gauge, 1.0] } else { [1.0, of_gauge] };
        let spread = inductance.origin.spread().map(|spread| spread.stretched(stretch));
        inductance.origin = inductance.origin.within(spread);
        let told = of_another_wire(section, preset, ratio, resistance, &inductance);
        section.remarks.notes.push(told);
    }
    Some(Coil {
        resistance: like.resistance,
        inductance,
        capacitance: Value { origin: scaled(other.capacitance.origin), ..other.capacitance },
        loss: other.loss.map(|loss| Value { origin: scaled(loss.origin), ..loss }),
        output: Value { origin: scaled(other.output.origin), ..other.output },
        ..other
    })
}

/// Returns what is to be told of a coil whose `resistance` is `ratio` times that of the built-in pickup `preset`, with the
/// built-in pickup that comes nearest.
fn of_another_wire(
    section: &Section<'_>,
    preset: &str,
    ratio: f64,
    resistance: Ohms,
    inductance: &Value<Henries>,
) -> String {
    let off = |coil: &Coil| (resistance.value() / coil.resistance().value()).ln().abs();
    let others = pickup_presets().iter().filter_map(|other| built_in_pickup(other.name).ok());
    let nearest =
        others.min_by(|(_, one), (_, other)| off(one.pickup.coil_a()).total_cmp(&off(other.pickup.coil_a())));
    let better = match nearest {
        Some((name, base)) if name != preset && SAME_WIRE.contains(&off(base.pickup.coil_a()).exp()) => {
            format!("`{name}` is nearer to it, or ")
        }
        Some(_) | None => String::new(),
    };
    let (wire, off) = if ratio > 1.0 { ("thinner", "37 % less") } else { ("thicker", "59 % more") };
    let taken =
        inductance.origin.spread().map(|spread| spread.limits(inductance.value.value()).map(Henries::new));
    let taken =
        taken.map(|[low, high]| format!(", and bands take it to be {low} to {high}")).unwrap_or_default();
    format!(
        "{}: {resistance} are {ratio:.2} times those of `{preset}`, which is hardly the same wire: with wire one gauge {wire} \
         the inductance is {off} than as scaled{taken}; {better}state `inductance`",
        section.path_to("resistance")
    )
}
