//! What parts are worth.

use crate::harness::Harness;
use crate::harness::branches::Worth;

/// Returns what a pot, capacitor or resistor is worth.
pub(super) fn worth(harness: &Harness, place: usize) -> String {
    let branches = &harness.branches;
    let track =
        branches.tracks.iter().find(|track| track.part == place).map(|track| track.pot.track().to_string());
    let fixed = branches.fixed.iter().find(|own| own.part == place).map(|own| match own.worth {
        Worth::Ohms(ohms) => ohms.to_string(),
        Worth::Farads(farads) => farads.to_string(),
    });
    track.or(fixed).unwrap_or_default()
}

/// Returns whether the part is a capacitor.
pub(super) fn is_capacitor(harness: &Harness, place: usize) -> bool {
    harness.branches.fixed.iter().any(|own| own.part == place && matches!(own.worth, Worth::Farads(_)))
}
