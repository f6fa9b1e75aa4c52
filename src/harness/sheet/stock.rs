//! The bill of parts, and how much wire of each kind.

use std::fmt::Write;

use super::work::worths;
use crate::guitar::{Jack, Taper};
use crate::harness::{Harness, HarnessPlan, PartKind, WireKind};
use crate::markup::content;

/// Returns the parts of the cavity, and how much wire they take.
pub(super) fn section(harness: &Harness, plan: &HarnessPlan) -> String {
    let parts = &harness.parts;
    let mut rows: Vec<(String, String)> = Vec::new();
    for (name, worth) in worths(harness) {
        let track = harness.branches.tracks.iter().find(|track| parts.all()[track.part].name() == name);
        let taper = track.map(|track| match track.pot.taper() {
            Taper::Linear => ", linear",
            Taper::Audio { .. } => ", audio",
        });
        rows.push((name, format!("{worth}{}", taper.unwrap_or_default())));
    }
    for part in parts.all() {
        let what = match part.kind() {
            PartKind::Lever(lever) => lever.table(parts.guitar()).title().to_owned(),
            PartKind::Jack => match parts.guitar().jack() {
                Jack::Mono => "tip and sleeve".to_owned(),
                Jack::Stereo => "tip, ring and sleeve".to_owned(),
            },
            PartKind::Buffer => "with its battery clip".to_owned(),
            PartKind::Pot(..)
            | PartKind::TwoLegs(..)
            | PartKind::Pickup(_)
            | PartKind::Strings
            | PartKind::Cavity
            | PartKind::Battery => continue,
        };
        rows.push((part.name().to_owned(), what));
    }
    for (kind, name) in [(WireKind::Ground, "wire, ground"), (WireKind::Wire, "wire, signal")] {
        let own = plan.wires.iter().filter(|wire| wire.kind == kind);
        let (count, sum) = own.fold((0, 0), |(count, sum), wire| (count + 1, sum + wire.mm));
        if count > 0 {
            rows.push((name.to_owned(), format!("{count} of {sum} mm in all")));
        }
    }
    let mut text = String::new();
    for (name, what) in rows {
        let _ =
            writeln!(text, "<tr><th scope=\"row\">{}</th><td>{}</td></tr>", content(&name), content(&what));
    }
    format!(
        "<section class=\"stock\">\n<h2>Parts</h2>\n<table>\n<tbody>\n{text}</tbody>\n</table>\n</section>\n"
    )
}
