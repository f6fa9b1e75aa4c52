//! A coil read from its table, on top of a built-in one or from nothing.

use std::ops::RangeInclusive;

use super::keyed::Keyed;
use super::leads::lead_names;
use super::measured::measured;
use crate::document::{Fault, Section};
use crate::guitar::presets::built_in_pickup;
use crate::guitar::{Coil, Eddy, Measurand, Origin, Pole, Value, bounds, pickup_presets};
use crate::quantity::Ohms;
use crate::wiring::CoilName;

/// Where a coil's missing values come from.
pub(super) struct CoilBase<'b> {
    /// Which coil it is.
    pub(super) which: CoilName,
    /// The built-in pickup's coil.
    pub(super) like: Option<&'b Coil>,
    /// The pole assumed where nothing says otherwise: coil A north, coil B south.
    pub(super) top_pole: Pole,
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
        return Some(Coil {
            resistance: resistance?,
            inductance: inductance?,
            capacitance: capacitance?,
            loss,
            eddy: own_eddy,
            output,
            turns: turns.unwrap_or(output),
            winding: winding.unwrap_or_else(|| Value::usual(section.usual_choice("winding"))),
            top_pole: top_pole.unwrap_or(Value::usual(base.top_pole)),
            leads,
            measurement: measured.measurement,
        });
    };

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
        output,
        turns: turns.unwrap_or(output),
        winding: winding.unwrap_or(like.winding),
        top_pole: top_pole.unwrap_or(like.top_pole),
        leads,
        measurement: measured.measurement,
    })
}

/// Within these shares of a built-in coil's resistance another is taken for one of the same wire with more or fewer turns.
const SAME_WIRE: RangeInclusive<f64> = 0.85..=1.2;

/// Returns the built-in coil `like` as it would be with that `resistance`; notes where it would have values that no file
/// may state, and remarks on one that is hardly of the same wire.
///
/// A measured resistance is taken for another number of turns, which moves all other values.
fn scaled(section: &mut Keyed<'_, '_>, like: &Coil, resistance: Ohms) -> Option<Coil> {
    // A coil that a guitar takes over is a built-in pickup's.
    let Origin::Preset { preset } = like.resistance.origin else { return Some(like.clone()) };
    let origin = Origin::Scaled { preset };
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
        section
            .note(Fault::new(section.span(), message).hint("state `inductance` and `capacitance` as well"));
        return None;
    }
    if !SAME_WIRE.contains(&ratio) {
        let told = of_another_wire(section, preset, ratio, resistance);
        section.remarks.notes.push(told);
    }
    Some(Coil {
        resistance: like.resistance,
        inductance: Value { origin, ..other.inductance },
        capacitance: Value { origin, ..other.capacitance },
        loss: other.loss.map(|loss| Value { origin, ..loss }),
        output: Value { origin, ..other.output },
        ..other
    })
}

/// Returns what is to be told of a coil whose `resistance` is `ratio` times that of the built-in pickup `preset`, with the
/// built-in pickup that comes nearest.
fn of_another_wire(section: &Section<'_>, preset: &str, ratio: f64, resistance: Ohms) -> String {
    let off = |coil: &Coil| (resistance.value() / coil.resistance().value()).ln().abs();
    let others =
        pickup_presets().iter().filter_map(|other| Some((other.name, built_in_pickup(other.name).ok()?)));
    let nearest =
        others.min_by(|(_, one), (_, other)| off(one.pickup.coil_a()).total_cmp(&off(other.pickup.coil_a())));
    let better = match nearest {
        Some((name, base)) if name != preset && SAME_WIRE.contains(&off(base.pickup.coil_a()).exp()) => {
            format!("`{name}` is nearer to it, or ")
        }
        Some(_) | None => String::new(),
    };
    format!(
        "{}: {resistance} are {ratio:.2} times those of `{preset}`, which is hardly the same wire: the inductance scaled by \
         that may be a third off; {better}state `inductance`",
        section.path_to("resistance")
    )
}
