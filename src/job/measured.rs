//! What measured values change for the arrangements of a pickup.

use super::{JobError, Source, figures_of, with_bands};
use crate::bands::{Band, Bands};
use crate::guitar::Guitar;
use crate::impedance::Subject;
use crate::quantity::signed;
use crate::report::{Column, TextTable};
use crate::response::{Selection, SelectionError};

/// Returns where the response of each usual arrangement is highest, with its band, before and after what was measured of `subject`
/// is in the guitar's file, which is then the guitar `after`.
///
/// # Errors
/// [`JobError`] where a circuit has no solution.
pub fn peaks_before_and_after(subject: &Subject, after: &Guitar) -> Result<TextTable, JobError> {
    let mut table = TextTable::new([
        Column::words(["arrangement", ""]),
        Column::numbers(["peak before", "Hz"]),
        Column::words(["band", ""]),
        Column::numbers(["peak now", "Hz"]),
        Column::words(["band", ""]),
    ]);
    let pickup = subject.pickup().name().as_str();
    let [before, after] = [peaks(subject.guitar(), pickup)?, peaks(after, pickup)?];
    for ((name, before), (_, after)) in before.into_iter().zip(after) {
        let [before, after] = [before, after].map(|peak| match peak {
            Some((hz, band)) => {
                let band = band.map(|band| format!("± {:.0} %", 50.0 * (band.high - band.low) / hz));
                [signed(hz, 0), band.unwrap_or_default()]
            }
            None => ["none".to_owned(), String::new()],
        });
        let [[was, was_off], [is, is_off]] = [before, after];
        table.row([name, was, was_off, is, is_off]);
    }
    Ok(table)
}

type Peak = Option<(f64, Option<Band>)>;

/// Returns the peak of each arrangement that is usual for a pickup.
fn peaks(guitar: &Guitar, pickup: &str) -> Result<Vec<(String, Peak)>, JobError> {
    let own = guitar.pickup(Some(pickup)).map_err(SelectionError::from)?;
    let names: Vec<String> = if own.coil_b().is_some() {
        ["series", "parallel", "split-a"].map(str::to_owned).to_vec()
    } else {
        vec!["alone".to_owned()]
    };
    let selection = Selection::of_names(guitar, Some(pickup), &names, None)?;
    let mut figures = figures_of(&selection)?;
    let source = Source::plucked(guitar, selection.scope())?.sound;
    let bands = with_bands(&mut figures, &selection, Bands::USUAL_DRAWS, &source, 1)?;
    let told = figures.arrangements.iter().zip(&bands.voices);
    Ok(told.map(|(own, bands)| (own.name.clone(), own.peak_hz.map(|hz| (hz, bands.peak)))).collect())
}
