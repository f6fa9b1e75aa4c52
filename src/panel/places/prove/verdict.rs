//! What all readings say together: those at the jack, those with a knob turned, and those of metal.

use drywire::harness::{MeterReading, MeterReport};
use drywire::probe::{ProbeReport, ProbeVerdict};

/// What all readings say together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Together {
    Nothing,
    AsExpected,
    /// What those at the jack say by themselves.
    AtTheJack,
    /// What those at the jack say, which by none of it gives the others.
    AtTheJackOnly,
    /// The wires that the file states give them.
    AsStated,
    /// Mistakes in the cavity give all of them.
    InTheCavity,
    Unexplained,
}

impl Together {
    pub(super) fn of(jack: Option<&ProbeReport>, cavity: Option<&MeterReport>) -> Self {
        let at_jack = jack.map_or(ProbeVerdict::NothingRead, |report| report.verdict);
        let read = cavity.map_or(&[][..], |report| &report.readings);
        let is_explained = cavity.is_some_and(|report| !report.explained_by.is_empty());
        let is_wrong = read.iter().any(|reading| !reading.fits);
        let has_own = read.iter().any(|reading| MeterReading::is_of_a_cavity(&reading.place));
        match (at_jack, is_wrong, is_explained) {
            (ProbeVerdict::NothingRead, false, _) if read.is_empty() => Self::Nothing,
            (ProbeVerdict::NothingRead | ProbeVerdict::AsExpected, false, _) => Self::AsExpected,
            (_, true, true) if cavity.is_some_and(|report| report.as_stated) => Self::AsStated,
            (ProbeVerdict::Explained, true, _) if !has_own => Self::AtTheJack,
            (_, true, true) => Self::InTheCavity,
            (ProbeVerdict::Explained, true, false) => Self::AtTheJackOnly,
            (ProbeVerdict::NothingRead | ProbeVerdict::AsExpected, true, false) => Self::Unexplained,
            (ProbeVerdict::Explained, false, _) | (ProbeVerdict::Unexplained, _, _) => Self::AtTheJack,
        }
    }

    /// Returns the verdict in words.
    pub(super) fn words(self, jack: Option<&ProbeReport>, cavity: Option<&MeterReport>) -> String {
        let count = cavity.map_or(0, |report| report.explained_by.len());
        match self {
            Self::Nothing => {
                "Nothing was read so far. Each reading counts at once; one that is wrong is enough to begin to look."
                    .to_owned()
            }
            Self::AsExpected => "As expected: every reading is what the plan as drawn gives.".to_owned(),
            Self::AtTheJack => {
                jack.and_then(ProbeReport::verdict_in_words).unwrap_or_default().to_owned()
            }
            Self::AtTheJackOnly => "Not as drawn, and no single mistake gives all of these readings: those at the jack with every knob \
                                    at 10 have these explanations, and none of them gives the others too. Read again; then look for \
                                    two mistakes."
                .to_owned(),
            Self::AsStated => {
                "Not as drawn. The wires told at Cavity give these readings: what is wrong there tells what to mend."
                    .to_owned()
            }
            Self::InTheCavity if count == 1 => {
                "Not as drawn. One single mistake, and no other, gives all of these readings.".to_owned()
            }
            Self::InTheCavity => "Not as drawn. Any one of these mistakes gives all of these readings.".to_owned(),
            Self::Unexplained => "Unexplained: no single mistake gives all of these readings. Read again, with the range of the meter \
                                  checked; then look for two mistakes."
                .to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use drywire::document::Document;
    use drywire::guitar::Guitar;
    use drywire::harness::AtMeter;
    use drywire::probe::{Bench, ReadingOf, prove};

    use super::*;

    const GUITAR: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\n\
        resistance = \"4k\"\n[pickup.coil_b]\nresistance = \"4k\"\n[[pickup]]\nname = \"neck\"\nlike = \"vintage-full-size\"\n\
        [pickup.coil_a]\nresistance = \"3k\"\n[pickup.coil_b]\nresistance = \"3k\"\n[[selector]]\nname = \"selector\"\n\
        table = \"three-way-toggle\"\njoints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]\n[controls]\n\
        volume = { pot = \"500k\" }\ntone = { pot = \"500k\", capacitor = \"22n\" }\n[harness]\n";

    /// Returns what these readings say together, with the words.
    fn together(readings: &[&str]) -> (Together, String) {
        let guitar = Guitar::read(&Document::new("mine.toml", GUITAR)).unwrap();
        let all = readings.iter().map(|text| (*text).to_owned());
        let (of_cavity, plain): (Vec<String>, Vec<String>) =
            all.partition(|text| MeterReading::is_of_a_cavity(text));
        let bench = Bench::new(&guitar, None).unwrap();
        let jack = prove(&bench, &ReadingOf::parse_all(&plain, &bench).unwrap()).unwrap();
        let cavity = AtMeter::of(&guitar, None).unwrap().judge(&of_cavity, &plain).unwrap();
        let together = Together::of(Some(&jack), Some(&cavity));
        (together, together.words(Some(&jack), Some(&cavity)))
    }

    #[test]
    fn readings_have_one_verdict_whatever_is_read_where() {
        for (readings, expected, words) in [
            (&[][..], Together::Nothing, "Nothing was read"),
            (&["selector:1=7.9k"], Together::AsExpected, "As expected"),
            (&["tone.case=beep"], Together::AsExpected, "As expected"),
            (&["selector:1=7.9k", "selector:1+volume@0=0"], Together::AsExpected, "As expected"),
            // The neck's wire off its lug is told by the jack, with its test.
            (&["selector:1=7.9k", "selector:2=7.9k", "selector:3=500k"], Together::AtTheJack, "Not as drawn"),
            // A volume that is backwards is a mistake of the cavity alone, which the jack's own suspects do not know.
            (&["selector:1=0", "selector:1+volume@0=7.9k"], Together::InTheCavity, "Not as drawn"),
            (&["selector:1=7.9k", "tone.case=open"], Together::InTheCavity, "Not as drawn"),
            (&["selector:1=1.3k", "tone.case=open"], Together::AtTheJackOnly, "no single mistake"),
            (&["volume.case=open", "tone.case=470k"], Together::Unexplained, "no single mistake"),
        ] {
            let (own, told) = together(readings);
            assert_eq!(own, expected, "{readings:?}: {told}");
            assert!(told.contains(words), "{readings:?}: {told}");
        }
    }

    #[test]
    fn no_verdict_says_both_that_one_mistake_explains_all_and_that_none_does() {
        let ohms = ["0", "1.3k", "5.9k", "7.9k", "open"];
        let others =
            ["selector:1+volume@0=0", "selector:1+volume@0=7.9k", "tone.case=beep", "tone.case=open"];
        for first in ohms {
            for third in ohms {
                for other in others {
                    let readings =
                        [format!("selector:1={first}"), format!("selector:3={third}"), other.to_owned()];
                    let (_, told) = together(&readings.each_ref().map(String::as_str));
                    let is_one =
                        told.contains("gives all of these readings") && !told.contains("no single mistake");
                    let is_none = told.contains("no single mistake");
                    let is_right = told.starts_with("As expected");
                    assert_eq!(
                        [is_one, is_none, is_right].iter().filter(|is| **is).count(),
                        1,
                        "{readings:?}: {told}"
                    );
                }
            }
        }
    }
}
