//! Readings and steps in words.

use serde::Serialize;

use super::next::Step;
use super::reading::{Bobbin, Reading, pole_name};
use super::readings::{Entry, Readings};

/// A reading or a step, by the fields of a readings file, and in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Told {
    /// Its fields.
    #[serde(flatten)]
    pub fields: Fields,
    /// The line of the file that states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The same in words.
    pub words: String,
}

/// The fields of a reading or a step; what a step asks for is left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Fields {
    /// Resistance between two conductors.
    Ohms {
        /// The conductors.
        between: [String; 2],
        /// What the meter showed.
        #[serde(skip_serializing_if = "Option::is_none")]
        reads: Option<String>,
    },
    /// A tap.
    Tap {
        /// The coil, `None` where it has no name yet.
        coil: Option<String>,
        /// The conductor on the red probe.
        red: String,
        /// The conductor on the black probe.
        black: String,
        /// The first swing.
        #[serde(skip_serializing_if = "Option::is_none")]
        swing: Option<&'static str>,
    },
    /// A compass.
    Compass {
        /// The coil.
        coil: Option<String>,
        /// The pole at its top.
        #[serde(skip_serializing_if = "Option::is_none")]
        top_pole: Option<&'static str>,
    },
    /// A joint to undo.
    Undo {
        /// The leads that it joins.
        between: [String; 2],
    },
}

impl Readings {
    /// Returns all readings in fields and words.
    pub fn told(&self) -> Vec<Told> {
        self.entries().iter().map(|entry| self.tell(entry)).collect()
    }

    /// Returns `entry` in fields and words.
    pub(super) fn tell(&self, entry: &Entry) -> Told {
        let (fields, words) = match &entry.reading {
            Reading::Ohms { between, reads } => {
                let [one, other] = between.map(|c| self.name(c).to_owned());
                let words = format!("{one} to {other} reads {reads}");
                (Fields::Ohms { between: [one, other], reads: Some(reads.to_string()) }, words)
            }
            Reading::Tap { coil, red, black, swing } => {
                let called = self.called(*coil);
                let [red, black] = [*red, *black].map(|c| self.name(c).to_owned());
                let words = format!("tapping {called}, red on {red}, black on {black}: {}", swing.name());
                let coil = self.bobbin_name(*coil).map(str::to_owned);
                (Fields::Tap { coil, red, black, swing: Some(swing.name()) }, words)
            }
            Reading::Compass { coil, top_pole } => {
                let words = format!("compass over {}: {}", self.called(*coil), pole_name(*top_pole));
                let coil = self.bobbin_name(*coil).map(str::to_owned);
                (Fields::Compass { coil, top_pole: Some(pole_name(*top_pole)) }, words)
            }
        };
        Told { fields, line: entry.line, words }
    }

    /// Returns `step` in fields and words.
    pub(super) fn tell_step(&self, step: Step) -> Told {
        let (fields, words) = match step {
            Step::Ohms { between } => {
                let between = between.map(|c| self.name(c).to_owned());
                let words = format!("{}: read the ohms", probes(&between[0], &between[1]));
                (Fields::Ohms { between, reads: None }, words)
            }
            Step::Tap { coil, red, black } => {
                let called = self.called(coil);
                let [red, black] = [red, black].map(|c| self.name(c).to_owned());
                let words = format!("{}: tap {called} and note the first swing", probes(&red, &black));
                let coil = self.bobbin_name(coil).map(str::to_owned);
                (Fields::Tap { coil, red, black, swing: None }, words)
            }
            Step::Compass { coil } => {
                let words = format!("hold a compass over {} and note the pole", self.called(coil));
                let coil = self.bobbin_name(coil).map(str::to_owned);
                (Fields::Compass { coil, top_pole: None }, words)
            }
            Step::Undo { between } => {
                let between = between.map(|c| self.name(c).to_owned());
                let words = format!(
                    "undo the joint of {} and {}, then read again: while they are one, nothing tells them apart",
                    between[0], between[1]
                );
                (Fields::Undo { between }, words)
            }
        };
        Told { fields, line: None, words }
    }

    /// Returns a coil's name, or what to call it until it has one.
    pub(super) fn called(&self, bobbin: Bobbin) -> String {
        match (self.bobbin_name(bobbin), bobbin) {
            (Some(name), _) => name.to_owned(),
            (None, Bobbin::First) => "either coil (give it a name)".to_owned(),
            (None, Bobbin::Second) => "the other coil, if there is one (give it a name)".to_owned(),
        }
    }
}

/// Returns which probe goes on which wire.
fn probes(red: &str, black: &str) -> String {
    format!("red probe on {}, black probe on {}", wire(red), wire(black))
}

/// Returns what a lead is called in a sentence; a meter has leads of its own, so a pickup's are wires here.
fn wire(name: &str) -> String {
    const SAY_IT_THEMSELVES: [&str; 5] = ["wire", "lead", "shield", "screen", "braid"];
    let last = name.rsplit(' ').next().unwrap_or(name).to_lowercase();
    if SAY_IT_THEMSELVES.contains(&last.as_str()) {
        format!("the {name}")
    } else {
        format!("the {name} wire")
    }
}

#[cfg(test)]
mod tests {
    use super::probes;

    #[test]
    fn an_instruction_says_which_probe_goes_on_which_wire() {
        assert_eq!(probes("green", "bare"), "red probe on the green wire, black probe on the bare wire");
        assert_eq!(probes("red wire", "Shield"), "red probe on the red wire, black probe on the Shield");
    }
}
