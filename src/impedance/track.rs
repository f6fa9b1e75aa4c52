//! The volume's track, told by what a meter at the jack reads while the knob is turned.

use crate::guitar::{Draft, DraftError, Guitar};
use crate::quantity::Ohms;

/// Why no track is told.
#[derive(Debug, thiserror::Error)]
pub enum TrackError {
    /// The readings are of no volume pot.
    #[error("{most} with {full} at the full volume tells no track of a volume pot")]
    NoTrack {
        /// The most that was read.
        most: Ohms,
        /// What was read at the full volume.
        full: Ohms,
    },
    /// The file cannot state it.
    #[error(transparent)]
    Draft(#[from] DraftError),
}

impl TrackError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::NoTrack { .. } => {
                "turn the guitar's one volume until the meter at the jack reads most, with nothing plugged in"
                    .to_owned()
            }
            Self::Draft(error) => error.hint(),
        }
    }
}

/// States the volume's track in `draft`, the file of `guitar`, where the meter at the jack reads `most` at some place of the knob
/// and `full` at its loud end: there both parts of the track are equal, so that it is four times the one less the other.
///
/// # Errors
/// [`TrackError`] where the guitar has no one volume, or those are no readings of one.
pub fn state_volume_track(
    draft: &mut Draft,
    guitar: &Guitar,
    most: Ohms,
    full: Ohms,
) -> Result<(), TrackError> {
    let track = 4.0 * most.value() - full.value();
    if guitar.controls().volume().is_none() || track <= 2.0 * full.value() {
        return Err(TrackError::NoTrack { most, full });
    }
    Ok(draft.set("controls.volume.pot", Ohms::new(track).to_string().as_str())?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    const GUITAR: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\"\n[controls]\n";

    #[test]
    fn a_track_is_four_times_the_most_less_what_the_full_volume_reads() {
        // 6 kΩ across 500 kΩ: half-way in the loop of both the meter reads a quarter of 506 kΩ.
        let (full, most) = (Ohms::new(6e3 * 500e3 / 506e3), Ohms::new(506e3 / 4.0));
        let mut draft =
            Draft::of(Document::new("mine.toml", format!("{GUITAR}volume = {{ pot = \"250k\" }}\n")));
        let guitar = draft.check().unwrap();
        state_volume_track(&mut draft, &guitar, most, full).unwrap();
        let track = draft.check().unwrap().controls().volume().unwrap().track().value();
        assert!((track / 500e3 - 1.0).abs() < 1e-3, "{track}");
        for (given, most) in [("no pot", 3e3), ("less than the coils", 1e3)] {
            let refused = state_volume_track(&mut draft, &guitar, Ohms::new(most), Ohms::new(6e3));
            assert!(matches!(refused, Err(TrackError::NoTrack { .. })), "{given}");
        }
        let mut without = Draft::of(Document::new("mine.toml", GUITAR));
        let guitar = without.check().unwrap();
        let refused = state_volume_track(&mut without, &guitar, most, full).unwrap_err();
        assert!(refused.hint().contains("reads most"), "{refused}");
    }
}
