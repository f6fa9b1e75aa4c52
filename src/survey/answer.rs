//! What a circuit of a survey does to the sound, in a listener's words.

use super::{CircuitFigures, SurveyFigures};
use crate::words::Answer;

/// The place of the first third octave, 50 Hz: the one of 1 kHz is the thirtieth.
///
/// # Source
/// Exact centre frequencies, base ten: IEC 61260-1, Octave-band and fractional-octave-band filters.
const FIRST: i32 = 17;

impl SurveyFigures {
    /// Returns what `circuit` does to the sound against the baseline; nothing where it is silent. Its loudness in sones follows
    /// from the K-weighted level, twice as loud for 10 LU; its brightness from the centroids of the third octaves, where the
    /// baseline is one of the circuits.
    ///
    /// # Source
    /// Loudness twice as great for ten more phon: ISO 532-1, sones above 1.
    pub fn answer(&self, circuit: &CircuitFigures) -> Option<Answer> {
        let loudness = circuit.loudness_lu?;
        // The same circuit has the same levels to the last digit.
        let is_none = |difference: Option<f64>| difference.is_some_and(|difference| difference.abs() < 1e-9);
        let baseline = self.circuits.iter().find(|own| is_none(own.level_db) && is_none(own.loudness_lu));
        let brightness = baseline.and_then(|baseline| Some(centroid(circuit)? / centroid(baseline)?));
        Some(Answer { loudness: Some(2f64.powf(loudness / 10.0) - 1.0), brightness, is_approximate: false })
    }
}

/// Returns the centroid of the third octaves' powers, in hertz.
fn centroid(circuit: &CircuitFigures) -> Option<f64> {
    let powers = (FIRST..)
        .zip(&circuit.third_octaves_db)
        .map(|(place, level)| (10f64.powf(f64::from(place) / 10.0), 10f64.powf(level / 10.0)));
    let (weighted, all) = powers.fold((0.0, 0.0), |(w, all), (f, power)| (w + f * power, all + power));
    (all > 0.0).then_some(weighted / all)
}

#[cfg(test)]
mod tests {
    use crate::guitar::Guitar;
    use crate::job::SurveyRequest;

    #[test]
    fn one_coil_and_both_in_parallel_are_less_loud_than_both_in_series_and_no_darker() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let folder = tempfile::tempdir().unwrap();
        let pickup = Some(guitar.pickups()[0].name().to_string());
        let request = SurveyRequest { pickup, ..SurveyRequest::new(&guitar, folder.path().join("survey")) };
        let figures = request.check().unwrap().make(&|_| ()).unwrap().figures;
        let told = |name: &str| {
            let circuit = figures.circuits.iter().find(|circuit| circuit.name == name).unwrap();
            figures.answer(circuit).unwrap().to_string()
        };
        assert_eq!(told("series"), "as loud, as bright");
        for name in ["split-a", "parallel"] {
            assert!(told(name).contains("less loud") && !told(name).contains("darker"), "{}", told(name));
        }
    }
}
