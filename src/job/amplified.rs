//! What an amplifier makes of a selection, told without files.

use std::io;

use super::set::of_channels;
use super::{Audition, JobError, Source};
use crate::amp::Amplification;
use crate::report::SetFigures;
use crate::response::Selection;
use crate::set::SetSpec;

/// Adds to `figures` what the amplifier that is `asked` for makes of `source` through the voices of `selection`, rendered in
/// memory by up to `workers` threads.
///
/// # Errors
/// [`JobError`] where the source cannot be read or rendered.
pub fn amplify(
    figures: &mut SetFigures,
    selection: &Selection<'_>,
    source: &Source,
    asked: Amplification,
    workers: usize,
) -> Result<(), JobError> {
    let audition = Audition::new(selection, source, None)?;
    let spec = SetSpec { amplification: Some(asked), workers, ..audition.spec() };
    let filled = spec.fill(figures, &mut |_| Ok(io::sink()), &|_| ());
    filled.map_err(|error| of_channels(&spec, error))?;
    for arrangement in &mut figures.arrangements {
        // There are no files that these would be of.
        (arrangement.matched, arrangement.as_is) = (None, None);
    }
    figures.notes.push(format!(
        "{}, a strummed open E chord at the coils' places, was rendered in memory through the amplifier; no sound is written",
        source.sound.file_name()
    ));
    Ok(())
}
