//! A report in words and rows.

use super::readings::Readings;
use super::report::{CoilReport, Report, Verdict};
use super::words::Told;
use crate::guitar::Pole;
use crate::quantity::{Ohms, counted};

impl Report {
    /// Returns the verdict in a sentence.
    pub fn verdict_words(&self) -> String {
        match self.verdict {
            Verdict::Certain => "Certain: every lead has its coil and sign.".to_owned(),
            Verdict::Ambiguous => format!(
                "Ambiguous: {} to assign the leads {} with these readings.",
                counted(self.assignments_left, "way"),
                if self.assignments_left == 1 { "agrees" } else { "agree" }
            ),
            Verdict::Contradictory => {
                "Contradictory: no pickup, sound or with a fault or two, gives all of these readings."
                    .to_owned()
            }
        }
    }

    /// Returns of each lead, and of the shield, its name, its coil and its end, `?` where that is not known.
    pub fn by_lead(&self, readings: &Readings) -> Vec<[String; 3]> {
        let all = readings.leads().iter().chain(readings.shield());
        all.map(|lead| self.row(lead.as_str(), readings)).collect()
    }

    fn row(&self, lead: &str, readings: &Readings) -> [String; 3] {
        let coils: Vec<&CoilReport> =
            self.coils.iter().filter(|coil| ends(coil).any(|end| end == lead)).collect();
        let is_shield = readings.shield().is_some_and(|s| s.as_str() == lead);
        let (coil, end) = if coils.is_empty() {
            let coil = if is_shield { "shield" } else { "?" };
            (coil.to_owned(), if is_shield { "" } else { "?" }.to_owned())
        } else {
            let called: Vec<String> = coils.iter().map(|coil| called(coil, Some(lead))).collect();
            let signs: Vec<&str> = coils.iter().map(|coil| sign(coil, lead)).collect();
            (called.join(" / "), signs.join(" / "))
        };
        [lead.to_owned(), coil, end]
    }

    /// Returns of each coil of which more than a name is known its name, its ohms, its top pole and the sense in which it is
    /// wound from − to +, `?` where that is not known.
    pub fn by_coil(&self) -> Vec<[String; 4]> {
        let told = |text: Option<&str>| text.unwrap_or("?").to_owned();
        let rows = self.coils.iter().map(|coil| {
            let ohms = coil.ohms.map(|ohms| Ohms::new(ohms).to_string());
            [called(coil, None), told(ohms.as_deref()), told(coil.top_pole), told(coil.sense)]
        });
        rows.filter(|row| row[1..].iter().any(|cell| cell != "?")).collect()
    }

    /// Returns how the coils of a pickup that has two, and whose leads are certain, go together.
    pub fn strings_and_hum(&self) -> Option<String> {
        if self.verdict != Verdict::Certain || self.coils.len() < 2 {
            return None;
        }
        let hum = match self.hum_cancels_in_phase {
            Some(true) => {
                "hum then cancels, of coils that are alike down to about −30 dB, for the top poles are opposite.".to_owned()
            }
            Some(false) => {
                "hum then adds up, for the top poles are alike: two coils in phase will hum.".to_owned()
            }
            None => format!("hum then cancels, of coils that are alike down to about −30 dB, {}.", Pole::HUM_IF_OPPOSITE),
        };
        Some(format!("Used with the + ends alike, the coils are in phase for the strings; {hum}"))
    }

    /// Returns the lists of what is told beside the verdict, each with its title, those that are empty left out.
    pub fn lists(&self) -> Vec<(String, Vec<String>)> {
        let told = |of: &[Told]| of.iter().map(placed).collect::<Vec<_>>();
        let clashes = self.conflicts.iter().enumerate().map(|(i, clash)| {
            let title = format!("Clash {} of {}: these cannot all be true", i + 1, self.conflicts.len());
            (title, told(clash))
        });
        let others = [
            ("Take again first: without any one of these the others agree", told(&self.suspects)),
            ("Unconfirmed: no other reading bears this out", told(&self.unconfirmed)),
            ("Health", self.health.clone()),
            ("Remarks", self.remarks.clone()),
            ("Not told by these readings", self.not_told.clone()),
        ];
        let others = others.into_iter().map(|(title, list)| (title.to_owned(), list));
        clashes.chain(others).filter(|(_, list)| !list.is_empty()).collect()
    }
}

fn ends(coil: &CoilReport) -> impl Iterator<Item = &str> {
    coil.plus.iter().chain(&coil.minus).chain(&coil.leads).map(String::as_str)
}

/// Returns what a coil is called, by its leads (other than `but`) where it has no name.
fn called(coil: &CoilReport, but: Option<&str>) -> String {
    if let Some(name) = &coil.name {
        return name.clone();
    }
    let leads: Vec<&str> = coil.leads.iter().map(String::as_str).filter(|l| Some(*l) != but).collect();
    match (leads.is_empty(), but) {
        (true, _) => "?".to_owned(),
        (false, Some(_)) => format!("with {}", leads.join(", ")),
        (false, None) => leads.join(", "),
    }
}

fn sign(coil: &CoilReport, lead: &str) -> &'static str {
    if coil.plus.as_deref() == Some(lead) {
        "+"
    } else if coil.minus.as_deref() == Some(lead) {
        "-"
    } else if coil.plus.is_some() && coil.minus.is_some() {
        "tap"
    } else {
        "?"
    }
}

fn placed(told: &Told) -> String {
    match told.line {
        Some(line) => format!("line {line}: {}", told.words),
        None => told.words.clone(),
    }
}
