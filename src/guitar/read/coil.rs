//! A coil read from its table, on top of a built-in one or from nothing.

use super::Remarks;
use super::leads::lead_names;
use crate::document::{Fault, Section};
use crate::guitar::{Coil, Eddy, Pole, Winding, bounds, keys};
use crate::quantity::{Farads, Henries, Hertz, Ohms};
use crate::wiring::CoilName;

/// Where a coil's missing values come from.
pub(super) struct CoilBase<'b> {
    /// Which coil it is.
    pub(super) which: CoilName,
    /// The built-in pickup's coil, and that pickup's name.
    pub(super) like: Option<(&'b Coil, &'b str)>,
    /// The pole assumed where nothing says otherwise: coil A north, coil B south.
    pub(super) top_pole: Pole,
    /// What messages call the coil, such as `bridge, coil A`.
    pub(super) called: String,
}

const POLES: [(&str, Pole); 2] = [("north", Pole::North), ("south", Pole::South)];
const WINDINGS: [(&str, Winding); 2] =
    [("clockwise", Winding::Clockwise), ("counter-clockwise", Winding::CounterClockwise)];

/// Returns the coil that `section` describes.
pub(super) fn coil(section: &mut Section<'_>, base: &CoilBase<'_>, remarks: &mut Remarks) -> Option<Coil> {
    section.knows(keys::COIL.known());
    let notes = &mut remarks.notes;
    let resistance: Option<Ohms> = bounds::COIL_RESISTANCE.quantity(section, "resistance", notes);
    let inductance: Option<Henries> = bounds::COIL_INDUCTANCE.quantity(section, "inductance", notes);
    let capacitance: Option<Farads> = bounds::COIL_CAPACITANCE.quantity(section, "capacitance", notes);
    let loss: Option<Ohms> = bounds::LOSS.quantity(section, "loss", notes);
    let share = bounds::number(section, "eddy_share", &(0.0..=1.0), true);
    let corner: Option<Hertz> = bounds::EDDY_CORNER.quantity(section, "eddy_corner", notes);
    let output = bounds::number(section, "output", &(0.0..=1000.0), false);
    let turns = bounds::number(section, "turns", &(0.0..=1000.0), false);
    let winding = section.choice("winding", &WINDINGS).map(|w| w.value);
    let top_pole = section.choice("top_pole", &POLES).map(|p| p.value);
    let leads = lead_names(section, base.which, &mut remarks.leads);
    if section.has("eddy_share") != section.has("eddy_corner") {
        let message = "an eddy section needs both `eddy_share` and `eddy_corner`";
        section.note(Fault::new(section.span(), message));
    }
    let own_eddy = share.zip(corner).map(|(share, corner)| Eddy { share, corner });

    let Some((like, built_in)) = base.like else {
        for key in ["resistance", "inductance", "capacitance"] {
            if !section.has(key) {
                section.note_missing(key, "state it, or start from a built-in pickup with like = \"…\"");
            }
        }
        let output = remarks.or_assume(output, &format!("{}, output", base.called), 1.0, 1);
        let winding =
            remarks.or_assume(winding, &format!("{}, winding", base.called), Winding::Clockwise, "clockwise");
        let pole_name = if base.top_pole == Pole::North { "north" } else { "south" };
        let top_pole =
            remarks.or_assume(top_pole, &format!("{}, top pole", base.called), base.top_pole, pole_name);
        return Some(Coil {
            resistance: resistance?,
            resistance_is_stated: true,
            inductance: inductance?,
            capacitance: capacitance?,
            loss,
            eddy: own_eddy,
            output,
            turns: turns.unwrap_or(output),
            winding,
            top_pole,
            leads,
        });
    };

    // For the same wire and bobbin turns, capacitance and output go with the resistance and the inductance with
    // its square, so a measured resistance alone moves them all.
    let only_the_resistance_is_known = resistance.is_some() && !section.has("inductance");
    let ratio = match resistance {
        Some(measured) if only_the_resistance_is_known => measured.value() / like.resistance.value(),
        _ => 1.0,
    };
    let scaled = Coil {
        inductance: Henries::new(like.inductance.value() * ratio * ratio),
        capacitance: Farads::new(like.capacitance.value() * ratio),
        output: like.output * ratio,
        ..like.clone()
    };
    if !is_scaled_within_bounds(section, &scaled, built_in) {
        return None;
    }
    let how = if only_the_resistance_is_known {
        format!("from `{built_in}`, scaled to the stated resistance")
    } else {
        format!("from `{built_in}`")
    };
    let mut assume = |given: bool, what: &str, shown: String| {
        if !given {
            remarks.assumed.push(format!("{}, {what}: {shown}, {how}", base.called));
        }
    };
    assume(resistance.is_some(), "resistance", scaled.resistance.to_string());
    assume(inductance.is_some(), "inductance", scaled.inductance.to_string());
    assume(capacitance.is_some(), "capacitance", scaled.capacitance.to_string());
    if let Some(own) = scaled.loss {
        assume(loss.is_some(), "loss", own.to_string());
    }
    if only_the_resistance_is_known {
        assume(output.is_some(), "output", format!("{:.3}", scaled.output));
    }
    let output = output.unwrap_or(scaled.output);
    Some(Coil {
        resistance: resistance.unwrap_or(scaled.resistance),
        resistance_is_stated: resistance.is_some(),
        inductance: inductance.unwrap_or(scaled.inductance),
        capacitance: capacitance.unwrap_or(scaled.capacitance),
        loss: loss.or(scaled.loss),
        eddy: own_eddy.or(scaled.eddy),
        output,
        turns: turns.unwrap_or(output),
        winding: winding.unwrap_or(scaled.winding),
        top_pole: top_pole.unwrap_or(scaled.top_pole),
        leads,
    })
}

/// Returns whether the built-in coil as `scaled` to the stated resistance has values that a file may state, and notes
/// where it has not.
fn is_scaled_within_bounds(section: &Section<'_>, scaled: &Coil, built_in: &str) -> bool {
    let (inductance, capacitance) = (scaled.inductance, scaled.capacitance);
    let is_allowed = bounds::COIL_INDUCTANCE.allows(inductance.value())
        && bounds::COIL_CAPACITANCE.allows(capacitance.value());
    if !is_allowed {
        let message = format!(
            "the stated `resistance` would scale the inductance of `{built_in}` to {inductance} and its capacitance \
             to {capacitance}, which is beyond what is allowed"
        );
        section
            .note(Fault::new(section.span(), message).hint("state `inductance` and `capacitance` as well"));
    }
    is_allowed
}
