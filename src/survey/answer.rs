//! What a circuit of a survey does to the sound, in a listener's words.

use super::{CircuitFigures, SurveyFigures};
use crate::measure::heard_change_over_levels;
use crate::quantity::Dbfs;
use crate::words::Answer;

/// The place of the first third octave, 50 Hz: the one of 1 kHz is the thirtieth.
///
/// # Source
/// Exact centre frequencies, base ten: IEC 61260-1, Octave-band and fractional-octave-band filters.
const FIRST: i32 = 17;
/// The third octaves of loudness that lie below it: 25, 31.5 and 40 Hz.
const BELOW: usize = 3;

impl SurveyFigures {
    /// Returns what `circuit` does to the sound against the baseline; nothing where it is silent, or where the baseline is none of
    /// the circuits. Loudness is that of the third octaves, in sones, over the listening levels and in the middle of them, as it
    /// is told of a set's files; brightness is the third octaves' own, which comes near the files'.
    pub fn answer(&self, circuit: &CircuitFigures) -> Option<Answer> {
        circuit.level_db?;
        // The same circuit has the same levels to the last digit.
        let is_none = |difference: Option<f64>| difference.is_some_and(|difference| difference.abs() < 1e-9);
        let baseline = self.circuits.iter().find(|own| is_none(own.level_db) && is_none(own.loudness_lu))?;
        let [own, other] = [circuit, baseline].map(spectrum);
        let range = heard_change_over_levels(&own, (&other, rms(baseline)))?;
        Some(Answer {
            loudness: Some(f64::midpoint(range[0], range[1]) / 100.0),
            brightness: Some(centroid(circuit)? / centroid(baseline)?),
            is_approximate: false,
        })
    }
}

/// Returns the levels of the third octaves from 25 Hz up.
fn spectrum(circuit: &CircuitFigures) -> Vec<Dbfs> {
    let own = circuit.third_octaves_db.iter().map(|level| Dbfs::new(*level));
    std::iter::repeat_n(Dbfs::new(f64::NEG_INFINITY), BELOW).chain(own).collect()
}

/// Returns the RMS level.
fn rms(circuit: &CircuitFigures) -> Dbfs {
    let power: f64 = circuit.third_octaves_db.iter().map(|level| 10f64.powf(level / 10.0)).sum();
    Dbfs::new(10.0 * power.log10())
}

/// Returns the centroid of the third octaves' magnitudes, in hertz.
///
/// The centroid of files weights bins by their magnitude. A band of power P that n bins carry has the magnitude √(P n); strings'
/// partials are carried by more bins the wider the band is, but not by all of it: n is taken as the root of the width, between one
/// line a band and noise. Our own convention; it comes within 6 % of what is measured on files.
fn centroid(circuit: &CircuitFigures) -> Option<f64> {
    let magnitudes = (FIRST..).zip(&circuit.third_octaves_db).map(|(place, level)| {
        let frequency = 10f64.powf(f64::from(place) / 10.0);
        (frequency, (10f64.powf(level / 10.0) * frequency.sqrt()).sqrt())
    });
    let (weighted, all) = magnitudes.fold((0.0, 0.0), |(w, all), (f, own)| (w + f * own, all + own));
    (all > 0.0).then_some(weighted / all)
}

#[cfg(test)]
mod tests {
    use crate::guitar::Guitar;
    use crate::job::{SetRequest, SurveyRequest};
    use crate::page::answer_of;

    #[test]
    fn it_says_what_is_said_of_the_files_of_a_set() {
        for name in ["set-neck", "travel-mini", "short-scale-blade"] {
            let guitar = Guitar::built_in(name).unwrap();
            let folder = tempfile::tempdir().unwrap();
            let pickup = Some(guitar.pickups()[0].name().to_string());
            let at = |name: &str| folder.path().join(name);
            let survey =
                SurveyRequest { pickup: pickup.clone(), ..SurveyRequest::new(&guitar, at("survey")) };
            let survey = survey.check().unwrap().make(&|_| ()).unwrap().figures;
            let set = SetRequest { pickup, ..SetRequest::new(&guitar, at("set")) };
            let set = set.check().unwrap().make(&|_| ()).unwrap().figures;
            let mut compared = 0;
            for own in &set.arrangements {
                let Some(circuit) = survey.circuits.iter().find(|circuit| circuit.name == own.name) else {
                    continue;
                };
                let files = answer_of(own, set.baseline().unwrap());
                let told = survey.answer(circuit).unwrap();
                let [loud, bright] = [files.loudness.unwrap(), files.brightness.unwrap()];
                // Of one percent the third octaves are off by their filters and by what lies beyond them.
                assert!(
                    (told.loudness.unwrap() - loud).abs() < 0.01,
                    "{name} {}: {told:?} {files:?}",
                    own.name
                );
                assert!(
                    (told.brightness.unwrap() / bright).ln().abs() < 0.06,
                    "{name} {}: {told:?} {files:?}",
                    own.name
                );
                compared += 1;
            }
            assert!(compared > 4, "{name}: {compared}");
            // Where it lies near a step the words can be the next ones.
            if name == "set-neck" {
                let parallel = survey.circuits.iter().find(|circuit| circuit.name == "parallel").unwrap();
                let file = set.arrangements.iter().find(|own| own.name == "parallel").unwrap();
                let told = survey.answer(parallel).unwrap().to_string();
                assert_eq!(told, answer_of(file, set.baseline().unwrap()).to_string());
            }
        }
    }
}
