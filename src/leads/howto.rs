//! How each reading is taken, and the cautions that go with it.

use super::next::Step;
use super::words::Fields;
pub use crate::cautions::BENCH as CAUTIONS;

const OHMS: &str = "Ohms: the guitar is unplugged and the pickup's wires are free of switch, pots and jack. Set the meter to \
    ohms, 20 kΩ or automatic; each probe on the wire named, no finger on the metal; wait until the digits rest. Write what it \
    shows and its unit, such as 5.9k (on a 20 kΩ range it shows kilohms); write open where it shows OL, 0L or a lone 1 at the \
    left.";
const TAP: &str = "Tap: set the meter to DC millivolts, lowest range, and clip each probe to the wire named. Touch the named \
    coil's poles with a steel tool that is not magnetised (it lifts no paper clip) and note the first swing: + up, - down. The \
    swing back when the tool leaves does not count. Write none where it moves at most a third as far as that coil's own leads \
    make it: the other coil stirs it a little.";
const COMPASS: &str = "Compass: check that it still points north by itself, for a strong magnet can turn it round. Then hold it \
    over the named coil's poles, on the strings' side. Its north end is drawn to a south pole: write south; its south end to a \
    north pole: write north.";
const UNDO: &str = "Joint: with the guitar unplugged, unsolder or untwist these two leads and bend them apart. Mind the hot iron \
    and its fumes, and protect your eyes. Leave the shield where it is.";

/// Returns how the reading of `step` is taken, in whole sentences.
pub const fn how_to(step: Step) -> &'static str {
    match step {
        Step::Ohms { .. } => OHMS,
        Step::Tap { .. } => TAP,
        Step::Compass { .. } => COMPASS,
        Step::Undo { .. } => UNDO,
    }
}

impl Fields {
    /// Returns how this is read, in whole sentences.
    pub const fn how_to(&self) -> &'static str {
        match self {
            Self::Ohms { .. } => OHMS,
            Self::Tap { .. } => TAP,
            Self::Compass { .. } => COMPASS,
            Self::Undo { .. } => UNDO,
        }
    }
}
