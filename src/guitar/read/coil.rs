//! A coil read from its table, on top of a built-in one or from nothing.

use super::keyed::Keyed;
use super::leads::lead_names;
use super::measured::measured;
use crate::document::{Fault, Section};
use crate::guitar::{Coil, Eddy, Measurand, Origin, Pole, Value, bounds};
use crate::quantity::{Farads, Henries, Ohms};
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

/// Returns the built-in coil `like` as it would be with that `resistance`; notes where it would have values that no file
/// may state.
///
/// For the same wire and bobbin turns, capacitance and output go with the resistance and the inductance with its square,
/// so a measured resistance alone moves them all.
fn scaled(section: &Section<'_>, like: &Coil, resistance: Ohms) -> Option<Coil> {
    // A coil that a guitar takes over is a built-in pickup's.
    let Origin::Preset { preset } = like.resistance.origin else { return Some(like.clone()) };
    let origin = Origin::Scaled { preset };
    let ratio = resistance.value() / like.resistance().value();
    let inductance = Henries::new(like.inductance().value() * ratio * ratio);
    let capacitance = Farads::new(like.capacitance().value() * ratio);
    let is_allowed = bounds::COIL_INDUCTANCE.allows(inductance.value())
        && bounds::COIL_CAPACITANCE.allows(capacitance.value());
    if !is_allowed {
        let message = format!(
            "the stated `resistance` would scale the inductance of `{preset}` to {inductance} and its capacitance \
             to {capacitance}, which is beyond what is allowed"
        );
        section
            .note(Fault::new(section.span(), message).hint("state `inductance` and `capacitance` as well"));
        return None;
    }
    Some(Coil {
        inductance: Value { value: inductance, origin },
        capacitance: Value { value: capacitance, origin },
        output: Value { value: like.output() * ratio, origin },
        ..like.clone()
    })
}
