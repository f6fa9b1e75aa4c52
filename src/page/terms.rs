//! Terms that explain themselves where they stand: a button that opens a note.

use crate::markup::content;

/// Terms that explain themselves on a page.
#[derive(Debug, Clone, Copy)]
pub struct Glossary(&'static [Term]);

/// A term of the trade or of a standard.
#[derive(Debug)]
struct Term {
    /// The name of its note.
    key: &'static str,
    /// The term as it stands in headings.
    word: &'static str,
    /// What it means.
    note: &'static str,
}

/// The terms of figures. One that another begins with comes after it.
const FIGURES: [Term; 9] = [
    Term {
        key: "lufs",
        word: "LUFS",
        note: "loudness against full scale by ITU-R BS.1770: frequencies are weighted as ears weight them, and silence is \
               left out. −14 LUFS is louder than −23 LUFS.",
    },
    Term {
        key: "lu",
        word: "LU",
        note: "loudness unit: how far two loudnesses in LUFS are apart. A sound turned up by 1 dB is 1 LU louder; 10 LU \
               more are heard as about twice as loud.",
    },
    Term {
        key: "dbtp",
        word: "dBTP",
        note: "true peak: the highest point of the wave, between the samples too, against full scale. Above 0 dBTP a \
               player may clip.",
    },
    Term {
        key: "rms",
        word: "RMS",
        note: "root mean square: the level of a sound’s mean power, all frequencies alike.",
    },
    Term {
        key: "centroid",
        word: "centroid",
        note: "spectral centroid: the middle of a sound’s spectrum, each frequency counting as much as there is of it. The \
               higher, the brighter.",
    },
    Term {
        key: "sone",
        word: "sone",
        note: "loudness as it is heard, by ISO 532-1: two sones are twice as loud as one. It is told as a clean \
               amplifier gives it; a driven one evens out much of a difference.",
    },
    Term {
        key: "q",
        word: "Q",
        note: "quality factor: how sharply the resonance stands out. At 0.7 there is no peak, at 2 one of 6 dB, at 4 one of \
               12 dB.",
    },
    Term {
        key: "spl",
        word: "dB SPL",
        note: "sound pressure level: how loud it is in the room. Talk has some 60 dB SPL; 85 dB SPL all day harm the ears.",
    },
    Term {
        key: "dbv",
        word: "dBV (A)",
        note: "level against one volt, frequencies weighted as ears weight faint noise (A-weighting).",
    },
];

/// The terms of what a coil is, and of a measurement.
const COILS: [Term; 9] = [
    Term {
        key: "sd",
        word: "sd",
        note: "standard deviation: of three measurements like this one about two lie so near to the truth, and of twenty \
               nineteen within twice as much.",
    },
    Term {
        key: "resistance",
        word: "resistance",
        note: "of the coil’s wire, as a meter on ohms reads it. It hardly sounds; it tells the type and the health of a coil.",
    },
    Term {
        key: "inductance",
        word: "inductance",
        note: "what makes a coil stand against a current the more, the higher the note. With the capacitances it sets where \
               the resonance is: more inductance, a lower one, a darker sound.",
    },
    Term {
        key: "capacitance",
        word: "capacitance",
        note: "of the winding with its leads. The cable’s comes on top of it: more of either, a lower resonance.",
    },
    Term {
        key: "loss",
        word: "loss",
        note: "what magnet, steel and cover take away, told as a resistance across the coil: the lower, the flatter the \
               resonance.",
    },
    Term {
        key: "eddy-share",
        word: "eddy share",
        note: "the part of the inductance that is lost to eddy currents in steel and cover at high notes: 0.25 is a quarter.",
    },
    Term { key: "eddy-corner", word: "eddy corner", note: "the frequency about which that part is lost." },
    Term {
        key: "coupling",
        word: "coupling",
        note: "how much of one coil’s field the other takes up: 0 is none, 1 all.",
    },
    Term {
        key: "rms-misfit",
        word: "rms",
        note: "root mean square: over all frequencies that were measured, a mean in which large differences count more.",
    },
];

impl Glossary {
    /// The terms of levels, loudness and resonances.
    pub const FIGURES: Self = Self(&FIGURES);
    /// The terms of a coil’s values, and of how they were measured.
    pub const COILS: Self = Self(&COILS);

    /// Returns `text` for an element's content, with each term in it a button that opens its note.
    pub fn marked(self, text: &str) -> String {
        let found = self.0.iter().filter_map(|term| place(text, term.word).map(|at| (at, term)));
        // Of two that begin at one place the first in the list is the longer.
        match found.min_by_key(|(at, _)| *at) {
            None => content(text),
            Some((at, term)) => format!(
                "{}<button type=\"button\" class=\"term\" popovertarget=\"term-{}\" aria-describedby=\"term-{}\">{}</button>{}",
                content(&text[..at]),
                term.key,
                term.key,
                content(term.word),
                self.marked(&text[at + term.word.len()..])
            ),
        }
    }

    /// Returns the notes of all terms, which stand once on a page.
    pub fn notes(self) -> String {
        let note = |term: &Term| {
            let (word, said) = (content(term.word), content(term.note));
            format!("<p class=\"note\" id=\"term-{}\" popover><b>{word}</b> {said}</p>\n", term.key)
        };
        self.0.iter().map(note).collect()
    }
}

/// Returns `text` with the terms of figures marked.
pub(super) fn marked(text: &str) -> String {
    Glossary::FIGURES.marked(text)
}

/// Returns where `word` stands by itself in `text`.
fn place(text: &str, word: &str) -> Option<usize> {
    let is_letter = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    text.match_indices(word).map(|(at, _)| at).find(|at| {
        !is_letter(text[..*at].chars().last()) && !is_letter(text[at + word.len()..].chars().next())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_term_in_a_text_is_a_button_and_a_part_of_a_word_is_none() {
        let shown = marked("change LU, as is LUFS; Quiet <Q>");
        let words: Vec<&str> =
            shown.split("</button>").filter_map(|part| part.rsplit_once('>').map(|(_, word)| word)).collect();
        assert_eq!(words[..3], ["LU", "LUFS", "Q"], "{shown}");
        assert!(shown.contains("Quiet &lt;") && shown.contains("popovertarget=\"term-lufs\""), "{shown}");
        assert_eq!(marked("ohms & hum"), "ohms &amp; hum");
    }

    #[test]
    fn every_term_has_one_note() {
        for glossary in [Glossary::FIGURES, Glossary::COILS] {
            let (notes, terms) = (glossary.notes(), glossary.0);
            for (i, term) in terms.iter().enumerate() {
                assert_eq!(notes.matches(&format!("id=\"term-{}\"", term.key)).count(), 1);
                assert!(!terms[..i].iter().any(|longer| term.word.starts_with(longer.word)), "{}", term.word);
            }
        }
        let both: Vec<&str> = FIGURES.iter().chain(&COILS).map(|term| term.key).collect();
        assert!((1..both.len()).all(|i| !both[..i].contains(&both[i])), "both may stand on one page");
    }

    #[test]
    fn every_value_that_is_measured_of_a_coil_is_explained() {
        for measurand in crate::guitar::Measurand::ALL {
            let shown = Glossary::COILS.marked(measurand.words());
            assert!(shown.contains("popovertarget"), "{shown}");
        }
    }
}
